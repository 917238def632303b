package claims

import (
	"kickplate/rules"
)

func readingFacts(f *rules.Facts, j *Job, _ *rules.Pack) {
	for _, it := range j.Readings {
		b := it.Body
		f.Readings = append(f.Readings, rules.Reading{Entry: string(it.Entry), At: corrected(it.At, it.Clock), Component: b.Component, Quantity: b.Quantity,
			Value: b.Value, Unit: b.Unit, State: b.State, Moment: b.Moment, DisplayPhoto: string(b.Photo), Says: b.Says})
	}
}
