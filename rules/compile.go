package rules

import (
	"slices"
	"sync"
	"time"
)

// Compiled is a pack made ready for many checks. It is safe for use by several goroutines at once.
type Compiled struct {
	pack     *Pack
	items    []item
	subjects map[string]int
	plans    map[string]*ReadingPlan
	zones    *zones
}

// item is one requirement with everything that can be worked out before the facts are known.
type item struct {
	r         *Requirement
	subjects  []int // indexes of photo subjects; nil means every subject
	pair      int
	basis     int
	before    *when
	after     *when
	from, to  when
	thing     string // what is asked for, in words: "photo of the rating plate"
	met       string // the sentence when nothing more is to be said
	none      string // the sentence when there is nothing at all
	notNeeded string
}

// Compile checks the pack and makes it ready. The error is an *InvalidPack that lists everything wrong. The pack
// must not be changed afterwards.
func Compile(p *Pack) (*Compiled, error) {
	if problems := Validate(p); len(problems) > 0 {
		return nil, &InvalidPack{Pack: p.ID, Problems: problems}
	}
	c := &Compiled{
		pack: p, subjects: map[string]int{}, plans: map[string]*ReadingPlan{},
		zones: &zones{known: map[string]*time.Location{}},
	}
	for i, t := range subjects {
		c.subjects[t.ID] = i
	}
	for i := range p.Readings {
		c.plans[p.Readings[i].ID] = &p.Readings[i]
	}
	for _, stage := range stages {
		for i := range p.Requirements {
			if p.Requirements[i].Stage == stage.ID {
				c.items = append(c.items, c.compile(&p.Requirements[i]))
			}
		}
	}
	return c, nil
}

// Pack is the pack that was compiled. It must not be changed.
func (c *Compiled) Pack() *Pack { return c.pack }

func (c *Compiled) compile(r *Requirement) item {
	it := item{r: r, pair: -1}
	if r.When != nil {
		it.notNeeded = "Needed only when " + r.When.words() + "."
	}
	switch {
	case r.Photo != nil:
		if !slices.Equal(r.Photo.Subject, []string{"any"}) {
			for _, s := range r.Photo.Subject {
				it.subjects = append(it.subjects, c.subjects[s])
			}
		}
		if r.Photo.Pair != "" {
			it.pair = c.subjects[r.Photo.Pair]
		}
		it.basis = basisRank(r.Photo.TimeBasis)
		it.before, it.after = moments(r.Photo.Before, r.Photo.After)
		it.thing = r.Photo.thing()
	case r.Reading != nil:
		it.before, it.after = moments(r.Reading.Before, r.Reading.After)
		it.thing = r.Reading.thing(c.plans, "replaced part")
		if r.Reading.Component != PerReplacedPart {
			it.thing = r.Reading.thing(c.plans, noun(components, r.Reading.Component))
		}
	case r.Acknowledgement != nil:
		it.before, it.after = moments(r.Acknowledgement.Before, r.Acknowledgement.After)
		it.thing = "signature (" + noun(ackAbout, r.Acknowledgement.About) + ")"
	case r.Caution != nil:
		it.before, _ = moments(r.Caution.Before, "")
		it.thing = "caution “" + c.cautionTitle(r.Caution.ID) + "”"
	case r.Interval != nil:
		it.from, _ = parseWhen(r.Interval.From, true)
		it.to, _ = parseWhen(r.Interval.To, false)
	case r.Order != nil:
		it.from, _ = parseWhen(r.Order.First, false)
		it.to, _ = parseWhen(r.Order.Then, false)
		it.met = upperFirst(it.from.short()) + " is not after " + it.to.short() + "."
	case r.Field != nil:
		it.thing = fieldTitle(r.Field.Name)
		it.met = it.thing + " is recorded."
	case r.Agreement != nil:
		it.thing = fieldTitle(r.Agreement.Number)
		it.met = it.thing + " agrees wherever it is stated."
	case r.Number != nil:
		it.thing = fieldTitle(r.Number.Name)
		if r.Number.Count != "" {
			it.thing = countTitle(r.Number.Count)
		}
	}
	if r.Photo != nil || r.Reading != nil {
		it.none, it.met = "There is no "+it.thing+".", "There is 1 "+it.thing+"."
	}
	return it
}

func (c *Compiled) cautionTitle(id string) string {
	for i := range c.pack.Cautions {
		if c.pack.Cautions[i].ID == id {
			return c.pack.Cautions[i].Title
		}
	}
	return id
}

func moments(before, after string) (b, a *when) {
	if before != "" {
		w, _ := parseWhen(before, false)
		b = &w
	}
	if after != "" {
		w, _ := parseWhen(after, true)
		a = &w
	}
	return b, a
}

func basisRank(s string) int {
	switch s {
	case "single-source":
		return 1
	case "consistent":
		return 2
	case "corroborated":
		return 3
	}
	return 0
}

func (p *PhotoRule) thing() string {
	subject := "photo"
	if p.Subject[0] != "any" && !(p.Every && len(p.Subject) > 3) { // longer lists help nobody
		subject = "photo of " + theSubjects(p.Subject, "or")
	}
	if p.Component != "" && p.Component != PerReplacedPart {
		subject += " (" + noun(components, p.Component) + ")"
	}
	return subject
}

func (p *ReadingRule) thing(plans map[string]*ReadingPlan, component string) string {
	var s string
	if len(p.Of) > 0 {
		titles := make([]string, 0, len(p.Of))
		for _, id := range p.Of {
			titles = append(titles, "“"+plans[id].Title+"”")
		}
		s = "reading " + join(titles, "or")
	} else {
		s = "reading"
		if len(p.Quantity) > 0 {
			s += " of " + nouns(quantities, p.Quantity, "or")
		}
		if component != "" {
			s += " at the " + component
		}
	}
	if p.Moment != "" {
		s += " " + noun(momentsOfReadings, p.Moment)
	}
	return s
}

// zones keeps looked-up time zones: looking one up may read the machine's zone files.
type zones struct {
	mu    sync.Mutex
	known map[string]*time.Location
}

// find gives the zone, UTC for an empty name, nil when the name is not known.
func (z *zones) find(name string) *time.Location {
	if name == "" {
		return time.UTC
	}
	z.mu.Lock()
	defer z.mu.Unlock()
	if l, ok := z.known[name]; ok {
		return l
	}
	l, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		l = nil
	}
	if len(z.known) < 64 {
		z.known[name] = l
	}
	return l
}
