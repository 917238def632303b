package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/transparency-dev/merkle/proof"
	"github.com/transparency-dev/merkle/rfc6962"

	"kickplate/claims"
	"kickplate/claims/bundle"
)

// A phone's whole way: photo, entries, job, check, bundle, log; each answer held against the document by the transport.
func TestVisitOverHTTP(t *testing.T) {
	f := newFixture(t)
	tech := f.person("Ana Ruiz", claims.Technician)
	job := f.openJob(tech, 1)
	data := photo(t, 1)
	d := string(claims.DigestOf(data))

	t.Run("original comes back byte for byte", func(t *testing.T) {
		res := tech.do(http.MethodGet, "/originals/"+d, nil)
		require.Equal(t, http.StatusOK, res.status)
		assert.Equal(t, data, res.body)
		assert.Equal(t, "image/jpeg", res.header.Get("Content-Type"))
		assert.Equal(t, "nosniff", res.header.Get("X-Content-Type-Options"))
		assert.True(t, strings.HasPrefix(res.header.Get("Content-Disposition"), "attachment;"))
		assert.Contains(t, res.header.Get("Content-Security-Policy"), "sandbox")
		part := tech.do(http.MethodGet, "/originals/"+d, nil, header{"Range": "bytes=10-19"})
		require.Equal(t, http.StatusPartialContent, part.status)
		assert.Equal(t, data[10:20], part.body)
		same := tech.do(http.MethodGet, "/originals/"+d, nil, header{"If-None-Match": res.header.Get("ETag")})
		assert.Equal(t, http.StatusNotModified, same.status)
	})
	t.Run("pictures and facts", func(t *testing.T) {
		for _, name := range []string{"/view", "/thumb"} {
			res := tech.do(http.MethodGet, "/originals/"+d+name, nil)
			require.Equal(t, http.StatusOK, res.status, res.text())
			assert.Equal(t, "image/jpeg", res.header.Get("Content-Type"))
			assert.Equal(t, []byte{0xff, 0xd8}, res.body[:2])
			assert.Equal(t, http.StatusNotModified, tech.do(http.MethodGet, "/originals/"+d+name, nil, header{"If-None-Match": res.header.Get("ETag")}).status)
		}
		facts := tech.do(http.MethodGet, "/originals/"+d+"/facts", nil).json()
		assert.EqualValues(t, 320, facts["width"])
	})
	t.Run("uploading again is fine", func(t *testing.T) {
		assert.Equal(t, http.StatusOK, tech.do(http.MethodPut, "/originals/"+d, data).status)
	})
	t.Run("job, list and search", func(t *testing.T) {
		got := tech.do(http.MethodGet, "/jobs/"+job, nil).json()
		assert.Equal(t, "Alpenfrost", got["unit"].(map[string]any)["maker"])
		for _, query := range []string{"", "?order=changed&limit=10", "?q=alpen", "?key=serial&value=sn%201", "?key=digest&value=" + d} {
			list := tech.do(http.MethodGet, "/jobs"+query, nil).json()["jobs"].([]any)
			require.Len(t, list, 1, query)
			assert.Equal(t, job, list[0].(map[string]any)["job"])
		}
		assert.Empty(t, tech.do(http.MethodGet, "/jobs?q=nothing", nil).json()["jobs"])
	})
	t.Run("check", func(t *testing.T) {
		report := tech.do(http.MethodGet, "/jobs/"+job+"/check", nil).json()["report"].(map[string]any)
		assert.NotEmpty(t, report["findings"])
		assert.Equal(t, false, report["complete"])
	})
	t.Run("bundle", func(t *testing.T) {
		res := tech.do(http.MethodPost, "/jobs/"+job+"/bundles", map[string]any{"hold": []string{"customer"}})
		require.Equal(t, http.StatusCreated, res.status, res.text())
		built := res.json()
		assert.Equal(t, "/api/v1/jobs/"+job+"/bundles/1", res.header.Get("Location"))
		file := tech.do(http.MethodGet, "/jobs/"+job+"/bundles/1", nil)
		require.Equal(t, http.StatusOK, file.status)
		assert.Equal(t, built["digest"], string(claims.DigestOf(file.body)))
		_, err := zip.NewReader(bytes.NewReader(file.body), int64(len(file.body)))
		require.NoError(t, err)
		verdict, err := bundle.Verify(context.Background(), bytes.NewReader(file.body), int64(len(file.body)), bundle.Options{})
		require.NoError(t, err)
		assert.True(t, verdict.Holds, "%v", verdict.Checks)
		part := tech.do(http.MethodGet, "/jobs/"+job+"/bundles/1", nil, header{"Range": "bytes=0-3"})
		require.Equal(t, http.StatusPartialContent, part.status)
		assert.Equal(t, "PK\x03\x04", part.text())
		tech.do(http.MethodGet, "/jobs/"+job+"/bundles/9", nil).problem(http.StatusNotFound, claims.NotFound)
	})
	t.Run("packs and words", func(t *testing.T) {
		list := tech.do(http.MethodGet, "/packs", nil).json()["packs"].([]any)
		require.NotEmpty(t, list)
		first := list[0].(map[string]any)
		pack := tech.do(http.MethodGet, "/packs/"+first["id"].(string), nil)
		require.Equal(t, http.StatusOK, pack.status)
		assert.Equal(t, first["digest"], string(claims.DigestOf(pack.body)))
		assert.Equal(t, http.StatusNotModified, tech.do(http.MethodGet, "/packs/"+first["id"].(string), nil, header{"If-None-Match": pack.header.Get("ETag")}).status)
		tech.do(http.MethodGet, "/packs/none", nil).problem(http.StatusNotFound, claims.NotFound)
		assert.NotEmpty(t, tech.do(http.MethodGet, "/vocabulary", nil).json()["subjects"])
	})
}

// What comes back from the journal is what was sent, byte for byte, also characters that encoders like to rewrite.
func TestEntriesKeepTheirBytes(t *testing.T) {
	f := newFixture(t)
	job := newID()
	first := f.entry(job, "open", map[string]any{"complaint": "x", "number": "J-1"}, own("Owner"))
	// Raw on purpose: an encoder would write < > & as escapes, and would not write / as \/ or é as \u00e9.
	odd := strings.Replace(f.entry(job, "note", map[string]any{"text": "PLACE"}, own("Owner")), "PLACE", "<b>a & b</b> caf\u00e9 \\u00e9 \\/ \u2028", 1)
	res := f.owner.do(http.MethodPost, "/entries", batch(first, odd))
	require.Equal(t, http.StatusOK, res.status, res.text())
	got := f.owner.do(http.MethodGet, "/jobs/"+job+"/entries", nil)
	var page struct {
		Entries []struct {
			Leaf  uint64
			Entry json.RawMessage
		}
		Head int
	}
	require.NoError(t, json.Unmarshal(got.body, &page))
	require.Len(t, page.Entries, 2)
	assert.Equal(t, 2, page.Head)
	assert.Equal(t, first, string(page.Entries[0].Entry))
	assert.Equal(t, odd, string(page.Entries[1].Entry))

	again := f.owner.do(http.MethodPost, "/entries", batch(odd, first)).json()["results"].([]any)
	for i, leaf := range []float64{1, 0} {
		r := again[i].(map[string]any)
		assert.Equal(t, "already", r["status"])
		assert.Equal(t, leaf, r["leaf"])
	}
	rest := f.owner.do(http.MethodGet, "/jobs/"+job+"/entries?from=1&limit=1", nil)
	require.NoError(t, json.Unmarshal(rest.body, &page))
	require.Len(t, page.Entries, 1)
	assert.Equal(t, odd, string(page.Entries[0].Entry))
}

// The log's proofs hold by an independent implementation of RFC 6962 (transparency-dev/merkle).
func TestLogProofs(t *testing.T) {
	f := newFixture(t)
	f.owner.do(http.MethodGet, "/log/checkpoint", nil).problem(http.StatusNotFound, claims.NotFound)
	job := newID()
	var leaves [][]byte
	for range 7 {
		require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "note", map[string]any{"text": "x"}, own("Owner")))).status)
	}
	st, err := f.opt.Service.Stores.Shop(context.Background(), testShop)
	require.NoError(t, err)
	require.NoError(t, st.Leaves(context.Background(), 0, func(r claims.Record) bool { leaves = append(leaves, r.Line); return true }))
	require.Len(t, leaves, 7)

	point := f.owner.do(http.MethodGet, "/log/checkpoint", nil)
	require.Equal(t, http.StatusOK, point.status)
	lines := strings.Split(point.text(), "\n")
	assert.Equal(t, "7", lines[1])
	assert.NotEmpty(t, point.header.Get("Log-Key"))

	type proofJSON struct {
		Root, FromRoot, ToRoot string
		Hashes                 []string
	}
	read := func(path string) proofJSON {
		res := f.owner.do(http.MethodGet, path, nil)
		require.Equal(t, http.StatusOK, res.status, res.text())
		var p proofJSON
		require.NoError(t, json.Unmarshal(res.body, &p))
		return p
	}
	raw := func(b64 ...string) [][]byte {
		out := make([][]byte, len(b64))
		for i, s := range b64 {
			b, err := base64.StdEncoding.DecodeString(s)
			require.NoError(t, err)
			out[i] = b
		}
		return out
	}
	for leaf := range leaves {
		p := read("/log/proof?size=7&leaf=" + strconv.Itoa(leaf))
		assert.Equal(t, lines[2], p.Root)
		hash := rfc6962.DefaultHasher.HashLeaf(leaves[leaf])
		require.NoError(t, proof.VerifyInclusion(rfc6962.DefaultHasher, uint64(leaf), 7, hash, raw(p.Hashes...), raw(p.Root)[0]))
	}
	for from := 1; from <= 7; from++ {
		p := read("/log/consistency?to=7&from=" + strconv.Itoa(from))
		require.NoError(t, proof.VerifyConsistency(rfc6962.DefaultHasher, uint64(from), 7, raw(p.Hashes...), raw(p.FromRoot)[0], raw(p.ToRoot)[0]))
	}
	for _, path := range []string{"/log/proof?leaf=7&size=7", "/log/proof?leaf=0&size=8", "/log/consistency?from=5&to=3", "/log/consistency?from=1&to=99"} {
		f.owner.do(http.MethodGet, path, nil).problem(http.StatusUnprocessableEntity, claims.Invalid)
	}
}

func TestClockAndDocument(t *testing.T) {
	f := newFixture(t)
	now, err := time.Parse(time.RFC3339Nano, f.anybody().do(http.MethodGet, "/clock", nil).json()["now"].(string))
	require.NoError(t, err)
	assert.True(t, now.Equal(f.clock.now()))
	assert.Equal(t, document, f.anybody().do(http.MethodGet, "/openapi.yaml", nil).body)
}

// Codes of plates are read after the answer, by the background work.
func TestCodesAreSought(t *testing.T) {
	f := newFixture(t)
	job := f.openJob(f.owner, 3)
	require.Eventually(t, func() bool {
		facts := f.owner.do(http.MethodGet, "/jobs/"+job, nil).json()["facts"].(map[string]any)
		return facts[string(claims.DigestOf(photo(t, 3)))].(map[string]any)["codesSought"] == true
	}, time.Minute, 100*time.Millisecond)
}
