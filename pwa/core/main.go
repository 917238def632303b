//go:build !js

package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
)

// Outside a browser the core answers questions from standard input, one {"question": …, "in": …} a line, to look at what
// the phone would see.
func main() {
	var c Core
	in := bufio.NewScanner(os.Stdin)
	in.Buffer(nil, 64<<20)
	for in.Scan() {
		var q struct {
			Question string          `json:"question"`
			In       json.RawMessage `json:"in"`
			Pixels   []uint8         `json:"pixels"`
		}
		if err := json.Unmarshal(in.Bytes(), &q); err != nil {
			fmt.Fprintln(os.Stderr, "read the question:", err)
			os.Exit(1)
		}
		fmt.Printf("%s\n", c.Answer(q.Question, q.In, q.Pixels))
	}
	if err := in.Err(); err != nil {
		fmt.Fprintln(os.Stderr, "read the questions:", err)
		os.Exit(1)
	}
}
