package rules

import "time"

// Kinds of what is wanted.
const (
	WantPhoto     = "photo"
	WantReading   = "reading"
	WantField     = "field"
	WantPart      = "part"
	WantSignature = "signature"
	WantCaution   = "caution"
	WantCheck     = "check" // somebody must look: an order, a number, an agreement
)

// Want is one thing that is still to be taken, entered, shown or looked at.
type Want struct {
	ID          string  `json:"id"` // the finding's
	Requirement string  `json:"requirement"`
	Stage       string  `json:"stage"`
	Kind        string  `json:"kind"`
	Title       string  `json:"title"`
	Severity    string  `json:"severity"`
	Outcome     Outcome `json:"outcome"` // gap or doubt
	Sentence    string  `json:"sentence"`
	Cure        string  `json:"cure"`
	Why         string  `json:"why"`
	Due         string  `json:"due,omitempty"`
	Soon        bool    `json:"soon,omitempty"`

	// Subject (and Subjects, when there is a choice), Component and Pair say what to photograph.
	Subject   string   `json:"subject,omitempty"`
	Subjects  []string `json:"subjects,omitempty"`
	Component string   `json:"component,omitempty"`
	Pair      string   `json:"pair,omitempty"`
	// Damage is the entry of the damage that the pictures belong to.
	Damage string `json:"damage,omitempty"`
	// Plans are the readings that would do; Quantities and Units say the same when the pack has no plan.
	Plans      []ReadingPlan `json:"plans,omitempty"`
	Quantities []string      `json:"quantities,omitempty"`
	Units      []string      `json:"units,omitempty"`
	Moment     string        `json:"moment,omitempty"`
	// Reading is the entry of a reading that would do as it is, but for the picture of its display.
	Reading string `json:"reading,omitempty"`
	// Field is the dotted name to fill, About the matter to sign, Caution the caution to show.
	Field   string `json:"field,omitempty"`
	About   string `json:"about,omitempty"`
	Caution string `json:"caution,omitempty"`
	// Count is what there must be more of: visits, parts, photos, readings, damages.
	Count string `json:"count,omitempty"`
	// Before and After name the events it must come before or after; TooLate says that Before has already happened, NotYet
	// that After has not.
	Before  string `json:"before,omitempty"`
	After   string `json:"after,omitempty"`
	TooLate bool   `json:"tooLate,omitempty"`
	NotYet  bool   `json:"notYet,omitempty"`
}

// Wanted lists what is still to be done, by stage, then in the order of the pack: the shot list, the reading list and all
// else. A phone shows it; it is empty when the report has no gap and no doubt.
func Wanted(pack *Compiled, facts *Facts) []Want {
	c := newChecker(pack, facts)
	wants := []Want{}
	for i := range pack.items {
		it := &pack.items[i]
		c.each(it, func(t turn, applies bool) {
			if f := c.finding(it, t, applies); f.Open() {
				wants = append(wants, c.want(it, t, &f))
			}
		})
	}
	return wants
}

// WantedIf lists what replacing a component would ask for on top of Wanted: what to measure and photograph while the old
// part is still in. It needs no more than a suspicion.
func WantedIf(pack *Compiled, facts *Facts, component string) []Want {
	for i := range facts.Parts {
		if facts.Parts[i].Component == component && facts.Parts[i].Action != "removed" {
			return []Want{}
		}
	}
	already := map[string]bool{}
	for _, w := range Wanted(pack, facts) {
		already[w.ID] = true
	}
	supposed := *facts
	supposed.Parts = append(facts.Parts[:len(facts.Parts):len(facts.Parts)], Part{Component: component, Action: "replaced"})
	more := []Want{}
	for _, w := range Wanted(pack, &supposed) {
		if !already[w.ID] {
			more = append(more, w)
		}
	}
	return more
}

// CautionsAt lists the cautions of a stage that apply to the job and have not been shown.
func CautionsAt(pack *Compiled, facts *Facts, stage string) []Caution {
	c := newChecker(pack, facts)
	due := []Caution{}
	for _, k := range pack.pack.Cautions {
		if k.Before == stage && len(facts.Cautions[k.ID]) == 0 && c.holds(k.When, turn{}) {
			due = append(due, k)
		}
	}
	return due
}

func (c *checker) want(it *item, t turn, f *Finding) Want {
	r := it.r
	w := Want{
		ID: f.ID, Requirement: f.Requirement, Stage: f.Stage, Title: f.Title, Severity: f.Severity, Outcome: f.Outcome,
		Sentence: f.Sentence, Cure: f.Cure, Why: f.Why, Due: f.Due, Soon: f.Soon, Kind: WantCheck,
	}
	if t.damage != nil {
		w.Damage = t.damage.Entry
	}
	if t.part != nil {
		w.Component = t.part.component
	}
	switch {
	case r.Photo != nil:
		if r.Photo.Every { // nothing to take: pictures that are there are at fault
			break
		}
		w.Kind, w.Subject, w.Pair = WantPhoto, r.Photo.Subject[0], r.Photo.Pair
		if len(r.Photo.Subject) > 1 {
			w.Subjects = r.Photo.Subject
		}
		w.Component = componentOf(r.Photo.Component, t)
	case r.Reading != nil:
		c.wantReading(it, t, &w)
	case r.Field != nil:
		w.Kind, w.Field = WantField, r.Field.Name
	case r.Agreement != nil:
		w.Field = r.Agreement.Number
		if c.facts.Fields[w.Field] == "" {
			w.Kind = WantField
		}
	case r.Part != nil:
		w.Kind = WantPart
	case r.Acknowledgement != nil:
		w.Kind, w.About = WantSignature, r.Acknowledgement.About
	case r.Caution != nil:
		w.Kind, w.Caution = WantCaution, r.Caution.ID
	case r.Number != nil:
		w.Field, w.Count = r.Number.Name, r.Number.Count
	case r.Order != nil:
		w.Field = c.datedBy(it)
	}
	if it.before != nil {
		w.Before = it.before.event
		limit, ok := c.turnInstant(*it.before, t)
		w.TooLate = ok && c.facts.Now.After(limit)
	}
	if it.after != nil {
		w.After = it.after.event
		var at time.Time
		at, ok := c.turnInstant(*it.after, t)
		w.NotYet = !ok || at.IsZero()
	}
	return w
}

func componentOf(component string, t turn) string {
	if component == PerReplacedPart && t.part != nil {
		return t.part.component
	}
	return component
}

// wantReading gives the plans that would do: those named, or those of the component that measure what is asked.
func (c *checker) wantReading(it *item, t turn, w *Want) {
	p := it.r.Reading
	w.Kind, w.Moment, w.Quantities, w.Units = WantReading, p.Moment, p.Quantity, p.Units
	w.Component = componentOf(p.Component, t)
	for _, id := range p.Of {
		w.Plans = append(w.Plans, *c.pack.plans[id])
	}
	if len(p.Of) == 0 {
		for i := range c.pack.pack.Readings {
			plan := &c.pack.pack.Readings[i]
			if plan.Component == w.Component && (len(p.Quantity) == 0 || contains(p.Quantity, plan.Quantity)) {
				w.Plans = append(w.Plans, *plan)
			}
		}
	}
	w.Reading = c.lacksDisplay(it, t)
	if w.Component == "" && len(w.Plans) > 0 {
		w.Component = w.Plans[0].Component
	}
}

// lacksDisplay gives the first reading that would do if its display were pictured. There the camera is the cure, not the meter.
func (c *checker) lacksDisplay(it *item, t turn) string {
	if !it.r.Reading.DisplayPhoto {
		return ""
	}
	bare, rule, p := *it, *it.r, *it.r.Reading
	p.DisplayPhoto = false
	rule.Reading, bare.r = &p, &rule
	for i := range c.facts.Readings {
		r := &c.facts.Readings[i]
		plan, ok := c.matches(&p, t, r)
		if !ok || c.readingFlaw(&bare, t, r, plan).level != good {
			continue
		}
		var f flaw
		if c.display(r, &f); f.level != good {
			return r.Entry
		}
	}
	return ""
}

// datedBy names the date of an order that stands in a field, the one that is not known first: that is where to look. Empty when none does.
func (c *checker) datedBy(it *item) string {
	named := ""
	for _, d := range [2]string{it.from.date, it.to.date} {
		if d != "" && c.facts.Dates[d] == "" {
			return d
		}
		if named == "" {
			named = d
		}
	}
	return named
}
