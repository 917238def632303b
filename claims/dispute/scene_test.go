package dispute

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

const testJob = claims.JobID("01920000-0000-7000-8000-000000000001")

var nine = time.Date(2026, 3, 4, 9, 0, 0, 0, time.FixedZone("", -5*3600))

func id(n int) claims.EntryID { return claims.EntryID(fmt.Sprintf("01920000-0000-7000-9000-%012x", n)) }

// scene collects the entries of one phone whose clock was measured; minutes count from nine.
type scene struct {
	t    testing.TB
	kept []claims.Kept
}

func (s *scene) add(kind claims.Kind, minutes int, body any, change ...func(*claims.Kept)) claims.EntryID {
	s.t.Helper()
	raw, err := json.Marshal(body)
	require.NoError(s.t, err)
	n := len(s.kept) + 1
	at := nine.Add(time.Duration(minutes) * time.Minute)
	k := claims.Kept{Entry: claims.Entry{ID: id(n), Shop: "shop", Job: testJob, Kind: kind, At: at, By: "kim", Device: "phone", Clock: &claims.Clock{UncertaintyMs: 40}, Body: raw},
		Received: at.Add(20 * time.Second), Leaf: uint64(n)}
	for _, c := range change {
		c(&k)
	}
	if k.Raw, err = json.Marshal(k.Entry); err != nil {
		s.t.Fatal(err)
	}
	_, err = claims.ParseEntry(k.Raw)
	require.NoError(s.t, err)
	s.kept = append(s.kept, k)
	return k.ID
}

func (s *scene) photo(minutes int, p claims.Photo, change ...func(*claims.Kept)) claims.EntryID {
	p.Digest, p.Bytes = claims.DigestOf(fmt.Append(nil, len(s.kept))), 10
	return s.add(claims.KindPhoto, minutes, p, change...)
}

func (s *scene) job() claims.Job { return claims.Fold(s.kept) }

func (s *scene) view() View { j := s.job(); return Of(&j) }

// finding is that of the only allegation.
func (s *scene) finding() Finding {
	s.t.Helper()
	v := s.view()
	require.Len(s.t, v.Allegations, 1)
	return v.Allegations[0].Finding
}

// visit is what most scenes share: arrival at 0, work from 20 to 60, an allegation a day later.
func visit(t testing.TB) *scene {
	s := &scene{t: t}
	s.add(claims.KindOpen, -60, claims.Open{Number: "K-7", Complaint: "Does not cool."})
	s.add(claims.KindArrive, 0, claims.Step{})
	s.add(claims.KindWorkStart, 20, claims.Step{})
	s.add(claims.KindWorkFinish, 60, claims.Step{})
	s.add(claims.KindLeave, 80, claims.Leave{})
	s.add(claims.KindAllege, 24*60, claims.Allege{Area: "freezer liner, left wall", Kind: "melted", Words: "You melted it.", By: "Ida Fenn"})
	return s
}

const wall = "freezer liner, left wall"

func sentLate(k *claims.Kept) { k.Received = nine.Add(5 * time.Hour) }

func codeOf(t testing.TB, err error) claims.ErrorCode {
	t.Helper()
	var e *claims.Error
	require.ErrorAs(t, err, &e)
	return e.Code
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(r, g, b int) float64 {
	lin := func(c int) float64 {
		s := float64(c) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(r) + 0.7152*lin(g) + 0.0722*lin(b)
}
