package claims

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"
)

// Clash is a statement that stands only because it was made later: whoever made it can't have known of the other, so nobody has
// chosen between the two. The account goes by Stands until somebody says which is right, with a new entry.
type Clash struct {
	Kind Kind `json:"kind"`
	// Field is the field of a merged kind; empty = the whole entry Root was corrected twice.
	Field  string      `json:"field,omitempty"`
	Root   EntryID     `json:"root,omitempty"`
	Stands ClashSide   `json:"stands"`
	Others []ClashSide `json:"others"`
}

// ClashSide is one of the statements: a field's value, or the body of a correction.
type ClashSide struct {
	Entry EntryID         `json:"entry"`
	At    time.Time       `json:"at"`
	By    string          `json:"by"`
	Why   string          `json:"why,omitempty"`
	Value json.RawMessage `json:"value"`
}

// Clashes lists where two people changed the same thing on a job without knowing of each other.
func (s *Service) Clashes(ctx context.Context, a Actor, job JobID) ([]Clash, error) {
	recs, _, err := s.Journal(ctx, a, job, 0, 0)
	if err != nil {
		return nil, err
	}
	kept, err := keptOf(recs)
	if err != nil {
		return nil, err
	}
	return ClashesOf(kept), nil
}

// ClashesOf finds the clashes among a job's entries as the server has them.
//
// Two corrections that name the same version clash, whoever made them: the later did not know the earlier. Of merged kinds the values
// of one field clash when they differ, come from two devices, and the earlier had not reached the server when the later was
// written. A clash is over when a statement stands that was made after all the others had reached the server.
func ClashesOf(entries []Kept) []Clash {
	f := folder{byID: make(map[EntryID]*version, len(entries))}
	f.dedupe(canonical(entries))
	f.link()
	f.strikes()
	list := []Clash{}
	for i := range f.all {
		v := &f.all[i]
		if v.root != nil || v.struck != nil {
			continue
		}
		if c, ok := forked(v); ok {
			list = append(list, c)
		}
	}
	list = append(list, fieldClashes(f.all)...)
	slices.SortFunc(list, func(x, y Clash) int {
		return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(x.Field, y.Field), cmp.Compare(x.Root, y.Root))
	})
	return list
}

// forked looks for corrections of an entry that no later one takes up.
func forked(root *version) (Clash, bool) {
	n := len(root.fixes)
	if n < 2 {
		return Clash{}, false
	}
	stands := root.fixes[n-1]
	parent := map[EntryID]EntryID{}
	for _, x := range root.fixes {
		parent[x.k.ID] = x.k.Supersedes
	}
	line := map[EntryID]bool{}
	for id := stands.k.ID; id != "" && !line[id]; id = parent[id] {
		line[id] = true
	}
	taken := map[EntryID]bool{}
	for _, x := range root.fixes {
		taken[x.k.Supersedes] = true
	}
	c := Clash{Kind: root.k.Kind, Root: root.k.ID, Stands: whole(stands)}
	for _, x := range root.fixes[:n-1] {
		switch {
		case line[x.k.ID] || taken[x.k.ID]: // known to who made what stands, or taken up by another that is looked at itself
		case bytes.Equal(x.k.Body, stands.k.Body):
		case stands.k.Supersedes != x.k.Supersedes && known(x, stands): // a choice made with both in view
		default:
			c.Others = append(c.Others, whole(x))
		}
	}
	return c, len(c.Others) > 0
}

func whole(v *version) ClashSide {
	return ClashSide{Entry: v.k.ID, At: v.k.At, By: v.k.By, Why: v.k.Why, Value: v.k.Body}
}

// known reports whether the earlier statement had reached the server when the later one was written, by the server's clock.
func known(earlier, later *version) bool {
	return !earlier.k.Received.IsZero() && !earlier.k.Received.After(corrected(later.k.At, later.k.Clock))
}

type stated struct {
	v     *version
	value json.RawMessage
}

// fieldClashes goes through the fields of the merged kinds.
func fieldClashes(all []version) []Clash {
	type field struct {
		kind Kind
		name string
	}
	values := map[field][]stated{}
	for i := range all {
		v := &all[i]
		if v.root != nil || v.struck != nil || !merged(v.k.Kind) {
			continue
		}
		now := v
		if n := len(v.fixes); n > 0 {
			now = v.fixes[n-1]
		}
		var fields map[string]json.RawMessage
		if json.Unmarshal(now.k.Body, &fields) != nil {
			continue
		}
		for name, value := range fields {
			if !emptyJSON(value) {
				at := field{v.k.Kind, name}
				values[at] = append(values[at], stated{now, value})
			}
		}
	}
	var list []Clash
	for at, l := range values {
		stands := l[len(l)-1]
		c := Clash{Kind: at.kind, Field: at.name, Stands: side(stands)}
		for _, x := range l[:len(l)-1] {
			if x.v.k.Device == stands.v.k.Device || bytes.Equal(x.value, stands.value) || x.v.k.Received.IsZero() || known(x.v, stands.v) {
				continue
			}
			c.Others = append(c.Others, side(x))
		}
		if len(c.Others) > 0 {
			list = append(list, c)
		}
	}
	return list
}

func side(s stated) ClashSide {
	c := whole(s.v)
	c.Value = s.value
	return c
}

func merged(k Kind) bool {
	switch k {
	case KindOpen, KindCustomer, KindSite, KindUnit, KindCoverage:
		return true
	}
	return false
}

// emptyJSON reports whether a field says nothing in a merge.
func emptyJSON(value json.RawMessage) bool {
	switch string(value) {
	case `""`, "0", "null", "false":
		return true
	}
	return false
}
