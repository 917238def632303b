package bundle

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// title gives the word for people from one of the closed vocabularies, or the id when it is not in it.
func title(terms []rules.Term, id string) string {
	for _, t := range terms {
		if t.ID == id {
			return t.Title
		}
	}
	return id
}

func subjectTitle(id string) string { return title(rules.Subjects(), id) }

func componentTitle(id string) string {
	if id == "" {
		return ""
	}
	return title(rules.Components(), id)
}

func unitTitle(u *claims.Unit) string {
	parts := nonEmpty(title(rules.UnitKinds(), u.Kind), u.Maker, u.Model)
	if len(parts) == 0 {
		return "unit not identified"
	}
	s := strings.Join(parts, " ")
	if u.Serial != "" {
		s += ", serial " + u.Serial
	}
	return s
}

func nonEmpty(list ...string) []string {
	var out []string
	for _, s := range list {
		if strings.TrimSpace(s) != "" {
			out = append(out, s)
		}
	}
	return out
}

// moment writes an instant with its zone offset: it is read far from where it was written.
func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04:05 -07:00")
}

func minute(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04 -07:00")
}

// said writes a moment that was typed in as RFC 3339 the way moment does; anything else stays as it is.
func said(s string) string {
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
		return minute(t)
	}
	return s
}

// amount writes money with the number of decimals of its currency (ISO 4217), or nothing.
func amount(m *claims.Money) string {
	if m == nil || m.IsZero() {
		return ""
	}
	return m.Plain()
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}

func entryCount(n int) string {
	if n == 1 {
		return "1 entry"
	}
	return strconv.Itoa(n) + " entries"
}

// clip shortens a text for page one; the whole stands elsewhere.
func clip(s string, most int) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + " … (in full below)"
	}
	return s
}

// photoNumbers names photos by number: "photos 1, 3".
func (pl *plan) photoNumbers(ids ...claims.EntryID) string {
	var out []string
	for _, id := range ids {
		if s := pl.byEntry[id]; s != nil {
			out = append(out, strconv.Itoa(s.no))
		} else if id != "" {
			out = append(out, "(a photo not on record)")
		}
	}
	switch len(out) {
	case 0:
		return ""
	case 1:
		return "photo " + out[0]
	}
	return "photos " + strings.Join(out, ", ")
}

func outcomeWord(o rules.Outcome) (string, Tone) {
	switch o {
	case rules.Met:
		return "met", Good
	case rules.Gap:
		return "missing", Bad
	case rules.Doubt:
		return "doubt", Warn
	case rules.Waived:
		return "waived", Warn
	}
	return "not needed", Quiet
}

// heldWords says what was held back, for bag-info.txt and the first page.
func heldWords(pl *plan) string {
	names := pl.parcel.Hold.Names()
	if len(names) == 0 {
		return "nothing"
	}
	lines, originals := 0, 0
	for _, w := range pl.left {
		if w.What == "entry" {
			lines++
		} else {
			originals++
		}
	}
	return fmt.Sprintf("%s (%s, %s)", strings.Join(names, ", "), entryCount(lines), plural(originals, "original"))
}
