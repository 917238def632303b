package packs

import (
	"fmt"
	"slices"
	"strings"
)

// Problem is one mistake in a pack file.
type Problem struct {
	File    string
	Line    int // 0 when the file as a whole is meant
	Message string
}

func (p Problem) String() string {
	if p.Line == 0 {
		return p.File + ": " + p.Message
	}
	return fmt.Sprintf("%s:%d: %s", p.File, p.Line, p.Message)
}

// Problems is the error of loading: every mistake found, by file and line.
type Problems []Problem

func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// tidy sorts and drops repetitions: a mistake in a pack that others extend is found once for each of them.
func (ps Problems) tidy() Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		if c := strings.Compare(a.File, b.File); c != 0 {
			return c
		}
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return strings.Compare(a.Message, b.Message)
	})
	return slices.Compact(ps)
}
