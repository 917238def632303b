package bundle

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// tool runs a program that CI installs; its absence is a failure that names the Debian package.
func tool(t testing.TB, pkg, dir, name string, args ...string) string {
	path, err := exec.LookPath(name)
	require.NoError(t, err, "install the Debian package %s", pkg)
	cmd := exec.Command(path, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s %v: %s", name, args, out)
	return string(out)
}

func unpack(t testing.TB, data []byte) string {
	dir := t.TempDir()
	file := filepath.Join(dir, "bundle.zip")
	require.NoError(t, os.WriteFile(file, data, 0o600))
	tool(t, "unzip", dir, "unzip", "-q", file)
	list, err := filepath.Glob(filepath.Join(dir, "claim-*"))
	require.NoError(t, err)
	require.Len(t, list, 1)
	return list[0]
}

func TestPackPassesOutsideTools(t *testing.T) {
	data, packed := pack(t, goodParcel(t))
	require.Equal(t, "claim-bc-88-1021-v1.zip", packed.Name)
	dir := unpack(t, data)
	tool(t, "unzip", dir, "unzip", "-t", filepath.Join(filepath.Dir(dir), "bundle.zip"))
	tool(t, "coreutils", dir, "sha256sum", "--strict", "-c", "manifest-sha256.txt")
	tool(t, "coreutils", dir, "sha256sum", "--strict", "-c", "tagmanifest-sha256.txt")
	tool(t, "qpdf", dir, "qpdf", "--check", "data/report.pdf")
	if keep := os.Getenv("KEEP_BUNDLE"); keep != "" {
		require.NoError(t, os.WriteFile(keep, data, 0o600))
	}
}
