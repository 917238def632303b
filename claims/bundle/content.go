package bundle

import (
	"time"

	"kickplate/claims"
)

// Document is what a reader gets to see, without a word about how it looks. The PDF report and the HTML page are two
// renderings of one Document, so they can't say different things. A file for another purpose is another
// Document made of the same blocks.
type Document struct {
	Title    string
	Subtitle string
	Author   string
	Made     time.Time
	// Letter asks for US Letter paper; otherwise A4.
	Letter bool
	// Foot stands at the bottom of every page.
	Foot     string
	Sections []Section
}

// Section is a part with a title and a bookmark. Break starts it on a new page.
type Section struct {
	ID     string // a-z and dashes, the anchor in HTML
	Title  string
	Break  bool
	Blocks []Block
}

// Block is one of Text, Pairs, Table, Points, Pictures, Signature, Drawing.
type Block interface{ block() }

// Tone says how something is to be taken. Colour is never the only sign of it: the words say it too.
type Tone string

// The tones.
const (
	Plain Tone = ""
	Good  Tone = "good"
	Warn  Tone = "warn"
	Bad   Tone = "bad"
	Quiet Tone = "quiet"
	Head  Tone = "head" // a heading below the section's title
	Code  Tone = "code" // hashes and commands
)

// Text is a paragraph; it may have line ends.
type Text struct {
	Tone Tone
	Text string
}

// Pairs are labelled values. Picture, if any, stands beside them.
type Pairs struct {
	Rows    []Pair
	Picture *Picture
}

// Pair is one labelled value.
type Pair struct {
	Label, Value string
	Tone         Tone
}

// Table is a table; Widths are shares of the page's width.
type Table struct {
	Head   []string
	Widths []float64
	Rows   [][]Cell
}

// Right reports whether a column holds amounts: its head goes the same way.
func (t Table) Right(column int) bool {
	return len(t.Rows) > 0 && column < len(t.Rows[0]) && t.Rows[0][column].Right
}

// Points is a dense list under a label: one line each, what it is and where it is shown.
type Points struct {
	Label string
	Items []Point
}

// Point is one line of Points. Where may be empty.
type Point struct{ Text, Where string }

// Cell is one cell of a table. Link is an anchor or a path in the bag. Right is for amounts.
type Cell struct {
	Text  string
	Tone  Tone
	Right bool
	Link  string
	Gauge *Gauge
}

// Pictures is a sheet of numbered pictures.
type Pictures struct{ Items []Picture }

// Picture is one picture with its caption. Digest is empty when there is nothing to show; Lines say why then.
type Picture struct {
	No     int
	Digest claims.Digest
	Title  string
	Lines  []Pair
	// File and Thumb are paths in the bag.
	File, Thumb string
	Marks       []claims.Mark
}

// Signature is a signature drawn from the pen's strokes, or the reason why there is none.
type Signature struct {
	Strokes [][]int
	Lines   []Pair
}

// Gauge draws a reading on a line with the expected range. All in Unit; a missing limit is an open end.
type Gauge struct {
	Read float64
	// Words stand for a reading that is no number ("open", "over range").
	Words             string
	Low, High, Expect *float64
	Spread            float64 // expanded uncertainty of the reading
	Unit              string
	Says              string // the same in words
	SVG               string // the same as a drawing, for HTML; made by rules/readings
}

func (Text) block()      {}
func (Pairs) block()     {}
func (Table) block()     {}
func (Points) block()    {}
func (Pictures) block()  {}
func (Signature) block() {}
