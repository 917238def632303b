package packs

import (
	"encoding/json"
	"errors"
	"testing"
	"testing/fstest"

	"kickplate/rules"
)

func load(yaml string) (*Set, error) {
	return Load(fstest.MapFS{"a.yaml": {Data: []byte(yaml)}})
}

// FuzzLoad gives the loader any bytes. It must not panic; a refusal names the file; what it accepts must travel to the phone
// as JSON and give the same reports there.
func FuzzLoad(f *testing.F) {
	entries, err := data.ReadDir("data")
	if err != nil || len(entries) < 19 {
		f.Fatalf("the packs are gone: %v", err)
	}
	for _, e := range entries {
		yaml, err := data.ReadFile("data/" + e.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(yaml)
	}
	f.Add([]byte(req("    when: {any: [{unit: washer}, {not: {replaced: any}}]}\n    agreement: {number: unit.serial, with: [{codes: rating-plate}]}\n") +
		"cases:\n  - case: x\n    day: 2025-06-12\n    photos: {p: {subject: rating-plate, at: \"09:05\", codes: [A1]}}\n    expect: {r: gap}\n  - {case: y, base: x, photos: {p: ~}}\n"))
	f.Fuzz(func(t *testing.T, yaml []byte) {
		set, err := Load(fstest.MapFS{"a.yaml": {Data: yaml}})
		if err != nil {
			var problems Problems
			if !errors.As(err, &problems) || len(problems) == 0 || problems[0].File != "a.yaml" || problems[0].Message == "" {
				t.Fatalf("a refusal that helps nobody: %v", err)
			}
			return
		}
		for _, p := range set.All() {
			Test(p)
			Unshown(p)
			out, err := JSON(p)
			if err != nil {
				t.Fatal(err)
			}
			var pack rules.Pack
			if err := json.Unmarshal(out, &pack); err != nil {
				t.Fatal(err)
			}
			c, err := rules.Compile(&pack)
			if err != nil {
				t.Fatalf("accepted here, refused there: %v", err)
			}
			for i := range p.Cases {
				here, err1 := json.Marshal(rules.Check(p.Compiled, &p.Cases[i].Facts))
				there, err2 := json.Marshal(rules.Check(c, &p.Cases[i].Facts))
				if (err1 == nil) != (err2 == nil) || string(here) != string(there) {
					t.Fatal("another report on the phone")
				}
			}
		}
	})
}
