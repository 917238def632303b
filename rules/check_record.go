package rules

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

func (c *checker) field(it *item, t turn) verdict {
	f := it.r.Field
	switch f.Kind {
	case "date":
		return c.dateField(it)
	case "number":
		value, there := c.facts.Numbers[f.Name]
		if !there || value == "" {
			return verdict{outcome: Gap, sentence: it.thing + " is not recorded."}
		}
		if _, ok := parseDecimal(value); !ok {
			return verdict{outcome: Gap, sentence: it.thing + " is “" + clip(value) + "”, which is not a number."}
		}
		return verdict{outcome: Met, sentence: it.met}
	}
	value := strings.TrimSpace(c.facts.Fields[f.Name])
	if value == "" {
		return verdict{outcome: Gap, sentence: it.thing + " is not recorded."}
	}
	if s := f.objection(value); s != "" {
		return verdict{outcome: Gap, sentence: it.thing + " " + s}
	}
	if f.Mentions && !c.mentions(value, t.part) {
		return verdict{outcome: Doubt, sentence: it.thing + " does not mention the " + noun(components, t.part.component) + "."}
	}
	return verdict{outcome: Met, sentence: it.met}
}

// objection says what is wrong with a text, or "".
func (f *FieldRule) objection(value string) string {
	n := utf8.RuneCountInString(value)
	switch {
	case len(f.OneOf) > 0 && !contains(f.OneOf, value):
		return "is “" + clip(value) + "”; it must be " + join(f.OneOf, "or") + "."
	case f.MinLength > 0 && n < f.MinLength:
		return "has " + plural(n, "character") + ", at least " + strconv.Itoa(f.MinLength) + " are wanted."
	case f.MaxLength > 0 && n > f.MaxLength:
		return "has " + plural(n, "character") + ", at most " + strconv.Itoa(f.MaxLength) + " fit."
	case f.Digits && strings.Trim(value, "0123456789") != "":
		return "is “" + clip(value) + "”; only digits are allowed."
	case f.Letters && strings.IndexFunc(value, notInNumber) >= 0:
		return "is “" + clip(value) + "”; only letters, digits, spaces, dashes, dots and slashes are allowed."
	}
	return ""
}

func notInNumber(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune(" -./", r)
}

// mentions looks for the part's number, its whole title or the last word of the title ("heater"), in any case.
func (c *checker) mentions(text string, part *replaced) bool {
	text = strings.ToLower(text)
	title := strings.ToLower(titleOf(components, part.component))
	if strings.Contains(text, title) || strings.Contains(text, title[strings.LastIndexByte(title, ' ')+1:]) {
		return true
	}
	for _, i := range part.parts {
		if n := strings.ToLower(c.facts.Parts[i].Number); n != "" && strings.Contains(text, n) {
			return true
		}
	}
	return false
}

func (c *checker) dateField(it *item) verdict {
	f := it.r.Field
	d, _, known, problem := c.siteDay(when{date: f.Name})
	switch {
	case !known:
		return verdict{outcome: Gap, sentence: it.thing + " is not recorded."}
	case problem != "":
		return verdict{outcome: Gap, sentence: problem}
	}
	if f.NotInFuture {
		today, _, known, problem := c.siteDay(when{now: true})
		switch {
		case problem != "":
			return verdict{outcome: Doubt, sentence: problem}
		case known && d > today:
			return verdict{outcome: Gap, sentence: it.thing + " (" + d.String() + ") lies in the future."}
		}
	}
	return verdict{outcome: Met, sentence: it.met}
}

func (c *checker) number(it *item) verdict {
	n, title := it.r.Number, it.thing
	text := c.facts.Numbers[n.Name]
	if n.Count != "" {
		text = strconv.Itoa(c.count(n.Count))
	}
	value, ok := parseDecimal(text)
	switch {
	case text == "" && n.Optional:
		return verdict{outcome: NotNeeded, sentence: title + " is not recorded."}
	case text == "":
		return verdict{outcome: Gap, sentence: title + " is not recorded."}
	case !ok:
		return verdict{outcome: Gap, sentence: title + " is “" + clip(text) + "”, which is not a number."}
	}
	for _, bound := range [2]struct {
		limit string
		sign  int
		words string
		verb  string
	}{{n.AtMost, 1, "at most ", " allowed"}, {n.AtLeast, -1, "at least ", " wanted"}} {
		if bound.limit == "" {
			continue
		}
		limit, ok := c.limit(bound.limit)
		if !ok {
			return verdict{outcome: NotNeeded, sentence: upperFirst(limitWords(bound.limit)) + " is not recorded, so there is no limit to keep."}
		}
		if value.compare(limit)*bound.sign > 0 {
			said := bound.limit
			if s := c.facts.Numbers[bound.limit]; s != "" {
				said = s
			}
			return verdict{outcome: Gap, sentence: title + ": " + text + "; " + bound.words + said + bound.verb + "."}
		}
	}
	return verdict{outcome: Met, sentence: title + ": " + text + "."}
}

func countTitle(what string) string {
	switch what {
	case "parts":
		return "Replaced parts"
	case "damages":
		return "Entries about damage"
	}
	return upperFirst(what)
}

func (c *checker) count(what string) int {
	switch what {
	case "visits":
		return len(c.visits)
	case "parts":
		return len(c.replaced)
	case "photos":
		return len(c.facts.Photos)
	case "readings":
		return len(c.facts.Readings)
	}
	return len(c.facts.Damages)
}

// part lists everything that is missing about one replaced part in one sentence.
func (c *checker) part(p *PartRule, t turn) verdict {
	var missing []string
	var entries []string
	lacks := func(wanted bool, what string, has func(*Part) bool) {
		if !wanted {
			return
		}
		for _, i := range t.part.parts {
			part := &c.facts.Parts[i]
			if part.Action != "removed" && !has(part) {
				missing = append(missing, what)
				return
			}
		}
	}
	somewhere := func(wanted bool, what string, has func(*Part) bool) {
		if !wanted {
			return
		}
		for _, i := range t.part.parts {
			if has(&c.facts.Parts[i]) {
				return
			}
		}
		missing = append(missing, what)
	}
	for _, i := range t.part.parts {
		entries = append(entries, c.facts.Parts[i].Entry)
	}
	lacks(p.Number, "its part number", func(p *Part) bool { return strings.TrimSpace(p.Number) != "" })
	lacks(p.Invoice, "its invoice", func(p *Part) bool { return strings.TrimSpace(p.Invoice) != "" })
	lacks(p.Serial, "its serial number", func(p *Part) bool { return strings.TrimSpace(p.Serial) != "" })
	lacks(p.Original, "the word that it is the maker's part", func(p *Part) bool { return p.Original == "yes" })
	somewhere(len(p.Held) > 0, "the old part "+nouns(partHeld, p.Held, "or"), func(q *Part) bool { return contains(p.Held, q.Held) })
	for _, w := range [3]struct {
		wanted        bool
		subject, what string
	}{
		{p.FailedPhoto, "failed-part", "a photo of the failed part"},
		{p.LabelPhoto, "part-label", "a photo of its label"},
		{p.FittedPhoto, "fitted-part", "a photo of the fitted part"},
	} {
		if !w.wanted {
			continue
		}
		found := false
		for _, i := range c.bySubject[c.pack.subjects[w.subject]] {
			if photo := &c.facts.Photos[i]; c.concerns(photo.Component, t.part) {
				found, entries = true, append(entries, photo.Entry)
			}
		}
		if !found {
			missing = append(missing, w.what)
		}
	}
	if p.Cause && strings.TrimSpace(c.facts.Fields["narrative.cause"]) == "" {
		missing = append(missing, "the cause")
	}
	doubt := false
	if p.Reading {
		support, seen := false, false
		for i := range c.facts.Readings {
			if r := &c.facts.Readings[i]; r.Component == t.part.component && r.Moment != "as-left" {
				seen, support = true, support || r.Supports == "yes"
				entries = append(entries, r.Entry)
			}
		}
		if !seen {
			missing = append(missing, "a reading behind it")
		}
		doubt = seen && !support
	}
	name := noun(components, t.part.component)
	switch {
	case len(missing) > 0:
		return verdict{outcome: Gap, sentence: "Missing for the " + name + ": " + strings.Join(missing, ", ") + ".", entries: entries}
	case doubt:
		return verdict{outcome: Doubt, sentence: "No reading supports replacing the " + name + ".", entries: entries}
	}
	return verdict{outcome: Met, sentence: "Recorded for the " + name + ": " + join(p.wants(), "and") + ".", entries: entries}
}
