package rules

import "strconv"

// reading judges a ReadingRule: enough readings of the right thing that pass every test.
func (c *checker) reading(it *item, t turn) verdict {
	p := it.r.Reading
	need := max(p.AtLeast, 1)
	thing, met, none := it.thing, it.met, it.none
	if p.Component == PerReplacedPart {
		thing = p.thing(c.pack.plans, noun(components, t.part.component))
		met, none = "There is 1 "+thing+".", "There is no "+thing+"."
	}
	var fine, unsure, wrong []string
	best := flaw{level: bad + 1}
	supports, contradicts := false, false
	for i := range c.facts.Readings {
		r := &c.facts.Readings[i]
		plan, ok := c.matches(p, t, r)
		if !ok {
			continue
		}
		supports, contradicts = supports || r.Supports == "yes", contradicts || r.Supports == "no"
		f := c.readingFlaw(it, t, r, plan)
		switch f.level {
		case good:
			fine = append(fine, r.Entry)
			continue
		case doubtful:
			unsure = append(unsure, r.Entry)
		default:
			wrong = append(wrong, r.Entry)
		}
		if f.level < best.level {
			best = f
		}
	}
	switch {
	case p.Supports && supports && contradicts:
		return verdict{outcome: Doubt, sentence: "The readings contradict each other: one supports the replacement, another does not (" + thing + ").", entries: append(append(fine, unsure...), wrong...)}
	case len(fine) >= need:
		return verdict{outcome: Met, sentence: one(len(fine), thing, met), entries: fine}
	case len(fine)+len(unsure) >= need:
		return verdict{outcome: Doubt, sentence: best.text, entries: append(fine, unsure...)}
	case len(fine)+len(unsure)+len(wrong) == 0:
		return verdict{outcome: Gap, sentence: none}
	case len(wrong) > 0 && need == 1:
		return verdict{outcome: Gap, sentence: best.text, entries: wrong}
	}
	return verdict{
		outcome:  Gap,
		sentence: thereIs(len(fine)+len(unsure), thing) + " that can be used, " + strconv.Itoa(need) + " are needed.",
		entries:  append(append(fine, unsure...), wrong...),
	}
}

// matches reports whether the reading is of the thing asked for; a reading of the other moment is of another thing.
func (c *checker) matches(p *ReadingRule, t turn, r *Reading) (*ReadingPlan, bool) {
	if p.Moment != "" && r.Moment != "" && r.Moment != p.Moment {
		return nil, false
	}
	if p.Component == PerReplacedPart && !c.concerns(r.Component, t.part) {
		return nil, false
	}
	for _, id := range p.Of {
		if plan := c.pack.plans[id]; plan.Component == r.Component && plan.Quantity == r.Quantity {
			return plan, true
		}
	}
	if len(p.Of) > 0 {
		return nil, false
	}
	if p.Component != PerReplacedPart && p.Component != r.Component {
		return nil, false
	}
	return nil, len(p.Quantity) == 0 || contains(p.Quantity, r.Quantity)
}

func (c *checker) readingFlaw(it *item, t turn, r *Reading, plan *ReadingPlan) flaw {
	p := it.r.Reading
	var f flaw
	units := p.Units
	if plan != nil {
		units = plan.Units
	}
	if r.State == "" {
		switch {
		case r.Value == "":
			f.note(bad, theReading(r)+" has no value.")
		case r.Unit == "":
			f.note(bad, theReading(r)+" has no unit.")
		case len(units) > 0 && !contains(units, r.Unit):
			f.note(bad, theReading(r)+" is in "+unitSymbol(r.Unit)+", "+join(unitSymbols(units), "or")+" is wanted.")
		}
	}
	if p.Moment != "" && r.Moment == "" {
		f.note(doubtful, theReading(r)+" does not say whether it was taken as found or as left.")
	}
	if p.Plausible && r.Outcome == "not-plausible" {
		f.note(bad, theReading(r)+" is not plausible: "+says(r))
	}
	if len(p.Outcome) > 0 && !contains(p.Outcome, r.Outcome) {
		switch r.Outcome {
		case "":
			f.note(doubtful, theReading(r)+" could not be judged: no limits are known for it.")
		case "cannot-decide":
			f.note(doubtful, theReading(r)+" decides nothing: "+says(r))
		default:
			f.note(bad, theReading(r)+" is "+noun(readingOutcomes, r.Outcome)+": "+says(r))
		}
	}
	if p.Supports {
		switch r.Supports {
		case "yes":
		case "no":
			f.note(bad, theReading(r)+" does not support replacing it: "+says(r))
		default:
			f.note(doubtful, theReading(r)+" neither supports nor contradicts replacing it: "+says(r))
		}
	}
	if p.DisplayPhoto {
		c.display(r, &f)
	}
	c.timing(it, t, r.At, func() string { return theReading(r) }, &f)
	return f
}

func (c *checker) display(r *Reading, f *flaw) {
	if r.DisplayPhoto == "" {
		f.note(bad, theReading(r)+" has no photo of the display.")
		return
	}
	for i := range c.facts.Photos {
		photo := &c.facts.Photos[i]
		if photo.Entry != r.DisplayPhoto {
			continue
		}
		switch {
		case photo.Subject != "meter-display" && photo.Subject != "as-left-display":
			f.note(doubtful, theReading(r)+" points to a photo of "+theSubject(photo.Subject)+", not of a display.")
		case photo.Sharp == "no":
			f.note(bad, "The photo of the display is blurred ("+lowerFirst(theReading(r))+").")
		}
		return
	}
	f.note(bad, theReading(r)+" points to a photo that is not there.")
}

func theReading(r *Reading) string {
	s := "The reading (" + noun(quantities, r.Quantity)
	if r.Component != "" {
		s += ", " + noun(components, r.Component)
	}
	switch {
	case r.State != "":
		s += ", " + clip(r.State)
	case r.Value != "":
		s += ", " + clip(r.Value)
		if r.Unit != "" {
			s += " " + unitSymbol(r.Unit)
		}
	}
	return s + ")"
}

// unitSymbol writes the UCUM codes that people would stumble over as they know them.
func unitSymbol(code string) string {
	switch code {
	case "Ohm", "kOhm", "MOhm", "GOhm", "mOhm":
		return code[:len(code)-3] + "Ω"
	case "Cel":
		return "°C"
	case "[degF]":
		return "°F"
	case "[psi]":
		return "psi"
	case "um[Hg]":
		return "µm Hg"
	case "mm[Hg]":
		return "mm Hg"
	case "[in_i'Hg]":
		return "in Hg"
	case "[in_i'H2O]":
		return "in H₂O"
	case "mW/cm2":
		return "mW/cm²"
	}
	return clip(code)
}

func unitSymbols(codes []string) []string {
	out := make([]string, len(codes))
	for i, c := range codes {
		out[i] = unitSymbol(c)
	}
	return out
}

func says(r *Reading) string {
	if r.Says == "" {
		return "no reason is recorded."
	}
	return r.Says
}
