package dispute

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// Letter is a draft of the answer to allegations, for a person to read and change before it goes out.
type Letter struct {
	Letter      string           `json:"letter"`
	Allegations []claims.EntryID `json:"allegations"`
	// Leans are the entries the letter leans on; Exhibits the numbers it uses.
	Leans    []claims.EntryID `json:"leans"`
	Exhibits []Exhibit        `json:"exhibits"`
}

// Draft writes the letter for the named allegations; none = all that are open. It says what the entries show, for and against the shop, and
// nothing else: no cause, no blame, no offer.
func Draft(j *claims.Job, v View, shop claims.Shop, allegations []claims.EntryID, today claims.Day) (Letter, error) {
	picked, err := Pick(v, allegations)
	if err != nil {
		return Letter{}, err
	}
	out := Letter{Allegations: []claims.EntryID{}, Leans: []claims.EntryID{}, Exhibits: v.Exhibits}
	no := map[claims.EntryID]int{}
	for _, e := range v.Exhibits {
		no[e.Entry] = e.No
	}
	var b strings.Builder
	par := func(format string, args ...any) {
		if b.Len() > 0 {
			b.WriteString("\n\n")
		}
		fmt.Fprintf(&b, format, args...)
	}
	par("%s", today)
	name := customer(j)
	if name == "" {
		name = "customer"
	}
	par("Dear %s,", name)
	par("%s", opening(j, picked))
	for i, a := range picked {
		out.Allegations = append(out.Allegations, a.Entry)
		if len(picked) > 1 {
			par("%d. %s", i+1, areaTitle(a.Area))
		}
		par("You wrote: “%s”", strings.TrimSpace(clip(a.Words, 600)))
		says := lowerFirst(a.Finding.Title) + ". " + a.Finding.Says
		par("What our records show: %s", says)
		var lines []string
		for _, p := range a.Finding.For {
			lines = append(lines, "- "+p.Says+exhibitWords(p.Entries, no)+saidThen(j, v, p.Entries))
			for _, id := range p.Entries {
				if !slices.Contains(out.Leans, id) && len(out.Leans) < 500 {
					out.Leans = append(out.Leans, id)
				}
			}
		}
		if n := len(a.Before) + len(a.After); n > 0 {
			lines = append(lines, "- Pictures of this place: "+placeWords(a, no)+".")
		}
		if len(lines) > 0 {
			par("%s", strings.Join(lines, "\n"))
		}
		if list := a.Finding.Against; len(list) > 0 {
			lines = nil
			for _, p := range list {
				lines = append(lines, "- "+p.Says+exhibitWords(p.Entries, no))
			}
			par("For completeness, this also belongs to the picture:\n%s", strings.Join(lines, "\n"))
		}
	}
	par("The enclosed file holds the pictures as they were taken, the order of events, the condition record and the signatures, with a way to check that nothing was changed since. It shows what was recorded and when. It does not show who caused anything.")
	par("If you have pictures, papers or remarks of your own, please send them: we will keep them with the file as yours. If we have misunderstood you, please tell us.")
	par("Kind regards")
	par("%s", strings.Join(nonEmpty(shop.Name, shop.Address, shop.Contact), "\n"))
	out.Letter = clip(b.String(), claims.MaxText)
	return out, nil
}

// Pick finds the named allegations; none = all that are open, or all when none is open.
func Pick(v View, ids []claims.EntryID) ([]Allegation, error) {
	if len(v.Allegations) == 0 {
		return nil, claims.Errorf(claims.Invalid, "Nothing is said against the shop on this job. Enter the allegation first.").At("allegations")
	}
	var out []Allegation
	for _, id := range ids {
		i := slices.IndexFunc(v.Allegations, func(a Allegation) bool { return a.Entry == id })
		if i < 0 {
			return nil, claims.Errorf(claims.NotFound, "There is no such allegation on this job.").At("allegations")
		}
		if !slices.ContainsFunc(out, func(a Allegation) bool { return a.Entry == id }) {
			out = append(out, v.Allegations[i])
		}
	}
	if len(ids) > 0 {
		return out, nil
	}
	for _, a := range v.Allegations {
		if !a.Ended {
			out = append(out, a)
		}
	}
	if len(out) == 0 {
		out = slices.Clone(v.Allegations)
	}
	return out, nil
}

func opening(j *claims.Job, picked []Allegation) string {
	s := "Thank you for telling us"
	if day := came(picked[0]); day != "" {
		s += " on " + day
	}
	if how := picked[0].How; how != "" {
		s += " (" + lowerFirst(how) + ")"
	}
	s += ". We have gone through all that was recorded"
	if j.Open.Number != "" {
		s += " on job " + j.Open.Number
	}
	if u := unit(j); u != "" {
		s += ", " + lowerFirst(u)
	}
	if n := len(j.Visits); n > 0 {
		var days []string
		for _, v := range j.Visits {
			if v.Arrived != nil {
				days = append(days, stated(v.Arrived, v.Arrived.Body.When).Format(time.DateOnly))
			}
		}
		if len(days) > 0 {
			s += ", visit of " + strings.Join(slices.Compact(days), ", ")
		}
	}
	return s + ", and answer in writing."
}

// came is the day on which an allegation reached the shop.
func came(a Allegation) string {
	if len(a.Came) >= len(time.DateOnly) {
		return a.Came[:len(time.DateOnly)]
	}
	return a.At.Format(time.DateOnly)
}

// exhibitWords points at the exhibits among entries.
func exhibitWords(ids []claims.EntryID, no map[claims.EntryID]int) string {
	if n := exhibits(numbers(ids, no)); n != "" {
		return " (" + n + ")"
	}
	return ""
}

func placeWords(a Allegation, no map[claims.EntryID]int) string {
	ids := func(list []PlacePhoto) string {
		var out []claims.EntryID
		for _, p := range list {
			out = append(out, p.Entry)
		}
		return numbers(out, no)
	}
	return strings.Join(nonEmpty(lead("before work ", exhibits(ids(a.Before))), lead("after work began ", exhibits(ids(a.After)))), "; ")
}

// exhibits puts the word before numbers.
func exhibits(n string) string {
	switch {
	case n == "":
		return ""
	case strings.ContainsAny(n, ",–"):
		return "exhibits " + n
	}
	return "exhibit " + n
}

// saidThen repeats what somebody said when the damage was noted, and who signed for it.
func saidThen(j *claims.Job, v View, ids []claims.EntryID) string {
	out := ""
	for _, c := range v.Condition {
		if !slices.Contains(ids, c.Entry) {
			continue
		}
		if c.Said != "" {
			out += fmt.Sprintf(" %s said then: “%s”", cmp.Or(c.SaidBy, "Somebody"), strings.TrimSpace(clip(c.Said, 300)))
		}
		for _, a := range j.Acks {
			if a.Body.Outcome == "signed" && slices.Contains(c.Signed, a.Entry) {
				out += fmt.Sprintf(" Signed by %s on %s.", cmp.Or(a.Body.Name, "the customer"), fair(&a).Format(time.DateOnly))
			}
		}
	}
	return out
}

func nonEmpty(list ...string) []string {
	return slices.DeleteFunc(list, func(s string) bool { return strings.TrimSpace(s) == "" })
}

// clip cuts a text to at most n characters.
func clip(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// KindWords is the alleged kind of damage for a person.
func KindWords(kind string) string { return titleOf(rules.DamageKinds(), kind) }
