package readings

// decidingReadings names the reading that decides for a component; ok is false for parts
// that no meter shows. All common practice, no source.
func decidingReadings(component string) (string, bool) {
	switch component {
	case "defrost-heater", "drain-heater", "bake-element", "broil-element", "surface-element", "dryer-element", "wash-heater":
		return "its resistance at its own terminals, disconnected.", true
	case "defrost-thermostat", "dryer-thermostat":
		return "its continuity, disconnected, with the temperature of its body below the closing point.", true
	case "defrost-fuse", "dryer-fuse":
		return "its continuity, disconnected.", true
	case "defrost-sensor", "compartment-sensor", "oven-sensor", "wash-sensor":
		return "its resistance, disconnected, at two known temperatures (ice bath and room).", true
	case "evaporator-fan", "condenser-fan":
		return "the voltage at its connector while commanded on, whether the blade is free and whether it turns.", true
	case "control-board":
		return "the voltage that it puts on the part while commanded on, and the continuity of the wiring between.", true
	case "compressor":
		return "its three winding resistances and its insulation to the shell, with the supply under load and the start device checked.", true
	case "start-device":
		return "its resistance cold, disconnected.", true
	case "run-capacitor":
		return "its capacitance, discharged and disconnected.", true
	case "sealed-system":
		return "the frost pattern of the coil, the running current or the pressures, and the temperatures over time.", true
	case "water-valve", "gas-valve":
		return "its coil's resistance, disconnected, and the voltage on it while commanded on.", true
	case "door-switch", "pressure-switch", "door-lock":
		return "its continuity, disconnected, in both positions.", true
	case "drain-pump", "circulation-pump", "drive-motor":
		return "its winding's resistance, disconnected, the voltage on it while commanded on, and whether it is blocked.", true
	case "igniter":
		return "its current while it glows, or its resistance disconnected.", true
	case "damper":
		return "its position when commanded, and the compartment sensor against the compartment's temperature.", true
	}
	return "", false
}

type conflictCheck struct {
	id   string
	find func(w *whole) (Conflict, bool)
}

// conflictChecks is the table of trade knowledge; it is never written to.
var conflictChecks = []conflictCheck{
	{"cold-coil-warm-sensor", func(w *whole) (Conflict, bool) {
		// A sensor on a coil follows it within a few kelvin; 8 K apart is more than any clamp loses.
		for i := range w.seen {
			coil := &w.seen[i]
			tc, ok := celsius(coil)
			if !ok || coil.Component != "evaporator-coil" || tc > -5 {
				continue
			}
			warm := w.found("defrost-sensor", func(o *Observed) bool { t, ok := celsius(o); return ok && t-tc > 8 && notOffCurve(o) })
			if len(warm) > 0 {
				return Conflict{
					Component: "defrost-sensor", Readings: join([]string{coil.ID}, warm),
					Says: "The coil is cold and its sensor reports it warm.",
					Ask:  "Check that the sensor sits on the coil, and read its resistance, disconnected, at two known temperatures.",
				}, true
			}
		}
		return Conflict{}, false
	}},
	{"fan-supplied-blade-unknown", func(w *whole) (Conflict, bool) {
		for _, fan := range []string{"evaporator-fan", "condenser-fan"} {
			ids := w.found(fan, func(o *Observed) bool {
				return anyVoltage(o) && o.Conditions.Command == "on" && o.Conditions.Rotation == "stopped" && o.Conditions.Blade == "" && supplied(o)
			})
			if len(ids) > 0 {
				return Conflict{
					Component: fan, Readings: ids,
					Says: "The " + inWords(fan) + " has its voltage and does not turn.",
					Ask:  "Say whether the blade turns freely by hand, unplugged: ice or a harness in the blade is not the motor's fault.",
				}, true
			}
		}
		return Conflict{}, false
	}},
	{"fan-on-ice", func(w *whole) (Conflict, bool) {
		ids := w.signs(SignBladeOnIce)
		if len(ids) == 0 || !w.wasReplaced("evaporator-fan") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "evaporator-fan", Readings: ids,
			Says: "The fan was replaced and its blade struck ice.",
			Ask:  "Show why the ice was there (drain, defrost) and that the fan failed with a free blade.",
		}, true
	}},
	{"heater-good-defrost-ends-early", func(w *whole) (Conflict, bool) {
		ids := w.signs(SignDefrostEndsEarly)
		good := w.found("defrost-heater", of(Resistance, InTolerance))
		if len(ids) == 0 || len(good) == 0 {
			return Conflict{}, false
		}
		return Conflict{
			Component: "defrost-thermostat", Readings: join(ids, good),
			Says: "The heater is good and the defrost ends early.",
			Ask:  "Read the defrost thermostat with the temperature of its body, or the defrost sensor at two known temperatures: one of them ends the defrost.",
		}, true
	}},
	{"heater-good-and-replaced-with-voltage-missing", func(w *whole) (Conflict, bool) {
		dead := join(w.found("control-board", func(o *Observed) bool { return anyVoltage(o) && o.Verdict != nil && o.Verdict.Supports == SupportsYes }))
		good := w.found("defrost-heater", of(Resistance, InTolerance))
		if len(dead) == 0 || len(good) == 0 || !w.wasReplaced("defrost-heater") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "defrost-heater", Readings: join(dead, good),
			Says: "The heater is good and gets no voltage in a forced defrost, and the heater was replaced.",
			Ask:  "Show the control and the wiring: a good heater without voltage did not fail.",
		}, true
	}},
	{"heater-good-supplied-and-cold", func(w *whole) (Conflict, bool) {
		good := w.found("defrost-heater", of(Resistance, InTolerance))
		cold := join(w.signs(SignHeaterCold), w.found("defrost-heater", func(o *Observed) bool {
			return (o.Value.Quantity == CurrentAC || o.Value.Quantity == Power) && o.Verdict != nil && o.Verdict.Supports == SupportsYes
		}))
		live := w.found("control-board", func(o *Observed) bool { return anyVoltage(o) && o.Verdict != nil && o.Verdict.Outcome == InTolerance })
		if len(good) == 0 || len(cold) == 0 || len(live) == 0 {
			return Conflict{}, false
		}
		return Conflict{
			Component: "defrost-heater", Readings: join(good, live, cold),
			Says: "The heater's resistance is right, the voltage is there, and it does not heat.",
			Ask:  "Check the connector between: read the voltage at the heater's own terminals under load.",
		}, true
	}},
	{"even-frost-sealed-system", func(w *whole) (Conflict, bool) {
		ids := w.signs(SignEvenFrost)
		if len(ids) == 0 || !w.wasReplaced("sealed-system", "compressor") {
			return Conflict{}, false
		}
		part := "sealed-system"
		if !w.wasReplaced(part) {
			part = "compressor"
		}
		return Conflict{
			Component: part, Readings: ids,
			Says: "Even frost over the whole coil speaks for a sealed system that works, and the " + inWords(part) + " was replaced.",
			Ask:  "Defrost fully, run the unit, and show the frost pattern, the running current and the temperatures over time.",
		}, true
	}},
	{"partial-frost-defrost-parts", func(w *whole) (Conflict, bool) {
		ids := w.signs(SignPartialFrost)
		if len(ids) == 0 || !w.wasReplaced("defrost-heater", "defrost-thermostat", "defrost-sensor", "defrost-fuse") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "sealed-system", Readings: ids,
			Says: "Frost on the first passes only speaks for a low charge or a restriction, and a defrost part was replaced.",
			Ask:  "Show the running current and the temperatures over time after a full defrost.",
		}, true
	}},
	{"all-defrost-parts-good", func(w *whole) (Conflict, bool) {
		ids := w.signs(SignEvenFrost)
		heater := w.found("defrost-heater", of(Resistance, InTolerance))
		stop := join(w.found("defrost-thermostat", of(Resistance, InTolerance)), w.found("defrost-sensor", of(Resistance, InTolerance)))
		live := w.found("control-board", func(o *Observed) bool { return anyVoltage(o) && o.Verdict != nil && o.Verdict.Outcome == InTolerance })
		if len(ids) == 0 || len(heater) == 0 || len(stop) == 0 || len(live) == 0 {
			return Conflict{}, false
		}
		air := w.signs(SignDoorAjar, SignGasketGap)
		says := "The coil is full of even frost and every defrost part is in tolerance."
		if len(air) > 0 {
			says = "The coil is full of even frost, every defrost part is in tolerance, and warm air came in at the door: often no covered defect."
		}
		return Conflict{
			Component: "gasket", Readings: join(ids, heater, stop, live, air), Says: says,
			Ask: "Show the door's closing, the gasket all round and the room's humidity.",
		}, true
	}},
	{"drain-with-frosted-coil", func(w *whole) (Conflict, bool) {
		drain := w.signs(SignDrainBlocked, SignFloorIce)
		frost := w.signs(SignEvenFrost)
		if len(drain) == 0 || len(frost) == 0 || w.wasReplaced("defrost-heater", "defrost-thermostat", "defrost-sensor", "defrost-fuse", "control-board") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "drain-trough", Readings: join(drain, frost),
			Says: "Ice lies below a coil that is full of frost: the defrost failed before the drain did.",
			Ask:  "Read the defrost heater, the thermostat or sensor, and the voltage in a forced defrost.",
		}, true
	}},
	{"sensor-good-items-freeze", func(w *whole) (Conflict, bool) {
		ids := w.signs(SignItemsFreeze, SignDamperIced)
		good := w.found("compartment-sensor", of(Resistance, InTolerance))
		if len(ids) == 0 || len(good) == 0 || !w.wasReplaced("compartment-sensor") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "damper", Readings: join(ids, good),
			Says: "Food freezes, the sensor follows its curve, and the sensor was replaced.",
			Ask:  "Show the damper's position when commanded closed.",
		}, true
	}},
	{"thermostat-open-while-warm", func(w *whole) (Conflict, bool) {
		ids := w.found("defrost-thermostat", func(o *Observed) bool {
			return o.Value.open() && o.Verdict != nil && o.Verdict.Outcome == CannotDecide
		})
		if len(ids) == 0 || !w.wasReplaced("defrost-thermostat") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "defrost-thermostat", Readings: ids,
			Says: "The thermostat was replaced because it was open, and it was read while it may be open.",
			Ask:  "Read it below its closing point, with the temperature of its body.",
		}, true
	}},
	{"windings-sound-start-device-not", func(w *whole) (Conflict, bool) {
		sound := w.found("compressor", of(Resistance, InTolerance))
		bad := w.found("start-device", supporting(SupportsYes))
		if len(sound) == 0 || len(bad) == 0 || !w.wasReplaced("compressor") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "compressor", Readings: join(sound, bad),
			Says: "The compressor's windings are sound, its start device is not, and the compressor was replaced.",
			Ask:  "Show that the compressor did not start with a good start device and the supply in its band.",
		}, true
	}},
	{"compressor-silent-untested", func(w *whole) (Conflict, bool) {
		silent := w.signs(SignCompressorSilent, SignNoFrost)
		if len(silent) == 0 || !w.wasReplaced("compressor") || len(w.found("start-device", func(o *Observed) bool { return o.Verdict != nil && o.Verdict.Outcome != CannotDecide })) > 0 {
			return Conflict{}, false
		}
		return Conflict{
			Component: "start-device", Readings: silent,
			Says: "The compressor did not run and was replaced, and its start device was not judged.",
			Ask:  "Read the start device cold, and the supply under load.",
		}, true
	}},
	{"supply-weakens-load", func(w *whole) (Conflict, bool) {
		low := w.found("supply", func(o *Observed) bool {
			return o.Value.Quantity == VoltageAC && o.Verdict != nil && o.Verdict.Outcome == OutOfTolerance
		})
		if len(low) == 0 {
			return Conflict{}, false
		}
		for i := range w.seen {
			o := &w.seen[i]
			if o.Component == "supply" || o.Sign != "" || o.Conditions.Moment == "as-left" || o.Verdict == nil || o.Verdict.Outcome != OutOfTolerance {
				continue
			}
			switch o.Value.Quantity {
			case VoltageAC, VoltageDC, CurrentAC, CurrentDC, Power, Temperature, RotationSpeed, Frequency:
				return Conflict{
					Component: o.Component, Readings: join(low, []string{o.ID}),
					Says: "The supply was out of its band while the " + inWords(o.Component) + " was judged under it.",
					Ask:  "Read the " + inWords(o.Component) + " again with the supply in its band.",
				}, true
			}
		}
		return Conflict{}, false
	}},
	{"vent-restricted-element-good", func(w *whole) (Conflict, bool) {
		vent := join(w.signs(SignVentRestricted), w.found("dryer-vent", func(o *Observed) bool { return o.Verdict != nil && o.Verdict.Outcome == OutOfTolerance }))
		if len(vent) == 0 || !w.wasReplaced("dryer-element", "dryer-fuse", "dryer-thermostat") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "dryer-vent", Readings: vent,
			Says: "The vent is restricted, which overheats the dryer and is often no covered cause.",
			Ask:  "Show the vent cleared and the back-pressure or the airflow after it.",
		}, true
	}},
	{"pump-blocked", func(w *whole) (Conflict, bool) {
		block := w.signs(SignBlockageFound)
		if len(block) == 0 || !w.wasReplaced("drain-pump") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "drain-pump", Readings: block,
			Says: "A blockage was found and the drain pump was replaced.",
			Ask:  "Read the pump's winding and show that it does not run when the blockage is out.",
		}, true
	}},
	{"valve-without-pressure", func(w *whole) (Conflict, bool) {
		dry := w.signs(SignNotFilling)
		low := w.found("water-line", func(o *Observed) bool { return o.Verdict != nil && o.Verdict.Outcome == OutOfTolerance })
		if len(low) == 0 || !w.wasReplaced("water-valve") {
			return Conflict{}, false
		}
		return Conflict{
			Component: "water-valve", Readings: join(dry, low),
			Says: "The water pressure is out of its range, and the water valve was replaced.",
			Ask:  "Read the pressure again with the supply valve fully open, and the valve's coil.",
		}, true
	}},
}

// supplied reports whether a voltage reaches the low limit of its verdict or, without one,
// what a mains or a 12 V fan runs on (100 V and 8 V, common practice).
func supplied(o *Observed) bool {
	if o.Verdict != nil {
		read, ok := number(o.Verdict.Read)
		low, hasLow := number(o.Verdict.Low)
		if ok && hasLow {
			return read >= low
		}
	}
	if o.Value.State != "" {
		return false
	}
	volts, err := o.Value.float("V")
	if o.Value.Quantity == VoltageDC {
		return err == nil && volts >= 8
	}
	return err == nil && volts >= 100
}

// notOffCurve leaves out a sensor that was judged at a known temperature and found off its
// curve: then the sensor is explained and nothing conflicts.
func notOffCurve(o *Observed) bool { return o.Verdict == nil || o.Verdict.Outcome != OutOfTolerance }
