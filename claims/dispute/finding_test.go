package dispute

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"kickplate/claims"
)

func TestFindings(t *testing.T) {
	damage := func(kind, seen string, photos ...claims.EntryID) claims.Damage {
		return claims.Damage{Area: wall, Kind: kind, Seen: seen, WidthMM: "60", HeightMM: "25", Photos: photos}
	}
	shot := claims.Photo{Subject: "damage-close", Area: wall}
	for _, c := range []struct {
		name    string
		set     func(s *scene)
		outcome string
		against string // a part of something that must be said against the shop
		missing string
	}{
		{"nothing on record", func(*scene) {}, NotShown, "no picture of this very place", "A picture of this place from before work."},
		{"record and picture before work", func(s *scene) { p := s.photo(5, shot); s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p)) }, ShownBefore, "did not sign", "customer's signature"},
		{"a picture marked as damage, without a record", func(s *scene) { s.photo(5, shot) }, ShownBefore, "", ""},
		{"a record in words alone shows nothing", func(s *scene) { s.add(claims.KindDamage, 6, damage("melted", "on-arrival")) }, NotShown, "no picture of this very place", ""},
		{"a record in words, signed before work", func(s *scene) {
			d := s.add(claims.KindDamage, 6, damage("melted", "on-arrival"))
			s.add(claims.KindAcknowledge, 8, claims.Acknowledge{About: "damage-on-arrival", Outcome: "signed", Name: "Ida Fenn", Shown: []claims.EntryID{d}, Strokes: [][]int{{1, 2}}})
		}, ShownBefore, "", ""},
		{"signed only after work", func(s *scene) {
			d := s.add(claims.KindDamage, 6, damage("melted", "on-arrival"))
			s.add(claims.KindAcknowledge, 70, claims.Acknowledge{About: "damage-on-arrival", Outcome: "signed", Name: "Ida Fenn", Shown: []claims.EntryID{d}, Strokes: [][]int{{1, 2}}})
		}, NotShown, "", ""},
		{"the customer declined", func(s *scene) {
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
			s.add(claims.KindAcknowledge, 8, claims.Acknowledge{About: "damage-on-arrival", Outcome: "declined", Reason: "in a hurry", Shown: []claims.EntryID{p}})
		}, ShownBefore, "declined to sign: in a hurry", ""},
		{"record after work", func(s *scene) {
			p := s.photo(65, shot)
			s.add(claims.KindDamage, 66, damage("melted", "on-leaving", p))
		}, ShownAfter, "The shop itself recorded damage", ""},
		{"the customer's picture", func(s *scene) {
			s.photo(25*60, claims.Photo{Subject: "damage-close", Area: wall, From: "customer", Source: "file"})
		}, ShownAfter, "", ""},
		{"looked at before, damaged after", func(s *scene) {
			s.add(claims.KindDamage, 6, damage("none", "on-arrival"))
			p := s.photo(65, shot)
			s.add(claims.KindDamage, 66, damage("melted", "during-work", p))
		}, ShownAfter, "recorded that no damage was seen", ""},
		{"both none and damage before work", func(s *scene) {
			s.add(claims.KindDamage, 4, damage("none", "on-arrival"))
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
		}, Conflicting, "", ""},
		{"damage before, none on leaving", func(s *scene) {
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
			s.add(claims.KindDamage, 66, damage("none", "on-leaving"))
		}, Conflicting, "", ""},
		{"damage before, none after the liner was replaced", func(s *scene) {
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
			s.add(claims.KindPart, 40, claims.Part{Component: "liner", Action: "replaced"})
			s.add(claims.KindDamage, 66, damage("none", "on-leaving"))
		}, ShownBefore, "The shop worked at this place", ""},
		{"says on arrival, entered after work had begun", func(s *scene) {
			p := s.photo(40, shot)
			s.add(claims.KindDamage, 41, damage("melted", "on-arrival", p))
		}, Conflicting, "", ""},
		{"larger after than before", func(s *scene) {
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
			big := damage("melted", "on-leaving", s.photo(65, shot))
			big.WidthMM = "90"
			s.add(claims.KindDamage, 66, big)
		}, Conflicting, "", ""},
		{"measured again, as large", func(s *scene) {
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
			again := damage("melted", "on-leaving", s.photo(65, shot))
			again.WidthMM = "64"
			s.add(claims.KindDamage, 66, again)
		}, ShownBefore, "The shop itself recorded damage here after work had begun", ""},
		{"another kind before work", func(s *scene) {
			p := s.photo(5, shot)
			s.add(claims.KindDamage, 6, damage("scratched", "on-arrival", p))
		}, NotShown, "another kind", "Nobody has recorded"},
		{"another place", func(s *scene) {
			p := s.photo(5, claims.Photo{Subject: "damage-close", Area: "door, outside"})
			s.add(claims.KindDamage, 6, claims.Damage{Area: "door-outside", Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}})
		}, NotShown, "no picture of this very place", ""},
		{"the vocabulary's word for the place", func(s *scene) {
			p := s.photo(5, claims.Photo{Subject: "damage-close", Area: "freezer-liner-left-wall"})
			s.add(claims.KindDamage, 6, claims.Damage{Area: "freezer-liner-left-wall", Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}})
		}, ShownBefore, "", ""},
		{"a part of the place", func(s *scene) {
			p := s.photo(5, claims.Photo{Subject: "damage-close"})
			s.add(claims.KindDamage, 6, claims.Damage{Area: "freezer liner, left wall, low at the back", Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}})
		}, ShownBefore, "", ""},
		{"a wider place does not show it", func(s *scene) {
			p := s.photo(5, claims.Photo{Subject: "damage-wide", Area: "freezer liner"})
			s.add(claims.KindDamage, 6, claims.Damage{Area: "freezer liner", Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}})
		}, NotShown, "", ""},
		{"a picture of before work that nobody described", func(s *scene) { s.photo(5, claims.Photo{Subject: "surroundings", Area: wall}) }, NotShown, "", "Nobody has recorded what the pictures"},
		{"sent late without a measured clock from another phone", func(s *scene) {
			p := s.photo(5, shot, sentLate, func(k *claims.Kept) { k.Device, k.Clock = "other", nil })
			s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p), sentLate, func(k *claims.Kept) { k.Device, k.Clock = "other", nil })
		}, NotShown, "Nobody can tell whether a picture", ""},
		{"changed after the allegation", func(s *scene) {
			p := s.photo(5, shot)
			d := s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
			s.add(claims.KindDamage, 25*60, damage("melted", "on-arrival", p), func(k *claims.Kept) { k.Supersedes, k.Why = d, "measured again on the picture" })
		}, ShownBefore, "changed after the allegation came in: measured again", ""},
		{"a struck record of the place", func(s *scene) {
			d := s.add(claims.KindDamage, 66, damage("melted", "on-leaving"))
			s.add(claims.KindStrike, 70, claims.Strike{Entry: d, Reason: "entered by mistake"})
		}, NotShown, "An entry about this place was struck", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := visit(t)
			c.set(s)
			f := s.finding()
			assert.Equal(t, c.outcome, f.Outcome, "%+v", f)
			if c.outcome != NotShown {
				assert.NotEmpty(t, f.For)
			}
			has := func(list []string, part string) bool {
				return slices.ContainsFunc(list, func(x string) bool { return strings.Contains(x, part) })
			}
			var against []string
			for _, p := range f.Against {
				against = append(against, p.Says)
			}
			assert.True(t, c.against == "" || has(against, c.against), "%q in %q", c.against, against)
			assert.True(t, c.missing == "" || has(f.Missing, c.missing), "%q in %q", c.missing, f.Missing)
		})
	}
	t.Run("an entry names it", func(t *testing.T) {
		s := visit(t)
		p := s.photo(5, claims.Photo{Subject: "damage-wide", Component: "liner"})
		d := s.add(claims.KindDamage, 6, claims.Damage{Area: "inside, down left", Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}})
		assert.Equal(t, NotShown, s.finding().Outcome)
		s.add(claims.KindAllege, 24*60+1, claims.Allege{Area: wall, Kind: "melted", Words: "You melted it.", Evidence: []claims.EntryID{d}},
			func(k *claims.Kept) { k.Supersedes, k.Why = id(6), "lined up with the record" })
		assert.Equal(t, ShownBefore, s.finding().Outcome)
	})
	t.Run("no work on record", func(t *testing.T) {
		s := &scene{t: t}
		p := s.photo(5, shot)
		s.add(claims.KindDamage, 6, damage("melted", "on-arrival", p))
		s.add(claims.KindAllege, 60, claims.Allege{Area: wall, Words: "You melted it."})
		f := s.finding()
		assert.Equal(t, NotShown, f.Outcome)
		assert.Contains(t, f.Missing[0], "when work began")
	})
}

// anyScene draws a job with an allegation and a handful of items around it.
func anyScene(t *rapid.T, tb testing.TB) *scene {
	s := visit(tb)
	areas := []string{wall, "freezer-liner-left-wall", "freezer liner", "door", "freezer liner, left wall, low"}
	kinds := []string{"melted", "none", "scratched"}
	for range rapid.IntRange(0, 7).Draw(t, "items") {
		minutes := rapid.SampledFrom([]int{-5, 5, 12, 19, 21, 40, 65, 90}).Draw(t, "minutes")
		change := func(k *claims.Kept) {
			switch rapid.IntRange(0, 4).Draw(t, "how") {
			case 0:
				sentLate(k)
			case 1:
				k.Device, k.Clock = "other", nil
				sentLate(k)
			case 2:
				k.Clock.OffsetMs = rapid.Int64Range(-3_600_000, 3_600_000).Draw(t, "offset")
			}
		}
		area := rapid.SampledFrom(areas).Draw(t, "area")
		if rapid.Bool().Draw(t, "photo") {
			from := rapid.SampledFrom([]string{"", "", "customer"}).Draw(t, "from")
			s.photo(minutes, claims.Photo{Subject: rapid.SampledFrom([]string{"damage-close", "surroundings", "after-repair"}).Draw(t, "subject"), Area: area, From: from}, change)
			continue
		}
		var photos []claims.EntryID
		for _, k := range s.kept {
			if k.Kind == claims.KindPhoto && rapid.Bool().Draw(t, "with") {
				photos = append(photos, k.ID)
			}
		}
		s.add(claims.KindDamage, minutes, claims.Damage{Area: area, Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Photos: photos,
			Seen: rapid.SampledFrom([]string{"on-arrival", "during-work", "on-leaving"}).Draw(t, "seen")}, change)
	}
	return s
}

func TestFindingProperties(t *testing.T) {
	t.Run("the order of arrival does not matter", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := anyScene(rt, t)
			want := s.view()
			rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
			rng.Shuffle(len(s.kept), func(i, k int) { s.kept[i], s.kept[k] = s.kept[k], s.kept[i] })
			require.Equal(rt, want, s.view())
		})
	})
	t.Run("a picture or record from after work never makes it shown before", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := anyScene(rt, t)
			before := s.finding().Outcome
			p := s.photo(70, claims.Photo{Subject: "damage-close", Area: wall})
			if rapid.Bool().Draw(rt, "record") {
				s.add(claims.KindDamage, 71, claims.Damage{Area: wall, Kind: "melted", Seen: rapid.SampledFrom([]string{"on-arrival", "on-leaving"}).Draw(rt, "seen"), Photos: []claims.EntryID{p}})
			}
			if after := s.finding().Outcome; before != ShownBefore {
				require.NotEqual(rt, ShownBefore, after)
			}
		})
	})
	t.Run("what the other side sends never speaks for the shop", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := anyScene(rt, t)
			before := s.finding().Outcome
			s.photo(rapid.SampledFrom([]int{-5, 5, 70}).Draw(rt, "minutes"), claims.Photo{Subject: "damage-close", Area: wall, From: "customer"})
			if before != ShownBefore {
				require.NotEqual(rt, ShownBefore, s.finding().Outcome)
			}
		})
	})
	t.Run("without an entry of work nothing is shown before it", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := anyScene(rt, t)
			s.kept = slices.DeleteFunc(s.kept, func(k claims.Kept) bool {
				return k.Kind == claims.KindWorkStart || k.Kind == claims.KindWorkFinish || k.Kind == claims.KindPhoto && strings.Contains(string(k.Body), "after-repair")
			})
			require.NotEqual(rt, ShownBefore, s.finding().Outcome)
		})
	})
	t.Run("work that began earlier never makes it shown before", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := anyScene(rt, t)
			before := s.finding().Outcome
			s.add(claims.KindPart, rapid.SampledFrom([]int{1, 10, 18}).Draw(rt, "minutes"), claims.Part{Component: "gasket", Action: "removed"})
			if before != ShownBefore {
				require.NotEqual(rt, ShownBefore, s.finding().Outcome)
			}
		})
	})
	t.Run("every item that is named exists", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := anyScene(rt, t)
			f := s.finding()
			for _, p := range append(slices.Clone(f.For), f.Against...) {
				for _, e := range p.Entries {
					require.True(rt, slices.ContainsFunc(s.kept, func(k claims.Kept) bool { return k.ID == e }), p.Says)
				}
			}
		})
	})
}
