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
	// Small seeds: every kind of rule, in a pack of its own. Ours are too large to be changed usefully.
	for _, rule := range []string{
		"    photo: {subject: [floor, surroundings], at-least: 2, before: first work-started, sharp: true, long-side: 1600, every: false}\n",
		"    per: replaced-part\n    photo: {subject: failed-part, component: replaced-part, pair: part-label, time-basis: consistent}\n",
		"    per: damage\n    when: {damage: on-arrival, damage-kind: [melted]}\n    photo: {subject: damage-wide, pair: damage-close}\n",
		"    reading: {component: igniter, quantity: resistance, units: Ohm, moment: as-found, supports: true, display-photo: true}\n",
		"    field: {name: unit.serial, min-length: 3, max-length: 8, digits: true, one-of: [\"1234\"]}\n",
		"    per: replaced-part\n    part: {number: true, held: [held], reading: true}\n",
		"    acknowledgement: {about: damage-on-arrival, before: first work-started, shown-damage: any}\n",
		"    interval: {from: last work-finished, to: first sent, days: 30, days-from: coverage.submit-days, warn: 7}\n",
		"    firm: true\n    order: {first: coverage.start, then: first opened, both: true}\n",
		"    severity: advised\n    number: {name: amount.total-minor, at-most: coverage.limit-minor, optional: true}\n",
	} {
		f.Add([]byte(req(rule) + "cases:\n  - {case: x, day: 2025-06-12, zone: America/Chicago, expect: {r: gap}, others: any}\n  - {case: y, base: x, expect: {}}\n"))
	}
	f.Add([]byte(goodHead + "sources: [{mark: published, text: x}]\ncautions:\n  - {id: mains, title: T, text: X, before: measure}\nreadings:\n" +
		"  - {id: ohms, title: T, component: igniter, quantity: resistance, units: [Ohm], cautions: mains, profile: {name: x, high: 1.50, list: [1, true, ~]}}\n"))
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
