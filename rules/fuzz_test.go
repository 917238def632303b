package rules

import (
	"encoding/json"
	"testing"
)

// FuzzCheck gives packs and facts from outside: whatever compiles must check without a panic and keep every promise of a
// report. The phone does exactly this with what it gets as JSON.
func FuzzCheck(f *testing.F) {
	for _, file := range vectorFiles(f) {
		for _, v := range readVectors(f, file).Vectors {
			r := v.Requirement
			r.ID, r.Stage, r.Title, r.Why, r.Cure = "r", "look", "T", "W", "C"
			pack, err := json.Marshal(Pack{ID: "p", Version: "1", Title: "P", Requirements: []Requirement{r}})
			if err != nil {
				f.Fatal(err)
			}
			facts, err := json.Marshal(v.Facts)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(pack, facts)
		}
	}
	f.Fuzz(func(t *testing.T, packJSON, factsJSON []byte) {
		var p Pack
		var facts Facts
		if json.Unmarshal(packJSON, &p) != nil || json.Unmarshal(factsJSON, &facts) != nil {
			return
		}
		c, err := Compile(&p)
		if err != nil {
			return
		}
		r := Check(c, &facts)
		n := r.Counts
		if len(r.Findings) != n.Met+n.Gap+n.Doubt+n.Waived+n.NotNeeded || r.Complete != (n.Open == 0) {
			t.Fatalf("the counts don't add up: %+v", n)
		}
		if len(Wanted(c, &facts)) != n.Gap+n.Doubt || len(Explain(c, &facts)) != len(r.Findings) {
			t.Fatal("wanted, explained and found don't agree")
		}
		one, err := json.Marshal(r)
		if err != nil {
			return // a moment outside the years that JSON can write
		}
		two, err := json.Marshal(Check(c, &facts))
		if err != nil || string(one) != string(two) {
			t.Fatal("the same facts gave two reports")
		}
		for _, finding := range r.Findings {
			if finding.Sentence == "" || finding.Open() != (finding.Cure != "") {
				t.Fatalf("bad finding %+v", finding)
			}
		}
	})
}
