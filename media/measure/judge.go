package measure

// The verdicts of Judge.
const (
	Yes   = "yes"
	No    = "no"
	Doubt = "doubt"
)

// Measures are the numbers of one picture at WorkingSide.
type Measures struct {
	// Sharpness is LaplacianVariance, Crispest the same of the crispest tiles.
	Sharpness, Crispest float64
	// DarkShare, BrightShare and Mean are those of Exposure.
	DarkShare, BrightShare, Mean float64
	// Small says that the picture had fewer than half of WorkingSide pixels along its longer side.
	Small bool
	// Flat says that there is next to nothing in the picture: see Print.
	Flat bool
}

// Measure takes the numbers of g, reduced to WorkingSide first.
func Measure(g Grey) Measures {
	g = g.Working()
	m := Measures{Sharpness: LaplacianVariance(g), Crispest: Crispest(g), Small: max(g.W, g.H) < WorkingSide/2}
	m.DarkShare, m.BrightShare, m.Mean = Exposure(g)
	_, ok := Print(g)
	m.Flat = !ok
	return m
}

// The thresholds of Judge. They come from the tables in CALIBRATION.md.
const (
	sharpAbove   = 250 // Crispest
	blurredBelow = 90
	darkMean     = 30 // Mean
	dimMean      = 55
	darkShare    = 0.65
	dimShare     = 0.40
	brightMean   = 232
	paleMean     = 215
	brightShare  = 0.45
	paleShare    = 0.20
)

// Judge says whether the picture is sharp, too dark, too bright: Yes, No or Doubt. Doubt means that somebody should look.
// Blur in a picture with nothing in it, or in one too small to tell, is always Doubt.
func (m Measures) Judge() (sharp, dark, bright string) {
	sharp, dark, bright = Doubt, No, No
	switch {
	case m.Flat || m.Small:
	case m.Crispest >= sharpAbove:
		sharp = Yes
	case m.Crispest < blurredBelow:
		sharp = No
	}
	switch {
	case m.Mean < darkMean || m.DarkShare > darkShare:
		dark = Yes
	case m.Mean < dimMean || m.DarkShare > dimShare:
		dark = Doubt
	}
	switch {
	case m.Mean > brightMean || m.BrightShare > brightShare:
		bright = Yes
	case m.Mean > paleMean || m.BrightShare > paleShare:
		bright = Doubt
	}
	return sharp, dark, bright
}
