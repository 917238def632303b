package readings

import "math"

// fluid is a refrigerant's saturation line: p = pc · exp(Tc/T · Σ nᵢ·θ^tᵢ), θ = 1 - T/Tc,
// T in kelvin, p in kilopascal absolute. The coefficients are those of the ancillary equations
// in the public CoolProp fluid files (dev/fluids), fitted there to the equation of state that
// source names, within the error it names.
type fluid struct {
	name, class string
	source      string
	tc, pc      float64
	bubble, dew []term // one line for a pure refrigerant
}

type term struct{ n, t float64 }

// The lines are used from fluidMin to fluidMax °C, inside the range of every fit.
const (
	fluidMin = -60.0
	fluidMax = 65.0
)

// fluids is never written to.
var fluids = []fluid{
	{
		name: "R-134a", class: "A1", tc: 374.21, pc: 4059.28,
		source: "Tillner-Roth and Baehr 1994, ancillary equation of the CoolProp fluid file, within 0.0092 %",
		dew: []term{{0.4331478287291047, 0.845}, {-9.090302559074352, 0.99}, {2.1476074125217703, 1.14},
			{-1.557687007603464, 2.651}, {-3.5020328972698604, 4.507}, {14.958442337201044, 17.235}},
	},
	{
		name: "R-600a", class: "A3", tc: 407.817, pc: 3629.0,
		source: "Bücker and Wagner 2006, ancillary equation of the CoolProp fluid file, within 0.020 %",
		dew: []term{{-48.02915589537987, 1.082}, {43.34653680580028, 1.108}, {-1.4421317283854331, 1.463},
			{-3.1322275225078413, 4.045}, {5.203481182010376, 13.157}, {-6.173022897817098, 14.042}},
	},
	{
		name: "R-290", class: "A3", tc: 369.89, pc: 4251.2,
		source: "Lemmon, McLinden and Wagner 2009, ancillary equation of the CoolProp fluid file, within 0.016 %",
		dew: []term{{-23.998635747391152, 1.05}, {18.313017605233238, 1.084}, {-0.42240851966839504, 2.259},
			{-2.7378298813798962, 4.287}, {0.257888414168987, 7.66}, {-1.3113462226130785, 18.584}},
	},
	{
		name: "R-410A", class: "A1", tc: 344.494, pc: 4901.2,
		source: "Lemmon 2003 (pseudo-pure), ancillary equations of the CoolProp fluid file, within 0.0065 %",
		bubble: []term{{-7.393982466686463, 1.002}, {1.4712516902869381, 1.579}, {-0.10468488716031096, 2.313},
			{-2.612149622992068, 2.841}, {0.24139536090585145, 3.77}, {-2.688737604664642, 5.337}},
		dew: []term{{-8.81630527169583, 1.018}, {3.0101820364714076, 1.285}, {-1.0140011045291613, 1.862},
			{-3.736880461403412, 3.869}, {1.478360466811462, 5.725}, {-34.64742822281509, 10.878}},
	},
}

func fluidOf(name string) (*fluid, error) {
	for i := range fluids {
		if fluids[i].name == name {
			return &fluids[i], nil
		}
	}
	known := ""
	for i := range fluids {
		if i > 0 {
			known += ", "
		}
		known += fluids[i].name
	}
	return nil, fail(CodeUnknownFluid, "refrigerant", "there is no saturation data for the refrigerant %q; there is for %s", clip(name), known)
}

// Phase picks the end of a blend's boiling range; a pure refrigerant has one line for both.
type Phase string

// The phases.
const (
	Dew    Phase = "dew"    // the last liquid boils: superheat counts from here
	Bubble Phase = "bubble" // the first gas forms: subcooling counts from here
)

// SaturationPressure is in kPa absolute at so many °C. It refuses an unknown refrigerant and
// a temperature outside -60 to 65 °C.
func SaturationPressure(refrigerant string, cel float64, phase Phase) (float64, error) {
	f, err := fluidOf(refrigerant)
	if err != nil {
		return 0, err
	}
	if !(cel >= fluidMin && cel <= fluidMax) {
		return 0, fail(CodeOutsideRange, "temperature", "the saturation line of %s is used from %s to %s °C, not at %s °C", f.name, short(fluidMin), short(fluidMax), short(cel))
	}
	return f.pressure(cel, phase), nil
}

// SaturationTemperature is in °C at so many kPa absolute. It refuses what SaturationPressure refuses.
func SaturationTemperature(refrigerant string, kPa float64, phase Phase) (float64, error) {
	f, err := fluidOf(refrigerant)
	if err != nil {
		return 0, err
	}
	lo, hi := fluidMin, fluidMax
	if !(kPa >= f.pressure(lo, phase) && kPa <= f.pressure(hi, phase)) {
		return 0, fail(CodeOutsideRange, "pressure", "%s kPa absolute is outside the saturation line of %s as used here, %s to %s kPa", short(kPa), f.name, short(f.pressure(lo, phase)), short(f.pressure(hi, phase)))
	}
	for range 48 {
		mid := (lo + hi) / 2
		if f.pressure(mid, phase) < kPa {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}

func (f *fluid) pressure(cel float64, phase Phase) float64 {
	terms := f.dew
	if phase == Bubble && f.bubble != nil {
		terms = f.bubble
	}
	t := cel + zeroC
	theta := 1 - t/f.tc
	sum := 0.0
	for _, x := range terms {
		sum += x.n * math.Pow(theta, x.t)
	}
	return f.pc * math.Exp(f.tc/t*sum)
}
