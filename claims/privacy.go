package claims

import (
	"slices"
	"strings"
	"unicode"
)

// Cover is a layer over a photo like Markup, of filled shapes drawn by hand over a face, a name or whatever else others need not see. The original
// never changes; a bundle built with covers carries a covered copy in its place.
type Cover struct {
	Photo  EntryID `json:"photo"`
	Shapes []Shape `json:"shapes"`
}

// Shape is a filled rectangle or ellipse between two corners; coordinates in thousandths of the upright picture's width and height.
type Shape struct {
	Shape string `json:"shape"`
	X1    int    `json:"x1"`
	Y1    int    `json:"y1"`
	X2    int    `json:"x2"`
	Y2    int    `json:"y2"`
}

// maxShapes bounds one cover.
const maxShapes = 100

func (b *Cover) validate() *Error {
	if len(b.Shapes) == 0 || len(b.Shapes) > maxShapes {
		return Errorf(Invalid, "A cover has 1 to %d shapes.", maxShapes).At("shapes")
	}
	for _, s := range b.Shapes {
		if min(s.X1, s.Y1, s.X2, s.Y2) < 0 || max(s.X1, s.Y1, s.X2, s.Y2) > 1000 {
			return Errorf(Invalid, "A shape lies within the picture: coordinates from 0 to 1000.").At("shapes")
		}
		if s.X1 >= s.X2 || s.Y1 >= s.Y2 {
			return Errorf(Invalid, "A shape goes from its upper left to its lower right corner and covers something.").At("shapes")
		}
		if err := first(oneOf("shapes", s.Shape, "rectangle", "ellipse"), required("shapes", s.Shape)); err != nil {
			return err
		}
	}
	return one("photo", b.Photo)
}

// ShapesOn are the shapes that cover a picture, by whichever photo entry with these bytes they were drawn, and the entries that hold them.
func (j *Job) ShapesOn(d Digest) (shapes []Shape, by []EntryID) {
	same := map[EntryID]bool{}
	for _, p := range j.Photos {
		same[p.Entry] = p.Body.Digest == d
	}
	for _, c := range j.Covers {
		if same[c.Body.Photo] {
			shapes, by = append(shapes, c.Body.Shapes...), append(by, c.Latest)
		}
	}
	return shapes, by
}

// LegalHold puts a job under a legal hold, or lifts it. While it stands nothing of the job is erased, by nobody.
type LegalHold struct {
	// State is on or lifted.
	State  string `json:"state"`
	Reason string `json:"reason"`
}

func (b *LegalHold) validate() *Error {
	return first(required("state", b.State), oneOf("state", b.State, "on", "lifted"), text("reason", b.Reason, true))
}

// OnHold is the legal hold that stands on the job; nil = none.
func (j *Job) OnHold() *Item[LegalHold] {
	if n := len(j.Holds); n > 0 && j.Holds[n-1].Body.State == "on" {
		return &j.Holds[n-1]
	}
	return nil
}

// Erase records that the content of entries was erased. It says who (the entry's By), when and why, and which leaves of the log have only their
// hash left. It must hold nothing of the customer's: it stays.
type Erase struct {
	Reason string `json:"reason"`
	// Basis is asked (the customer asked for it), retention (a rule of the shop's, in Rule) or mistake (it should never have been kept).
	Basis string `json:"basis"`
	Rule  string `json:"rule,omitempty"`
	// Number is the shop's own job number, so that bookkeeping still knows the job.
	Number string `json:"number,omitempty"`
	// Leaves are runs of leaf numbers, first and last.
	Leaves [][2]uint64 `json:"leaves"`
	// Kinds says how many entries of each kind; Stayed how many were left as they are.
	Kinds  map[Kind]int `json:"kinds,omitempty"`
	Stayed int          `json:"stayed"`
	// Originals and Bytes are the photos, documents and bundles whose bytes went; Shared those that stay because another job has them too.
	Originals int   `json:"originals"`
	Bytes     int64 `json:"bytes"`
	Shared    int   `json:"shared,omitempty"`
	// Sent are the versions of bundles that had left the house: they are out of reach.
	Sent []int `json:"sent,omitempty"`
}

// EraseBases are why data may be erased.
func EraseBases() []string { return []string{"asked", "retention", "mistake"} }

func (b *Erase) validate() *Error {
	if len(b.Leaves) == 0 {
		return Errorf(Invalid, "Nothing is named that was erased.").At("leaves")
	}
	for i, run := range b.Leaves {
		if run[0] > run[1] || i > 0 && run[0] <= b.Leaves[i-1][1] {
			return Errorf(Invalid, "The leaves must be runs in order.").At("leaves")
		}
	}
	return first(text("reason", b.Reason, true), required("basis", b.Basis), oneOf("basis", b.Basis, EraseBases()...), text("rule", b.Rule, false), line("number", b.Number, false))
}

// Names reports whether the entry says that a leaf was erased.
func (b *Erase) Names(leaf uint64) bool {
	_, found := slices.BinarySearchFunc(b.Leaves, leaf, func(run [2]uint64, leaf uint64) int {
		switch {
		case run[1] < leaf:
			return -1
		case run[0] > leaf:
			return 1
		}
		return 0
	})
	return found
}

// Exported records that a copy of what the shop holds on the customer was made.
type Exported struct {
	// Reason is what the copy is for; Jobs how many jobs it covers; Originals how many photos, documents and bundles are in it.
	Reason    string `json:"reason,omitempty"`
	Jobs      int    `json:"jobs"`
	Originals int    `json:"originals"`
}

func (b *Exported) validate() *Error {
	return first(text("reason", b.Reason, false), count("jobs", b.Jobs, 1_000_000), count("originals", b.Originals, 100_000_000))
}

// Marks are what a customer is found again by, in normal form: name, telephone number, mail address.
func (b Customer) Marks() []string {
	var out []string
	if n := FoldKey(b.Name); n != "" {
		out = append(out, "name:"+n)
	}
	if p := phoneDigits(b.Phone); p != "" {
		out = append(out, "phone:"+p)
	}
	if e := strings.ToLower(strings.TrimSpace(b.Email)); e != "" {
		out = append(out, "email:"+e)
	}
	return out
}

// phoneDigits are the last nine digits of a telephone number (common practice, no source): with or without a country's code, or zeros in front, it is one number.
func phoneDigits(s string) string {
	d := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, s)
	if len(d) < 5 {
		return ""
	}
	return d[max(0, len(d)-9):]
}

// personal are the texts by which an entry would speak of the customer.
type personal struct {
	words  []string // lower case
	digits []string
}

func personalOf(kept []Kept) personal {
	var p personal
	add := func(s string) {
		s = strings.ToLower(strings.TrimSpace(s))
		for _, w := range append(strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) }), s) {
			if len([]rune(w)) >= 3 && !slices.Contains(p.words, w) {
				p.words = append(p.words, w)
			}
		}
	}
	for _, k := range kept {
		body, err := DecodeBody(k.Kind, k.Body)
		if err != nil {
			continue
		}
		switch b := body.(type) {
		case *Customer:
			add(b.Name)
			add(b.Email)
			if d := phoneDigits(b.Phone); d != "" {
				p.digits = append(p.digits, d)
			}
		case *Site:
			for _, line := range strings.Split(b.Address, "\n") {
				if line = strings.ToLower(strings.TrimSpace(line)); len([]rune(line)) >= 4 {
					p.words = append(p.words, line)
				}
			}
		case *Acknowledge:
			add(b.Name)
		case *Allege:
			add(b.By)
		case *Damage:
			add(b.SaidBy)
		}
	}
	return p
}

// in reports whether a text speaks of the customer. Names count as whole words.
func (p personal) in(s string) bool {
	low := strings.ToLower(s)
	tokens := strings.FieldsFunc(low, func(r rune) bool { return !unicode.IsLetter(r) })
	for _, w := range p.words {
		if slices.Contains(tokens, w) || strings.ContainsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) }) && strings.Contains(low, w) {
			return true
		}
	}
	digits := phoneRun(s)
	return slices.ContainsFunc(p.digits, func(d string) bool { return strings.Contains(digits, d) })
}

// phoneRun is a text's digits without what people write between them.
func phoneRun(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9':
			return r
		case strings.ContainsRune(" -/().+\u00a0", r):
			return -1
		}
		return '|'
	}, s)
}
