package rules

import "strings"

// holds decides a condition; no condition always holds.
func (c *checker) holds(w *Condition, t turn) bool {
	if w == nil {
		return true
	}
	for i := range w.All {
		if !c.holds(&w.All[i], t) {
			return false
		}
	}
	if len(w.Any) > 0 {
		some := false
		for i := range w.Any {
			if c.holds(&w.Any[i], t) {
				some = true
				break
			}
		}
		if !some {
			return false
		}
	}
	if w.Not != nil && c.holds(w.Not, t) {
		return false
	}
	f := c.facts
	return (len(w.Unit) == 0 || contains(w.Unit, f.Fields["unit.kind"])) &&
		(len(w.Coverage) == 0 || contains(w.Coverage, f.Fields["coverage.kind"])) &&
		(len(w.Replaced) == 0 || c.anyReplaced(w.Replaced, t)) &&
		(len(w.Damage) == 0 && len(w.DamageKind) == 0 || c.anyDamage(w, t)) &&
		(len(w.Held) == 0 || c.anyHeld(w.Held, t)) &&
		(len(w.Happened) == 0 || c.anyHappened(w.Happened)) &&
		(len(w.Measured) == 0 || c.anyMeasured(w.Measured)) &&
		(len(w.Pictured) == 0 || c.anyPictured(w.Pictured)) &&
		(w.Field == "" || c.fieldHolds(w)) &&
		(w.Number == "" || c.numberHolds(w))
}

func (c *checker) anyReplaced(list []string, t turn) bool {
	all := list[0] == "any"
	if t.part != nil {
		return all || contains(list, t.part.component)
	}
	for i := range c.replaced {
		if all || contains(list, c.replaced[i].component) {
			return true
		}
	}
	return false
}

func (c *checker) anyDamage(w *Condition, t turn) bool {
	if t.damage != nil {
		return damageMatches(w, t.damage)
	}
	for i := range c.facts.Damages {
		if damageMatches(w, &c.facts.Damages[i]) {
			return true
		}
	}
	return false
}

func damageMatches(w *Condition, d *Damage) bool {
	return d.Kind != NoDamage && (len(w.Damage) == 0 || w.Damage[0] == "any" || contains(w.Damage, d.Seen)) &&
		(len(w.DamageKind) == 0 || contains(w.DamageKind, d.Kind))
}

func (c *checker) anyHeld(list []string, t turn) bool {
	for i := range c.replaced {
		if t.part != nil && t.part != &c.replaced[i] {
			continue
		}
		for _, k := range c.replaced[i].parts {
			if contains(list, c.facts.Parts[k].Held) {
				return true
			}
		}
	}
	return false
}

func (c *checker) anyHappened(list []string) bool {
	for _, e := range list {
		if _, _, ok := c.instant(when{event: e}); ok {
			return true
		}
	}
	return false
}

func (c *checker) anyMeasured(list []string) bool {
	for i := range c.facts.Readings {
		if contains(list, c.facts.Readings[i].Component) {
			return true
		}
	}
	return false
}

func (c *checker) anyPictured(list []string) bool {
	for _, s := range list {
		if i, ok := c.pack.subjects[s]; ok && len(c.bySubject[i]) > 0 {
			return true
		}
	}
	return false
}

func (c *checker) fieldHolds(w *Condition) bool {
	value := c.facts.Fields[w.Field]
	if value == "" {
		value = c.facts.Dates[w.Field]
	}
	if w.Known != nil && *w.Known != (value != "") {
		return false
	}
	return len(w.Is) == 0 || contains(w.Is, value) || containsNormal(w.Is, value)
}

// containsNormal looks for s as people write it: "r 600a" is R-600a. A caution must not hang on a dash.
func containsNormal(list []string, s string) bool {
	if s == "" {
		return false
	}
	s = normal(s)
	for i := range list {
		if normal(list[i]) == s {
			return true
		}
	}
	return false
}

// numberHolds compares exactly. An unknown or unreadable number satisfies no limit.
func (c *checker) numberHolds(w *Condition) bool {
	value, there := parseDecimal(c.facts.Numbers[w.Number])
	if w.Known != nil && *w.Known != there {
		return false
	}
	if w.Above == "" && w.AtLeast == "" {
		return true
	}
	if !there {
		return false
	}
	if w.Above != "" {
		if limit, ok := c.limit(w.Above); !ok || value.compare(limit) <= 0 {
			return false
		}
	}
	if w.AtLeast != "" {
		if limit, ok := c.limit(w.AtLeast); !ok || value.compare(limit) < 0 {
			return false
		}
	}
	return true
}

// limit is a decimal, or the number of that dotted name.
func (c *checker) limit(s string) (decimal, bool) {
	if d, ok := parseDecimal(s); ok {
		return d, true
	}
	return parseDecimal(c.facts.Numbers[s])
}

// words says a condition so that it reads after "needed only when".
func (w *Condition) words() string {
	var all []string
	for i := range w.All {
		all = append(all, w.All[i].words())
	}
	if len(w.Any) > 0 {
		var some []string
		for i := range w.Any {
			some = append(some, w.Any[i].words())
		}
		all = append(all, "either "+strings.Join(some, ", or "))
	}
	if w.Not != nil {
		all = append(all, w.Not.negated())
	}
	add := func(there bool, s string) {
		if there {
			all = append(all, s)
		}
	}
	if len(w.Unit) > 0 {
		all = append(all, "the unit is a "+nouns(unitKinds, w.Unit, "or"))
	}
	if len(w.Coverage) > 0 {
		all = append(all, "the coverage is "+nouns(coverageKinds, w.Coverage, "or"))
	}
	if len(w.Replaced) > 0 {
		if w.Replaced[0] == "any" {
			all = append(all, "a part was replaced")
		} else {
			all = append(all, nouns(components, w.Replaced, "or")+" was replaced")
		}
	}
	if len(w.Damage) > 0 || len(w.DamageKind) > 0 {
		s := "damage"
		if len(w.DamageKind) > 0 {
			s += " (" + nouns(damageKinds, w.DamageKind, "or") + ")"
		}
		s += " was seen"
		if len(w.Damage) > 0 && w.Damage[0] != "any" {
			s += " " + nouns(damageSeen, w.Damage, "or")
		}
		all = append(all, s)
	}
	add(len(w.Held) > 0, "the old part is "+nouns(partHeld, w.Held, "or"))
	add(len(w.Happened) > 0, "there is the "+join(eventNouns(w.Happened), "or"))
	add(len(w.Measured) > 0, "a reading of the "+nouns(components, w.Measured, "or")+" was taken")
	add(len(w.Pictured) > 0, "a photo of "+theSubjects(w.Pictured, "or")+" was taken")
	if w.Field != "" {
		title := lowerFirst(fieldTitle(w.Field))
		add(len(w.Is) > 0, title+" is "+join(w.Is, "or"))
		add(w.Known != nil && *w.Known, title+" is known")
		add(w.Known != nil && !*w.Known, title+" is not known")
	}
	if w.Number != "" {
		title := lowerFirst(fieldTitle(w.Number))
		add(w.Known != nil && *w.Known, title+" is known")
		add(w.Known != nil && !*w.Known, title+" is not known")
		add(w.Above != "", title+" is above "+limitWords(w.Above))
		add(w.AtLeast != "", title+" is at least "+limitWords(w.AtLeast))
	}
	return strings.Join(all, " and ")
}

// negated says the opposite of a condition.
func (w *Condition) negated() string {
	only := Condition{Replaced: w.Replaced}
	if len(w.Replaced) > 0 && only.words() == w.words() {
		if w.Replaced[0] == "any" {
			return "no part was replaced"
		}
		return "a part other than " + nouns(components, w.Replaced, "or") + " was replaced"
	}
	return "it is not so that " + w.words()
}

func eventNouns(list []string) []string {
	names := make([]string, len(list))
	for i, id := range list {
		names[i] = eventNoun(id)
	}
	return names
}

func limitWords(s string) string {
	if _, ok := parseDecimal(s); ok {
		return s
	}
	return lowerFirst(fieldTitle(s))
}
