package pwa

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// file is one thing that can be asked for, ready in every form it is sent in.
type file struct {
	kind   string // media type
	etag   string // of the plain bytes
	hashed bool   // its address names its content: it may be kept for ever
	review bool   // it is the reviewer's page
	plain  []byte // nil when only the brotli form is at hand
	gzip   []byte // nil when it does not pay
	brotli []byte
}

// Site serves the app. It never changes after New; it may serve from many goroutines.
type Site struct {
	files   map[string]*file // by path of the URL
	index   *file
	version string
}

// Version names this build of the app: it changes when any byte of the app does.
func (s *Site) Version() string { return s.version }

// The marks in index.html, the manifest and sw.js that New fills in.
const (
	markBase     = "/a/@/"            // where the hashed files are
	markCore     = "/c/@/"            // where the WebAssembly core is
	markChecker  = "/v/@/"            // where the checker of bundles is, for the reviewer's page
	markVersion  = "@version@"        // the version
	markPrecache = `["@precache"]`    // a JSON list of addresses
	markDesk     = `["@desk"]`        // another
	markModules  = "<!--@modules@-->" // links that let the browser fetch all modules at once
)

// newSite computes the version from all files and fills it into the few that name it.
func newSite(static, built fs.FS) (*Site, error) {
	s := &Site{files: map[string]*file{}}
	parts, err := readAll(static)
	if err != nil {
		return nil, fmt.Errorf("read the app's files: %w", err)
	}
	core, coreBase, err := readCore(built, "core.wasm", "c")
	if err != nil {
		return nil, fmt.Errorf("read the app's core: %w", err)
	}
	checker, checkerBase, err := readCore(built, "verify.wasm", "v")
	if err != nil {
		return nil, fmt.Errorf("read the checker: %w", err)
	}
	s.version = versionOf(parts, coreBase+checkerBase)
	base := "/a/" + s.version + "/"
	precache, desk := []string{"/", "/manifest.webmanifest"}, []string{}
	fill := strings.NewReplacer(markBase, base, markCore, coreBase, markChecker, checkerBase, markVersion, s.version)
	for _, name := range slices.Sorted(mapsKeys(parts)) {
		data := parts[name]
		switch name {
		case "index.html", "manifest.webmanifest", "sw.js", reviewFile:
			continue // below, filled in
		}
		f, err := newFile(name, data, true)
		if err != nil {
			return nil, err
		}
		s.files[base+name] = f
		if kept(name) {
			precache = append(precache, base+name)
		}
		if ofDesk(name) {
			desk = append(desk, base+name)
		}
	}
	for name, f := range core {
		s.files[coreBase+name] = f
	}
	for name, f := range checker {
		s.files[checkerBase+name] = f
	}
	for _, name := range []string{"index.html", "manifest.webmanifest", "sw.js"} {
		data, ok := parts[name]
		if !ok {
			return nil, fmt.Errorf("%s is missing", name)
		}
		text := strings.Replace(fill.Replace(string(data)), markModules, modules(base, atStart(parts, "js/main.js")), 1)
		if name == "sw.js" {
			for mark, list := range map[string][]string{markPrecache: precache, markDesk: desk} {
				names, err := json.Marshal(list)
				if err != nil {
					return nil, fmt.Errorf("list the files for %s: %w", name, err)
				}
				text = strings.Replace(text, mark, string(names), 1)
			}
		}
		f, err := newFile(name, []byte(text), false)
		if err != nil {
			return nil, err
		}
		s.files["/"+name] = f
	}
	if err := s.addReview(parts, base, fill); err != nil {
		return nil, err
	}
	s.index = s.files["/index.html"]
	s.files["/"] = s.index
	return s, nil
}

// kept reports whether the service worker fetches the file ahead of need: all but papers, big icons, the reviewer's page, texts in
// another language than English, and the desk's part, which a technician's phone can do without until somebody opens it.
func kept(name string) bool {
	return !translation(name) && !ofDesk(name) && !strings.HasPrefix(name, "review/") &&
		!strings.HasSuffix(name, ".md") && !strings.HasSuffix(name, ".txt") && !strings.HasSuffix(name, "512.png")
}

// ofDesk reports whether the file is the desk's part of the app, its texts in other languages among them.
func ofDesk(name string) bool {
	return strings.HasPrefix(name, "js/desk/") || strings.HasPrefix(name, "js/dispute/") || name == "desk.css"
}

// translation reports whether the file holds texts in another language than English.
func translation(name string) bool {
	name = path.Base(name)
	return strings.HasPrefix(name, "words-") && name != "words-en.js"
}

// staticImport is an import or export that a module can't run without; import(…) is none.
var staticImport = regexp.MustCompile(`(?m)^(?:import|export)\b[^"\n]*"(\.[^"]+)"`)

// atStart lists the modules that a module can't run without, itself among them, each after what it needs.
func atStart(parts map[string][]byte, name string) []string {
	var list []string
	seen := map[string]bool{}
	var visit func(string)
	visit = func(name string) {
		if seen[name] {
			return
		}
		seen[name] = true
		for _, m := range staticImport.FindAllSubmatch(parts[name], -1) {
			visit(path.Join(path.Dir(name), string(m[1])))
		}
		list = append(list, name)
	}
	visit(name)
	return list
}

// modules writes a preload link for every module: without them a module is only asked for once the one that imports it has
// arrived, and a weak line pays a round trip for each level.
func modules(base string, names []string) string {
	var links strings.Builder
	for _, n := range names {
		links.WriteString(`<link rel="modulepreload" href="` + base + n + `">`)
	}
	return links.String()
}

func mapsKeys[V any](m map[string]V) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

func readAll(from fs.FS) (map[string][]byte, error) {
	parts := map[string][]byte{}
	err := fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		parts[name], err = fs.ReadFile(from, name)
		return err
	})
	return parts, err
}

func versionOf(parts map[string][]byte, more string) string {
	h := sha256.New()
	for _, name := range slices.Sorted(mapsKeys(parts)) {
		fmt.Fprintf(h, "%s %x\n", name, sha256.Sum256(parts[name]))
	}
	io.WriteString(h, more)
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// readCore reads the WebAssembly core (or the checker), which is there in brotli only (every browser that can run it takes that, over HTTPS
// and on this machine; elsewhere the app lives without the core), and its runtime glue. Its address holds the hash of its
// own bytes, so a new version of the screens does not make a phone fetch it again.
func readCore(built fs.FS, name, folder string) (map[string]*file, string, error) {
	glue, err := fs.ReadFile(built, "wasm_exec.js")
	if err != nil {
		return nil, "", err
	}
	packed, err := fs.ReadFile(built, name+".br")
	if err != nil {
		return nil, "", err
	}
	js, err := newFile("wasm_exec.js", glue, true)
	if err != nil {
		return nil, "", err
	}
	wasm := &file{kind: "application/wasm", etag: tag(packed), hashed: true, brotli: packed}
	sum := sha256.Sum256(append([]byte(wasm.etag), js.etag...))
	return map[string]*file{name: wasm, "wasm_exec.js": js}, "/" + folder + "/" + hex.EncodeToString(sum[:])[:16] + "/", nil
}

var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
	".mjs": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png", ".webmanifest": "application/manifest+json",
	".md": "text/plain; charset=utf-8", ".txt": "text/plain; charset=utf-8", ".json": "application/json",
}

func newFile(name string, data []byte, hashed bool) (*file, error) {
	kind, ok := kinds[path.Ext(name)]
	if !ok {
		return nil, fmt.Errorf("%s: no media type is known for %q; add it to kinds", name, path.Ext(name))
	}
	f := &file{kind: kind, etag: tag(data), hashed: hashed, plain: data}
	var buf bytes.Buffer
	w, err := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(data); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	if buf.Len() < len(data)*9/10 {
		f.gzip = buf.Bytes()
	}
	return f, nil
}

func tag(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])[:24]
}

// ServeHTTP serves the app's files; every path without a dot that is not one of them is a screen of the app.
func (s *Site) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "Only GET and HEAD are possible here.", http.StatusMethodNotAllowed)
		return
	}
	f, ok := s.files[r.URL.Path]
	if !ok {
		if strings.Contains(r.URL.Path, ".") || strings.HasPrefix(r.URL.Path, "/api/") || strings.HasPrefix(r.URL.Path, "/a/") || strings.HasPrefix(r.URL.Path, "/c/") || strings.HasPrefix(r.URL.Path, "/v/") {
			w.Header().Set("Cache-Control", "no-store")
			http.Error(w, "There is no such file. If the app was open for long, load it again.", http.StatusNotFound)
			return
		}
		f = s.index
	}
	f.serve(w, r)
}

func (f *file) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Vary", "Accept-Encoding")
	h.Set("Content-Security-Policy", ContentSecurityPolicy) // a Worker goes by its own script's policy, so on every file
	switch {
	case f.hashed:
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	case f.review:
		reviewHeaders(h)
	default:
		h.Set("Cache-Control", "no-cache")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Permissions-Policy", "camera=(self), microphone=(self), geolocation=(self)")
	}
	data, coding := f.plain, ""
	accepted := r.Header.Get("Accept-Encoding")
	switch {
	case f.brotli != nil && accepts(accepted, "br"):
		data, coding = f.brotli, "br"
	case f.gzip != nil && accepts(accepted, "gzip"):
		data, coding = f.gzip, "gzip"
	}
	if data == nil && coding == "" {
		h.Set("Cache-Control", "no-store")
		http.Error(w, "This file is only to be had in the coding br.", http.StatusNotAcceptable)
		return
	}
	etag := `"` + f.etag + `"`
	if coding != "" {
		h.Set("Content-Encoding", coding)
		etag = `"` + f.etag + "-" + coding + `"`
	}
	h.Set("ETag", etag)
	if matches(r.Header.Get("If-None-Match"), etag) {
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Length", strconv.Itoa(len(data)))
	if r.Method == http.MethodGet {
		w.Write(data) // the reader may have gone away; there is nobody to tell
	}
}

// accepts reports whether an Accept-Encoding header allows a coding (RFC 9110 section 12.5.3).
func accepts(header, coding string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, params, _ := strings.Cut(strings.TrimSpace(part), ";")
		if !strings.EqualFold(strings.TrimSpace(name), coding) {
			continue
		}
		q, found := strings.CutPrefix(strings.ReplaceAll(params, " ", ""), "q=")
		weight, err := strconv.ParseFloat(q, 64)
		return !found || err == nil && weight > 0
	}
	return false
}

func matches(header, etag string) bool {
	for part := range strings.SplitSeq(header, ",") {
		p := strings.TrimPrefix(strings.TrimSpace(part), "W/")
		if p == "*" || p == etag {
			return true
		}
	}
	return false
}
