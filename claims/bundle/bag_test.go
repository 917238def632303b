package bundle

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const suite = "../../testdata/bagit"

// deviates are the bags whose verdict differs from the suite's, with the reason.
var deviates = map[string]string{
	"v0.97/warning/same-filename-listed-twice-with-the-same-hash": "1.0 forbids it (and the suite's v1.0 has the same bag as invalid)",
}

// loadBag reads a bag of the suite into memory.
func loadBag(t testing.TB, dir string) fstest.MapFS {
	m := fstest.MapFS{}
	require.NoError(t, filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, p)
		require.NoError(t, err)
		data, err := os.ReadFile(p)
		m[filepath.ToSlash(rel)] = &fstest.MapFile{Data: data}
		return err
	}))
	if strings.HasSuffix(dir, "/special-system-files") {
		m["data/.DS_Store"] = &fstest.MapFile{} // as published; see testdata/bagit/README.md
	}
	return m
}

// The public conformance suite, LibraryOfCongress/bagit-conformance-suite 9ab48705 (CC0).
func TestConformanceSuite(t *testing.T) {
	dirs, err := filepath.Glob(suite + "/v*/*/*")
	require.NoError(t, err)
	require.Len(t, dirs, 12+11+6+6+6+1+4, "the suite's bags of 0.97 and 1.0")
	for _, dir := range dirs {
		name := strings.TrimPrefix(filepath.ToSlash(dir), suite+"/")
		t.Run(name, func(t *testing.T) {
			r, err := VerifyBag(context.Background(), loadBag(t, dir))
			require.NoError(t, err)
			kind := path.Base(path.Dir(name))
			if deviates[name] != "" {
				assert.Equal(t, "warning", kind)
				assert.False(t, r.Valid())
				return
			}
			switch kind {
			case "valid":
				assert.Empty(t, r.Problems)
			case "warning":
				assert.Empty(t, r.Problems)
				assert.NotEmpty(t, r.Warnings)
			default: // invalid, linux-only, windows-only
				assert.NotEmpty(t, r.Problems)
			}
		})
	}
}

// Rules that the suite does not cover, from RFC 8493.
func TestBagRules(t *testing.T) {
	sum := func(s string) string { return hexSum([]byte(s)) }
	good := func() fstest.MapFS {
		return fstest.MapFS{
			"bagit.txt":           {Data: []byte("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")},
			"bag-info.txt":        {Data: []byte("Payload-Oxum: 3.1\nSource-Organization: A\n  and B\n")},
			"manifest-sha256.txt": {Data: []byte(sum("abc") + "  data/a.txt\n")},
			"data/a.txt":          {Data: []byte("abc")},
		}
	}
	t.Run("OK", func(t *testing.T) {
		r, err := VerifyBag(context.Background(), good())
		require.NoError(t, err)
		assert.True(t, r.Valid(), "%v", r.Problems)
		assert.Empty(t, r.Warnings)
		assert.Equal(t, [2]string{"Source-Organization", "A and B"}, r.Info[1])
	})
	for _, c := range []struct {
		name   string
		change func(fstest.MapFS)
		says   string // "" = must be valid
	}{
		{"percent signs are escaped", func(m fstest.MapFS) {
			delete(m, "data/a.txt")
			m["data/100%.txt"] = &fstest.MapFile{Data: []byte("abc")}
			m["manifest-sha256.txt"].Data = []byte(sum("abc") + "  data/100%25.txt\n")
		}, ""},
		{"line feeds are escaped", func(m fstest.MapFS) {
			delete(m, "data/a.txt")
			m["data/a\nb.txt"] = &fstest.MapFile{Data: []byte("abc")}
			m["manifest-sha256.txt"].Data = []byte(sum("abc") + "  data/a%0Ab.txt\n")
		}, ""},
		{"other escapes are not undone", func(m fstest.MapFS) {
			m["manifest-sha256.txt"].Data = []byte(sum("abc") + "  data/%61.txt\n")
		}, "missing"},
		{"capital checksums", func(m fstest.MapFS) {
			m["manifest-sha256.txt"].Data = []byte(strings.ToUpper(sum("abc")) + "  data/a.txt\n")
		}, ""},
		{"wrong Oxum", func(m fstest.MapFS) { m["bag-info.txt"].Data = []byte("Payload-Oxum: 4.1\n") }, "Payload-Oxum"},
		{"two Oxums", func(m fstest.MapFS) { m["bag-info.txt"].Data = []byte("Payload-Oxum: 3.1\nPayload-Oxum: 3.1\n") }, "more than one"},
		{"changed byte", func(m fstest.MapFS) { m["data/a.txt"].Data = []byte("abd") }, "changed"},
		{"missing file", func(m fstest.MapFS) { delete(m, "data/a.txt") }, "missing"},
		{"extra file", func(m fstest.MapFS) { m["data/b.txt"] = &fstest.MapFile{} }, "does not list it"},
		{"no manifest", func(m fstest.MapFS) { delete(m, "manifest-sha256.txt") }, "no payload manifest"},
		{"unknown checksum only", func(m fstest.MapFS) {
			m["manifest-crc9.txt"] = m["manifest-sha256.txt"]
			delete(m, "manifest-sha256.txt")
		}, "no payload manifest"},
		{"short checksum", func(m fstest.MapFS) { m["manifest-sha256.txt"].Data = []byte("abcd  data/a.txt\n") }, "hexadecimal digits"},
		{"path leaves the bag", func(m fstest.MapFS) {
			m["manifest-sha256.txt"].Data = append(m["manifest-sha256.txt"].Data, []byte(sum("")+"  data/../../x\n")...)
		}, "leads out of the bag"},
		{"backslash", func(m fstest.MapFS) {
			m["manifest-sha256.txt"].Data = append(m["manifest-sha256.txt"].Data, []byte(sum("")+"  data\\..\\x\n")...)
		}, "backslash"},
		{"manifest lists a tag file", func(m fstest.MapFS) {
			m["manifest-sha256.txt"].Data = append(m["manifest-sha256.txt"].Data, []byte(sum("")+"  bagit.txt\n")...)
		}, "not under data/"},
		{"tag manifest lists payload", func(m fstest.MapFS) {
			m["tagmanifest-sha256.txt"] = &fstest.MapFile{Data: []byte(sum("abc") + "  data/a.txt\n")}
		}, "payload file"},
		{"tag manifest without the manifest", func(m fstest.MapFS) {
			m["tagmanifest-sha256.txt"] = &fstest.MapFile{Data: []byte(sum(string(m["bagit.txt"].Data)) + "  bagit.txt\n")}
		}, "does not list manifest-sha256.txt"},
		{"changed tag file", func(m fstest.MapFS) {
			m["tagmanifest-sha256.txt"] = &fstest.MapFile{Data: []byte(sum(string(m["manifest-sha256.txt"].Data)) + "  manifest-sha256.txt\n" + sum("") + "  bag-info.txt\n")}
		}, "changed"},
		{"to be fetched", func(m fstest.MapFS) {
			m["fetch.txt"] = &fstest.MapFile{Data: []byte("https://example.net/a - data/a.txt\n")}
			delete(m, "data/a.txt")
		}, "nothing is fetched"},
		{"symbolic link", func(m fstest.MapFS) { m["data/l"] = &fstest.MapFile{Mode: fs.ModeSymlink, Data: []byte("/etc/passwd")} }, "link"},
		{"unknown version", func(m fstest.MapFS) {
			m["bagit.txt"].Data = []byte("BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n")
		}, "not known"},
		{"three lines", func(m fstest.MapFS) { m["bagit.txt"].Data = append(m["bagit.txt"].Data, "x: y\n"...) }, "two lines"},
		{"blank before a colon", func(m fstest.MapFS) { m["bag-info.txt"].Data = []byte("Payload-Oxum : 3.1\n") }, "before the colon"},
		{"not UTF-8", func(m fstest.MapFS) { m["bag-info.txt"].Data = []byte("A: \xff\n") }, "not UTF-8"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := good()
			c.change(m)
			r, err := VerifyBag(context.Background(), m)
			require.NoError(t, err)
			if c.says == "" {
				assert.Empty(t, r.Problems)
				return
			}
			assert.Contains(t, fmt.Sprint(r.Problems), c.says)
		})
	}
}

// What a parser of tag files takes must mean the same when it is written and read again.
func FuzzTagFiles(f *testing.F) {
	seeds, err := filepath.Glob(suite + "/v*/*/*/*.txt")
	require.NoError(f, err)
	require.NotEmpty(f, seeds)
	for _, s := range seeds {
		data, err := os.ReadFile(s)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if d, err := parseDeclaration(data); err == nil {
			again, err := parseDeclaration([]byte("BagIt-Version: " + d.version + "\nTag-File-Character-Encoding: " + d.encoding + "\n"))
			require.NoError(t, err)
			require.Equal(t, d, again)
		}
		for _, enc := range []string{"UTF-8", "UTF-16", "ISO-8859-1"} {
			text, err := decodeTag(data, enc)
			if err != nil {
				continue
			}
			if lines, err := parseManifest(text, 32); err == nil {
				for _, l := range lines {
					require.Len(t, l.sum, 64)
					require.NotEmpty(t, l.path)
				}
			}
			if tags, err := parseInfo(text, false); err == nil {
				again, err := parseInfo(string(tagFile(tags)), false)
				require.NoError(t, err)
				require.LessOrEqual(t, len(again), len(tags)) // empty values are not written
			}
			_, _ = parseFetch(text)
		}
		_, err := VerifyBag(context.Background(), fstest.MapFS{"bagit.txt": {Data: []byte("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")},
			"bag-info.txt": {Data: data}, "manifest-sha256.txt": {Data: data}, "fetch.txt": {Data: data}, "tagmanifest-sha512.txt": {Data: data}, "data/x": {Data: data}})
		require.NoError(t, err)
	})
}
