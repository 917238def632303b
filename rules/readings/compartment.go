package readings

import "math"

// compartment: a temperature against the band of one jurisdiction or standard. It shows the
// complaint or the result, and by itself points to no part.
func (j *judging) compartment() error {
	b, err := j.limits(Temperature)
	if err != nil {
		return err
	}
	if j.v.State != "" {
		j.expect(b)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "beyond the range of the thermometer, check the probe")
	}
	x, u, err := j.number(b.unit)
	if err != nil {
		return err
	}
	cel, err := j.v.float("Cel")
	if err != nil {
		return err
	}
	o := j.decide(x, u, b)
	switch {
	case cel < -60 || cel > 70:
		return j.end(NotPlausible, SupportsNeutral, b.words(), "no compartment is at this temperature, check the unit or the probe")
	case o == InTolerance:
		return j.end(o, SupportsNeutral, b.words(), "in tolerance")
	case o == OutOfTolerance && x > b.hi:
		if j.c.Moment == "as-left" {
			j.ask("Judge a cabinet that was just repaired by its pull-down, or read it again when it has settled.")
		}
		return j.end(o, SupportsNeutral, b.words(), "too warm, which shows the complaint and no part")
	case o == OutOfTolerance:
		return j.end(o, SupportsNeutral, b.words(), "too cold, which shows the complaint and no part")
	}
	return j.end(o, SupportsNeutral, b.words(), uncertain)
}

// pullDown: after a repair the cabinet must fall visibly within TrendMinutes and reach High
// within SettleHours (common practice: air falls in 30 to 60 minutes, fresh food is below
// 40 °F in 4 to 12 hours, all is stable in 24).
func (j *judging) pullDown() error {
	b, err := j.limits(Temperature)
	if err != nil {
		return err
	}
	b.basis = " within " + short(j.p.SettleHours) + " h, and falling within " + short(j.p.TrendMinutes) + " min"
	if j.v.State != "" {
		j.expect(b)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "beyond the range of the thermometer, check the probe")
	}
	x, u, err := j.number(b.unit)
	if err != nil {
		return err
	}
	o := j.decide(x, u, b)
	if o == InTolerance {
		return j.end(o, SupportsNeutral, b.words(), "the temperature has been reached")
	}
	if j.c.Start == nil || j.c.SinceStart == nil {
		j.ask("Record the temperature at the start and the time since.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided without the temperature at the start and the time since")
	}
	start, err := j.c.Start.float(b.unit)
	if err != nil {
		return err
	}
	minutes, err := j.c.SinceStart.float("min")
	if err != nil {
		return err
	}
	us, _, err := j.in.Uncertainty(*j.c.Start, b.unit)
	if err != nil {
		return err
	}
	fell := start - x
	noise := math.Max(math.Hypot(u, us), 0.5/span(b.unit, 1)) // half a kelvin at least, common practice
	trend := "fell " + short(math.Max(fell, 0)) + " " + differenceSymbol(b.unit) + " in " + short(minutes) + " min from " + j.c.Start.String()
	switch {
	case x < b.lo:
		return j.end(o, SupportsNeutral, b.words(), "too cold")
	case o == CannotDecide:
		return j.end(o, SupportsNeutral, b.words(), uncertain)
	case minutes >= j.p.SettleHours*60:
		return j.end(OutOfTolerance, SupportsNeutral, b.words(), "not reached in the time that a sound cabinet takes, it "+trend)
	case minutes >= j.p.TrendMinutes && fell < noise:
		return j.end(OutOfTolerance, SupportsNeutral, b.words(), "it does not fall, it "+trend)
	case fell < noise:
		j.ask("Read again after " + short(j.p.TrendMinutes) + " minutes.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "too early for a trend, it "+trend)
	}
	j.ask("Record the temperature again when it has settled, or have the customer report it.")
	return j.end(CannotDecide, SupportsNeutral, b.words(), "on its way, it "+trend)
}

func differenceSymbol(u Unit) string {
	if u == "[degF]" {
		return "°F"
	}
	return "K"
}
