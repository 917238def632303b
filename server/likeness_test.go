package main

import (
	"bytes"
	"encoding/json"
	"image"
	"image/jpeg"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// A camera photo that comes back on another job, turned by a quarter, smaller, darker and compressed harder, is noted there; on its own
// job, and against other photos, nothing is.
func TestATurnedCopyIsNoticed(t *testing.T) {
	b, err := openBackend(filepath.Join(t.TempDir(), "data"), "", true, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, b.close()) })
	who := claims.Actor{Shop: theShop, Person: "kim", Role: claims.Technician, Device: "desk"}
	read := func(name string) (image.Image, []byte) {
		data, err := os.ReadFile(filepath.Join("..", "testdata", "photos", name))
		require.NoError(t, err)
		img, err := jpeg.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		return img, data
	}
	keep := func(job string, data []byte) {
		d := claims.DigestOf(data)
		_, err := b.service.Receive(t.Context(), who, claims.Upload{Digest: d, Size: int64(len(data)), Bytes: bytes.NewReader(data)})
		require.NoError(t, err)
		e := asJSON(claims.Entry{ID: claims.EntryID(makeID()), Shop: theShop, Job: claims.JobID(job), Kind: claims.KindPhoto, At: time.Now(), By: "kim", Device: "desk",
			Body: asJSON(claims.Photo{Digest: d, Bytes: int64(len(data)), Subject: "symptom"})})
		_, err = b.service.Append(t.Context(), who, []json.RawMessage{e})
		require.NoError(t, err)
	}
	likenesses := func(job string) []claims.Item[claims.Likeness] {
		j, err := b.service.Job(t.Context(), who, claims.JobID(job))
		require.NoError(t, err)
		return j.Likenesses
	}
	first, second := makeID(), makeID()
	img, data := read("dsoprea/gps.jpg")
	keep(first, data)
	_, other := read("evanoberholster/a1.jpg")
	keep(second, other)
	require.Empty(t, likenesses(second), "another picture")

	copied := imaging.AdjustBrightness(imaging.Resize(imaging.Rotate90(img), img.Bounds().Dy()/2, 0, imaging.Linear), -8)
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, copied, &jpeg.Options{Quality: 60}))
	keep(second, out.Bytes())
	found := likenesses(second)
	require.Len(t, found, 1)
	assert.Equal(t, claims.JobID(first), found[0].Body.OtherJob)
	assert.Equal(t, claims.DigestOf(data), found[0].Body.OtherDigest)
	assert.Empty(t, likenesses(first))
}
