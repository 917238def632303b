package web

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// hugePNG is a whole PNG whose header says 60,000 × 60,000 pixels (PNG specification, section 11.2: IHDR, IDAT, IEND).
func hugePNG() []byte {
	b := []byte("\x89PNG\r\n\x1a\n")
	for _, chunk := range []string{"IHDR\x00\x00\xea\x60\x00\x00\xea\x60\x08\x02\x00\x00\x00", "IDAT\x78\x9c\x03\x00\x00\x00\x00\x01", "IEND"} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(chunk)-4))
		b = append(b, chunk...)
		b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE([]byte(chunk)))
	}
	return b
}

// hugeJPEG is a photo whose frame header says 60,000 × 60,000 pixels (ITU-T T.81, B.2.2: SOF0).
func hugeJPEG(t testing.TB) []byte {
	data := photo(t, 23)
	at := bytes.Index(data, []byte{0xff, 0xc0})
	require.Positive(t, at)
	copy(data[at+5:], []byte{0xea, 0x60, 0xea, 0x60})
	return data
}

// loopingJPEG is a photo whose EXIF directories point at each other for ever (TIFF 6.0, section 2: the next-IFD offset).
func loopingJPEG(t testing.TB) []byte {
	tiff := []byte("II*\x00\x08\x00\x00\x00")
	for _, next := range []uint32{26, 8} { // the directory at 8 goes on at 26, that one at 8
		tiff = append(tiff, 1, 0)                                     // one tag
		tiff = append(tiff, 0x12, 0x01, 3, 0, 1, 0, 0, 0, 1, 0, 0, 0) // orientation, SHORT, 1
		tiff = binary.LittleEndian.AppendUint32(tiff, next)
	}
	segment := append([]byte("Exif\x00\x00"), tiff...)
	data := photo(t, 21)
	app1 := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(segment)+2))
	out := append(bytes.Clone(data[:2]), app1...)
	return append(append(out, segment...), data[2:]...)
}

func TestBadUploads(t *testing.T) {
	f := newFixture(t)
	good := photo(t, 20)
	for _, c := range []struct {
		name   string
		data   []byte
		status int
		code   claims.ErrorCode
	}{
		{"truncated JPEG header", good[:40], http.StatusUnprocessableEntity, claims.Invalid},
		{"HTML sent as a picture", []byte("<!doctype html><script>alert(document.cookie)</script>"), http.StatusUnsupportedMediaType, claims.Unsupported},
		{"SVG", []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`), http.StatusUnsupportedMediaType, claims.Unsupported},
		{"PNG of 60,000 x 60,000", hugePNG(), http.StatusRequestEntityTooLarge, claims.TooLarge},
		{"JPEG of 60,000 x 60,000", hugeJPEG(t), http.StatusRequestEntityTooLarge, claims.TooLarge},
		{"empty", []byte{}, http.StatusUnprocessableEntity, claims.Invalid},
		{"zeros", make([]byte, 5000), http.StatusUnsupportedMediaType, claims.Unsupported},
		{"a script", []byte("#!/bin/sh\nrm -rf /\n"), http.StatusUnsupportedMediaType, claims.Unsupported},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := string(claims.DigestOf(c.data))
			f.owner.do(http.MethodPut, "/originals/"+d, c.data, header{"Content-Type": "image/jpeg"}).problem(c.status, c.code)
			assert.Equal(t, http.StatusNotFound, f.owner.head(claims.Digest(d)).status, "a refused upload leaves nothing")
			f.owner.do(http.MethodGet, "/originals/"+d, nil).problem(http.StatusNotFound, claims.NotFound)
		})
	}
	t.Run("wrong digest", func(t *testing.T) {
		d := strings.Repeat("0", 64)
		f.owner.do(http.MethodPut, "/originals/"+d, good).problem(http.StatusUnprocessableEntity, claims.Invalid)
		assert.Equal(t, http.StatusNotFound, f.owner.head(claims.Digest(d)).status)
		assert.Equal(t, http.StatusNotFound, f.owner.head(claims.DigestOf(good)).status)
	})
	t.Run("a JPEG cut off in its picture is kept as it is, and said to be cut off", func(t *testing.T) {
		cut := photo(t, 22)
		cut = cut[:len(cut)*2/3]
		res := f.owner.do(http.MethodPut, "/originals/"+string(claims.DigestOf(cut)), cut)
		if res.status == http.StatusCreated {
			assert.NotEmpty(t, res.json()["notes"], "a damaged picture carries a note")
			assert.Equal(t, cut, f.owner.do(http.MethodGet, "/originals/"+string(claims.DigestOf(cut)), nil).body)
		} else {
			res.problem(http.StatusUnprocessableEntity, claims.Invalid)
		}
	})
	t.Run("a PNG named .jpg is fine", func(t *testing.T) {
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, 64, 48))))
		res := f.owner.do(http.MethodPut, "/originals/"+string(claims.DigestOf(b.Bytes())), b.Bytes(), header{"Content-Type": "image/jpeg"})
		require.Equal(t, http.StatusCreated, res.status, res.text())
		assert.Equal(t, "image/png", res.json()["type"])
	})
	t.Run("looping EXIF directories end", func(t *testing.T) {
		loop := loopingJPEG(t)
		res := f.owner.do(http.MethodPut, "/originals/"+string(claims.DigestOf(loop)), loop)
		require.Equal(t, http.StatusCreated, res.status, res.text())
		assert.EqualValues(t, 320, res.json()["width"])
	})
	t.Run("oversize body", func(t *testing.T) {
		small := newFixture(t, func(o *Options) { o.Limits.Upload = 1000 })
		d := "/originals/" + string(claims.DigestOf(good))
		small.owner.do(http.MethodPut, d, good).problem(http.StatusRequestEntityTooLarge, claims.TooLarge)
		// Without a stated length it is found out while the bytes come.
		small.owner.do(http.MethodPut, d, onlyReader{bytes.NewReader(good)}).problem(http.StatusRequestEntityTooLarge, claims.TooLarge)
		assert.Equal(t, http.StatusNotFound, small.owner.head(claims.DigestOf(good)).status)
	})
	t.Run("names that try to leave the folder", func(t *testing.T) {
		for _, name := range []string{"..%2f..%2fetc%2fpasswd", "%2e%2e", strings.Repeat("A", 64), strings.Repeat("a", 63), strings.Repeat("a", 63) + "%00", strings.Repeat("a", 63) + "/"} {
			res := f.owner.lax().do(http.MethodPut, "/originals/"+name, good)
			assert.Contains(t, []int{http.StatusUnprocessableEntity, http.StatusNotFound, http.StatusMethodNotAllowed}, res.status, name)
			assert.Equal(t, "application/problem+json", res.header.Get("Content-Type"), name)
		}
	})
}

type onlyReader struct{ *bytes.Reader }

// with changes one field of an entry; a nil value takes it out.
func with(field string, value any) func(map[string]any) {
	return func(e map[string]any) {
		if value == nil {
			delete(e, field)
		} else {
			e[field] = value
		}
	}
}

func TestBadEntries(t *testing.T) {
	f := newFixture(t)
	lax := f.owner.lax()
	job := newID()
	note := map[string]any{"text": "fine"}
	fine := func(change ...func(map[string]any)) string { return f.entry(job, "note", note, change...) }
	for _, c := range []struct {
		name, body string
		status     int
		code       claims.ErrorCode
		where      string
	}{
		{"unknown field", batch(fine(with("colour", "red"))), 422, claims.Invalid, "entries[0].colour"},
		{"unknown field in the body", batch(f.entry(job, "note", map[string]any{"text": "x", "colour": "red"})), 422, claims.Invalid, "entries[0].body.colour"},
		{"wrong type", batch(fine(with("by", 7))), 422, claims.Invalid, "entries[0].by"},
		{"wrong type in the body", batch(f.entry(job, "note", map[string]any{"text": []int{1}})), 422, claims.Invalid, "entries[0].body.text"},
		{"no id", batch(fine(with("id", nil))), 422, claims.Invalid, "entries[0].id"},
		{"an id that is a path", batch(fine(with("id", "../../etc/passwd"))), 422, claims.Invalid, "entries[0].id"},
		{"a job that is a path", batch(fine(with("job", "..%2f..%2f"))), 422, claims.Invalid, "entries[0].job"},
		{"the year 0", batch(fine(with("at", "0000-01-01T00:00:00Z"))), 422, claims.Invalid, "entries[0].at"},
		{"the year 3000", batch(fine(with("at", "3000-01-01T00:00:00Z"))), 422, claims.Invalid, "entries[0].at"},
		{"no time", batch(fine(with("at", "yesterday"))), 422, claims.Invalid, "entries[0].at"},
		{"another shop", batch(fine(with("shop", "other"))), 403, claims.Forbidden, "entries[0].shop"},
		{"the second is bad", batch(fine(), fine(with("by", ""))), 422, claims.Invalid, "entries[1].by"},
		{"a kind only the server writes", batch(f.entry(job, "examined", map[string]any{"digest": strings.Repeat("a", 64), "bytes": 1, "type": "image/jpeg", "examiner": "me"})), 403, claims.Forbidden, "entries[0].kind"},
		{"a photo whose bytes are not here", batch(f.entry(job, "photo", map[string]any{"digest": strings.Repeat("a", 64), "bytes": 9, "subject": "symptom"})), 409, claims.Missing, "entries[0].body.digest"},
		{"none", batch(), 422, claims.Invalid, "entries"},
		{"too many", batch(strings.Split(strings.Repeat(fine()+"\n", claims.MaxBatch+1), "\n")[:claims.MaxBatch+1]...), 422, claims.Invalid, "entries"},
		{"too long an entry", batch(f.entry(job, "note", map[string]any{"text": strings.Repeat("x", claims.MaxEntry)})), 413, claims.TooLarge, "entries[0]"},
		{"white space inside", `{"entries":[` + strings.Replace(fine(), `,"kind"`, `, "kind"`, 1) + `]}`, 422, claims.Invalid, "entries[0]"},
		{"a field twice", `{"entries":[` + strings.Replace(fine(), `"kind"`, `"by":"Eve","kind"`, 1) + `]}`, 422, claims.Invalid, "entries[0]"},
		{"nested too deep", batch(strings.Replace(fine(), `{"text":"fine"}`, strings.Repeat(`{"a":`, 40)+"1"+strings.Repeat("}", 40), 1)), 422, claims.Invalid, "entries[0]"},
		{"nested absurdly deep", `{"entries":` + strings.Repeat("[", 200_000) + strings.Repeat("]", 200_000) + `}`, 422, claims.Invalid, ""},
		{"not JSON", `hello`, 422, claims.Invalid, ""},
		{"cut off", `{"entries":[{"id":`, 422, claims.Invalid, ""},
		{"two values", batch(fine()) + batch(fine()), 422, claims.Invalid, ""},
		{"an unknown list", `{"entries":[],"more":[]}`, 422, claims.Invalid, "more"},
		{"not UTF-8", batch(strings.Replace(fine(), "fine", "\xff\xfe", 1)), 422, claims.Invalid, "entries[0]"},
		{"a null entry", `{"entries":[null]}`, 422, claims.Invalid, "entries[0]"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := lax.do(http.MethodPost, "/entries", c.body).problem(c.status, c.code)
			if c.where != "" {
				assert.True(t, p.Where == c.where || strings.HasPrefix(p.Where, c.where+"."), "where is %q, want %q", p.Where, c.where)
			}
		})
	}
	t.Run("too long a body", func(t *testing.T) {
		lax.do(http.MethodPost, "/entries", `{"entries":["`+strings.Repeat("x", entriesBody)+`"]}`).problem(http.StatusRequestEntityTooLarge, claims.TooLarge)
	})
	t.Run("another type of content", func(t *testing.T) {
		lax.do(http.MethodPost, "/entries", batch(fine()), header{"Content-Type": "text/plain"}).problem(http.StatusUnsupportedMediaType, claims.Unsupported)
	})
	t.Run("nothing was kept of any of these", func(t *testing.T) {
		f.owner.do(http.MethodGet, "/jobs/"+job, nil).problem(http.StatusNotFound, claims.NotFound)
		assert.Empty(t, f.owner.do(http.MethodGet, "/jobs", nil).json()["jobs"])
	})
	t.Run("the same id with other content is refused and changes nothing", func(t *testing.T) {
		first := fine()
		require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(first)).status)
		other := strings.Replace(first, "fine", "forged", 1)
		p := f.owner.do(http.MethodPost, "/entries", batch(fine(), other)).problem(http.StatusConflict, claims.Conflict)
		assert.Equal(t, "entries[1]", p.Where)
		got := f.owner.do(http.MethodGet, "/jobs/"+job+"/entries", nil)
		assert.EqualValues(t, 2, got.json()["head"], "the entry, and the mark that the owner sent in what Ana wrote")
		assert.Contains(t, got.text(), first)
		assert.NotContains(t, got.text(), "forged")
	})
	t.Run("a photo's name is only a name", func(t *testing.T) {
		data := photo(t, 30)
		f.owner.upload(data)
		body := photoBody(data, "symptom")
		body["name"] = "../../../../etc/cron.d/x"
		require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "photo", body))).status)
		res := f.owner.do(http.MethodGet, "/originals/"+string(claims.DigestOf(data)), nil)
		assert.NotContains(t, res.header.Get("Content-Disposition"), "..")
	})
}

func TestBadQueries(t *testing.T) {
	f := newFixture(t)
	job := f.openJob(f.owner, 40)
	for _, path := range []string{"/jobs?order=upwards", "/jobs?limit=0", "/jobs?limit=201", "/jobs?limit=x", "/jobs?cursor=%21%21", "/jobs?value=7",
		"/jobs?cursor=" + strings.Repeat("A", 500), "/jobs/" + job + "/entries?from=-1", "/jobs/" + job + "/entries?limit=1001",
		"/jobs/" + job + "/entries?from=99999999999999999999", "/log/proof?leaf=0", "/log/proof?leaf=x&size=1", "/log/consistency?from=0&to=1",
		"/jobs/" + job + "/bundles/0", "/jobs/" + job + "/bundles/x"} {
		t.Run(path, func(t *testing.T) {
			f.owner.lax().do(http.MethodGet, path, nil).problem(http.StatusUnprocessableEntity, claims.Invalid)
		})
	}
	for _, path := range []string{"/jobs/" + newID(), "/jobs/not-an-id", "/jobs/..%2f..", "/jobs/" + newID() + "/check", "/jobs/" + newID() + "/entries", "/nothing", "/jobs/" + newID() + "/bundles/1"} {
		t.Run(path, func(t *testing.T) {
			f.owner.lax().do(http.MethodGet, path, nil).problem(http.StatusNotFound, claims.NotFound)
		})
	}
	f.owner.lax().do(http.MethodPatch, "/jobs", nil).problem(http.StatusMethodNotAllowed, codeMethod)
	f.owner.lax().do(http.MethodPost, "/jobs/"+job+"/bundles", `{"hold":["serial"]}`).problem(http.StatusUnprocessableEntity, claims.Invalid)
	f.owner.do(http.MethodGet, "/jobs/"+job+"/entries?from=1000", nil)
}

// brokenBlobs panics at every touch of an original, but lets a server start.
type brokenBlobs struct{}

func (brokenBlobs) Shop(context.Context, claims.ShopID) (claims.Blobs, error) {
	return struct{ claims.Blobs }{}, nil
}

// A fault of ours is said to be one, with the number by which the log has the cause; the cause itself is not shown.
func TestFaultsKeepTheirDetail(t *testing.T) {
	f := newFixture(t, func(o *Options) {
		o.Service.Blobs = brokenBlobs{}
	})
	p := f.owner.do(http.MethodGet, "/originals/"+strings.Repeat("a", 64), nil).problem(http.StatusInternalServerError, codeFault)
	assert.Contains(t, p.Detail, "Something went wrong on our side")
	assert.Contains(t, p.Detail, p.Request)
	assert.NotContains(t, fmt.Sprint(p), "nil pointer")
	assert.Contains(t, f.log.String(), p.Request)
	assert.Contains(t, f.log.String(), "nil pointer")
}
