package claims

import (
	"slices"
	"strings"
)

// The verdicts on coverage.
const (
	Covered    = "covered"
	Partly     = "partly"
	NotCovered = "not-covered"
	CannotSay  = "cannot-say"
)

// CoverageAnswer says whether the papers' terms cover the job: an account of stated dates and terms, not legal advice.
type CoverageAnswer struct {
	// Verdict is covered, partly, not-covered or cannot-say; Says is the reason in one or two sentences.
	Verdict string `json:"verdict"`
	Says    string `json:"says"`
	// Rule names how the term is counted. Boundary is true when the answer hangs on that one day: check the terms.
	Rule     string `json:"rule"`
	Boundary bool   `json:"boundary,omitempty"`
	// On are the days that may decide, at the site; Starts the days from which the term may run.
	On     []CoverageDay   `json:"on,omitempty"`
	Starts []CoverageStart `json:"starts,omitempty"`
	// Lines answer for each component of the repair, parts and labour apart.
	Lines []CoverageLine `json:"lines"`
	// Exclusions that were found; Repeats are earlier repairs of the same component.
	Exclusions []ExclusionFound `json:"exclusions,omitempty"`
	Repeats    []Repeat         `json:"repeats,omitempty"`
	// Leans are the entries that the answer leans on; Changes what would change it.
	Leans   []EntryID `json:"leans,omitempty"`
	Changes []string  `json:"changes,omitempty"`
}

// CoverageDay is a day that may decide.
type CoverageDay struct {
	What  string  `json:"what"` // reported or visited
	Day   Day     `json:"day"`
	Entry EntryID `json:"entry,omitempty"`
}

// CoverageStart is a day from which the term may run. From and Till differ when the plate has only a month or a year.
type CoverageStart struct {
	Event string `json:"event"` // purchase, installation, manufacture, stated, earlier-repair
	From  Day    `json:"from"`
	Till  Day    `json:"till"`
	Says  string `json:"says"`
	// Entry says the date; Proof are the photos that may show it.
	Entry EntryID   `json:"entry,omitempty"`
	Proof []EntryID `json:"proof,omitempty"`
}

// CoverageLine answers for one component; its parts and its labour may have different terms.
type CoverageLine struct {
	Component string       `json:"component"`
	Class     string       `json:"class"`
	Parts     CoverageTerm `json:"parts"`
	Labour    CoverageTerm `json:"labour"`
	Entries   []EntryID    `json:"entries,omitempty"`
}

// CoverageTerm is the answer for one term.
type CoverageTerm struct {
	Verdict string `json:"verdict"` // covered, not-covered, cannot-say
	Says    string `json:"says"`
	// Term is what the papers name (a component, a class, whole-unit), Months its length, LastDay the last day covered; where it
	// hangs on the way of counting or on the start, the later one.
	Term     string `json:"term,omitempty"`
	Months   int    `json:"months,omitempty"`
	LastDay  Day    `json:"lastDay,omitempty"`
	Boundary bool   `json:"boundary,omitempty"`
	// ByShop is true when what is not covered is the shop's to bear, as a repair repeated within the window is.
	ByShop bool `json:"byShop,omitempty"`
}

// CoverageOf answers from the job's entries and the earlier repairs of the same unit (see Service.Coverage). It is pure.
func CoverageOf(j *Job, earlier []EarlierRepair) CoverageAnswer {
	a := coverageCase{j: j}
	a.days()
	a.starts(earlier)
	a.answer.Exclusions = exclusionsOf(j)
	a.answer.Repeats = repeatsOf(j, a.answer.On, earlier)
	for _, c := range repaired(j) {
		a.answer.Lines = append(a.answer.Lines, a.line(c))
	}
	a.conclude()
	return a.answer
}

type coverageCase struct {
	j      *Job
	answer CoverageAnswer
}

// days finds the days that may decide, at the site.
func (a *coverageCase) days() {
	j := a.j
	if day, entry, ok := reported(j); ok {
		a.answer.On = append(a.answer.On, CoverageDay{What: "reported", Day: day, Entry: entry})
	}
	for _, v := range j.Visits {
		if v.Arrived != nil {
			at := stepTime(v.Arrived.At, v.Arrived.Clock, v.Arrived.Body.When)
			a.answer.On = append(a.answer.On, CoverageDay{What: "visited", Day: j.localDay(at), Entry: v.Arrived.Entry})
			break
		}
	}
	if d := j.Coverage.Decides; d != "" {
		a.answer.On = slices.DeleteFunc(a.answer.On, func(c CoverageDay) bool { return c.What != d })
		if len(a.answer.On) == 0 {
			a.change("The papers go by the day on which the failure was %s, and that day is not on record: enter it.", d)
		}
	}
	if _, ok := j.siteZone(); !ok && len(a.answer.On) > 0 {
		a.change("The site's time zone is not known, so the date is the one on the device that noted it: enter the zone when work was done near midnight.")
	}
}

// reported is the day on which the failure was reported: when the job was given out, else when it was opened.
func reported(j *Job) (Day, EntryID, bool) {
	entry := j.Said["open.dispatched"]
	if day, ok := ParseDay(j.Open.Dispatched); ok {
		return day, entry, true
	}
	if at, ok := parseMoment(j.Open.Dispatched); ok {
		return j.localDay(at), entry, true
	}
	if j.Opened.IsZero() || j.Said["open.complaint"] == "" {
		return "", "", false
	}
	return j.localDay(j.Opened), j.Said["open.complaint"], true
}

// starts finds the days from which the term may run: the one the papers name, else every one that is on record.
func (a *coverageCase) starts(earlier []EarlierRepair) {
	c := a.j.Coverage
	add := func(event, from, field string, subjects ...string) {
		first, last, ok := partialDays(from)
		if !ok {
			return
		}
		s := CoverageStart{Event: event, From: first, Till: last, Entry: a.j.Said[field], Proof: photosOf(a.j, "", subjects...)}
		s.Says = "The term runs from the day of " + event + ", " + from
		if event == "stated" {
			s.Says = "The term runs from " + from + ", as the papers state"
		}
		if len(s.Proof) == 0 {
			s.Says += "; no photo shows that date"
		}
		a.answer.Starts = append(a.answer.Starts, s)
	}
	paper := []string{"proof-of-purchase", "customer-document"}
	switch {
	case c.Start != "":
		add("stated", c.Start, "coverage.start", paper...)
	case c.StartEvent == "purchase":
		add("purchase", c.Purchased, "coverage.purchased", paper...)
	case c.StartEvent == "installation":
		add("installation", c.Installed, "coverage.installed", paper...)
	case c.StartEvent == "manufacture":
		add("manufacture", a.j.Unit.Manufactured, "unit.manufactured", "rating-plate")
	case c.Kind == "part-warranty":
		for _, e := range sameComponents(a.j, earlier) {
			if e.Fitted {
				a.answer.Starts = append(a.answer.Starts, CoverageStart{Event: "earlier-repair", From: e.Done, Till: e.Done,
					Says: "The term runs from the repair of " + string(e.Done) + " on job " + e.Number + ", which fitted the part"})
				break
			}
		}
	default:
		add("purchase", c.Purchased, "coverage.purchased", paper...)
		if c.Installed != c.Purchased {
			add("installation", c.Installed, "coverage.installed", paper...)
		}
	}
	switch len(a.answer.Starts) {
	case 0:
		what := map[string]string{"purchase": "the date of purchase", "installation": "the date of installation", "manufacture": "the date of manufacture on the rating plate"}[c.StartEvent]
		if what == "" {
			what = "the day from which the term runs"
		}
		if c.Kind != "customer-pays" {
			a.change("Enter %s, with a photo that shows it.", what)
		}
	case 1:
		if s := a.answer.Starts[0]; len(s.Proof) == 0 && s.Event != "earlier-repair" {
			a.change("A photo of the paper that shows %s would prove the start; another date there would move the term.", s.From)
		}
	default:
		a.change("The papers' word on what starts the term, purchase or installation, would settle which date counts.")
	}
}

// partialDays reads a date that may lack its day or month, as the first and the last day it may be.
func partialDays(s string) (first, last Day, ok bool) {
	switch len(s) {
	case 4:
		first, ok = ParseDay(s + "-01-01")
		return first, Day(s + "-12-31"), ok
	case 7:
		first, ok = ParseDay(s + "-01")
		return first, first.AddMonths(1).AddDays(-1), ok
	}
	first, ok = ParseDay(s)
	return first, first, ok
}

// repaired lists the components of the job: those of the parts fitted, else of the causes, else the whole unit.
func repaired(j *Job) []string {
	var list []string
	add := func(c string) {
		if c != "" && !slices.Contains(list, c) {
			list = append(list, c)
		}
	}
	for _, p := range j.Parts {
		if p.Body.Action != "removed" {
			add(p.Body.Component)
		}
	}
	if len(list) == 0 {
		for _, c := range j.Causes {
			add(c.Body.Component)
		}
	}
	if len(list) == 0 {
		add(ClassWhole)
	}
	return list
}

// photosOf lists the photos of the subjects; component narrows them down unless it is empty.
func photosOf(j *Job, component string, subjects ...string) []EntryID {
	var ids []EntryID
	for _, p := range j.Photos {
		if (component == "" || p.Body.Component == component) && (len(subjects) == 0 || slices.Contains(subjects, p.Body.Subject)) {
			ids = append(ids, p.Entry)
		}
	}
	return ids
}

func listed(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}
