// Package main is the checker that a reviewer's page runs: bundle.Verify, compiled to WebAssembly, over a bundle that the browser holds.
// It is the code of the command `kickplate verify`, nothing less; only where the bytes come from differs.
//
// It imports claims/bundle and the standard library, never the server, a store or media.
package main
