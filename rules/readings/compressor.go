package readings

import "math"

// windings judges the three readings of a compressor. Single phase: from start to run is the
// sum of the other two. Inverter: all three are equal. Both common practice.
func (j *judging) windings(names [3]string) error {
	single := j.p.Model == CompressorSinglePhase
	expected := "three equal windings within " + short(j.p.TolerancePercent) + " %"
	if single {
		expected = "R-S to be the sum of C-S and C-R within " + short(j.p.TolerancePercent) + " %"
	}
	var vs [3]*Value
	for i, n := range names {
		if pair(j.c.Between) == pair(n) {
			v := j.v
			vs[i] = &v
			continue
		}
		for _, spelled := range []string{n, flip(n)} {
			if v, ok := j.c.Also[spelled]; ok && v.Quantity == Resistance {
				vs[i] = &v
				break
			}
		}
	}
	if j.c.Between != "" && !has(names, j.c.Between) {
		return fail(CodeBadConditions, "between", "the terminals %q are not %s, %s or %s", clip(j.c.Between), names[0], names[1], names[2])
	}
	if j.c.Circuit == "in-circuit" {
		j.ask("Take the plug or the start device off the compressor's pins and read again.")
		return j.end(CannotDecide, SupportsNeutral, expected, "cannot be decided while the windings are wired in")
	}
	if j.c.Between == "" || vs[0] == nil || vs[1] == nil || vs[2] == nil {
		return j.someWindings(names, expected, single)
	}
	open := 0
	for _, v := range vs {
		if v.open() {
			open++
		}
	}
	if open > 0 {
		return j.openWindings(vs, names, open, expected, single)
	}
	var r, u [3]float64
	for i, v := range vs {
		if v.closed() {
			j.statedCircuit()
			return j.end(OutOfTolerance, SupportsYes, expected, "short circuit between "+names[i])
		}
		ohm, err := v.float("Ohm")
		if err != nil {
			return err
		}
		if r[i], err = j.leads(ohm); err != nil {
			return err
		}
		x, ok, err := j.in.Uncertainty(*v, "Ohm")
		if err != nil {
			return err
		}
		if !ok {
			j.caution(CautionInstrument)
		}
		u[i] = x
		if r[i] < 0.1 {
			j.ask("Zero the leads, or use a milliohm meter, and read " + names[i] + " again.")
			return j.end(CannotDecide, SupportsNeutral, expected, names[i]+" reads less than an ohmmeter resolves, zero the leads and measure again")
		}
	}
	j.statedCircuit()
	if single {
		return j.additive(r, u)
	}
	return j.balanced(r, u, expected)
}

func pair(s string) string {
	if len(s) != 3 {
		return ""
	}
	if s[0] > s[2] {
		return flip(s)
	}
	return s
}

func flip(s string) string {
	if len(s) != 3 {
		return s
	}
	return string([]byte{s[2], s[1], s[0]})
}

func has(names [3]string, s string) bool {
	for _, n := range names {
		if pair(n) == pair(s) {
			return true
		}
	}
	return false
}

// someWindings: not all three are known. An open pair is named but the pattern decides.
func (j *judging) someWindings(names [3]string, expected string, single bool) error {
	j.ask("Read all three pairs: " + names[0] + ", " + names[1] + " and " + names[2] + ".")
	if j.v.open() && !single {
		return j.end(OutOfTolerance, SupportsYes, expected, "open circuit")
	}
	return j.end(CannotDecide, SupportsNeutral, expected, "cannot be decided by one pair of terminals")
}

// openWindings: in a single-phase compressor both windings open to common while R-S is closed
// is an open overload inside: it may close again when the compressor has cooled.
func (j *judging) openWindings(vs [3]*Value, names [3]string, open int, expected string, single bool) error {
	j.statedCircuit()
	if single && open == 2 && vs[0].open() && vs[1].open() {
		cel, _, ok, err := j.partTemperature()
		if err != nil {
			return err
		}
		if !ok || cel > 50 {
			j.ask("Let the compressor cool to room temperature and read the three pairs again: an open internal overload closes again.")
			return j.end(CannotDecide, SupportsNeutral, expected, "common is open to both windings, which is an open internal overload until the compressor has cooled")
		}
		return j.end(OutOfTolerance, SupportsYes, expected, "common is open to both windings, with the compressor cool")
	}
	list := ""
	for i, v := range vs {
		if v.open() {
			if list != "" {
				list += " and "
			}
			list += names[i]
		}
	}
	return j.end(OutOfTolerance, SupportsYes, expected, "open circuit between "+list)
}

func (j *judging) additive(r, u [3]float64) error {
	sum := r[0] + r[1]
	t := j.p.TolerancePercent / 100
	b := band{lo: sum * (1 - t), hi: sum * (1 + t), exp: sum, unit: "Ohm"}
	expected := short(r[0]) + " + " + short(r[1]) + " = " + short(sum) + " Ω between R-S (" + short(b.lo) + " to " + short(b.hi) + " Ω)"
	spread := math.Sqrt(u[0]*u[0]*(1+t)*(1+t) + u[1]*u[1]*(1+t)*(1+t) + u[2]*u[2])
	o := j.decide(r[2], spread, b)
	j.out.Read = short(r[2])
	meaning := "R-S reads " + short(r[2]) + " Ω, "
	switch o {
	case InTolerance:
		if r[1] > r[0] {
			j.ask("C-R reads more than C-S: run is usually the lower winding, check which pin is which.")
		}
		j.ask("The windings are sound: show the start device, the supply under load and the locked or running current.")
		return j.end(o, SupportsNeutral, expected, meaning+"the windings are in tolerance, which does not exclude a seized or worn compressor")
	case OutOfTolerance:
		return j.end(o, SupportsYes, expected, meaning+"the windings do not add up")
	}
	return j.end(o, SupportsNeutral, expected, meaning+uncertain)
}

func (j *judging) balanced(r, u [3]float64, expected string) error {
	mean := (r[0] + r[1] + r[2]) / 3
	hi, lo := math.Max(r[0], math.Max(r[1], r[2])), math.Min(r[0], math.Min(r[1], r[2]))
	off := (hi - lo) / mean * 100
	spread := 2 * math.Max(u[0], math.Max(u[1], u[2])) / mean * 100 / math.Sqrt2
	b := band{lo: math.Inf(-1), hi: j.p.TolerancePercent, exp: math.NaN(), unit: "%"}
	o := j.decide(off, spread, b)
	meaning := "from " + short(lo) + " to " + short(hi) + " Ω they differ by " + figure(off, 1) + " %, "
	switch o {
	case InTolerance:
		j.ask("The windings are sound: show the inverter's output and the insulation to ground.")
		return j.end(o, SupportsNeutral, expected, meaning+"the windings are balanced, which does not exclude a seized or worn compressor")
	case OutOfTolerance:
		return j.end(o, SupportsYes, expected, meaning+"the windings are out of balance")
	}
	return j.end(o, SupportsNeutral, expected, meaning+uncertain)
}
