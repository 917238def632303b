package web

import (
	"bytes"
	"image/jpeg"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// Two photos of one compartment are lined up; a photo of something else is not, and the answer says why.
func TestAlignment(t *testing.T) {
	f := newFixture(t)
	desk := f.person("Olu Park", claims.Office)
	job := f.openJob(desk, 7)
	studio, err := draw.NewStudio(7)
	require.NoError(t, err)
	shot := func(scene draw.Scene, how draw.Shot) string {
		data, err := studio.Photo(scene, how)
		require.NoError(t, err)
		desk.upload(data)
		f.clock.move(time.Minute)
		res := desk.do(http.MethodPost, "/entries", batch(f.entry(job, "photo", photoBody(data, "work-area"))))
		require.Equal(t, http.StatusOK, res.status, res.text())
		return res.json()["results"].([]any)[0].(map[string]any)["id"].(string)
	}
	scene := draw.Compartment{Freezer: true, Empty: true}
	before := shot(scene, draw.Shot{Seed: 1})
	after := shot(draw.Compartment{Freezer: true, Empty: true, Melted: true}, draw.Shot{Seed: 2, Gain: 0.9, Portrait: false})
	other := shot(draw.Vent{Lint: 0.9}, draw.Shot{Seed: 3})
	ask := func(first, second string) *answered {
		return desk.do(http.MethodGet, "/jobs/"+job+"/alignments?before="+first+"&after="+second, nil)
	}

	a := ask(before, after).json()
	require.Equal(t, true, a["aligned"], a["says"])
	assert.Equal(t, before, a["before"])
	assert.Contains(t, a["says"], "a help to look")
	assert.Less(t, a["residualPx"], 0.01*draw.Long)
	assert.NotEmpty(t, a["changed"], "the liner is melted now")
	path := a["picture"].(string)[len("/api/v1"):]
	got := desk.do(http.MethodGet, path, nil)
	require.Equal(t, http.StatusOK, got.status)
	img, err := jpeg.Decode(bytes.NewReader(got.body))
	require.NoError(t, err)
	assert.Equal(t, 1600, img.Bounds().Dx(), "as large as the earlier photo's view")
	assert.Equal(t, a, ask(before, after).json(), "the same answer again")
	assert.Equal(t, http.StatusNotModified, desk.do(http.MethodGet, path, nil, header{"If-None-Match": got.header.Get("ETag")}).status)

	no := ask(before, other).json()
	assert.Equal(t, false, no["aligned"])
	assert.Contains(t, no["says"], "can't be lined up")
	assert.NotEmpty(t, no["why"])
	assert.NotContains(t, no, "picture")
	desk.do(http.MethodGet, "/jobs/"+job+"/alignments/overlay.jpg?before="+before+"&after="+other, nil).problem(http.StatusNotFound, claims.NotFound)

	ask(before, before).problem(http.StatusUnprocessableEntity, claims.Invalid)
	ask(before, newID()).problem(http.StatusNotFound, claims.NotFound)
	ask("", after).problem(http.StatusNotFound, claims.NotFound)
	// A photo of another job of the shop is none of this one.
	elsewhere := f.openJob(desk, 8)
	desk.do(http.MethodGet, "/jobs/"+elsewhere+"/alignments?before="+before+"&after="+after, nil).problem(http.StatusNotFound, claims.NotFound)
}
