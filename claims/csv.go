package claims

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
)

// CSV writes a list for a spreadsheet: RFC 4180, UTF-8 without a byte-order mark, CRLF, the names of the columns first, every cell made
// safe by SafeCell. It holds one row at a time.
type CSV struct {
	w     *csv.Writer
	cells int
	row   []string
}

// NewCSV begins a list with its columns.
func NewCSV(w io.Writer, columns ...string) (*CSV, error) {
	c := &CSV{w: csv.NewWriter(w), cells: len(columns)}
	c.w.UseCRLF = true
	return c, c.Write(columns...)
}

// Write adds a row. Missing cells are empty; more cells than columns are a fault.
func (c *CSV) Write(cells ...string) error {
	if len(cells) > c.cells {
		return fmt.Errorf("write a row: %d cells for %d columns", len(cells), c.cells)
	}
	c.row = c.row[:0]
	for _, cell := range cells {
		c.row = append(c.row, SafeCell(cell))
	}
	for len(c.row) < c.cells {
		c.row = append(c.row, "")
	}
	return c.w.Write(c.row)
}

// Flush passes on what is held.
func (c *CSV) Flush() error {
	c.w.Flush()
	return c.w.Error()
}

// SafeCell puts an apostrophe in front of a cell that a spreadsheet could take for a formula, and of one that begins
// with an apostrophe, so that taking one leading apostrophe away gives the text back. Plain decimals stay as they are.
func SafeCell(s string) string {
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\x00", "").Replace(s)
	if s == "" || isDecimal(s) {
		return s
	}
	if strings.ContainsRune("=+-@\t\n'|%", rune(s[0])) {
		return "'" + s
	}
	// Full-width forms of the same signs are taken for formulas by some programs too.
	if r := []rune(s)[0]; r == '＝' || r == '＋' || r == '－' || r == '＠' {
		return "'" + s
	}
	return s
}
