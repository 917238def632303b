package claims

import (
	"fmt"
	"slices"
)

// ExclusionFound is something on record that the papers leave out, or may.
type ExclusionFound struct {
	// What is a word of Exclusions(); Component narrows it down, empty = the whole job.
	What      string `json:"what"`
	Component string `json:"component,omitempty"`
	Says      string `json:"says"`
	// Certain is false when a question is open; Settles says what would answer it.
	Certain bool      `json:"certain"`
	Settles string    `json:"settles,omitempty"`
	Entries []EntryID `json:"entries,omitempty"`
	// PartsOnly leaves the labour as it is.
	PartsOnly bool `json:"partsOnly,omitempty"`
}

// exclusionsOf looks for what the papers leave out. What the papers don't name is a question, not an answer.
func exclusionsOf(j *Job) []ExclusionFound {
	var found []ExclusionFound
	named := func(what string) bool { return slices.Contains(j.Coverage.Exclusions, what) }
	add := func(e ExclusionFound, certain bool, settles string) {
		e.Certain = certain && named(e.What)
		if !e.Certain {
			e.Settles = settles
			if !named(e.What) {
				e.Settles = fmt.Sprintf("Whether the papers leave out %s: enter it with the terms.", spaced(e.What))
			}
		}
		found = append(found, e)
	}
	if j.Coverage.Kind == "customer-pays" {
		return nil
	}
	if j.Unit.Usage == "commercial" {
		add(ExclusionFound{What: "commercial-use", Says: "The unit is in commercial use.", Entries: some(j.Said["unit.usage"])}, true, "")
	}
	for _, c := range j.Causes {
		if c.Body.Excluded != "" {
			add(ExclusionFound{What: c.Body.Excluded, Component: c.Body.Component, Entries: append(some(c.Entry), c.Body.Evidence...),
				Says: fmt.Sprintf("The cause found (no. %d) is one of %s.", c.Number, spaced(c.Body.Excluded))}, true, "")
		}
	}
	for _, d := range j.Damages {
		if d.Body.Kind == "none" || d.Body.Seen != "on-arrival" || d.Body.Bears != "yes" && d.Body.Bears != "unknown" {
			continue
		}
		add(ExclusionFound{What: "pre-existing-damage", Entries: append(some(d.Entry), d.Body.Photos...),
			Says: fmt.Sprintf("Damage found on arrival (no. %d, %s, %s) bears on coverage%s.", d.Number, d.Body.Area, d.Body.Kind, map[bool]string{true: "", false: ", or may"}[d.Body.Bears == "yes"])},
			d.Body.Bears == "yes", fmt.Sprintf("Whether the damage no. %d has to do with the failure: say yes or no on its entry.", d.Number))
	}
	for _, p := range j.Parts {
		if p.Body.Original == "no" && p.Body.Action != "removed" {
			add(ExclusionFound{What: "non-original-part", Component: p.Body.Component, PartsOnly: true, Entries: append(some(p.Entry), p.Body.Photos...),
				Says: fmt.Sprintf("The part fitted (no. %d) is not the maker's. In the United States a warranty may not be tied to a maker's part unless that is free or waived (15 USC 2302(c)).", p.Number)}, true, "")
		}
		if ClassOf(p.Body.Component) == ClassConsumable && named("consumable") && p.Body.Action != "removed" {
			add(ExclusionFound{What: "consumable", Component: p.Body.Component, Entries: some(p.Entry), Says: fmt.Sprintf("The part (no. %d) is one that is used up.", p.Number)}, true, "")
		}
	}
	return found
}

func some(id EntryID) []EntryID {
	if id == "" {
		return nil
	}
	return []EntryID{id}
}
