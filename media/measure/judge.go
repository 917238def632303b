package measure

// The verdicts of Judge.
const (
	Yes   = "yes"
	No    = "no"
	Doubt = "doubt"
)

// Measures are the numbers of one picture at WorkingSide.
type Measures struct {
	// Sharpness is LaplacianVariance.
	Sharpness float64
	// Edge is EdgeWidth in pixels; 0 when there are too few edges to tell.
	Edge float64
	// OneWay says that edges were found in one direction only: see EdgeWidth.
	OneWay bool
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
	m := Measures{Sharpness: LaplacianVariance(g), Small: max(g.W, g.H) < WorkingSide/2}
	m.DarkShare, m.BrightShare, m.Mean = Exposure(g)
	edge, both := EdgeWidth(g)
	m.Edge, m.OneWay = edge, edge > 0 && !both
	_, ok := Print(g)
	m.Flat = !ok
	return m
}

// The thresholds of Judge. They come from the tables in CALIBRATION.md.
const (
	sharpEdge   = 2.4 // Edge, pixels
	blurredEdge = 3.1
	darkMean    = 38 // Mean
	dimMean     = 55
	darkShare   = 0.65
	dimShare    = 0.40
	brightMean  = 240
	paleMean    = 215
	brightShare = 0.55
	paleShare   = 0.20
)

// Judge says whether the picture is sharp, too dark, too bright: Yes, No or Doubt. Doubt means that somebody should look.
// Blur in a picture with nothing in it, or in one too small to tell, is always Doubt; one with edges in one direction only is
// never called sharp.
func (m Measures) Judge() (sharp, dark, bright string) {
	sharp, dark, bright = Doubt, No, No
	switch {
	case m.Flat || m.Small || m.Edge == 0:
	case m.Edge <= sharpEdge && !m.OneWay:
		sharp = Yes
	case m.Edge > blurredEdge:
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
