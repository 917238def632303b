package readings

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type verdictCase struct {
	Name       string
	Profile    Profile
	Value      Value
	Conditions Conditions
	Instrument *Instrument
	Outcome    Outcome
	Supports   Support
	Says       string
	Source     string
	Want       struct {
		Expected, Low, High, Read, Uncertainty, Margin, Caution string
		Unit                                                    Unit
	}
}

func verdictCases(t testing.TB) []verdictCase {
	var f struct {
		About string
		Cases []verdictCase
	}
	load(t, "verdicts.json", &f)
	require.NotEmpty(t, f.Cases)
	return f.Cases
}

func TestVerdicts(t *testing.T) {
	judged := map[Model]bool{}
	for _, c := range verdictCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			v, err := Judge(c.Profile, c.Value, c.Conditions, c.Instrument)
			require.NoError(t, err)
			judged[v.Model] = true
			assert.Equal(t, c.Outcome, v.Outcome, "%s\n%s", v.Says, c.Source)
			assert.Equal(t, c.Supports, v.Supports, v.Says)
			assert.Contains(t, v.Says, c.Says)
			for _, x := range [][2]string{{c.Want.Expected, v.Expected}, {c.Want.Low, v.Low}, {c.Want.High, v.High}, {c.Want.Read, v.Read}, {c.Want.Uncertainty, v.Uncertainty}, {c.Want.Margin, v.Margin}, {string(c.Want.Unit), string(v.Unit)}} {
				if x[0] != "" {
					assert.Equal(t, x[0], x[1], v.Says)
				}
			}
			if c.Want.Caution != "" {
				assert.Contains(t, v.Cautions, c.Want.Caution)
			}
			assert.NotEmpty(t, v.Source)
			assert.NotEmpty(t, v.Mark)
			assert.True(t, strings.HasSuffix(v.Says, ".") && strings.HasSuffix(v.Claim, "."), "%s | %s", v.Says, v.Claim)
			if v.Outcome == CannotDecide || v.Outcome == NotPlausible {
				assert.NotEmpty(t, v.Ask, "an undecided reading says what would decide it: %s", v.Says)
			}
			again, err := Judge(c.Profile, c.Value, c.Conditions, c.Instrument)
			require.NoError(t, err)
			a, _ := json.Marshal(v)
			b, _ := json.Marshal(again)
			assert.Equal(t, string(a), string(b))
		})
	}
	for _, m := range models {
		assert.True(t, judged[m.model], "no case for the model %s", m.model)
	}
}
