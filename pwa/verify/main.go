//go:build !js

package main

import (
	"fmt"
	"os"
)

// Outside a browser the checker reads the file it is given, in the same blocks, to look at what a reviewer would see.
func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: verify BUNDLE")
		os.Exit(2)
	}
	f, err := os.Open(os.Args[1])
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	s := &source{size: info.Size(), fetch: func(at int64, n int) ([]byte, error) {
		block := make([]byte, n)
		_, err := f.ReadAt(block, at)
		return block, err
	}}
	fmt.Printf("%s\n", check(s, true))
}
