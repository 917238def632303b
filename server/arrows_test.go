package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const module = "kickplate"

// rooms says what each package may import of ours (a trailing /... covers children), and of others ("std" = the
// standard library only). What is not listed is not allowed. The longest matching room counts.
var rooms = []struct {
	room   string
	ours   []string
	others string // "std", or "" for any but those in reserved
}{
	{"rules", nil, "std"},
	{"rules/readings", nil, "std"},
	{"rules/packs", []string{"rules"}, ""},
	{"media/measure", nil, "std"},
	{"claims", []string{"rules", "rules/readings"}, "small"},
	{"claims/custody", []string{"claims"}, ""},
	{"claims/custody/...", []string{"claims", "claims/custody"}, ""},
	// A bundle carries what custody makes and what dispute finds, and verify works both out again: the only arrows between siblings.
	{"claims/bundle", []string{"claims", "claims/custody", "claims/dispute", "rules", "rules/readings"}, ""},
	{"claims/bundle/...", []string{"claims", "claims/custody", "claims/dispute", "rules", "rules/readings"}, ""},
	{"claims/dispute", []string{"claims", "rules"}, ""},
	{"claims/boltstore", []string{"claims"}, ""},
	{"claims/register", []string{"claims"}, "std"},
	{"claims/memstore", []string{"claims"}, ""},
	{"claims/storetest", []string{"claims"}, ""},
	{"claims/privacy", []string{"claims"}, ""},
	{"media/align", []string{"media/measure"}, "std"},
	{"media", []string{"claims", "media/measure", "media/align"}, ""},
	{"media/filestore", []string{"claims"}, ""},
	{"media/memblobs", []string{"claims"}, ""},
	{"media/blobtest", []string{"claims"}, ""},
	{"pwa", nil, "std"},
	{"pwa/core", []string{"claims", "rules", "rules/readings", "media/measure"}, "std"},
	// The reviewer's checker is bundle.Verify itself, in the browser.
	{"pwa/verify", []string{"claims/bundle"}, "std"},
	{"pwa/...", nil, "std"},
	{"server", []string{"..."}, ""},
	{"server/...", []string{"..."}, ""},
}

// reserved libraries live in these rooms alone.
var reserved = map[string][]string{
	"github.com/labstack/echo/v4":           {"server/web"},
	"go.etcd.io/bbolt":                      {"claims/boltstore"},
	"github.com/disintegration/imaging":     {"media", "claims/bundle", "server/demo"},
	"github.com/rwcarlsen/goexif":           {"media"},
	"github.com/bep/imagemeta":              {"media"},
	"github.com/gen2brain/heic":             {"media"},
	"codeberg.org/go-pdf/fpdf":              {"claims/bundle"},
	"kickplate/claims/boltstore":            {"server"},
	"kickplate/media/filestore":             {"server"},
	"github.com/makiuchi-d/gozxing":         {"media"},
	"github.com/wneessen/go-mail":           {"server/mailer"},
	"github.com/boombuler/barcode":          {"server/demo"},
	"github.com/santhosh-tekuri/jsonschema": {"claims/bundle", "rules/packs"},
}

// The check opens the files itself: a test that shells out to "go list" is cached and passes stale. Files for every
// platform count, test files do not.
func TestArrowsPointDown(t *testing.T) {
	root := ".."
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && file != root && (strings.HasPrefix(name, ".") || name == "testdata" || name == "node_modules" || strings.HasPrefix(name, "kickplate-")) {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, file)
		require.NoError(t, err)
		room := path.Dir(filepath.ToSlash(rel))
		src, err := os.ReadFile(file)
		require.NoError(t, err)
		parsed, err := parser.ParseFile(token.NewFileSet(), file, src, parser.ImportsOnly)
		require.NoError(t, err)
		for _, imp := range parsed.Imports {
			target := strings.Trim(imp.Path.Value, `"`)
			if why := forbidden(room, target); why != "" {
				t.Errorf("%s imports %s: %s", rel, target, why)
			}
		}
		seen[room] = true
		return nil
	})
	require.NoError(t, err)
	for _, must := range []string{"rules", "rules/readings", "claims", "claims/boltstore", "media", "server"} {
		assert.True(t, seen[must], "no Go files found in %s: is the test looking in the right place?", must)
	}
}

// forbidden says why the room may not import the target, or "".
func forbidden(room, target string) string {
	own, ours := strings.CutPrefix(target, module+"/")
	i := slices.IndexFunc(rooms, func(r struct {
		room   string
		ours   []string
		others string
	}) bool {
		return r.room == room
	})
	if i < 0 {
		best := -1
		for n, r := range rooms {
			if parent, ok := strings.CutSuffix(r.room, "/..."); ok && strings.HasPrefix(room, parent+"/") && (best < 0 || len(r.room) > len(rooms[best].room)) {
				best = n
			}
		}
		if i = best; i < 0 {
			return "the room " + room + " is not in the table; add it with what it may import"
		}
	}
	r := rooms[i]
	for lib, homes := range reserved {
		if target == lib || strings.HasPrefix(target, lib+"/") {
			if !slices.ContainsFunc(homes, func(h string) bool { return room == h || strings.HasPrefix(room, h+"/") && h != "server" }) {
				return "only " + strings.Join(homes, " and ") + " may"
			}
		}
	}
	switch {
	case ours && !slices.Contains(r.ours, "...") && !slices.Contains(r.ours, own):
		return "this arrow does not point down"
	case !ours && r.others == "std" && strings.Contains(strings.SplitN(target, "/", 2)[0], "."):
		return "this room uses the standard library only"
	case !ours && r.others == "small" && strings.Contains(strings.SplitN(target, "/", 2)[0], "."):
		return "this room runs on the phone too and stays small"
	}
	return ""
}

// The table must be able to refuse.
func TestArrowsRefuse(t *testing.T) {
	for _, c := range []struct{ room, target string }{
		{"rules", "kickplate/rules/readings"}, {"rules", "kickplate/claims"}, {"rules", "github.com/stretchr/testify/assert"},
		{"claims", "kickplate/claims/boltstore"}, {"claims", "go.etcd.io/bbolt"}, {"claims", "github.com/labstack/echo/v4"},
		{"claims/boltstore", "kickplate/claims/custody"}, {"media", "kickplate/media/filestore"}, {"media/measure", "kickplate/claims"},
		{"pwa", "kickplate/claims"}, {"server/web", "kickplate/claims/boltstore"}, {"server", "github.com/labstack/echo/v4"}, {"cellar", "fmt"},
	} {
		assert.NotEmpty(t, forbidden(c.room, c.target), "%s must not import %s", c.room, c.target)
	}
	for _, c := range []struct{ room, target string }{
		{"claims", "kickplate/rules"}, {"server", "kickplate/claims/boltstore"}, {"server/web", "github.com/labstack/echo/v4/middleware"}, {"rules", "time"},
		{"claims/bundle", "kickplate/claims/custody"}, {"server/demo/draw", "github.com/disintegration/imaging"},
	} {
		assert.Empty(t, forbidden(c.room, c.target), "%s may import %s", c.room, c.target)
	}
}

// The top level is the map: nothing else stands there.
func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir("..")
	require.NoError(t, err)
	allowed := []string{"README.md", "DEVELOPERS.md", "LICENSE", "go.mod", "go.sum", "server", "pwa", "claims", "media", "rules", "testdata"}
	for _, e := range entries {
		if name := e.Name(); !strings.HasPrefix(name, ".") && !strings.HasPrefix(name, "kickplate-") {
			assert.Contains(t, allowed, name)
		}
	}
}
