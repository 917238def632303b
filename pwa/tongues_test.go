package pwa

import (
	"encoding/json"
	"maps"
	"os/exec"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// texts reads a catalogue by running it: key to text, or to texts by plural form.
func texts(t *testing.T, source []byte) map[string]any {
	t.Helper()
	require.Contains(t, string(source), "export default {")
	node := exec.CommandContext(t.Context(), "node", "-")
	node.Stdin = strings.NewReader(strings.Replace(string(source), "export default {", "const words = {", 1) + "\nconsole.log(JSON.stringify(words));")
	out, err := node.Output()
	require.NoError(t, err, "run a catalogue with node (Debian package nodejs)")
	var words map[string]any
	require.NoError(t, json.Unmarshal(out, &words))
	return words
}

var hole = regexp.MustCompile(`\{\w+\}`)

func holes(t *testing.T, text any) []string {
	t.Helper()
	raw, err := json.Marshal(text)
	require.NoError(t, err)
	found := hole.FindAllString(string(raw), -1)
	slices.Sort(found)
	return slices.Compact(found)
}

// Every text stands in every language, with the same places to fill in and the same plural forms. Titles of the vocabulary come from the
// server in English; only other languages have them.
func TestTongues(t *testing.T) {
	static, _ := mapOf(t)
	seen := 0
	for name, f := range static {
		if !translation(name) {
			continue
		}
		seen++
		t.Run(name, func(t *testing.T) {
			english, other := texts(t, static[path.Join(path.Dir(name), "words-en.js")].Data), texts(t, f.Data)
			for _, key := range slices.Sorted(maps.Keys(english)) {
				text, ok := other[key]
				if !assert.True(t, ok, "%q is missing", key) {
					continue
				}
				assert.Equal(t, holes(t, english[key]), holes(t, text), "the places to fill in of %q", key)
				forms, plural := english[key].(map[string]any)
				if plural {
					its, ok := text.(map[string]any)
					if assert.True(t, ok, "%q has no plural forms", key) {
						assert.Equal(t, slices.Sorted(maps.Keys(forms)), slices.Sorted(maps.Keys(its)), "the plural forms of %q", key)
					}
				} else {
					assert.IsType(t, "", text, "%q", key)
				}
			}
			for key := range other {
				if _, ok := english[key]; !ok {
					assert.True(t, strings.HasPrefix(key, "term."), "%q is in no English catalogue", key)
				}
			}
		})
	}
	assert.Equal(t, 4, seen, "the app's, the desk's, the dispute's and the reviewer's")
}
