package rules

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// vectorFile is a file of testdata/rules: one requirement each, the facts, and what must come out. The server and
// the phone can run the same files.
type vectorFile struct {
	Source  string   `json:"source"`
	Vectors []vector `json:"vectors"`
}

type vector struct {
	Name        string      `json:"name"`
	Source      string      `json:"source"`
	Requirement Requirement `json:"requirement"`
	Facts       Facts       `json:"facts"`
	Outcome     Outcome     `json:"outcome"`
	ID          string      `json:"id"`
	Says        string      `json:"says"`
	Due         string      `json:"due"`
	Soon        *bool       `json:"soon"`
}

func vectorFiles(tb testing.TB) []string {
	files, err := filepath.Glob("../testdata/rules/*.json")
	require.NoError(tb, err)
	require.GreaterOrEqual(tb, len(files), 12, "the vectors are gone")
	return files
}

func readVectors(tb testing.TB, file string) vectorFile {
	data, err := os.ReadFile(file)
	require.NoError(tb, err)
	var vf vectorFile
	require.NoError(tb, json.Unmarshal(data, &vf), file)
	require.NotEmpty(tb, vf.Vectors, file)
	require.NotEmpty(tb, vf.Source, file)
	return vf
}

// packOf makes a pack of one requirement, called r.
func packOf(tb testing.TB, r Requirement) *Compiled {
	r.ID, r.Stage, r.Title, r.Why, r.Cure = "r", "look", "Title", "Why.", "Cure."
	c, err := Compile(&Pack{
		ID: "vector", Version: "1", Title: "Vector", Requirements: []Requirement{r},
		Cautions: []Caution{{ID: "mains", Title: "Mains", Text: "Unplug.", Before: "measure"}},
	})
	require.NoError(tb, err)
	return c
}

func TestVectors(t *testing.T) {
	for _, file := range vectorFiles(t) {
		vf := readVectors(t, file)
		for _, v := range vf.Vectors {
			t.Run(filepath.Base(file)+"/"+v.Name, func(t *testing.T) {
				pack := packOf(t, v.Requirement)
				before, err := json.Marshal(v.Facts)
				require.NoError(t, err)
				report := Check(pack, &v.Facts)
				id := v.ID
				if id == "" {
					id = "r"
				}
				f := report.Find(id)
				require.NotNil(t, f, "%+v", report.Findings)
				assert.Equal(t, v.Outcome, f.Outcome, f.Sentence)
				assert.Contains(t, f.Sentence, v.Says)
				assert.NotEmpty(t, f.Sentence)
				if v.Due != "" {
					assert.Equal(t, v.Due, f.Due)
				}
				if v.Soon != nil {
					assert.Equal(t, *v.Soon, f.Soon, f.Sentence)
				}
				checkReport(t, pack, &v.Facts, report)
				after, err := json.Marshal(v.Facts)
				require.NoError(t, err)
				assert.JSONEq(t, string(before), string(after), "a check only reads the facts")
			})
		}
	}
}

// checkReport holds what is true of every report.
func checkReport(tb testing.TB, pack *Compiled, facts *Facts, r Report) {
	n := r.Counts
	assert.Len(tb, r.Findings, n.Met+n.Gap+n.Doubt+n.Waived+n.NotNeeded)
	assert.GreaterOrEqual(tb, len(r.Findings), len(pack.Pack().Requirements))
	open, ids := 0, map[string]bool{}
	for _, f := range r.Findings {
		assert.NotEmpty(tb, f.Sentence, f.ID)
		assert.False(tb, ids[f.ID], "the id %s comes twice", f.ID)
		ids[f.ID] = true
		assert.Equal(tb, f.Open(), f.Cure != "", "only what is open has a cure: %s", f.ID)
		if f.Open() && f.Severity == Required {
			open++
		}
	}
	assert.Equal(tb, open, n.Open)
	assert.Equal(tb, open == 0, r.Complete)

	again := Check(pack, facts)
	assert.Equal(tb, r, again, "the same facts give the same report")

	wants := Wanted(pack, facts)
	assert.Len(tb, wants, n.Gap+n.Doubt)
	explained := Explain(pack, facts)
	require.Len(tb, explained, len(r.Findings))
	for i, e := range explained {
		assert.Equal(tb, r.Findings[i].ID, e.Finding)
		assert.NotEmpty(tb, e.Asks)
		assert.NotEmpty(tb, e.Because)
	}
}
