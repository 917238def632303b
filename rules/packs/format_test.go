package packs

import (
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/rules"
)

// The pack in FORMAT.md is one that works, and the text names every kind of rule.
func TestFormatDocument(t *testing.T) {
	doc, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	_, rest, ok := strings.Cut(string(doc), "```yaml\n")
	require.True(t, ok)
	yaml, _, ok := strings.Cut(rest, "```")
	require.True(t, ok)
	set, err := WithShop(fstest.MapFS{"lakeside.yaml": {Data: []byte(yaml)}})
	require.NoError(t, err)
	p, ok := set.Get("lakeside-washers")
	require.True(t, ok)
	assert.Empty(t, Test(p))
	assert.Empty(t, Unshown(p))
	assert.NoError(t, compileSchema(t).Validate(asJSON(t, []byte(yaml))))
	for _, stage := range rules.Stages() {
		assert.Contains(t, string(doc), stage.ID)
	}
	for _, key := range []string{"photo", "reading", "field", "agreement", "part", "acknowledgement", "caution", "interval", "order", "number"} {
		assert.Contains(t, string(doc), "| `"+key+"` |")
	}
}
