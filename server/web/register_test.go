package web

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// A list is looked at over HTTP, mended, confirmed and found again.
func TestImportOverHTTP(t *testing.T) {
	f := newFixture(t)
	csv := header{"Content-Type": "text/csv"}
	const file = "name,unit,serial\nOttilie Brandt,dishwasher,AB-1\nJo,teapot,\n"
	res := f.owner.do(http.MethodPost, "/register/preview", file, csv)
	require.Equal(t, http.StatusOK, res.status, res.text())
	seen := res.json()
	assert.EqualValues(t, 1, seen["new"])
	bad := seen["problems"].([]any)[0].(map[string]any)
	assert.EqualValues(t, 3, bad["line"])
	assert.Equal(t, "unit", bad["column"])
	assert.Contains(t, bad["says"], "dishwasher")
	assert.EqualValues(t, 0, f.owner.do(http.MethodGet, "/register", nil).json()["count"], "nothing is kept yet")
	digest := seen["file"].(string)
	f.owner.do(http.MethodPost, "/register?file="+digest, file, csv).problem(http.StatusUnprocessableEntity, claims.Invalid)
	f.owner.do(http.MethodPost, "/register?file="+digest+"&skip=true", file+"x,,\n", csv).problem(http.StatusConflict, claims.Stale)
	require.Equal(t, http.StatusCreated, f.owner.do(http.MethodPost, "/register?file="+digest+"&skip=true", file, csv).status)
	ana := f.person("Ana", claims.Technician)
	found := ana.do(http.MethodGet, "/register?q=brandt+ab1", nil).json()
	require.Len(t, found["rows"], 1)
	row := found["rows"].([]any)[0].(map[string]any)["id"].(string)
	ana.do(http.MethodDelete, "/register/"+row, nil).problem(http.StatusForbidden, claims.Forbidden)
	require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodDelete, "/register/"+row, nil).status)
	f.owner.lax().do(http.MethodPost, "/register/preview", file).problem(http.StatusUnsupportedMediaType, claims.Unsupported)
}
