package register

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"kickplate/claims"
)

// Bounds of one file and of a shop's register.
const (
	MaxFile  = 5 << 20 // bytes
	MaxRows  = 10_000  // rows of a file
	maxKept  = 50_000  // rows of a shop
	mostBad  = 500     // problems that are told
	mostCell = 2000    // characters of a cell before it is looked at
)

// Problem is one cell, or one line, that can't be taken, and what to write instead.
type Problem struct {
	// Line counts from 1 as an editor does; Column is its name, empty when the whole line is meant.
	Line   int    `json:"line"`
	Column string `json:"column,omitempty"`
	Cell   string `json:"cell,omitempty"`
	Says   string `json:"says"`
}

// file is what a CSV file holds.
type file struct {
	rows []Row
	// lines are where the rows stand.
	lines []int
	// bad counts the lines that can't be taken; problems tell of them, at most mostBad.
	bad      int
	problems []Problem
	columns  []string
	ignored  []string
}

// read reads a file. The error is for what is no such file at all; what is wrong with single lines is in problems.
func read(raw []byte, kinds []string) (*file, error) {
	if len(raw) > MaxFile {
		return nil, claims.Errorf(claims.TooLarge, "The file has more than %d MB. Split it.", MaxFile>>20)
	}
	raw = bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(raw) {
		return nil, claims.Errorf(claims.Invalid, "The file is not in UTF-8. Save it anew as “CSV UTF-8”.")
	}
	if bytes.IndexByte(raw, 0) >= 0 {
		return nil, claims.Errorf(claims.Invalid, "This is no CSV file. Save the table as “CSV UTF-8”.")
	}
	in := csv.NewReader(bytes.NewReader(raw))
	in.Comma, in.FieldsPerRecord, in.ReuseRecord = separator(raw), -1, true
	in.TrimLeadingSpace = in.Comma != '\t' // else empty cells would be eaten
	f := &file{}
	head, err := in.Read()
	if err != nil {
		return nil, claims.Errorf(claims.Invalid, "The file is empty. Its first line names the columns: %s.", strings.Join(Columns(), ", "))
	}
	known, err := f.head(head, kinds)
	if err != nil {
		return nil, err
	}
	seen := map[string]int{}
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			return f, nil
		}
		if pe, ok := errors.AsType[*csv.ParseError](err); ok {
			f.problem(Problem{Line: pe.StartLine, Says: "A quotation mark is not closed, or stands within a cell. Write it twice within quotation marks."})
			f.bad++
			return f, nil // what follows would be guesswork
		}
		if err != nil {
			return nil, err
		}
		line, _ := in.FieldPos(0)
		if blank(cells) {
			continue
		}
		if len(f.rows)+f.bad >= MaxRows {
			return nil, claims.Errorf(claims.TooLarge, "The file has more than %d rows. Split it.", MaxRows)
		}
		f.take(cells, known, line, seen)
	}
}

// head finds the columns.
func (f *file) head(names []string, kinds []string) ([]*column, error) {
	all := columns(kinds)
	known := make([]*column, len(names))
	for i, name := range names {
		plain := strings.ToLower(strings.Join(strings.Fields(strings.NewReplacer("_", " ").Replace(unguard(name))), " "))
		at := slices.IndexFunc(all, func(c column) bool { return c.name == plain || slices.Contains(c.also, plain) })
		if at < 0 {
			f.ignored = append(f.ignored, clip(name))
			continue
		}
		if slices.Contains(f.columns, all[at].name) {
			return nil, claims.Errorf(claims.Invalid, "Two columns are for %s. Leave one out, or name it otherwise.", all[at].name).At("line 1")
		}
		f.columns = append(f.columns, all[at].name)
		known[i] = &all[at]
	}
	if !slices.Contains(f.columns, "name") {
		return nil, claims.Errorf(claims.Invalid, "The first line must name the columns, and one of them must be “name”. Known are: %s.", strings.Join(Columns(), ", ")).At("line 1")
	}
	return known, nil
}

func (f *file) take(cells []string, known []*column, line int, seen map[string]int) {
	var row Row
	good := true
	wrong := func(column, cell, says string) {
		good = false
		f.problem(Problem{Line: line, Column: column, Cell: clip(cell), Says: says})
	}
	for i, cell := range cells {
		switch {
		case i >= len(known):
			if strings.TrimSpace(cell) != "" {
				wrong("", cell, fmt.Sprintf("This line has %d cells, the first line %d. Put a cell with a separator in it into quotation marks.", len(cells), len(known)))
			}
		case known[i] == nil:
		case utf8.RuneCountInString(cell) > mostCell:
			wrong(known[i].name, cell, fmt.Sprintf("Shorten this to %d characters.", known[i].most))
		default:
			if says := known[i].fill(&row, cell); says != "" {
				wrong(known[i].name, cell, says)
			}
		}
	}
	if row.Name == "" && good {
		wrong("name", "", "Write the customer's name.")
	}
	if first, twice := seen[row.key()]; good && twice {
		wrong("", "", fmt.Sprintf("The same customer with the same unit stands in line %d. Take one of them out.", first))
	}
	if !good {
		f.bad++
		return
	}
	seen[row.key()] = line
	f.rows, f.lines = append(f.rows, row), append(f.lines, line)
}

func (f *file) problem(p Problem) {
	if len(f.problems) < mostBad {
		f.problems = append(f.problems, p)
	}
}

// separator is the sign between the cells of the first line: a comma, or what spreadsheets write where the comma is a decimal sign.
func separator(raw []byte) rune {
	head, _, _ := bytes.Cut(raw, []byte("\n"))
	best, most := ',', bytes.Count(head, []byte(","))
	for _, r := range ";\t" {
		if n := bytes.Count(head, []byte(string(r))); n > most {
			best, most = r, n
		}
	}
	return best
}

func blank(cells []string) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" })
}

func clip(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}
