package packs

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/rules"
)

func compileSchema(tb testing.TB) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(tb, err)
	c := jsonschema.NewCompiler()
	require.NoError(tb, c.AddResource("pack.schema.json", doc))
	s, err := c.Compile("pack.schema.json")
	require.NoError(tb, err)
	return s
}

func asJSON(tb testing.TB, yaml []byte) any {
	root, problems := parse("x.yaml", yaml)
	require.Empty(tb, problems)
	d := &decoder{}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(d.raw(root)))
	require.NoError(tb, err)
	require.Empty(tb, d.problems)
	return v
}

func TestOurPacksFitTheSchema(t *testing.T) {
	s := compileSchema(t)
	entries, err := data.ReadDir("data")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(entries), 19)
	for _, e := range entries {
		yaml, err := data.ReadFile("data/" + e.Name())
		require.NoError(t, err)
		assert.NoError(t, s.Validate(asJSON(t, yaml)), e.Name())
	}
}

// What the schema refuses, the loader refuses too.
func TestSchemaRefuses(t *testing.T) {
	s := compileSchema(t)
	for name, yaml := range map[string]string{
		"no title":         "id: a\nversion: \"1\"\n",
		"unknown key":      goodHead + "requirments: []\n",
		"bad id":           "id: A b\nversion: \"1\"\ntitle: A\n",
		"unknown unit":     goodHead + "units: [kettle]\n",
		"unknown subject":  req("    photo: {subject: flor}\n"),
		"two rules":        req("    photo: {subject: floor}\n    field: {name: unit.serial}\n"),
		"no rule":          req("    severity: advised\n"),
		"unknown field":    req("    field: {name: unit.serail}\n"),
		"unknown event":    req("    photo: {subject: floor, before: second arrived}\n"),
		"empty condition":  req("    when: {}\n    photo: {subject: floor}\n"),
		"negative days":    req("    interval: {from: left, to: sent, days: -1}\n"),
		"limit no number":  req("    number: {count: photos, at-most: many}\n"),
		"agreement of two": req("    agreement: {number: unit.serial, with: [{field: unit.model, codes: rating-plate}]}\n"),
		"bad outcome":      req("    photo: {subject: floor}\n") + "cases:\n  - {case: x, day: 2025-06-12, expect: {r: good}}\n",
	} {
		assert.Error(t, s.Validate(asJSON(t, []byte(yaml))), name)
		_, err := load(yaml)
		assert.Error(t, err, name)
	}
	ok := req("    photo: {subject: [floor, surroundings], before: first work-started}\n")
	assert.NoError(t, s.Validate(asJSON(t, []byte(ok))))
	_, err := load(ok)
	assert.NoError(t, err)
}

// Schema and Go types name the same keys, and schema and vocabulary the same words.
func TestSchemaAgreesWithTheTypes(t *testing.T) {
	var schema struct {
		Properties map[string]any `json:"properties"`
		Defs       map[string]struct {
			Properties map[string]any `json:"properties"`
			Enum       []any          `json:"enum"`
		} `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(Schema(), &schema))
	keysOf := func(types ...reflect.Type) []string {
		var out []string
		for _, t := range types {
			for k := range keys(t) {
				out = append(out, k)
			}
		}
		slices.Sort(out)
		return out
	}
	properties := func(m map[string]any) []string {
		var out []string
		for k := range m {
			out = append(out, k)
		}
		slices.Sort(out)
		return out
	}
	want := append(keysOf(reflect.TypeFor[rules.Pack]()), "cases")
	slices.Sort(want)
	assert.Equal(t, want, properties(schema.Properties))
	for def, typ := range map[string]reflect.Type{
		"source": reflect.TypeFor[rules.Source](), "drop": reflect.TypeFor[rules.Drop](), "caution": reflect.TypeFor[rules.Caution](),
		"reading-plan": reflect.TypeFor[rules.ReadingPlan](), "condition": reflect.TypeFor[rules.Condition](), "requirement": reflect.TypeFor[rules.Requirement](),
		"photo": reflect.TypeFor[rules.PhotoRule](), "reading": reflect.TypeFor[rules.ReadingRule](), "field": reflect.TypeFor[rules.FieldRule](),
		"agreement": reflect.TypeFor[rules.AgreementRule](), "part": reflect.TypeFor[rules.PartRule](), "acknowledgement": reflect.TypeFor[rules.AckRule](),
		"caution-shown": reflect.TypeFor[rules.CautionRule](), "interval": reflect.TypeFor[rules.IntervalRule](), "order": reflect.TypeFor[rules.OrderRule](),
		"number": reflect.TypeFor[rules.NumberRule](),
	} {
		assert.Equal(t, keysOf(typ), properties(schema.Defs[def].Properties), def)
	}
	assert.Equal(t, keysOf(reflect.TypeFor[caseHead](), reflect.TypeFor[caseBody]()), properties(schema.Defs["case"].Properties))

	for def, terms := range map[string][]rules.Term{
		"stage": rules.Stages(), "unit-kind": rules.UnitKinds(), "coverage-kind": rules.CoverageKinds(), "subject": rules.Subjects(), "component": rules.Components(),
		"quantity": rules.Quantities(), "moment-of-reading": rules.Moments(), "damage-kind": rules.DamageKinds(), "damage-seen": rules.DamageSeen(), "about": rules.AckAbout(),
		"acknowledgement-outcome": rules.AckOutcomes(), "held": rules.PartHeld(), "mark": rules.Marks(), "verdict": rules.ReadingOutcomes(),
		"field-name": rules.FieldNames(), "date-name": rules.DateNames(), "number-name": rules.NumberNames(),
	} {
		var ids []any
		for _, term := range terms {
			ids = append(ids, term.ID)
		}
		assert.Equal(t, ids, schema.Defs[def].Enum, def)
	}
	for _, e := range rules.Events() {
		assert.True(t, strings.Contains(string(Schema()), e.ID), e.ID)
	}
}
