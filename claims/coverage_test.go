package claims

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"kickplate/rules"
)

// Last days of a term by both ways of counting.
func TestLastDay(t *testing.T) {
	for _, c := range []struct {
		start  Day
		months int
		rule   string
		want   Day
		source string
	}{
		{"2024-03-01", 12, StartCounts, "2025-02-28", "anniversary less one day (computed)"},
		{"2024-03-01", 12, StartNotCounted, "2025-03-01", "anniversary (computed)"},
		{"2024-02-29", 12, StartNotCounted, "2025-02-28", "Reg. (EEC, Euratom) 1182/71 art. 3"},
		{"2024-02-29", 12, StartCounts, "2025-02-28", "BGB 187(2), 188(2): the day before the 29th (from memory)"},
		{"2024-01-31", 1, StartCounts, "2024-02-29", "BGB 188(3): no 30 February, so the month's last (from memory)"},
		{"2024-01-01", 12, StartCounts, "2024-12-31", "a calendar year (common practice, no source)"},
		{"2024-02-29", 60, StartNotCounted, "2029-02-28", "Reg. 1182/71 art. 3"},
		{"1978-09-30", 4, StartNotCounted, "1979-01-30", "Dodds v Walker [1981] (from memory)"},
		{"2023-12-01", 3, StartCounts, "2024-02-29", "day before 1 March (computed)"},
	} {
		assert.Equal(t, c.want, c.start.LastDay(c.months, c.rule), "%s + %d %s: %s", c.start, c.months, c.rule, c.source)
	}
}

// covered makes a job that was given out on a day, with a part replaced, under some coverage.
func covered(t testing.TB, on string, c Coverage, more ...Kept) *Job {
	c.Kind = "maker-warranty"
	es := []Kept{
		made(t, 1, KindOpen, 0, Open{Number: "K-1", Complaint: "warm", Dispatched: on}),
		made(t, 2, KindSite, 0, Site{Zone: "America/New_York"}),
		made(t, 3, KindUnit, 0, Unit{Kind: "refrigerator", Serial: "S-1"}),
		made(t, 4, KindCoverage, 0, c),
		made(t, 5, KindPart, 30, Part{Component: "compressor", Action: "replaced", Number: "P-9"}),
	}
	j := Fold(append(es, more...))
	require.Empty(t, j.Problems)
	return &j
}

func TestCoverage(t *testing.T) {
	bought := Coverage{StartEvent: "purchase", Purchased: "2024-03-01", TermMonths: 12}
	t.Run("WellInside", func(t *testing.T) {
		a := CoverageOf(covered(t, "2024-09-01", bought), nil)
		assert.Equal(t, Covered, a.Verdict)
		assert.Contains(t, a.Says, "2024-09-01 lies within the 12 months of parts")
		assert.Contains(t, a.Rule, "the papers don't say")
		assert.Contains(t, a.Leans, testID(1), "the report of the failure")
		assert.Contains(t, a.Leans, testID(4), "the date of purchase and the term")
		assert.Contains(t, a.Leans, testID(5), "the part")
		assert.Contains(t, a.Changes, "A photo of the paper that shows 2024-03-01 would prove the start; another date there would move the term.")
	})
	t.Run("OneDayHangsOnTheCounting", func(t *testing.T) {
		a := CoverageOf(covered(t, "2025-03-01", bought), nil)
		assert.Equal(t, CannotSay, a.Verdict)
		assert.True(t, a.Boundary)
		assert.Contains(t, a.Says, "boundary: check terms")
	})
	for rule, want := range map[string]string{StartCounts: NotCovered, StartNotCounted: Covered} {
		t.Run("OneDay/"+rule, func(t *testing.T) {
			c := bought
			c.EndRule = rule
			a := CoverageOf(covered(t, "2025-03-01", c), nil)
			assert.Equal(t, want, a.Verdict)
			assert.False(t, a.Boundary)
			assert.Contains(t, a.Rule, rule, "the way of counting is named")
		})
	}
	t.Run("AfterTheTerm", func(t *testing.T) {
		a := CoverageOf(covered(t, "2025-03-02", bought), nil)
		assert.Equal(t, NotCovered, a.Verdict)
		assert.Contains(t, a.Says, "the last day was 2025-03-01")
	})
	t.Run("BeforeTheTerm", func(t *testing.T) {
		a := CoverageOf(covered(t, "2024-02-28", bought), nil)
		assert.Equal(t, NotCovered, a.Verdict)
		assert.Contains(t, a.Says, "lies before the term begins")
	})
	t.Run("LeapDayHasNoBoundary", func(t *testing.T) {
		a := CoverageOf(covered(t, "2025-02-28", Coverage{StartEvent: "purchase", Purchased: "2024-02-29", TermMonths: 12}), nil)
		assert.Equal(t, Covered, a.Verdict, "both ways of counting end on the month's last day")
	})
	t.Run("PartsAndLabourApartByClass", func(t *testing.T) {
		c := Coverage{StartEvent: "purchase", Purchased: "2022-03-01", EndRule: StartNotCounted, Terms: []Term{{For: ClassWhole, Parts: 12, Labour: 12}, {For: ClassSealed, Parts: 60, Labour: 12}}}
		a := CoverageOf(covered(t, "2025-01-10", c), nil)
		assert.Equal(t, Partly, a.Verdict)
		require.Len(t, a.Lines, 1)
		assert.Equal(t, Covered, a.Lines[0].Parts.Verdict)
		assert.Equal(t, Day("2027-03-01"), a.Lines[0].Parts.LastDay)
		assert.Equal(t, ClassSealed, a.Lines[0].Parts.Term)
		assert.Equal(t, NotCovered, a.Lines[0].Labour.Verdict)
		f := FactsOf(covered(t, "2025-01-10", c), nil, nineOClock)
		assert.Equal(t, "2027-03-01", f.Dates["coverage.end"], "rules see the term of the component that is repaired")
	})
	t.Run("RulesSeeTheEarliestEnd", func(t *testing.T) {
		c := Coverage{Start: "2024-03-01", TermMonths: 12, EndRule: StartNotCounted, Terms: []Term{{For: "compressor", Parts: 120}}}
		gasket := made(t, 9, KindPart, 40, Part{Component: "gasket", Action: "replaced"})
		for _, more := range [][]Kept{{gasket}, nil} {
			f := FactsOf(covered(t, "2025-01-10", c, more...), nil, nineOClock)
			assert.Equal(t, map[bool]string{true: "2034-03-01", false: "2025-03-01"}[more == nil], f.Dates["coverage.end"])
		}
	})
	t.Run("NoLabourGranted", func(t *testing.T) {
		c := Coverage{Start: "2024-03-01", Terms: []Term{{For: "compressor", Parts: 120}}}
		a := CoverageOf(covered(t, "2025-01-10", c), nil)
		assert.Equal(t, Partly, a.Verdict)
		assert.Contains(t, a.Lines[0].Labour.Says, "grant no labour for compressor")
	})
	t.Run("StartUnknown", func(t *testing.T) {
		a := CoverageOf(covered(t, "2024-09-01", Coverage{StartEvent: "installation", Purchased: "2024-03-01", TermMonths: 12}), nil)
		assert.Equal(t, CannotSay, a.Verdict)
		assert.Contains(t, a.Changes, "Enter the date of installation, with a photo that shows it.")
	})
	t.Run("TwoDatesDisagree", func(t *testing.T) {
		c := Coverage{Purchased: "2024-03-01", Installed: "2024-06-15", TermMonths: 12}
		a := CoverageOf(covered(t, "2025-05-01", c), nil)
		assert.Equal(t, CannotSay, a.Verdict)
		assert.False(t, a.Boundary)
		assert.Contains(t, a.Says, "covered from installation 2024-06-15, not from purchase 2024-03-01")
		assert.Equal(t, Covered, CoverageOf(covered(t, "2024-12-01", c), nil).Verdict, "inside by either")
	})
	t.Run("PlateHasOnlyTheYear", func(t *testing.T) {
		c := Coverage{StartEvent: "manufacture", TermMonths: 12}
		plate := made(t, 9, KindUnit, 1, Unit{Manufactured: "2024"})
		assert.Equal(t, Covered, CoverageOf(covered(t, "2024-12-31", c, plate), nil).Lines[0].Parts.Verdict)
		assert.Equal(t, CannotSay, CoverageOf(covered(t, "2025-06-01", c, plate), nil).Verdict)
		assert.Equal(t, NotCovered, CoverageOf(covered(t, "2026-01-01", c, plate), nil).Verdict)
	})
	t.Run("ReportedInTimeVisitedLater", func(t *testing.T) {
		visit := made(t, 9, KindArrive, 0, Step{}, func(e *Entry) { e.At = time.Date(2025, 3, 10, 9, 0, 0, 0, time.FixedZone("", -5*3600)) })
		a := CoverageOf(covered(t, "2025-02-20", bought, visit), nil)
		assert.Equal(t, CannotSay, a.Verdict)
		assert.Contains(t, a.Says, "between the day the failure was reported and the day it was visited")
		c := bought
		c.Decides = "reported"
		assert.Equal(t, Covered, CoverageOf(covered(t, "2025-02-20", c, visit), nil).Verdict)
		c.Decides = "visited"
		assert.Equal(t, NotCovered, CoverageOf(covered(t, "2025-02-20", c, visit), nil).Verdict)
	})
	t.Run("SiteDateDecides", func(t *testing.T) { // RFC 3339 arithmetic: 23:30 at -05:00 is the next day in UTC
		c := Coverage{Start: "2023-03-01", TermMonths: 12, EndRule: StartNotCounted}
		assert.Equal(t, Covered, CoverageOf(covered(t, "2024-03-01T23:30:00-05:00", c), nil).Verdict)
		assert.Equal(t, Covered, CoverageOf(covered(t, "2024-03-02T04:30:00Z", c), nil).Verdict, "the same instant")
		assert.Equal(t, NotCovered, CoverageOf(covered(t, "2024-03-02T05:00:00Z", c), nil).Verdict, "midnight at the site")
	})
	t.Run("NothingKnown", func(t *testing.T) {
		j := Fold(nil)
		a := CoverageOf(&j, nil)
		assert.Equal(t, CannotSay, a.Verdict)
		assert.NotEmpty(t, a.Changes)
	})
	t.Run("CustomerPays", func(t *testing.T) {
		j := Fold([]Kept{made(t, 1, KindCoverage, 0, Coverage{Kind: "customer-pays"})})
		assert.Equal(t, NotCovered, CoverageOf(&j, nil).Verdict)
	})
}

func TestExclusions(t *testing.T) {
	in := Coverage{Start: "2024-03-01", TermMonths: 24, EndRule: StartNotCounted}
	named := in
	named.Exclusions = []string{"misuse", "pre-existing-damage", "non-original-part", "commercial-use"}
	bears := func(yes string) Kept {
		return made(t, 9, KindDamage, 5, Damage{Area: "liner", Kind: "cracked", Seen: "on-arrival", Bears: yes})
	}
	t.Run("DamageThatBears", func(t *testing.T) {
		a := CoverageOf(covered(t, "2024-09-01", named, bears("yes")), nil)
		assert.Equal(t, NotCovered, a.Verdict)
		assert.Contains(t, a.Leans, testID(9))
		assert.Equal(t, CannotSay, CoverageOf(covered(t, "2024-09-01", named, bears("unknown")), nil).Verdict)
		assert.Equal(t, Covered, CoverageOf(covered(t, "2024-09-01", named, bears("no")), nil).Verdict)
		a = CoverageOf(covered(t, "2024-09-01", in, bears("yes")), nil)
		assert.Equal(t, CannotSay, a.Verdict, "the papers are not on record as excluding it")
		assert.Contains(t, a.Changes, "Whether the papers leave out pre existing damage: enter it with the terms.")
	})
	t.Run("QuestionsAddUp", func(t *testing.T) {
		open := named
		open.EndRule, open.TermMonths = "", 6
		a := CoverageOf(covered(t, "2024-09-01", open, bears("unknown")), nil)
		assert.True(t, a.Boundary)
		assert.Contains(t, a.Says, "boundary: check terms")
		assert.Contains(t, a.Says, "Damage found on arrival")
	})
	t.Run("Misuse", func(t *testing.T) {
		cause := made(t, 9, KindCause, 5, Narrative{Component: "compressor", Text: "tilted while running", Excluded: "misuse"})
		assert.Equal(t, NotCovered, CoverageOf(covered(t, "2024-09-01", named, cause), nil).Verdict)
	})
	t.Run("NonOriginalPartOnlyParts", func(t *testing.T) {
		part := made(t, 9, KindPart, 40, Part{Component: "gasket", Action: "fitted", Original: "no"})
		a := CoverageOf(covered(t, "2024-09-01", named, part), nil)
		assert.Equal(t, Partly, a.Verdict)
		require.Len(t, a.Lines, 2)
		assert.Equal(t, Covered, a.Lines[0].Parts.Verdict, "the other component is not touched")
		assert.Equal(t, NotCovered, a.Lines[1].Parts.Verdict)
		assert.Equal(t, Covered, a.Lines[1].Labour.Verdict)
	})
	t.Run("CommercialUse", func(t *testing.T) {
		use := made(t, 9, KindUnit, 1, Unit{Usage: "commercial"})
		assert.Equal(t, NotCovered, CoverageOf(covered(t, "2024-09-01", named, use), nil).Verdict)
	})
}

func TestRepeats(t *testing.T) {
	earlier := []EarlierRepair{{Job: "01920000-0000-7000-8000-000000000009", Number: "K-0", Done: "2024-08-12", Component: "compressor", Fitted: true, UnitSerial: "s1"}}
	c := Coverage{Start: "2024-03-01", TermMonths: 12, EndRule: StartNotCounted, RepeatDays: 30, FittedMonths: 12}
	a := CoverageOf(covered(t, "2024-09-11", c), earlier)
	require.Len(t, a.Repeats, 1)
	assert.Equal(t, 30, a.Repeats[0].Days, "12 August to 11 September, counted by hand: 19 + 11")
	assert.True(t, a.Repeats[0].Within)
	assert.Equal(t, Partly, a.Verdict)
	assert.True(t, a.Lines[0].Labour.ByShop)
	assert.Equal(t, Covered, a.Lines[0].Parts.Verdict)

	a = CoverageOf(covered(t, "2024-09-12", c), earlier)
	assert.False(t, a.Repeats[0].Within, "day 31")
	assert.Equal(t, Covered, a.Verdict)

	a = CoverageOf(covered(t, "2025-06-01", c), earlier)
	assert.Equal(t, Partly, a.Verdict)
	assert.Equal(t, "fitted-part", a.Lines[0].Parts.Term, "the part fitted then has its own term, after the unit's has ended")
	assert.Equal(t, Day("2025-08-12"), a.Lines[0].Parts.LastDay)

	other := earlier
	other[0].UnitSerial = "another"
	assert.Empty(t, CoverageOf(covered(t, "2024-09-11", c), other).Repeats)
}

// While nothing but the day changes, cover begins once and ends once: before, inside, after; and the boundary is one day.
func TestCoverageMonotone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		start := Day("2015-01-01").AddDays(rapid.IntRange(0, 4000).Draw(rt, "start"))
		months := rapid.IntRange(1, 130).Draw(rt, "months")
		rule := rapid.SampledFrom([]string{"", StartCounts, StartNotCounted}).Draw(rt, "rule")
		c := Coverage{Start: string(start), TermMonths: months, EndRule: rule}
		end, sure := start.AddMonths(months), start.LastDay(months, StartCounts)
		if rule == StartNotCounted {
			sure = end
		}
		days := map[Day]bool{}
		for d := -3; d <= 3; d++ {
			days[start.AddDays(d)], days[end.AddDays(d)] = true, true
		}
		for day := range days {
			a := CoverageOf(covered(t, string(day), c), nil)
			open := rule == "" && day > sure && day <= end
			require.Equal(rt, open, a.Boundary, "%s, %d months from %s (%q): %s", day, months, start, rule, a.Says)
			want := NotCovered
			if open {
				want = CannotSay
			} else if day >= start && day <= sure {
				want = Covered
			}
			require.Equal(rt, want, a.Verdict, "%s, %d months from %s (%q): %s", day, months, start, rule, a.Says)
		}
		require.LessOrEqual(rt, sure.DaysTo(end), 1, "the doubt is one day")
	})
}

// Every component that ClassOf names is one of the rules' vocabulary: 53 words, counted by hand, none misspelt.
func TestClassOf(t *testing.T) {
	own := 0
	for _, c := range rules.Components() {
		if ClassOf(c.ID) != ClassWhole {
			own++
		}
		assert.Contains(t, ComponentClasses(), ClassOf(c.ID))
	}
	assert.Equal(t, 53, own)
	c := Coverage{Terms: []Term{{For: ClassWhole, Parts: 12}, {For: ClassCosmetic, Parts: 3}, {For: "belt", Parts: 24}, {For: ClassDrive, Parts: 18}}}
	for component, want := range map[string]int{"liner": 3, "belt": 24, "drive-motor": 18, "compressor": 12, "hinge": 12} {
		term, ok := c.months(component)
		assert.True(t, ok)
		assert.Equal(t, want, term.Parts, component)
	}
}

// A part warranty runs from the repair that fitted the part.
func TestPartWarranty(t *testing.T) {
	earlier := []EarlierRepair{{Job: "01920000-0000-7000-8000-000000000009", Number: "K-0", Done: "2024-08-12", Component: "compressor", Fitted: true, UnitSerial: "S-1"}}
	j := covered(t, "2025-08-12", Coverage{TermMonths: 12, EndRule: StartNotCounted}, made(t, 9, KindCoverage, 1, Coverage{Kind: "part-warranty"}))
	a := CoverageOf(j, earlier)
	assert.Equal(t, Covered, a.Verdict)
	require.Len(t, a.Starts, 1)
	assert.Equal(t, "earlier-repair", a.Starts[0].Event)
	assert.Equal(t, CannotSay, CoverageOf(j, nil).Verdict, "nobody knows when it was fitted")
}

// Said names the entry that speaks for a field: the latest that fills it, by its first version; what is struck speaks no more.
func TestSaid(t *testing.T) {
	es := []Kept{
		made(t, 1, KindUnit, 0, Unit{Serial: "A", Model: "M"}),
		made(t, 2, KindUnit, 1, Unit{Serial: "B"}),
		made(t, 3, KindUnit, 2, Unit{Serial: "C"}, corrects(2, "misread")),
	}
	j := Fold(es)
	assert.Equal(t, map[string]EntryID{"unit.serial": testID(2), "unit.model": testID(1)}, j.Said)
	j = Fold(append(es, made(t, 4, KindStrike, 3, Strike{Entry: testID(2), Reason: "other unit"})))
	assert.Equal(t, testID(1), j.Said["unit.serial"])
	assert.Equal(t, "A", j.Unit.Serial)
	assert.Equal(t, 4, j.Bearing, "corrections and strikes bear on the bill too")
}
