package browsertest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// program is the server's binary, built once.
var program string

func TestMain(m *testing.M) { os.Exit(run(m)) }

func run(m *testing.M) int {
	for tool, pkg := range map[string]string{"chromium": "chromium"} {
		if _, err := exec.LookPath(tool); err != nil {
			fmt.Fprintf(os.Stderr, "%s is needed: install the Debian package %s\n", tool, pkg)
			return 1
		}
	}
	dir, err := os.MkdirTemp("", "kickplate-browser-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	program = filepath.Join(dir, "kickplate")
	if says, err := exec.Command("go", "build", "-o", program, "kickplate/server").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "build the server: %v\n%s", err, says)
		return 1
	}
	return m.Run()
}
