// Command report checks facts against a pack, both as JSON on standard input, and writes the reports as JSON lines. It is built
// for WebAssembly by a test, which holds its output against the native one, byte for byte. It imports rules only, as the
// phone's core does.
package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"

	"kickplate/rules"
)

type job struct {
	Pack  rules.Pack    `json:"pack"`
	Facts []rules.Facts `json:"facts"`
}

func main() {
	if err := run(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "report:", err)
		os.Exit(1)
	}
}

func run(in io.Reader, out io.Writer) error {
	var jobs []job
	if err := json.NewDecoder(in).Decode(&jobs); err != nil {
		return fmt.Errorf("read jobs: %w", err)
	}
	enc := json.NewEncoder(out)
	for i := range jobs {
		c, err := rules.Compile(&jobs[i].Pack)
		if err != nil {
			return err
		}
		for k := range jobs[i].Facts {
			f := &jobs[i].Facts[k]
			for _, v := range []any{rules.Check(c, f), rules.Wanted(c, f), rules.Explain(c, f)} {
				if err := enc.Encode(v); err != nil {
					return fmt.Errorf("write: %w", err)
				}
			}
		}
	}
	return nil
}
