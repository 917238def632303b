package bundle

import (
	"encoding/json"
	"fmt"
	"strings"
)

// Text is the report in plain words: the verdict, then what is broken, what can't be told, what holds, and what was held back.
func (r *Report) Text() string {
	var o strings.Builder
	name := r.Bundle
	if r.Claim != "" {
		name = fmt.Sprintf("%s, claim %s, version %d", r.Bundle, r.Claim, r.Version)
	}
	if name == "" {
		name = "this file"
	}
	if r.Holds {
		fmt.Fprintf(&o, "HOLDS: %s\n", plainLine(name))
	} else {
		fmt.Fprintf(&o, "DOES NOT HOLD: %s\n", plainLine(name))
	}
	for _, part := range []struct{ result, head, mark string }{
		{Broken, "What does not hold", "✗"}, {CannotTell, "What can't be told", "?"}, {Holds, "What holds", "✓"}, {Remark, "To know", "·"},
	} {
		first := true
		for _, c := range r.Checks {
			if c.Result != part.result {
				continue
			}
			if first {
				fmt.Fprintf(&o, "\n%s:\n", part.head)
				first = false
			}
			where := c.Area
			if c.File != "" {
				where += ", " + c.File
			}
			fmt.Fprintf(&o, "  %s [%s] %s\n", part.mark, plainLine(where), plainLine(c.Says))
		}
	}
	if len(r.Withheld) > 0 {
		fmt.Fprintf(&o, "\nHeld back on purpose:\n")
		for _, w := range r.Withheld {
			ref := "SHA-256 " + string(w.Digest)
			if w.Leaf != nil {
				ref = fmt.Sprintf("leaf %d of the log", *w.Leaf)
			}
			fmt.Fprintf(&o, "  - %s %s, %s (%s)\n", plainLine(w.What), plainLine(w.Name), plainLine(ref), plainLine(w.Why))
		}
	}
	fmt.Fprintf(&o, "\nThe report, the page and the table (report.pdf, index.html, evidence.csv) were checked for changes since the bundle was built,\nnot read. Whether what people typed is true is for the reader.\n")
	return o.String()
}

// JSON is the report for programs.
func (r *Report) JSON() ([]byte, error) {
	raw, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write the report: %w", err)
	}
	return append(raw, '\n'), nil
}

// plainLine keeps names out of a tampered bundle from playing with the terminal.
func plainLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < 0x20 || (r >= 0x7f && r < 0xa0) || (r >= 0x202a && r <= 0x202e) || (r >= 0x2066 && r <= 0x2069) {
			return '�'
		}
		return r
	}, s)
}
