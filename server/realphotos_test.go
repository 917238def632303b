package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/bundle"
	"kickplate/rules"
)

// Photos of real cameras and sample pictures (testdata/photos, each with its source and licence in SOURCES.md) go the whole way:
// upload, entry, check, bundle, verify. Files that are only the head of a photo are refused with a sentence and leave nothing.
func TestRealPhotosGoTheWholeWay(t *testing.T) {
	p := start(t, filepath.Join(t.TempDir(), "data"), true)
	client, token := patient(), p.enter()
	send := func(method, path string, body []byte) (int, []byte) {
		status, _, answer, err := request(client, token, method, p.url+"/api/v1"+path, "application/json", body, nil)
		require.NoError(t, err)
		return status, answer
	}
	job, device := uuid.Must(uuid.NewV7()).String(), "phone-real"
	at := time.Now().Add(-time.Hour)
	var seq uint64
	var prev claims.Digest
	entry := func(kind claims.Kind, body any) {
		raw, err := json.Marshal(body)
		require.NoError(t, err)
		seq++
		e, err := json.Marshal(claims.Entry{ID: claims.EntryID(uuid.Must(uuid.NewV7()).String()), Shop: "shop", Job: claims.JobID(job), Kind: kind,
			At: at.Add(time.Duration(seq) * time.Second), By: "kim", Device: device, Seq: seq, Prev: prev, Body: raw})
		require.NoError(t, err)
		prev = claims.DigestOf(e)
		status, answer := send(http.MethodPost, "/entries", []byte(`{"entries":[`+string(e)+`]}`))
		require.Equal(t, http.StatusOK, status, "%s: %s", kind, answer)
	}
	entry(claims.KindOpen, claims.Open{Number: "R-1", Complaint: "not cold"})
	entry(claims.KindUnit, claims.Unit{Kind: "refrigerator"})
	entry(claims.KindCoverage, claims.Coverage{Kind: "maker-warranty"})

	kept := map[claims.Digest][]byte{}
	refused := 0
	err := filepath.WalkDir(filepath.Join("..", "testdata", "photos"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.Contains(".jpg .png .webp .heic", strings.ToLower(filepath.Ext(path))) || filepath.Ext(path) == "" {
			return err
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		digest := claims.DigestOf(data)
		if _, twice := kept[digest]; twice {
			return nil
		}
		status, answer := send(http.MethodPut, "/originals/"+string(digest), data)
		switch status {
		case http.StatusCreated, http.StatusOK:
			kept[digest] = data
			entry(claims.KindPhoto, claims.Photo{Digest: digest, Bytes: int64(len(data)), Name: filepath.Base(path), Subject: "symptom", Source: "gallery"})
		case http.StatusUnprocessableEntity, http.StatusUnsupportedMediaType:
			refused++
			var problem struct{ Detail string }
			require.NoError(t, json.Unmarshal(answer, &problem))
			assert.NotEmpty(t, problem.Detail, path)
			status, _ := send(http.MethodHead, "/originals/"+string(digest), nil)
			assert.Equal(t, http.StatusNotFound, status, "%s was refused and must leave nothing", path)
		default:
			t.Errorf("%s: status %d: %s", path, status, answer)
		}
		return nil
	})
	require.NoError(t, err)
	t.Logf("%d kept, %d refused", len(kept), refused)
	require.GreaterOrEqual(t, len(kept), 20, "whole pictures among the samples")
	require.GreaterOrEqual(t, refused, 40, "heads of photos among the samples")

	status, answer := send(http.MethodGet, "/jobs/"+job+"/check", nil)
	require.Equal(t, http.StatusOK, status, "%s", answer)
	var checked struct{ Report rules.Report }
	require.NoError(t, json.Unmarshal(answer, &checked))
	assert.False(t, checked.Report.Complete)
	symptom := checked.Report.Find("symptom")
	require.NotNil(t, symptom)
	assert.NotEmpty(t, symptom.Entries, "the photos of the symptom were looked at: %s", symptom.Sentence)

	status, answer = send(http.MethodPost, "/jobs/"+job+"/bundles", []byte(`{}`))
	require.Equal(t, http.StatusCreated, status, "%s", answer)
	var built claims.Built
	require.NoError(t, json.Unmarshal(answer, &built))
	status, raw := send(http.MethodGet, fmt.Sprintf("/jobs/%s/bundles/%d", job, built.Version), nil)
	require.Equal(t, http.StatusOK, status)
	report, err := bundle.Verify(t.Context(), bytes.NewReader(raw), int64(len(raw)), bundle.Options{})
	require.NoError(t, err)
	require.True(t, report.Holds, report.Text())

	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	found := 0
	for _, f := range z.File {
		if !strings.Contains(f.Name, "/data/originals/") {
			continue
		}
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		require.Equal(t, kept[claims.DigestOf(data)], data, "%s is byte for byte what was sent", f.Name)
		found++
	}
	assert.Equal(t, len(kept), found)
}
