package rules

// ack judges a signature rule: the best acknowledgement about the matter counts.
func (c *checker) ack(it *item) verdict {
	a := it.r.Acknowledgement
	best := flaw{level: bad + 1}
	var found *Acknowledgement
	for i := range c.facts.Acks {
		k := &c.facts.Acks[i]
		if k.About != a.About {
			continue
		}
		if f := c.ackFlaw(it, k); f.level < best.level {
			best, found = f, k
		}
	}
	if found == nil {
		if len(a.Outcome) == 0 || contains(a.Outcome, "declined") || contains(a.Outcome, "absent") {
			return verdict{outcome: Gap, sentence: "There is no " + it.thing + ", and no reason why there is none."}
		}
		return verdict{outcome: Gap, sentence: "There is no " + it.thing + "."}
	}
	if best.level != good {
		return verdict{outcome: outcomeOf(best.level), sentence: best.text, entries: []string{found.Entry}}
	}
	s := "The customer signed (" + noun(ackAbout, a.About) + ")."
	switch found.Outcome {
	case "declined":
		s = "The customer declined to sign; the reason is recorded (" + noun(ackAbout, a.About) + ")."
	case "absent":
		s = "The customer was absent; the reason is recorded (" + noun(ackAbout, a.About) + ")."
	}
	return verdict{outcome: Met, sentence: s, entries: []string{found.Entry}}
}

func (c *checker) ackFlaw(it *item, k *Acknowledgement) flaw {
	a := it.r.Acknowledgement
	var f flaw
	if len(a.Outcome) > 0 && !contains(a.Outcome, k.Outcome) {
		f.note(bad, "The answer is “"+noun(ackOutcomes, k.Outcome)+"”; "+nouns(ackOutcomes, a.Outcome, "or")+" is wanted ("+noun(ackAbout, a.About)+").")
	}
	c.timing(it, turn{}, k.At, func() string { return "The signature (" + noun(ackAbout, a.About) + ")" }, &f)
	if k.Outcome == "absent" { // nobody was there to be shown anything
		return f
	}
	if a.ShownDamage != "" {
		for i := range c.facts.Damages {
			d := &c.facts.Damages[i]
			if d.Kind == NoDamage || a.ShownDamage != "any" && d.Seen != a.ShownDamage || contains(k.Shown, d.Entry) {
				continue
			}
			for _, p := range d.Photos {
				if !contains(k.Shown, p) {
					f.note(bad, "Not every photo of the damage ("+clip(d.Area)+", "+noun(damageKinds, d.Kind)+") was on the screen when the customer was asked.")
				}
			}
		}
	}
	for _, s := range a.Shown {
		shown := false
		for _, i := range c.bySubject[c.pack.subjects[s]] {
			shown = shown || contains(k.Shown, c.facts.Photos[i].Entry)
		}
		if !shown {
			f.note(bad, "No photo of "+theSubject(s)+" was on the screen when the customer was asked.")
		}
	}
	return f
}

// caution looks for the showing of a caution, in time if an event is named.
func (c *checker) caution(it *item) verdict {
	shown := c.facts.Cautions[it.r.Caution.ID]
	if len(shown) == 0 {
		return verdict{outcome: Gap, sentence: "The " + it.thing + " has not been shown."}
	}
	first := shown[0]
	for _, m := range shown {
		if m.At.Before(first.At) {
			first = m
		}
	}
	v := verdict{outcome: Met, sentence: "The " + it.thing + " was shown."}
	if first.Entry != "" {
		v.entries = []string{first.Entry}
	}
	if it.before != nil {
		if limit, _, ok := c.instant(*it.before); ok && first.At.After(limit) {
			v.outcome, v.sentence = Gap, "The "+it.thing+" was shown only after "+c.say(*it.before)+"."
		}
	}
	return v
}
