package packs

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/rules"
)

func defaults(tb testing.TB) *Set {
	set, err := Default()
	require.NoError(tb, err)
	require.GreaterOrEqual(tb, len(set.All()), 19)
	return set
}

func TestExampleCases(t *testing.T) {
	for _, p := range defaults(t).All() {
		t.Run(p.Pack().ID, func(t *testing.T) {
			require.NotEmpty(t, p.Cases, "a pack shows what it asks by example")
			for _, f := range Test(p) {
				t.Error(f.Problem)
			}
			assert.Empty(t, Unshown(p), "every requirement is shown met, gap and, where it can be, doubt")
		})
	}
}

// The cases must be able to fail: with every requirement turned into one that is always met, or always a gap, they do.
func TestExampleCasesNoticeWrongRules(t *testing.T) {
	for _, p := range defaults(t).All() {
		for _, id := range p.Own {
			pack := *p.Pack()
			pack.Requirements = slices.Clone(pack.Requirements)
			i := slices.IndexFunc(pack.Requirements, func(r rules.Requirement) bool { return r.ID == id })
			require.GreaterOrEqual(t, i, 0)
			r := &pack.Requirements[i]
			r.Photo, r.Reading, r.Agreement, r.Part, r.Acknowledgement, r.Caution, r.Interval, r.Order, r.Number = nil, nil, nil, nil, nil, nil, nil, nil, nil
			for name, rule := range map[string]rules.NumberRule{"always met": {Count: "photos", AtLeast: "0"}, "never met": {Count: "photos", AtMost: "-1"}} {
				r.Field, r.Number = nil, &rule
				c, err := rules.Compile(&pack)
				require.NoError(t, err)
				assert.NotEmpty(t, Test(&Pack{Compiled: c, Cases: p.Cases}), "%s: %s is %s and no case notices", p.Pack().ID, id, name)
			}
		}
	}
}

func TestEveryRequirementIsWorded(t *testing.T) {
	for _, p := range defaults(t).All() {
		for _, r := range p.Pack().Requirements {
			for what, s := range map[string]string{"why": r.Why, "cure": r.Cure} {
				assert.True(t, strings.HasSuffix(s, ".") && s[0] >= 'A' && s[0] <= 'Z', "%s %s: %s is not a sentence: %q", r.Origin, r.ID, what, s)
			}
			assert.NotEmpty(t, r.Origin)
		}
		require.NotEmpty(t, p.Pack().Sources, "%s says where its statements come from", p.Pack().ID)
		assert.Equal(t, "common-practice", p.Pack().Sources[0].Mark)
		assert.NotEmpty(t, p.Pack().Note)
	}
}

// Every kind of unit has its own pack for a maker's warranty and for a service contract, and any other payer finds one.
func TestPick(t *testing.T) {
	set := defaults(t)
	for _, unit := range rules.UnitKinds() {
		p, ok := set.Pick(unit.ID, "maker-warranty")
		require.True(t, ok, unit.ID)
		assert.Contains(t, p.Pack().Units, unit.ID)
		assert.Contains(t, p.Pack().ID, "generic-maker-warranty-")
		p, ok = set.Pick(unit.ID, "service-contract")
		require.True(t, ok, unit.ID)
		assert.Contains(t, p.Pack().Units, unit.ID)
		assert.Contains(t, p.Pack().ID, "generic-service-contract-")
		p, ok = set.Pick(unit.ID, "part-warranty")
		require.True(t, ok, unit.ID)
		assert.Contains(t, p.Pack().ID, "generic-maker-warranty-")
		p, ok = set.Pick(unit.ID, "customer-pays")
		require.True(t, ok, unit.ID)
		assert.Equal(t, "generic-customer-pays", p.Pack().ID)
	}
	p, ok := set.Pick("", "maker-warranty")
	require.True(t, ok)
	assert.Equal(t, "generic-maker-warranty", p.Pack().ID, "an unknown kind of unit gets the widest pack")
	_, ok = set.Pick("washer", "somebody-else")
	assert.False(t, ok)

	f := &rules.Facts{Fields: map[string]string{"unit.kind": "washer", "coverage.kind": "maker-warranty", "coverage.pack": "generic-customer-pays"}}
	p, ok = set.PickFor(f)
	require.True(t, ok)
	assert.Equal(t, "generic-customer-pays", p.Pack().ID, "the coverage may name its pack")
	f.Fields["coverage.pack"] = "gone"
	p, _ = set.PickFor(f)
	assert.Equal(t, "generic-maker-warranty-washer", p.Pack().ID)
}

// The phone decodes the JSON, compiles it with rules alone and must come to the same report, to the byte.
func TestPhoneGetsTheSamePack(t *testing.T) {
	for _, p := range defaults(t).All() {
		data, err := JSON(p)
		require.NoError(t, err)
		dec := json.NewDecoder(bytes.NewReader(data))
		dec.DisallowUnknownFields()
		var pack rules.Pack
		require.NoError(t, dec.Decode(&pack))
		c, err := rules.Compile(&pack)
		require.NoError(t, err)
		for _, k := range p.Cases {
			here, err := json.Marshal(rules.Check(p.Compiled, &k.Facts))
			require.NoError(t, err)
			there, err := json.Marshal(rules.Check(c, &k.Facts))
			require.NoError(t, err)
			require.Equal(t, string(here), string(there), "%s: %s", p.Pack().ID, k.Name)
		}
	}
}

func TestRunCases(t *testing.T) {
	var out strings.Builder
	ok, err := RunCases(&out, defaults(t))
	require.NoError(t, err)
	assert.True(t, ok, out.String())
	assert.Contains(t, out.String(), "ok    generic-maker-warranty-refrigerator 1.0: ")
	assert.Contains(t, out.String(), ", 0 not as expected\n")

	set, err := Load(fstest.MapFS{"a.yaml": {Data: []byte(`id: a
version: "1"
title: A
requirements:
  - {id: s, stage: look, title: T, why: W, cure: C, field: {name: unit.serial}}
cases:
  - case: wrong
    day: 2025-06-12
    fields: {unit.serial: X1}
    expect: {s: gap}
`)}})
	require.NoError(t, err)
	out.Reset()
	ok, err = RunCases(&out, set)
	require.NoError(t, err)
	assert.False(t, ok)
	assert.Contains(t, out.String(), `a.yaml:10: case "wrong" expects s to be gap, but it is met: Serial number is recorded.`)
	assert.Contains(t, out.String(), "no case shows s: gap")
}

func TestShopsFolderWins(t *testing.T) {
	shop := fstest.MapFS{
		"mine.yaml": {Data: []byte(`id: generic-maker-warranty-washer
version: "shop-2"
title: Our washers
extends: generic-maker-warranty-washer
drop:
  - {id: work-area, why: We never needed it.}
requirements:
  - id: serial
    stage: look
    title: Serial number, eight digits
    why: Our payer's serial numbers have eight digits.
    cure: Type the eight digits.
    field: {name: unit.serial, digits: true, min-length: 8, max-length: 8}
`)},
		"notes.txt":       {Data: []byte("not a pack")},
		"sub/ignored.yml": {Data: []byte("not: read")},
	}
	set, err := WithShop(shop)
	require.NoError(t, err)
	p, ok := set.Get("generic-maker-warranty-washer")
	require.True(t, ok)
	assert.Equal(t, "shop-2", p.Pack().Version)
	assert.Equal(t, "mine.yaml", p.File)
	ours, ok := defaults(t).Get("generic-maker-warranty-washer")
	require.True(t, ok)
	assert.Len(t, p.Pack().Requirements, len(ours.Pack().Requirements)-1)
	for i := range p.Pack().Requirements {
		if r := &p.Pack().Requirements[i]; r.ID == "serial" {
			assert.Equal(t, "mine.yaml:8", r.Origin)
			assert.True(t, r.Field.Digits)
		}
	}
	picked, _ := set.Pick("washer", "maker-warranty")
	assert.Equal(t, "shop-2", picked.Pack().Version)
	contract, ok := set.Get("generic-service-contract-washer")
	require.True(t, ok)
	for i := range contract.Pack().Requirements {
		if r := &contract.Pack().Requirements[i]; r.ID == "serial" {
			assert.Equal(t, "mine.yaml:8", r.Origin, "packs that extend it follow the shop's")
		}
	}
}

// A pack with two parents keeps what the first one changed or dropped of their common ancestor.
func TestTwoParents(t *testing.T) {
	set := defaults(t)
	p, ok := set.Get("generic-service-contract-microwave")
	require.True(t, ok)
	ids := map[string]string{}
	for _, r := range p.Pack().Requirements {
		ids[r.ID] = r.Origin
	}
	assert.NotContains(t, ids, "part-reading", "dropped by the microwave pack")
	assert.Contains(t, ids["authorisation"], "service-contract.yaml:")
	assert.Contains(t, ids["purchase-proof"], "service-contract.yaml:")
	assert.Contains(t, ids["leakage"], "microwave.yaml:")
	assert.Equal(t, []string{"service-contract"}, p.Pack().Coverage)
	assert.Equal(t, []string{"microwave"}, p.Pack().Units)
}
