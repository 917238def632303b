package rules

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each mistake must be found, be placed, and come with what to write instead.
func TestValidate(t *testing.T) {
	head := `{"id":"p","version":"1","title":"P","cautions":[{"id":"mains","title":"M","text":"T","before":"measure"}],
		"readings":[{"id":"ohms","title":"O","component":"igniter","quantity":"resistance"}],"requirements":[`
	one := func(body string) string {
		return head + `{"id":"r","stage":"look","title":"T","why":"W","cure":"C",` + body + `}]}`
	}
	nested := strings.Repeat(`{"not":`, 12) + `{"unit":["washer"]}` + strings.Repeat(`}`, 12)
	for _, x := range []struct{ name, pack, path, message string }{
		{"pack id", `{"id":"My Pack","version":"1","title":"P"}`, "id", "lower-case words joined by dashes"},
		{"no version", `{"id":"p","title":"P"}`, "version", "is missing"},
		{"unit kind", `{"id":"p","version":"1","title":"P","units":["fridge"]}`, "units", "is no known unit kind"},
		{"coverage kind", `{"id":"p","version":"1","title":"P","coverage":["maker-waranty"]}`, "coverage", "did you mean maker-warranty?"},
		{"mark", `{"id":"p","version":"1","title":"P","sources":[{"mark":"publishd","text":"x"}]}`, "sources/0/mark", "did you mean published?"},
		{"caution stage", `{"id":"p","version":"1","title":"P","cautions":[{"id":"c","title":"t","text":"x","before":"mesure"}]}`, "cautions/c/before", "did you mean measure?"},
		{"reading component", `{"id":"p","version":"1","title":"P","readings":[{"id":"c","title":"t","component":"igniterr","quantity":"resistance"}]}`, "readings/c/component", "did you mean igniter?"},
		{"reading quantity", `{"id":"p","version":"1","title":"P","readings":[{"id":"c","title":"t","component":"igniter","quantity":"ohms"}]}`, "readings/c/quantity", "is no known quantity"},
		{"reading caution", `{"id":"p","version":"1","title":"P","readings":[{"id":"c","title":"t","component":"igniter","quantity":"resistance","cautions":["main"]}]}`, "readings/c/cautions", "has no caution"},
		{"stage", head + `{"id":"r","stage":"lok","title":"T","why":"W","cure":"C","photo":{"subject":["floor"]}}]}`, "requirements/r/stage", "did you mean look?"},
		{"no why", head + `{"id":"r","stage":"look","title":"T","cure":"C","photo":{"subject":["floor"]}}]}`, "requirements/r/why", "is missing"},
		{"twice", head + `{"id":"r","stage":"look","title":"T","why":"W","cure":"C","photo":{"subject":["floor"]}},{"id":"r","stage":"look","title":"T","why":"W","cure":"C","photo":{"subject":["floor"]}}]}`, "requirements/r/id", "used twice"},
		{"severity", one(`"severity":"must","photo":{"subject":["floor"]}`), "requirements/r/severity", "required or advised"},
		{"per", one(`"per":"part","photo":{"subject":["floor"]}`), "requirements/r/per", "replaced-part or damage"},
		{"no rule", one(`"severity":"advised"`), "requirements/r", "says nothing to check"},
		{"two rules", one(`"photo":{"subject":["floor"]},"field":{"name":"unit.serial"}`), "requirements/r/field", "make a requirement of each"},
		{"subject", one(`"photo":{"subject":["plate"]}`), "requirements/r/photo/subject", "is no known photo subject"},
		{"no subject", one(`"photo":{}`), "requirements/r/photo/subject", "names no subject"},
		{"component", one(`"photo":{"subject":["floor"],"component":"evaporator-con"}`), "requirements/r/photo/component", "did you mean"},
		{"replaced-part alone", one(`"photo":{"subject":["floor"],"component":"replaced-part"}`), "requirements/r/photo/component", "write per: replaced-part"},
		{"event", one(`"photo":{"subject":["floor"],"before":"work-start"}`), "requirements/r/photo/before", "did you mean work-started?"},
		{"date where an event belongs", one(`"photo":{"subject":["floor"],"before":"coverage.start"}`), "requirements/r/photo/before", "is not an event"},
		{"pixels", one(`"photo":{"subject":["floor"],"long-side":-5}`), "requirements/r/photo/long-side", "outside 0 to 50000"},
		{"time basis", one(`"photo":{"subject":["floor"],"time-basis":"sure"}`), "requirements/r/photo/time-basis", "is no known time basis"},
		{"reading of nothing", one(`"reading":{}`), "requirements/r/reading", "names neither"},
		{"reading of an unknown plan", one(`"reading":{"of":["ohm"]}`), "requirements/r/reading/of", "did you mean ohms?"},
		{"plan and component", one(`"reading":{"of":["ohms"],"component":"igniter"}`), "requirements/r/reading/of", "leave those out"},
		{"moment", one(`"reading":{"of":["ohms"],"moment":"as-foun"}`), "requirements/r/reading/moment", "did you mean as-found?"},
		{"field", one(`"field":{"name":"unit.serail"}`), "requirements/r/field/name", "did you mean unit.serial?"},
		{"field without a dot", one(`"field":{"name":"serial"}`), "requirements/r/field/name", "write it with a dot"},
		{"date among fields", one(`"field":{"name":"coverage.start","kind":"number"}`), "requirements/r/field/name", "is no known name"},
		{"date with length", one(`"field":{"name":"coverage.start","kind":"date","max-length":3}`), "requirements/r/field/kind", "has no length"},
		{"kind", one(`"field":{"name":"unit.serial","kind":"string"}`), "requirements/r/field/kind", "text, date or number"},
		{"lengths crossed", one(`"field":{"name":"unit.serial","min-length":9,"max-length":3}`), "requirements/r/field/max-length", "nothing would fit"},
		{"mentions", one(`"field":{"name":"narrative.cause","mentions":true}`), "requirements/r/field/mentions", "per: replaced-part"},
		{"agreement with nothing", one(`"agreement":{"number":"unit.serial","with":[]}`), "requirements/r/agreement/with", "names 0 places"},
		{"agreement with both", one(`"agreement":{"number":"unit.serial","with":[{"field":"unit.model","codes":"rating-plate"}]}`), "requirements/r/agreement/with/0", "either a field or the codes"},
		{"agreement at least", one(`"agreement":{"number":"unit.serial","at-least":2,"with":[{"field":"unit.model"}]}`), "requirements/r/agreement/at-least", "outside 0 to 1"},
		{"part without per", one(`"part":{"number":true}`), "requirements/r/part", "per: replaced-part"},
		{"part asks nothing", one(`"per":"replaced-part","part":{}`), "requirements/r/part", "asks nothing"},
		{"held", one(`"per":"replaced-part","part":{"held":["binned"]}`), "requirements/r/part/held", "is no known place"},
		{"about", one(`"acknowledgement":{"about":"damage"}`), "requirements/r/acknowledgement/about", "is no known thing to acknowledge"},
		{"caution", one(`"caution":{"id":"main"}`), "requirements/r/caution/id", "did you mean mains?"},
		{"interval days", one(`"interval":{"from":"left","to":"sent","days":-1}`), "requirements/r/interval/days", "outside"},
		{"interval warn", one(`"interval":{"from":"left","to":"sent","days":3,"warn":9}`), "requirements/r/interval/warn", "outside 0 to 3"},
		{"interval from", one(`"interval":{"from":"coverage.strat","to":"sent","days":3}`), "requirements/r/interval/from", "did you mean coverage.start?"},
		{"order", one(`"order":{"first":"lefft","then":"now"}`), "requirements/r/order/first", "did you mean left?"},
		{"number without limit", one(`"number":{"name":"labour.minutes"}`), "requirements/r/number", "has no limit"},
		{"number of nothing", one(`"number":{"at-most":"5"}`), "requirements/r/number", "names no number"},
		{"number limit", one(`"number":{"name":"labour.minutes","at-most":"1e3"}`), "requirements/r/number/at-most", "neither a decimal"},
		{"count", one(`"number":{"count":"pictures","at-most":"3"}`), "requirements/r/number/count", "visits, parts, photos, readings or damages"},
		{"when empty", one(`"when":{},"photo":{"subject":["floor"]}`), "requirements/r/when", "is empty"},
		{"when component", one(`"when":{"replaced":["evaporater-fan"]},"photo":{"subject":["floor"]}`), "requirements/r/when/replaced", "did you mean evaporator-fan?"},
		{"when nested component", one(`"when":{"any":[{"unit":["washer"]},{"replaced":["flux"]}]},"photo":{"subject":["floor"]}`), "requirements/r/when/any/1/replaced", "is no known component"},
		{"when is without field", one(`"when":{"is":["x"]},"photo":{"subject":["floor"]}`), "requirements/r/when/is", "has no field"},
		{"when field asks nothing", one(`"when":{"field":"unit.usage"},"photo":{"subject":["floor"]}`), "requirements/r/when/field", "asks nothing"},
		{"when number asks nothing", one(`"when":{"number":"labour.minutes"},"photo":{"subject":["floor"]}`), "requirements/r/when/number", "asks nothing"},
		{"when above without number", one(`"when":{"above":"3"},"photo":{"subject":["floor"]}`), "requirements/r/when", "need a number"},
		{"when too deep", one(`"when":` + nested + `,"photo":{"subject":["floor"]}`), "requirements/r/when" + strings.Repeat("/not", 8), "nested deeper"},
	} {
		t.Run(x.name, func(t *testing.T) {
			var p Pack
			require.NoError(t, json.Unmarshal([]byte(x.pack), &p))
			_, err := Compile(&p)
			var invalid *InvalidPack
			require.ErrorAs(t, err, &invalid)
			for _, problem := range invalid.Problems {
				if problem.Path == x.path && strings.Contains(problem.Message, x.message) {
					return
				}
			}
			assert.Failf(t, "not found", "want %s: …%s…\ngot %v", x.path, x.message, err)
		})
	}
}

func TestTooManyRequirements(t *testing.T) {
	p := Pack{ID: "p", Version: "1", Title: "P", Requirements: make([]Requirement, MaxRequirements+1)}
	_, err := Compile(&p)
	require.ErrorContains(t, err, "too many")
}

func TestVocabularyIsWellFormed(t *testing.T) {
	all := map[string][]Term{
		"stages": Stages(), "unit kinds": UnitKinds(), "coverage": CoverageKinds(), "subjects": Subjects(), "components": Components(), "quantities": Quantities(),
		"moments": Moments(), "events": Events(), "damage": DamageKinds(), "seen": DamageSeen(), "about": AckAbout(), "outcomes": AckOutcomes(), "held": PartHeld(),
		"marks": Marks(), "verdicts": ReadingOutcomes(),
	}
	for name, list := range all {
		seen := map[string]bool{}
		for _, term := range list {
			assert.True(t, isID(term.ID), "%s: %s", name, term.ID)
			assert.NotEmpty(t, term.Title, term.ID)
			assert.False(t, seen[term.ID], "%s twice", term.ID)
			seen[term.ID] = true
		}
	}
	list := Components()
	list[0].ID = "changed"
	assert.NotEqual(t, "changed", Components()[0].ID, "callers get copies")
}
