package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// A customer asks for what is held, then for it to be erased: over HTTP, with half an upload still lying about.
func TestPrivacyOverHTTP(t *testing.T) {
	f := newFixture(t)
	office := f.person("Ann", claims.Office)
	tech := f.person("Kim", claims.Technician)
	job := f.openJob(f.owner, 1)
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "customer", map[string]any{"name": "Ottoline Quillfeather", "phone": "020 7946 0018"}))).status)
	pic := photo(t, 7)
	d := f.owner.upload(pic)
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "photo", photoBody(pic, "rating-plate")))).status)

	require.Equal(t, http.StatusCreated, office.do(http.MethodPost, "/jobs/"+job+"/bundles", nil).status)
	link := office.do(http.MethodPost, "/jobs/"+job+"/links", map[string]any{"for": "customer", "to": "Ottoline Quillfeather", "version": 1})
	require.Less(t, link.status, 300, link.text())

	found := office.do(http.MethodGet, "/privacy/customer?job="+job, nil)
	require.Equal(t, http.StatusOK, found.status, found.text())
	assert.Equal(t, "Ottoline Quillfeather", found.json()["customer"].(map[string]any)["name"])

	copied := office.do(http.MethodPost, "/privacy/exports", map[string]any{"jobs": []string{job}, "reason": "asked by letter"})
	require.Equal(t, http.StatusOK, copied.status, copied.text())
	z, err := zip.NewReader(bytes.NewReader(copied.body), int64(len(copied.body)))
	require.NoError(t, err)
	var names []string
	for _, file := range z.File {
		names = append(names, file.Name)
	}
	assert.Contains(t, names, "customer-data/index.html")
	assert.Contains(t, strings.Join(names, " "), "-rating-plate")
	left, err := filepath.Glob(filepath.Join(f.opt.Service.Scratch, "copy-*"))
	require.NoError(t, err)
	assert.Empty(t, left, "no copy stays behind")

	order := map[string]any{"jobs": []string{job}, "reason": "asked by letter of 3 March", "basis": "asked"}
	office.do(http.MethodPost, "/privacy/erasures", order).problem(http.StatusForbidden, claims.Forbidden)
	would := f.owner.do(http.MethodPost, "/privacy/erasures/preview", map[string]any{"jobs": []string{job}})
	require.Equal(t, http.StatusOK, would.status, would.text())
	one := would.json()["jobs"].([]any)[0].(map[string]any)
	assert.Equal(t, []any{"unfinished"}, one["warnings"])
	f.owner.do(http.MethodPost, "/privacy/erasures", order).problem(http.StatusConflict, claims.Conflict)

	// The same photo, half uploaded by a second phone: erasing takes that part too.
	part := filepath.Join(f.opt.Incoming, string(testShop), "0011223344556677", string(d)+"."+strconv.Itoa(len(pic))+partEnd)
	require.NoError(t, os.MkdirAll(filepath.Dir(part), 0o700))
	require.NoError(t, os.WriteFile(part, pic[:100], 0o600))

	order["despite"] = []string{"unfinished"}
	done := f.owner.do(http.MethodPost, "/privacy/erasures", order)
	require.Equal(t, http.StatusOK, done.status, done.text())
	assert.NoFileExists(t, part)
	f.owner.do(http.MethodGet, "/originals/"+string(d), nil).problem(http.StatusNotFound, claims.NotFound)

	got := tech.do(http.MethodGet, "/jobs/"+job, nil)
	require.Equal(t, http.StatusOK, got.status, got.text())
	assert.NotContains(t, got.text(), "Quillfeather")
	assert.Len(t, got.json()["erased"], 1)
	entries := tech.do(http.MethodGet, "/jobs/"+job+"/entries", nil)
	require.Equal(t, http.StatusOK, entries.status, entries.text())
	assert.NotContains(t, entries.text(), "Quillfeather")
	var list struct {
		Entries []struct {
			Entry json.RawMessage
			Stub  *struct{ Erased claims.Stub }
		}
	}
	require.NoError(t, json.Unmarshal(entries.body, &list))
	stubs := 0
	for _, e := range list.Entries {
		assert.Equal(t, e.Entry == nil, e.Stub != nil)
		if e.Stub != nil {
			stubs++
		}
	}
	assert.Greater(t, stubs, 3)
	tech.do(http.MethodPost, "/entries", batch(f.entry(job, "note", map[string]any{"text": "late"}))).problem(http.StatusGone, claims.Erased)
	listed := tech.do(http.MethodGet, "/jobs?key=stage&value=erased", nil)
	require.Equal(t, http.StatusOK, listed.status)
	assert.Len(t, listed.json()["jobs"], 1, "how a phone learns which jobs to drop")
	assert.NotContains(t, f.log.String(), "Quillfeather")

	st, err := f.opt.Service.Stores.Shop(t.Context(), testShop)
	require.NoError(t, err)
	require.NoError(t, st.Notes(t.Context(), "", func(name string, value []byte) bool {
		assert.NotContains(t, string(value), "Quillfeather", "note %s", name)
		assert.False(t, strings.HasPrefix(name, "share/"), "the link is gone with what it showed")
		return true
	}))
	blobs, err := f.opt.Service.Blobs.Shop(t.Context(), testShop)
	require.NoError(t, err)
	report, err := custody.Checker{Store: st, Blobs: blobs}.Check(t.Context())
	require.NoError(t, err)
	assert.True(t, report.OK(), "%+v", report.Problems)
	assert.Equal(t, stubs, report.Erased)
}

func TestRetentionOverHTTP(t *testing.T) {
	f := newFixture(t)
	job := f.openJob(f.owner, 1)
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "settle", map[string]any{"outcome": "paid"}, own("Owner")))).status)
	f.owner.do(http.MethodPut, "/privacy/retention", map[string]any{"months": -1}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPut, "/privacy/retention", map[string]any{"months": 1}).status)
	now := f.owner.do(http.MethodPost, "/privacy/retention/proposals", nil)
	require.Equal(t, http.StatusOK, now.status, now.text())
	assert.Empty(t, now.json()["due"])
	f.clock.move(40 * 24 * 3600e9)
	f.owner = f.enterAgain()
	now = f.owner.do(http.MethodPost, "/privacy/retention/proposals", nil)
	require.Equal(t, http.StatusOK, now.status, now.text())
	require.Len(t, now.json()["due"], 1)
	ran := f.owner.do(http.MethodPost, "/privacy/retention/runs", map[string]any{"jobs": []string{job}})
	require.Equal(t, http.StatusOK, ran.status, ran.text())
	f.owner.do(http.MethodPost, "/privacy/retention/runs", map[string]any{"jobs": []string{job}}).problem(http.StatusConflict, claims.Conflict)
	all := f.owner.do(http.MethodGet, "/privacy/retention", nil)
	require.Equal(t, http.StatusOK, all.status, all.text())
	assert.Len(t, all.json()["runs"], 3)
}

// enterAgain lets the owner in after the clock has moved past the session.
func (f *fixture) enterAgain() *client {
	f.t.Helper()
	token, err := f.access.OwnerLink(f.t.Context(), testShop)
	require.NoError(f.t, err)
	return f.enter(token)
}

// What was ordered and broken off is finished when the server starts again.
func TestErasingIsFinishedAtStart(t *testing.T) {
	f := newFixture(t)
	job := f.openJob(f.owner, 1)
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "customer", map[string]any{"name": "Ottoline Quillfeather"}))).status)
	broken := errors.New("the power went")
	owner := claims.Actor{Shop: testShop, Person: "Owner", Role: claims.Owner, Device: "desk"}
	_, err := f.opt.Service.Erase(t.Context(), owner, claims.EraseOrder{Jobs: []claims.JobID{claims.JobID(job)}, Reason: "asked by letter", Basis: "asked", Despite: []string{"unfinished"}},
		func(context.Context, []claims.Digest) error { return broken })
	require.ErrorIs(t, err, broken)
	left := func() claims.Job {
		j, err := f.opt.Service.Job(t.Context(), owner, claims.JobID(job))
		require.NoError(t, err)
		return j
	}
	require.Equal(t, "Ottoline Quillfeather", left().Customer.Name, "ordered, and not done")
	f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "note", map[string]any{"text": "late"}))).problem(http.StatusGone, claims.Erased)

	again, err := New(f.opt)
	require.NoError(t, err)
	defer again.Close()
	require.Eventually(t, func() bool { return left().Gone > 0 }, time.Minute, 5*time.Millisecond)
	assert.Empty(t, left().Customer.Name)
}
