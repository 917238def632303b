package pwa_test

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "build the WebAssembly core again and write pwa/built; draw the icons again and write pwa/static/icons")

// buildChecker compiles the reviewer's checker; with inlining, since it hashes hundreds of megabytes.
func buildChecker(t *testing.T) []byte {
	t.Helper()
	return compile(t, "./verify", "-gcflags=")
}

// buildCore compiles the core as it is shipped. All that could differ from one machine to the next is switched off; inlining is,
// too, because a phone on a weak line waits longer for 140 kB than for a check.
func buildCore(t *testing.T) []byte {
	t.Helper()
	return compile(t, "./core", "-gcflags=all=-l")
}

func compile(t *testing.T, what, flags string) []byte {
	t.Helper()
	out := filepath.Join(t.TempDir(), "built.wasm")
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", flags, "-ldflags=-s -w -buildid=", "-o", out, what)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "GOFLAGS=", "GOWASM=", "CGO_ENABLED=0", "GOEXPERIMENT=")
	says, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", says)
	wasm, err := os.ReadFile(out)
	require.NoError(t, err)
	return wasm
}

func glue(t *testing.T) []byte {
	t.Helper()
	root, err := exec.Command("go", "env", "GOROOT").Output()
	require.NoError(t, err)
	js, err := os.ReadFile(filepath.Join(string(bytes.TrimSpace(root)), "lib", "wasm", "wasm_exec.js"))
	require.NoError(t, err)
	return js
}

func brotli(t *testing.T, in []byte, args ...string) []byte {
	t.Helper()
	_, err := exec.LookPath("brotli")
	require.NoError(t, err, "install the Debian package brotli")
	cmd := exec.Command("brotli", append(args, "-c")...)
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	require.NoError(t, err)
	return out
}

// TestCoreIsCurrent holds the shipped core against the sources: whoever changes the rules builds it again, with -update.
func TestCoreIsCurrent(t *testing.T) {
	wasm, js := buildCore(t), glue(t)
	if *update {
		require.NoError(t, os.MkdirAll("built", 0o755))
		require.NoError(t, os.WriteFile("built/core.wasm.br", brotli(t, wasm, "-q", "11", "-w", "24"), 0o644))
		require.NoError(t, os.WriteFile("built/wasm_exec.js", js, 0o644))
	}
	const cure = "the sources of pwa/core have changed: run go test ./pwa -run TestCoreIsCurrent -update, and commit pwa/built"
	br, err := os.ReadFile("built/core.wasm.br")
	require.NoError(t, err, cure)
	require.True(t, bytes.Equal(wasm, brotli(t, br, "-d")), cure)
	shipped, err := os.ReadFile("built/wasm_exec.js")
	require.NoError(t, err)
	require.True(t, bytes.Equal(js, shipped), "wasm_exec.js must be the toolchain's own: "+cure)
	require.LessOrEqual(t, len(br), 1_200_000, "the core as sent to a phone, in bytes")
	t.Logf("core: %d bytes, %d as brotli", len(wasm), len(br))
}

// TestCheckerIsCurrent holds the reviewer's checker against the sources of claims/bundle and what it stands on: an older one would not know a
// new kind of entry and call a good bundle broken.
func TestCheckerIsCurrent(t *testing.T) {
	wasm := buildChecker(t)
	if *update {
		require.NoError(t, os.WriteFile("built/verify.wasm.br", brotli(t, wasm, "-q", "11", "-w", "24"), 0o644))
	}
	const cure = "what the reviewer's checker is made of has changed: run go test ./pwa -run TestCheckerIsCurrent -update, and commit pwa/built"
	br, err := os.ReadFile("built/verify.wasm.br")
	require.NoError(t, err, cure)
	require.True(t, bytes.Equal(wasm, brotli(t, br, "-d")), cure)
	require.LessOrEqual(t, len(br), 2_500_000, "the checker as sent to a reviewer, in bytes")
	t.Logf("checker: %d bytes, %d as brotli", len(wasm), len(br))
}
