package bundle

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const vectors = "../../testdata/bundles"

func vectorFiles(t testing.TB) []string {
	files, err := filepath.Glob(vectors + "/*.zip")
	require.NoError(t, err)
	require.NotEmpty(t, files, "no test bundles found")
	return files
}

// Whatever the bytes, Verify ends, does not panic, and never says of other contents that they hold. The seeds are the test
// bundles with short texts for the PDF and the page, which nobody reads here: small inputs are fuzzed faster.
func FuzzVerify(f *testing.F) {
	good := map[string]bool{}
	for _, file := range vectorFiles(f) {
		raw, err := os.ReadFile(file)
		require.NoError(f, err)
		c, holds := open(f, raw), !strings.Contains(file, "bad-")
		for _, name := range []string{"data/report.pdf", "data/index.html", "data/evidence.csv", "data/README.txt", "data/evidence.schema.json"} {
			c.data[name] = []byte("short")
		}
		raw = c.zip(f, holds)
		f.Add(raw)
		if holds {
			require.True(f, verify(f, raw).Holds)
			good[contentSum(f, raw)] = true
		}
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		r, err := Verify(context.Background(), bytes.NewReader(raw), int64(len(raw)), Options{SkipPictures: true, MaxBytes: 64 << 20})
		require.NoError(t, err)
		if r.Holds {
			require.True(t, good[contentSum(t, raw)], "other contents are said to hold:\n%s", r.Text())
		}
		_ = r.Text()
	})
}

func contentSum(t testing.TB, raw []byte) string {
	c := open(t, raw)
	var all []listed
	for name, data := range c.data {
		all = append(all, listed{path: c.root + "/" + name, sum: hexSum(data)})
	}
	return hexSum(manifest(all))
}

// One changed byte in a file, with all manifests made to fit again: in an original or an entry it must be found. (A
// change in proofs.json may be of blanks between its parts, which means nothing.)
func FuzzVerifyContents(f *testing.F) {
	raw, err := os.ReadFile(vectors + "/good.zip")
	require.NoError(f, err)
	names := slices.Clone(open(f, raw).names)
	for i := range names {
		f.Add(i, 40, byte(1))
	}
	f.Fuzz(func(t *testing.T, file, at int, change byte) {
		c := open(t, raw)
		name := c.names[(file%len(names)+len(names))%len(names)]
		data := c.data[name]
		if change == 0 || len(data) == 0 || !strings.HasPrefix(name, "data/") {
			return
		}
		data[(at%len(data)+len(data))%len(data)] ^= change
		spoilt := c.zip(t, true)
		r, err := Verify(context.Background(), bytes.NewReader(spoilt), int64(len(spoilt)), Options{SkipPictures: true})
		require.NoError(t, err)
		if strings.HasPrefix(name, "data/originals/") || name == entriesPath {
			require.False(t, r.Holds, "a change in %s was not found:\n%s", name, r.Text())
		}
	})
}
