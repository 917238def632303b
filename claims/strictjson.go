package claims

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxDepth bounds the nesting of an entry's JSON.
const maxDepth = 16

// compactJSON accepts exactly one JSON object without white space between its tokens, valid UTF-8, no field named twice,
// nesting bounded. One entry then has one form, and no two readers can understand it differently.
func compactJSON(raw []byte) *Error {
	if len(raw) == 0 || raw[0] != '{' {
		return Errorf(Invalid, "An entry is one JSON object.")
	}
	if !utf8.Valid(raw) {
		return Errorf(Invalid, "The entry is not valid UTF-8 text.")
	}
	if err := noDuplicates(raw); err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := json.Compact(&buf, raw); err != nil {
		return jsonError(err)
	}
	if !bytes.Equal(buf.Bytes(), raw) {
		return Errorf(Invalid, "Send the entry as compact JSON, without white space between its parts: its exact bytes are what is kept and hashed.")
	}
	return nil
}

func noDuplicates(raw []byte) *Error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	type level struct {
		object bool
		key    bool // the next string is a key
		seen   map[string]bool
	}
	var stack []level
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return jsonError(err)
		}
		top := len(stack) - 1
		if d, ok := tok.(json.Delim); ok {
			if d == '{' || d == '[' {
				if len(stack) >= maxDepth {
					return Errorf(Invalid, "The entry is nested more than %d levels deep.", maxDepth)
				}
				stack = append(stack, level{object: d == '{', key: d == '{', seen: map[string]bool{}})
				continue
			}
			stack = stack[:top]
			top--
		} else if top >= 0 && stack[top].object && stack[top].key {
			k := tok.(string)
			// encoding/json matches field names without regard to case: two spellings would be one field.
			fold := strings.ToLower(k)
			if stack[top].seen[fold] {
				return Errorf(Invalid, "The field %q stands twice.", clip(k))
			}
			stack[top].seen[fold] = true
			stack[top].key = false
			continue
		}
		if top >= 0 && stack[top].object {
			stack[top].key = true
		}
	}
}

// strict decodes one JSON value and refuses unknown fields and trailing data.
func strict(raw []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return jsonError(err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return Errorf(Invalid, "There is something after the end of the JSON object.")
	}
	return nil
}

// jsonError turns an error of encoding/json into a sentence.
func jsonError(err error) *Error {
	if own, ok := errors.AsType[*Error](err); ok {
		return own
	}
	if te, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		return &Error{Code: Invalid, Where: te.Field, Err: err,
			Says: fmt.Sprintf("A %s is not possible here; it must be %s.", te.Value, typeName(te.Type.Kind().String()))}
	}
	if msg := err.Error(); strings.HasPrefix(msg, "json: unknown field ") {
		name := strings.Trim(strings.TrimPrefix(msg, "json: unknown field "), `"`)
		return &Error{Code: Invalid, Where: clip(name), Err: err, Says: "There is no such field here. Leave it out, or use the name the API description gives."}
	}
	if msg := err.Error(); strings.Contains(msg, "parsing time") || strings.Contains(msg, "Time.UnmarshalJSON") {
		return &Error{Code: Invalid, Where: "at", Err: err, Says: "A time looks like 2026-03-04T09:12:33.120-05:00 (RFC 3339, with the zone offset)."}
	}
	return &Error{Code: Invalid, Err: err, Says: "This is not well-formed JSON: " + clip(err.Error()) + "."}
}

func typeName(kind string) string {
	switch {
	case strings.HasPrefix(kind, "int"), strings.HasPrefix(kind, "uint"):
		return "a whole number"
	case strings.HasPrefix(kind, "float"):
		return "a number"
	case kind == "struct", kind == "map":
		return "an object"
	case kind == "slice":
		return "a list"
	case kind == "bool":
		return "true or false"
	}
	return "a text"
}

func asError(err error) *Error {
	if e, ok := errors.AsType[*Error](err); ok {
		return e
	}
	return &Error{Code: Invalid, Says: "This can't be read.", Err: err}
}

func validUUID(s string) bool {
	if len(s) != 36 {
		return false
	}
	for i, c := range []byte(s) {
		if i == 8 || i == 13 || i == 18 || i == 23 {
			if c != '-' {
				return false
			}
		} else if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// ValidShop reports whether s can name a shop: 1 to 40 lower-case letters, digits and dashes, not led by a dash.
func ValidShop(s ShopID) bool { return kebab(string(s)) }

// ValidID reports whether s is a UUID in the one form that names jobs and entries.
func ValidID(s string) bool { return validUUID(s) }

func kebab(s string) bool {
	if len(s) == 0 || len(s) > 40 || s[0] == '-' {
		return false
	}
	for _, c := range []byte(s) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return true
}

// oneLine reports whether s is printable text on one line of at most n characters.
func oneLine(s string, n int) bool {
	if utf8.RuneCountInString(s) > n {
		return false
	}
	for _, r := range s {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return false
		}
	}
	return true
}

// clip shortens what somebody sent for use in a sentence.
func clip(s string) string {
	const n = 60
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n]) + "…"
}
