package readings

import "math"

const (
	bandFill  = "#cfe6d6"
	curveLine = "#23415f"
)

// sensorCurve draws ohms over °C on a logarithm, with the tolerance as a band.
func (d *drawing) sensorCurve(p Profile, v Value, c Conditions, verdict Verdict) {
	curve := p.Curve
	lo, hi := math.Max(curve.Min, -40), math.Min(curve.Max, 60)
	cel, known := 0.0, false
	if c.PartTemperature != nil {
		if t, err := c.PartTemperature.float("Cel"); err == nil {
			// Near the part's temperature the tolerance is wide enough to be seen.
			cel, known = t, true
			lo, hi = math.Max(curve.Min, t-12), math.Min(curve.Max, t+12)
		}
	}
	if hi <= lo {
		lo, hi = curve.Min, curve.Max
	}
	x := scale{lo: lo, hi: hi, from: plotLeft, to: plotRight}
	y := scale{lo: curve.ohm(hi) / 1.3, hi: curve.ohm(lo) * 1.3, from: plotBottom, to: plotTop, log: true}
	const steps = 40
	var line, band [][2]float64
	for i := range steps + 1 {
		t := lo + (hi-lo)*float64(i)/steps
		tol := curve.tolerance(t, p.TolerancePercent)
		line = append(line, [2]float64{x.at(t), y.at(curve.ohm(t))})
		band = append(band, [2]float64{x.at(t), y.at(curve.ohm(t) * (1 + tol))})
	}
	for i := steps; i >= 0; i-- {
		t := lo + (hi-lo)*float64(i)/steps
		tol := math.Min(curve.tolerance(t, p.TolerancePercent), 0.99)
		band = append(band, [2]float64{x.at(t), y.at(curve.ohm(t) * (1 - tol))})
	}
	d.path(band, true, `fill="`+bandFill+`"`)
	d.axes(x, y, "°C", "Ω")
	d.path(line, false, `fill="none" stroke="`+curveLine+`" stroke-width="2"`)
	ohm := y.hi
	switch {
	case v.closed():
		ohm = y.lo
	case v.State == "":
		ohm, _ = v.float("Ohm")
	}
	if known {
		d.line(x.at(cel), plotTop, x.at(cel), plotBottom, "#8a94a0", "1")
		d.mark(x.at(cel), y.at(ohm), verdict.Outcome)
		d.label(x.at(cel), y.at(ohm), v.String())
		return
	}
	d.line(plotLeft, y.at(ohm), plotRight, y.at(ohm), colour(verdict.Outcome), "2")
	d.label(plotLeft+60, y.at(ohm), v.String())
}

// label writes beside a mark, on the side with more room.
func (d *drawing) label(x, y float64, s string) {
	ly := math.Max(plotTop+12, math.Min(y-11, plotBottom-8))
	if x > (plotLeft+plotRight)/2 {
		d.text(x-10, ly, "end", s)
		return
	}
	d.text(x+10, ly, "start", s)
}

// saturationCurve draws the saturation line of the refrigerant in kPa absolute over °C.
func (d *drawing) saturationCurve(p Profile, v Value, c Conditions, verdict Verdict) error {
	f, err := fluidOf(p.Refrigerant)
	if err != nil {
		return err
	}
	x := scale{lo: -45, hi: 50, from: plotLeft, to: plotRight}
	y := scale{lo: f.pressure(-45, Dew), hi: f.pressure(50, Dew), from: plotBottom, to: plotTop, log: true}
	if p.Low != nil && p.High != nil {
		lo, err := convertFloat(Temperature, *p.Low, p.Unit, "Cel")
		if err != nil {
			return err
		}
		hi, err := convertFloat(Temperature, *p.High, p.Unit, "Cel")
		if err != nil {
			return err
		}
		if c.Side == "low" {
			d.rect(x.at(lo), x.at(hi), plotTop, plotBottom, bandFill)
		}
	}
	d.axes(x, y, "°C", "kPa absolute")
	var line [][2]float64
	for i := range 41 {
		t := -45 + 95*float64(i)/40
		line = append(line, [2]float64{x.at(t), y.at(f.pressure(t, Dew))})
	}
	d.path(line, false, `fill="none" stroke="`+curveLine+`" stroke-width="2"`)
	d.line(plotLeft, y.at(101.325), plotRight, y.at(101.325), "#8a94a0", "1")
	d.text(plotRight-2, y.at(101.325)-4, "end", "0 gauge at sea level")
	j := &judging{p: p, v: v, c: c}
	kPa, _, err := j.absolute(v)
	if err != nil { // a state: nothing to mark
		return nil
	}
	at := c.PartTemperature
	if c.Side == "high" {
		at = c.Ambient
	}
	if sat, err := SaturationTemperature(f.name, kPa, Dew); err == nil && c.Compressor == "running" {
		d.mark(x.at(sat), y.at(kPa), verdict.Outcome)
		d.label(x.at(sat), y.at(kPa), v.String())
		return nil
	}
	if at == nil {
		d.line(plotLeft, y.at(kPa), plotRight, y.at(kPa), colour(verdict.Outcome), "2")
		d.label(plotLeft+60, y.at(kPa), v.String())
		return nil
	}
	cel, err := at.float("Cel")
	if err != nil {
		return err
	}
	d.mark(x.at(cel), y.at(kPa), verdict.Outcome)
	d.label(x.at(cel), y.at(kPa), v.String())
	return nil
}

// bandBar draws limits, expected value and reading on one axis.
func (d *drawing) bandBar(v Value, verdict Verdict) {
	lo, hasLo := number(verdict.Low)
	hi, hasHi := number(verdict.High)
	read, hasRead := number(verdict.Read)
	exp, hasExp := number(verdict.Expected)
	from, to := math.Inf(1), math.Inf(-1)
	for _, x := range []struct {
		v  float64
		ok bool
	}{{lo, hasLo}, {hi, hasHi}, {exp, hasExp}, {read, hasRead}} {
		if x.ok {
			from, to = math.Min(from, x.v), math.Max(to, x.v)
		}
	}
	room := (to - from) * 0.35
	if room == 0 {
		room = math.Max(math.Abs(to)*0.5, 1)
	}
	x := scale{lo: from - room, hi: to + room, from: 24, to: 336}
	if from >= 0 && x.lo < 0 && v.Quantity != Temperature {
		x.lo = 0
	}
	const top, bottom = 96.0, 132.0
	d.rect(24, 336, top, bottom, "#eceff2")
	left, right := 24.0, 336.0
	if hasLo {
		left = x.at(lo)
	}
	if hasHi {
		right = x.at(hi)
	}
	d.rect(left, right, top, bottom, bandFill)
	for _, t := range ticks(x, 4) {
		d.line(x.at(t), bottom, x.at(t), bottom+5, "#1c2430", "1")
		d.text(math.Max(34, math.Min(x.at(t), 326)), bottom+20, "middle", short(t))
	}
	d.text(336, bottom+38, "end", verdict.Unit.Symbol())
	limit := func(at float64, s, anchor string, dx float64) {
		d.line(at, top-6, at, bottom, curveLine, "2")
		d.text(math.Max(24, math.Min(at+dx, 336)), top-10, anchor, s)
	}
	switch {
	case hasLo && hasHi && x.at(hi)-x.at(lo) < 60:
		limit(x.at(lo), short(lo), "end", 0)
		limit(x.at(hi), short(hi), "start", 0)
	default:
		if hasLo {
			limit(x.at(lo), short(lo), "middle", 0)
		}
		if hasHi {
			limit(x.at(hi), short(hi), "middle", 0)
		}
	}
	if hasExp {
		d.line(x.at(exp), top, x.at(exp), bottom, curveLine, "1")
	}
	mx := 336.0 // over range
	if v.closed() {
		mx = 24
	}
	if hasRead {
		mx = x.at(read)
	}
	y := (top + bottom) / 2
	if u, ok := number(verdict.Uncertainty); ok && hasRead {
		d.line(x.at(read-u), y, x.at(read+u), y, colour(verdict.Outcome), "3")
	}
	d.mark(mx, y, verdict.Outcome)
	anchor := "middle"
	if mx < 60 {
		anchor = "start"
	} else if mx > 300 {
		anchor = "end"
	}
	said := v.String()
	if hasRead && (verdict.Read != v.Value || verdict.Unit != v.Unit) {
		said = verdict.Read + " " + verdict.Unit.Symbol() // what was made of the reading
	}
	d.text(mx, top-30, anchor, "read "+said)
	d.line(mx, top-26, mx, y-9, "#8a94a0", "1")
}

// thermostatZones draws where the contact must be closed, may be either, and must be open.
func (d *drawing) thermostatZones(p Profile, v Value, c Conditions, verdict Verdict) error {
	opens, closes := *p.Opens, *p.Closes
	room := (opens-closes)*0.8 + p.Within
	from, to := closes-room, opens+room
	at, known := 0.0, false
	if c.PartTemperature != nil {
		t, err := c.PartTemperature.float(p.Unit)
		if err != nil {
			return err
		}
		at, known = t, true
		from, to = math.Min(from, t-room/4), math.Max(to, t+room/4)
	}
	x := scale{lo: from, hi: to, from: 24, to: 336}
	const top, bottom = 84.0, 140.0
	d.rect(24, x.at(closes), top, bottom, bandFill)
	d.rect(x.at(closes), x.at(opens), top, bottom, "#f1e7c8")
	d.rect(x.at(opens), 336, top, bottom, "#d7e0ee")
	d.text((24+x.at(closes))/2, bottom+34, "middle", "closed")
	d.text((x.at(closes)+x.at(opens))/2, bottom+34, "middle", "either")
	d.text((x.at(opens)+336)/2, bottom+34, "middle", "open")
	for _, t := range []float64{closes, opens} {
		d.line(x.at(t), top-4, x.at(t), bottom+4, curveLine, "2")
		d.text(x.at(t), bottom+18, "middle", short(t)+" "+p.Unit.Symbol())
	}
	if !known {
		d.text(180, top-14, "middle", "read "+v.String()+", temperature unknown")
		return nil
	}
	d.mark(x.at(at), (top+bottom)/2, verdict.Outcome)
	d.text(math.Max(90, math.Min(x.at(at), 270)), top-14, "middle", "read "+v.String()+" at "+c.PartTemperature.String())
	return nil
}

// contactBar draws ohms from a closed to an open contact, on a logarithm.
func (d *drawing) contactBar(v Value, verdict Verdict) {
	x := scale{lo: 0.1, hi: 1e6, from: 24, to: 336, log: true}
	const top, bottom = 96.0, 132.0
	isContact := verdict.Model == ThermalFuse || verdict.Model == Switch
	if !isContact {
		d.text(180, 110, "middle", "read "+v.String())
		d.mark(180, 134, verdict.Outcome)
		return
	}
	d.rect(24, x.at(closedBelow), top, bottom, bandFill)
	d.rect(x.at(closedBelow), x.at(openAbove), top, bottom, "#f1e7c8")
	d.rect(x.at(openAbove), 336, top, bottom, "#d7e0ee")
	d.text((24+x.at(closedBelow))/2, bottom+20, "middle", "closed")
	d.text((x.at(closedBelow)+x.at(openAbove))/2, bottom+20, "middle", "poor")
	d.text((x.at(openAbove)+336)/2, bottom+20, "middle", "open")
	mx := 330.0
	switch {
	case v.closed():
		mx = 40
	case v.State == "":
		if ohm, err := v.float("Ohm"); err == nil {
			mx = x.at(ohm)
		}
	}
	d.mark(mx, (top+bottom)/2, verdict.Outcome)
	d.text(math.Max(70, math.Min(mx, 290)), top-14, "middle", "read "+v.String())
}
