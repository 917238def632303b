package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// answer sends a JSON value.
func answer(c echo.Context, status int, v any) error {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return answerRaw(c, status, buf.Bytes())
}

func answerRaw(c echo.Context, status int, raw []byte) error {
	c.Response().Header().Set("Content-Length", strconv.Itoa(len(raw)))
	return c.Blob(status, "application/json", raw)
}

// number reads a whole number of at least min from the query; def when it is not there.
func number(c echo.Context, name string, def, min int64) (int64, error) {
	text := c.QueryParam(name)
	if text == "" {
		if def < min {
			return 0, claims.Errorf(claims.Invalid, "Say %s, a whole number.", name).At(name)
		}
		return def, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < min || n == math.MaxInt64 {
		return 0, claims.Errorf(claims.Invalid, "%s must be a whole number of at least %d.", name, min).At(name)
	}
	return n, nil
}

// digestParam reads the SHA-256 of the path.
func digestParam(c echo.Context) (claims.Digest, error) {
	d, err := claims.ParseDigest(c.Param("sha256"))
	if err != nil {
		return "", &claims.Error{Code: claims.Invalid, Where: "sha256", Err: err, Says: "An original is named by the SHA-256 of its bytes, in 64 lower-case hexadecimal digits."}
	}
	return d, nil
}
