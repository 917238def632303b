package rules

import (
	"strconv"
	"time"
)

// photo judges a PhotoRule: enough pictures of the subject that pass every test.
func (c *checker) photo(it *item, t turn) verdict {
	p := it.r.Photo
	need := max(p.AtLeast, 1)
	var fine, unsure, wrong []int
	worst, best := -1, -1 // of the flawed pictures: the one that is furthest off, and the one that comes closest
	worstLevel, bestLevel := good, bad+1
	c.eachPhoto(it, t, func(i int) {
		fl := c.photoFlaw(it, t, i, true)
		switch fl.level {
		case good:
			fine = append(fine, i)
		case doubtful:
			unsure = append(unsure, i)
		default:
			wrong = append(wrong, i)
		}
		if fl.level > worstLevel {
			worst, worstLevel = i, fl.level
		}
		if fl.level != good && fl.level < bestLevel {
			best, bestLevel = i, fl.level
		}
	})
	text := func(i int) string { return c.photoFlaw(it, t, i, false).text }
	thing, met, none := it.thing, it.met, it.none
	if t.part != nil && p.Component == PerReplacedPart {
		thing += " (" + noun(components, t.part.component) + ")"
		met, none = "There is 1 "+thing+".", "There is no "+thing+"."
	}
	if p.Every {
		objection := ""
		if worst >= 0 {
			objection = text(worst)
		}
		return c.everyPhoto(thing, flaw{level: worstLevel, text: objection}, len(fine), unsure, wrong)
	}
	switch {
	case len(fine) >= need:
		s := one(len(fine), thing, met)
		if it.beforeWork() {
			s += c.workClock(fine)
		}
		return verdict{outcome: Met, sentence: s, entries: c.photoEntries(fine)}
	case len(fine)+len(unsure) >= need:
		return verdict{outcome: Doubt, sentence: text(best), entries: c.photoEntries(append(fine, unsure...))}
	case len(fine)+len(unsure)+len(wrong) == 0:
		return verdict{outcome: Gap, sentence: none}
	case len(wrong) > 0 && need == 1:
		return verdict{outcome: Gap, sentence: text(best), entries: c.photoEntries(wrong)}
	}
	s := thereIs(len(fine)+len(unsure), thing) + " that can be used, " + strconv.Itoa(need) + " are needed."
	if len(wrong) > 0 {
		s += " " + text(worst)
	}
	return verdict{outcome: Gap, sentence: s, entries: c.photoEntries(append(append(fine, unsure...), wrong...))}
}

func (c *checker) everyPhoto(thing string, worst flaw, n int, unsure, wrong []int) verdict {
	switch worst.level {
	case good:
		if n == 0 {
			return verdict{outcome: Met, sentence: "There is no " + thing + " to object to."}
		}
		return verdict{outcome: Met, sentence: "Nothing to object to in " + plural(n, thing) + "."}
	case doubtful:
		return verdict{outcome: Doubt, sentence: worst.text, entries: c.photoEntries(unsure)}
	}
	return verdict{outcome: Gap, sentence: worst.text, entries: c.photoEntries(wrong)}
}

// eachPhoto calls f for the pictures that are meant to show what the rule asks for.
func (c *checker) eachPhoto(it *item, t turn, f func(i int)) {
	p := it.r.Photo
	visitOne := func(i int) {
		photo := &c.facts.Photos[i]
		switch {
		case t.damage != nil && !contains(t.damage.Photos, photo.Entry):
		case p.Component == "":
			f(i)
		case p.Component == PerReplacedPart:
			if c.concerns(photo.Component, t.part) {
				f(i)
			}
		case photo.Component == p.Component:
			f(i)
		}
	}
	if it.subjects == nil {
		for i := range c.facts.Photos {
			visitOne(i)
		}
		return
	}
	for _, s := range it.subjects {
		for _, i := range c.bySubject[s] {
			visitOne(i)
		}
	}
}

// concerns reports whether evidence marked with a component is about the part in turn. Unmarked evidence is, when only
// one part was replaced.
func (c *checker) concerns(component string, part *replaced) bool {
	return component == part.component || component == "" && len(c.replaced) == 1
}

// photoFlaw finds the worst thing about a picture. Mute, it finds the level only: most pictures need no sentence.
func (c *checker) photoFlaw(it *item, t turn, i int, mute bool) flaw {
	p := it.r.Photo
	photo := &c.facts.Photos[i]
	f := flaw{mute: mute}
	if photo.Document && !p.Documents {
		f.lazy(bad, func() string { return c.thePhoto(photo) + " is a document, not a picture." })
	}
	if !photo.Document && (p.LongSide > 0 || p.Sharp || p.NotDark || p.NotBright) {
		c.legibility(p, photo, &f)
	}
	if it.beforeWork() && photo.BeforeWork != "" {
		c.beforeWork(photo, &f)
	} else {
		c.timing(it, t, photo.At, func() string { return c.thePhoto(photo) }, &f)
	}
	if p.DuringVisit {
		c.duringVisit(photo, &f)
	}
	if it.basis > 0 {
		switch {
		case photo.TimeBasis == "conflicting":
			f.lazy(doubtful, func() string {
				return "The clocks disagree about when " + lowerFirst(c.thePhoto(photo)) + " was taken."
			})
		case basisRank(photo.TimeBasis) < it.basis:
			f.lazy(doubtful, func() string {
				return "The time of " + lowerFirst(c.thePhoto(photo)) + " is not supported well enough (" + basisWords(photo.TimeBasis) + ", " + p.TimeBasis + " wanted)."
			})
		}
	}
	if p.NearSite {
		switch photo.Place {
		case "at-site":
		case "elsewhere":
			f.lazy(bad, func() string { return c.thePhoto(photo) + " was taken away from the site." })
		default:
			f.lazy(doubtful, func() string { return c.thePhoto(photo) + " does not show where it was taken." })
		}
	}
	if p.NotUsedBefore && photo.UsedBefore != "" {
		c.reuse(photo, &f)
	}
	if it.pair >= 0 {
		c.pair(it, t, photo, &f)
	}
	return f
}

func (c *checker) legibility(p *PhotoRule, photo *Photo, f *flaw) {
	if long := max(photo.Width, photo.Height); p.LongSide > 0 {
		switch {
		case long == 0:
			f.lazy(doubtful, func() string { return c.thePhoto(photo) + " has not been examined yet." })
		case long < p.LongSide:
			f.lazy(bad, func() string {
				return c.thePhoto(photo) + " has " + strconv.Itoa(long) + " pixels on the long side, " + strconv.Itoa(p.LongSide) + " are wanted."
			})
		}
	}
	verdictOf := func(wanted bool, value, want, wrong, unsure string) {
		switch {
		case !wanted || value == want:
		case value == "doubt":
			f.lazy(doubtful, func() string { return c.thePhoto(photo) + " " + unsure })
		case value == "" && photo.Width > 0: // a clip, say
			f.lazy(doubtful, func() string { return c.thePhoto(photo) + " could not be judged by machine: look at it." })
		case value == "":
			f.lazy(doubtful, func() string { return c.thePhoto(photo) + " has not been examined yet." })
		default:
			f.lazy(bad, func() string { return c.thePhoto(photo) + " " + wrong })
		}
	}
	verdictOf(p.Sharp, photo.Sharp, "yes", "is blurred.", "may be blurred.")
	verdictOf(p.NotDark, photo.Dark, "no", "is too dark.", "may be too dark.")
	verdictOf(p.NotBright, photo.Bright, "no", "is too bright.", "may be too bright.")
}

// beforeWork reports whether the rule asks for pictures from before the first work, and nothing else of time.
func (it *item) beforeWork() bool {
	return it.before != nil && it.before.event == "work-started" && !it.before.last && it.after == nil
}

// beforeWork tests a picture by the strongest clock that can tell.
func (c *checker) beforeWork(photo *Photo, f *flaw) {
	switch photo.BeforeWork {
	case "before":
	case "after":
		f.lazy(bad, func() string {
			return c.thePhoto(photo) + " came after work had begun" + byClock(photo.BeforeWorkBy) + ", it must come before."
		})
	case "conflicting":
		f.lazy(doubtful, func() string {
			return "The clocks contradict each other about whether " + lowerFirst(c.thePhoto(photo)) + " came before work began."
		})
	default:
		f.lazy(doubtful, func() string {
			return "No clock tells whether " + lowerFirst(c.thePhoto(photo)) + " came before work began."
		})
	}
}

// workClock says by which clock pictures are known to be from before work: the weakest of theirs.
func (c *checker) workClock(photos []int) string {
	order, weakest := []string{"receipt", "sequence", "clocks", "stated"}, -1
	for _, i := range photos {
		for n, by := range order {
			if c.facts.Photos[i].BeforeWorkBy == by {
				weakest = max(weakest, n)
			}
		}
	}
	if weakest < 0 {
		return ""
	}
	return " From before work" + byClock(order[weakest]) + "."
}

func byClock(by string) string {
	switch by {
	case "receipt":
		return ", by the server's receipt"
	case "sequence":
		return ", by the device's own sequence"
	case "clocks":
		return ", by the clocks"
	case "stated":
		return ", by the clocks and a time that was stated"
	}
	return ""
}

// timing tests before and after. Evidence without a time is a doubt, since nobody can tell the order.
func (c *checker) timing(it *item, t turn, at time.Time, what func() string, f *flaw) {
	if it.before != nil {
		if limit, ok := c.turnInstant(*it.before, t); ok {
			switch {
			case at.IsZero():
				f.lazy(doubtful, func() string {
					return what() + " has no time, so nobody can tell whether it came before " + c.say(*it.before) + "."
				})
			case at.After(limit):
				f.lazy(bad, func() string { return what() + " came after " + c.say(*it.before) + ", it must come before." })
			}
		}
	}
	if it.after != nil {
		limit, ok := c.turnInstant(*it.after, t)
		switch {
		case !ok:
			f.lazy(bad, func() string {
				return what() + " must come after " + c.say(*it.after) + ", which has not happened yet."
			})
		case at.IsZero():
			f.lazy(doubtful, func() string {
				return what() + " has no time, so nobody can tell whether it came after " + c.say(*it.after) + "."
			})
		case at.Before(limit):
			f.lazy(bad, func() string { return what() + " came before " + c.say(*it.after) + ", it must come after." })
		}
	}
}

// turnInstant is the moment of an event; removing and fitting of the part in turn are its own.
func (c *checker) turnInstant(w when, t turn) (time.Time, bool) {
	if t.part != nil {
		switch {
		case w.event == "part-removed" && !t.part.removed.IsZero():
			return t.part.removed, true
		case w.event == "part-fitted" && !t.part.fitted.IsZero():
			return t.part.fitted, true
		}
	}
	at, _, ok := c.instant(w)
	return at, ok
}

func (c *checker) duringVisit(photo *Photo, f *flaw) {
	switch {
	case len(c.visits) == 0:
		f.lazy(doubtful, func() string {
			return "No arrival is on record, so nobody can tell whether " + lowerFirst(c.thePhoto(photo)) + " was taken during the visit."
		})
		return
	case photo.At.IsZero():
		f.lazy(doubtful, func() string {
			return c.thePhoto(photo) + " has no time, so nobody can tell whether it was taken during the visit."
		})
		return
	case photo.TimeBasis == "conflicting":
		f.lazy(doubtful, func() string {
			return "The clocks disagree about when " + lowerFirst(c.thePhoto(photo)) + " was taken."
		})
	}
	for _, v := range c.visits {
		if v.holds(photo.At) {
			return
		}
	}
	f.lazy(bad, func() string { return c.thePhoto(photo) + " was not taken during the visit." })
}

func (c *checker) reuse(photo *Photo, f *flaw) {
	kind, job := photo.UsedBefore, ""
	for i := 0; i < len(kind); i++ {
		if kind[i] == ':' {
			kind, job = kind[:i], " "+clip(kind[i+1:])
			break
		}
	}
	if kind == "same" {
		f.lazy(bad, func() string { return c.thePhoto(photo) + " is the very picture of job" + job + "." })
		return
	}
	f.lazy(doubtful, func() string { return c.thePhoto(photo) + " looks like a picture of job" + job + ": compare the two." })
}

// pair looks for the other half: linked, or named by the same damage.
func (c *checker) pair(it *item, t turn, photo *Photo, f *flaw) {
	loose := false
	for _, i := range c.bySubject[it.pair] {
		other := &c.facts.Photos[i]
		if other.Entry == photo.PairedWith || other.PairedWith != "" && other.PairedWith == photo.Entry {
			return
		}
		if t.damage != nil && contains(t.damage.Photos, other.Entry) {
			return
		}
		loose = loose || t.damage == nil
	}
	if loose {
		f.lazy(doubtful, func() string {
			return c.thePhoto(photo) + " is not linked to a picture of " + theSubject(it.r.Photo.Pair) + "."
		})
		return
	}
	f.lazy(bad, func() string {
		return c.thePhoto(photo) + " has no picture of " + theSubject(it.r.Photo.Pair) + " to go with it."
	})
}

func (c *checker) thePhoto(photo *Photo) string {
	s := "The photo of " + theSubject(photo.Subject)
	if photo.Component != "" {
		s += " (" + noun(components, photo.Component) + ")"
	}
	return s
}

func (c *checker) photoEntries(list []int) []string {
	out := make([]string, len(list))
	for k, i := range list {
		out[k] = c.facts.Photos[i].Entry
	}
	return out
}

func basisWords(s string) string {
	if s == "" {
		return "not assessed"
	}
	return s
}
