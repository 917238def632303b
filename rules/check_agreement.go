package rules

import "strings"

// likeness is how well two written numbers agree; higher is worse.
type likeness int

const (
	same      likeness = iota
	lookalike          // differs only by O/0 or I/1
	slip               // differs by a character or two: the same number mistyped, or another one
	different
)

// agreement compares a typed number with the other places that state it.
func (c *checker) agreement(it *item) verdict {
	a, title := it.r.Agreement, it.thing
	typed := normal(c.facts.Fields[a.Number])
	if typed == "" {
		return verdict{outcome: Gap, sentence: title + " is not recorded."}
	}
	var f flaw
	var entries []string
	known := 0
	for _, w := range a.With {
		if w.Field != "" {
			other := c.facts.Fields[w.Field]
			if strings.TrimSpace(other) == "" {
				continue
			}
			known++
			switch alike(typed, normal(other)) {
			case same:
			case lookalike:
				f.note(doubtful, title+" “"+clip(c.facts.Fields[a.Number])+"” and “"+clip(other)+"” ("+lowerFirst(fieldTitle(w.Field))+") differ only by O and 0 or I and 1.")
			default:
				f.note(bad, title+" is “"+clip(c.facts.Fields[a.Number])+"”, but “"+clip(other)+"” at: "+lowerFirst(fieldTitle(w.Field))+".")
			}
			continue
		}
		best, text, entry := c.bestCode(typed, w.Codes)
		if text == "" {
			continue
		}
		entries = append(entries, entry)
		said := title + " is “" + clip(c.facts.Fields[a.Number]) + "”, but the code on the photo of " + theSubject(w.Codes) + " reads “" + clip(text) + "”"
		switch best {
		case same:
			known++
		case lookalike:
			known++
			f.note(doubtful, said+": O and 0 or I and 1 differ.")
		case slip:
			known++
			f.note(bad, said+".")
		default: // a plate carries other codes too: one that is far off need not be this number
			f.note(doubtful, said+", which may be another number: compare by eye.")
		}
	}
	if known < max(a.AtLeast, 1) {
		f.note(doubtful, title+" could not be compared with anything: look whether it is what the plate says.")
	}
	if f.level != good {
		return verdict{outcome: outcomeOf(f.level), sentence: f.text, entries: entries}
	}
	return verdict{outcome: Met, sentence: it.met, entries: entries}
}

// bestCode finds the code on photos of the subject that is most like the typed number.
func (c *checker) bestCode(typed, subject string) (best likeness, text, entry string) {
	best = different + 1
	for _, i := range c.bySubject[c.pack.subjects[subject]] {
		photo := &c.facts.Photos[i]
		for _, code := range photo.Codes {
			if l := codeAlike(typed, normal(code)); l < best && code != "" {
				best, text, entry = l, code, photo.Entry
			}
		}
	}
	return best, text, entry
}

// codeAlike also accepts a code that holds the number among others: plates often pack model and serial into one.
func codeAlike(typed, code string) likeness {
	const enough = 5 // characters: shorter numbers turn up in longer ones by chance
	l := alike(typed, code)
	if len(typed) < enough || l == same {
		return l
	}
	switch {
	case strings.Contains(code, typed):
		return same
	case strings.Contains(foldLookalikes(code), foldLookalikes(typed)):
		return min(l, lookalike)
	}
	return l
}

func alike(a, b string) likeness {
	switch {
	case a == b:
		return same
	case foldLookalikes(a) == foldLookalikes(b):
		return lookalike
	case len(a) >= 6 && len(a) <= 64 && len(b) <= 64 && editDistance(a, b) <= 2:
		return slip
	}
	return different
}

// normal drops what people write differently without meaning a different number: case, spaces, dashes, dots, slashes.
func normal(s string) string {
	if len(s) > 256 {
		s = s[:256]
	}
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range strings.ToUpper(s) {
		switch r {
		case ' ', '\t', '\n', '\r', '-', '.', '/', '_', '\u00a0', '\u2010', '\u2011', '\u2013':
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func foldLookalikes(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case 'O':
			return '0'
		case 'I':
			return '1'
		}
		return r
	}, s)
}
