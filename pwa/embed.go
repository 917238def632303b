// Package pwa is the phone app and the desk: plain HTML, CSS and ES modules, embedded and served with content
// hashes that are computed at start, so that no version is ever bumped by hand.
//
// Start with [New]; the [Site] it returns is an http.Handler for everything that is not the API.
//
// The package knows nothing of jobs, claims or the server: it must never import another package of this project.
// (pwa/core, the program that is compiled to WebAssembly, is a package of its own.)
package pwa

import (
	"embed"
	"io/fs"
)

//go:embed static built
var embedded embed.FS

// ContentSecurityPolicy is the policy the app is written for: everything from its own origin, no inline script or style.
const ContentSecurityPolicy = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; " +
	"media-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// New reads the embedded files. An error means that the program was built from a broken tree.
func New() (*Site, error) {
	static, err := fs.Sub(embedded, "static")
	if err != nil {
		return nil, err
	}
	built, err := fs.Sub(embedded, "built")
	if err != nil {
		return nil, err
	}
	return newSite(static, built)
}
