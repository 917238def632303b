package readings

import (
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPlotIsSelfContained holds every picture against XML 1.0 and SVG's own words: one root,
// title and description first, only shapes and text, no link, script or style.
func TestPlotIsSelfContained(t *testing.T) {
	shapes := map[string]bool{"svg": true, "title": true, "desc": true, "rect": true, "line": true, "text": true, "path": true, "circle": true}
	for _, c := range verdictCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			svg, err := Plot(c.Profile, c.Value, c.Conditions, c.Instrument)
			require.NoError(t, err)
			assert.Less(t, len(svg), 8000)
			var order []string
			d := xml.NewDecoder(strings.NewReader(svg))
			var text strings.Builder
			for {
				tok, err := d.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				require.NoError(t, err)
				switch x := tok.(type) {
				case xml.StartElement:
					order = append(order, x.Name.Local)
					require.True(t, shapes[x.Name.Local], x.Name.Local)
					for _, a := range x.Attr {
						require.NotContains(t, []string{"href", "style", "class", "id", "src", "onload"}, a.Name.Local)
						require.NotContains(t, a.Value, "url(")
						switch a.Name.Local {
						case "x", "x1", "x2", "cx":
							inside(t, a.Value, 360)
						case "y", "y1", "y2", "cy":
							inside(t, a.Value, 230)
						}
					}
				case xml.CharData:
					text.Write(x)
					text.WriteByte('\n')
				}
			}
			require.Equal(t, []string{"svg", "title", "desc"}, order[:3])
			v, err := Judge(c.Profile, c.Value, c.Conditions, c.Instrument)
			require.NoError(t, err)
			assert.Contains(t, text.String(), v.Says, "the description says the verdict")
			assert.Contains(t, text.String(), c.Value.String(), "the reading is on the picture")
			again, err := Plot(c.Profile, c.Value, c.Conditions, c.Instrument)
			require.NoError(t, err)
			assert.Equal(t, svg, again)
		})
	}
}

func inside(t *testing.T, s string, size float64) {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	require.True(t, x >= 0 && x <= size, "%s is outside the picture", s)
}

func TestPlotEscapesForeignText(t *testing.T) {
	p := profile(t, "heater-450w-120v")
	p.Title = `<script>alert("x")</script><image href="http://example.invalid/x"/> & ` + "\uffff\xff"
	svg, err := Plot(p, Value{Quantity: Resistance, Value: "32", Unit: "Ohm"}, Conditions{}, nil)
	require.NoError(t, err)
	assert.NotContains(t, svg, "<script")
	assert.NotContains(t, svg, "<image")
	require.NoError(t, xml.Unmarshal([]byte(svg), new(struct {
		XMLName xml.Name `xml:"svg"`
	})))
}

func TestPlotFailsWhereJudgeFails(t *testing.T) {
	_, err := Plot(Profile{Name: "no such"}, Value{Quantity: Resistance, Value: "32", Unit: "Ohm"}, Conditions{}, nil)
	assert.ErrorIs(t, err, &Error{Code: CodeBadProfile})
}
