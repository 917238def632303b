package dispute

import (
	"slices"
	"strings"
	"unicode"

	"kickplate/claims"
	"kickplate/rules"
)

// How the words of two places relate. Named means that an entry says so: the allegation names it as evidence, or a damage record of
// the place names the picture.
const (
	same     = "same"
	named    = "named"
	narrower = "narrower" // a part of the place
	wider    = "wider"    // the place is a part of it
	part     = "part"     // the same component, where on it is not said
)

// place is a place as a set of words: "freezer liner, left wall" and the vocabulary's freezer-liner-left-wall are one.
type place map[string]bool

// placeOf folds words to a place: lower case, letters and digits only, without articles; a title of the vocabulary becomes its id.
func placeOf(words string) place {
	for _, a := range rules.Areas() {
		if strings.EqualFold(strings.TrimSpace(words), a.Title) {
			words = a.ID
		}
	}
	p := place{}
	for _, w := range strings.FieldsFunc(strings.ToLower(words), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		switch w {
		case "the", "a", "an", "of", "on", "in", "at", "and", "my", "our":
		default:
			p[w] = true
		}
	}
	return p
}

func (p place) within(q place) bool {
	for w := range p {
		if !q[w] {
			return false
		}
	}
	return len(p) > 0
}

// relation of another place to p: same, narrower (other lies in p), wider (p lies in other), or "". Words that only say which side ("front",
// "floor") make no larger place of a thing: the floor is not where the floor of the freezer is.
func (p place) relation(other place) string {
	switch in, out := other.within(p), p.within(other); {
	case in && out:
		return same
	case in && other.larger(p): // fewer words name a larger place
		return wider
	case out && p.larger(other):
		return narrower
	}
	return ""
}

// larger reports whether fewer words than in q name a place that q lies in: they name a thing, or q adds only where in the room it is.
func (p place) larger(q place) bool {
	for w := range p {
		if !sideWord(w) {
			return true
		}
	}
	for w := range q {
		if !p[w] && !sideWord(w) && !roomWord(w) {
			return false
		}
	}
	return true
}

func sideWord(w string) bool {
	switch w {
	case "front", "back", "rear", "top", "bottom", "left", "right", "side", "inside", "outside", "upper", "lower", "middle", "corner", "edge", "wall", "floor", "ceiling", "low", "high":
		return true
	}
	return false
}

func roomWord(w string) bool {
	switch w {
	case "kitchen", "laundry", "basement", "garage", "hall", "room", "utility", "pantry", "bathroom", "porch", "entrance", "tiles", "boards", "before", "beside", "behind", "under", "near":
		return true
	}
	return false
}

// ofPlace reports whether something with this relation shows the place itself.
func ofPlace(relation string) bool {
	return relation == same || relation == named || relation == narrower
}

// photoPlace is where a picture says it was taken: its area, else what its subject tells.
func photoPlace(p *claims.Photo) place {
	if p.Area != "" {
		return placeOf(p.Area)
	}
	if p.Subject == "floor" {
		return placeOf("floor")
	}
	return place{}
}

// matchPhoto says how a picture relates to an allegation.
func matchPhoto(a *claims.Allege, at place, p *claims.Item[claims.Photo], damages []claims.Item[claims.Damage]) string {
	if slices.Contains(a.Evidence, p.Entry) {
		return named
	}
	for i := range damages {
		d := &damages[i].Body
		if slices.Contains(d.Photos, p.Entry) && (slices.Contains(a.Evidence, damages[i].Entry) || ofPlace(at.relation(placeOf(d.Area)))) {
			return named
		}
	}
	if r := at.relation(photoPlace(&p.Body)); r != "" {
		return r
	}
	if p.Body.Component != "" && p.Body.Area == "" && placeOf(componentTitle(p.Body.Component)).within(at) {
		return part
	}
	return ""
}

func matchDamage(a *claims.Allege, at place, d *claims.Item[claims.Damage]) string {
	if slices.Contains(a.Evidence, d.Entry) {
		return named
	}
	return at.relation(placeOf(d.Body.Area))
}

func titleOf(terms []rules.Term, id string) string {
	for _, t := range terms {
		if t.ID == id {
			return t.Title
		}
	}
	return strings.ReplaceAll(id, "-", " ")
}

func componentTitle(id string) string { return titleOf(rules.Components(), id) }

// areaTitle writes an area for a person: the title of a word of the vocabulary, else the words as they are.
func areaTitle(area string) string {
	for _, t := range rules.Areas() {
		if t.ID == area {
			return t.Title
		}
	}
	return area
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
