package rules

import "strings"

// Explanation says which pack line asked for what, whether it applies, and why.
type Explanation struct {
	Finding     string  `json:"finding"`
	Requirement string  `json:"requirement"`
	Stage       string  `json:"stage"`
	Title       string  `json:"title"`
	Origin      string  `json:"origin"` // file:line of the pack
	Outcome     Outcome `json:"outcome"`
	Sentence    string  `json:"sentence"`
	// Asks says the rule in words; Because why it applies or does not; Why the reason for asking.
	Asks    string `json:"asks"`
	Because string `json:"because"`
	Why     string `json:"why"`
}

// Explain answers like Check and adds, for every finding, the pack line, the rule in words and why it applies.
func Explain(pack *Compiled, facts *Facts) []Explanation {
	c := newChecker(pack, facts)
	var out []Explanation
	for i := range pack.items {
		it := &pack.items[i]
		c.each(it, func(t turn, applies bool) {
			f := c.finding(it, t, applies)
			out = append(out, Explanation{
				Finding: f.ID, Requirement: f.Requirement, Stage: f.Stage, Title: f.Title, Origin: it.r.Origin,
				Outcome: f.Outcome, Sentence: f.Sentence, Asks: pack.asks(it), Because: c.because(it, t, applies), Why: f.Why,
			})
		})
	}
	return out
}

func (c *checker) because(it *item, t turn, applies bool) string {
	var all []string
	switch {
	case t.part != nil:
		all = append(all, "the "+noun(components, t.part.component)+" was replaced")
	case t.damage != nil:
		all = append(all, "damage is on record ("+clip(t.damage.Area)+", "+noun(damageKinds, t.damage.Kind)+")")
	case it.r.Per == PerReplacedPart && len(c.replaced) == 0:
		return "It is asked for each replaced part, and none was replaced."
	}
	switch {
	case !applies && it.r.When != nil:
		return "It does not apply: it is asked only when " + it.r.When.words() + "."
	case !applies:
		return "There is nothing to ask it about."
	case it.r.When != nil:
		all = append(all, it.r.When.words())
	case len(all) == 0:
		return "It is asked on every job."
	}
	return "It applies because " + strings.Join(all, " and ") + "."
}

// asks says a rule in words, after "asks for".
func (c *Compiled) asks(it *item) string {
	switch r := it.r; {
	case r.Photo != nil:
		return r.Photo.asks(it)
	case r.Reading != nil:
		return r.Reading.asks(it)
	case r.Field != nil:
		return r.Field.asks()
	case r.Agreement != nil:
		var with []string
		for _, w := range r.Agreement.With {
			if w.Field != "" {
				with = append(with, lowerFirst(fieldTitle(w.Field)))
			} else {
				with = append(with, "the codes on the photo of "+theSubject(w.Codes))
			}
		}
		return lowerFirst(fieldTitle(r.Agreement.Number)) + " that agrees with " + join(with, "and")
	case r.Part != nil:
		return "the record of each replaced part: " + join(r.Part.wants(), "and")
	case r.Acknowledgement != nil:
		return it.thing + it.timeWords()
	case r.Caution != nil:
		return "the showing of the " + it.thing + it.timeWords()
	case r.Interval != nil:
		s := "at most " + days(r.Interval.Days)
		if r.Interval.DaysFrom != "" {
			s += " (or " + lowerFirst(fieldTitle(r.Interval.DaysFrom)) + ")"
		}
		return s + " from " + it.from.words() + " to " + it.to.words()
	case r.Order != nil:
		return it.from.words() + " not after " + it.to.words()
	default:
		n := r.Number
		s := lowerFirst(fieldTitle(n.Name))
		if n.Count != "" {
			s = lowerFirst(countTitle(n.Count))
		}
		if n.AtLeast != "" {
			s += ", at least " + limitWords(n.AtLeast)
		}
		if n.AtMost != "" {
			s += ", at most " + limitWords(n.AtMost)
		}
		return s
	}
}

func (it *item) timeWords() string {
	s := ""
	if it.before != nil {
		s += ", before " + it.before.words()
	}
	if it.after != nil {
		s += ", after " + it.after.words()
	}
	return s
}

func (p *PhotoRule) asks(it *item) string {
	s := plural(max(p.AtLeast, 1), it.thing)
	if p.Every {
		s = "every " + it.thing
	}
	if p.Component == PerReplacedPart {
		s += " of the replaced part"
	}
	var with []string
	add := func(there bool, words string) {
		if there {
			with = append(with, words)
		}
	}
	add(p.Pair != "", "with a picture of "+theSubject(p.Pair))
	add(p.DuringVisit, "taken during the visit")
	add(p.NearSite, "taken at the site")
	add(p.LongSide > 0, plural(p.LongSide, "pixel")+" or more on the long side")
	add(p.Sharp, "sharp")
	add(p.NotDark, "not too dark")
	add(p.NotBright, "not too bright")
	add(p.NotUsedBefore, "not used before")
	add(p.TimeBasis != "", "its time at least "+p.TimeBasis)
	for _, w := range with {
		s += ", " + w
	}
	return s + it.timeWords()
}

func (p *ReadingRule) asks(it *item) string {
	s := plural(max(p.AtLeast, 1), it.thing)
	if p.Plausible {
		s += ", plausible"
	}
	if len(p.Outcome) > 0 {
		s += ", " + nouns(readingOutcomes, p.Outcome, "or")
	}
	if p.Supports {
		s += ", that supports replacing it"
	}
	if p.DisplayPhoto {
		s += ", with a photo of the display"
	}
	return s + it.timeWords()
}

func (f *FieldRule) asks() string {
	s := lowerFirst(fieldTitle(f.Name))
	if len(f.OneOf) > 0 {
		s += ", one of " + join(f.OneOf, "or")
	}
	if f.MinLength > 0 {
		s += ", at least " + plural(f.MinLength, "character")
	}
	if f.MaxLength > 0 {
		s += ", at most " + plural(f.MaxLength, "character")
	}
	if f.Digits {
		s += ", digits only"
	}
	if f.NotInFuture {
		s += ", not in the future"
	}
	if f.Mentions {
		s += ", naming the replaced part"
	}
	return s
}

// wants lists what a part rule asks for, in words.
func (p *PartRule) wants() []string {
	var all []string
	add := func(there bool, words string) {
		if there {
			all = append(all, words)
		}
	}
	add(p.Number, "part number")
	add(p.Invoice, "invoice")
	add(p.Serial, "serial number")
	add(p.Original, "that it is the maker's part")
	add(len(p.Held) > 0, "the old part "+nouns(partHeld, p.Held, "or"))
	add(p.FailedPhoto, "photo of the failed part")
	add(p.LabelPhoto, "photo of the label")
	add(p.FittedPhoto, "photo of the fitted part")
	add(p.Cause, "cause")
	add(p.Reading, "a reading behind it")
	return all
}
