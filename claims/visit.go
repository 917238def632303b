package claims

// Step marks a moment of the visit: arrive, work-start, work-finish.
type Step struct {
	// When is the moment if it differs from the entry's own time (noted down later), RFC 3339.
	When     string    `json:"when,omitempty"`
	Position *Position `json:"position,omitempty"`
	Says     string    `json:"says,omitempty"`
}

func (b *Step) validate() *Error {
	return first(moment("when", b.When), position("position", b.Position), text("says", b.Says, false))
}

// Leave ends a visit. With gaps left open it carries the reason.
type Leave struct {
	When     string    `json:"when,omitempty"`
	Position *Position `json:"position,omitempty"`
	// Gaps are the ids of the requirements that were still open on the phone; Reason says why they stay open.
	Gaps   []string `json:"gaps,omitempty"`
	Reason string   `json:"reason,omitempty"`
	// Return is true when another visit is needed.
	Return bool `json:"return,omitempty"`
}

func (b *Leave) validate() *Error {
	if len(b.Gaps) > 0 && b.Reason == "" {
		return Errorf(Invalid, "Say why you leave while something is still missing.").At("reason")
	}
	return first(moment("when", b.When), position("position", b.Position), list("gaps", b.Gaps, 500), text("reason", b.Reason, false))
}

// Labour is work time, or a flat-rate job.
type Labour struct {
	Minutes int    `json:"minutes,omitempty"`
	Flat    string `json:"flat,omitempty"`
	Says    string `json:"says,omitempty"`
	Amount  *Money `json:"amount,omitempty"`
}

func (b *Labour) validate() *Error {
	if b.Minutes == 0 && b.Flat == "" {
		return Errorf(Invalid, "Give the minutes worked, or the code of the flat-rate job.").At("minutes")
	}
	return first(count("minutes", b.Minutes, 100_000), line("flat", b.Flat, false), text("says", b.Says, false), money("amount", b.Amount))
}

// Trip is one journey to the site.
type Trip struct {
	// Distance is a decimal in Unit km or mi.
	Distance string `json:"distance,omitempty"`
	Unit     string `json:"unit,omitempty"`
	Zone     string `json:"zone,omitempty"`
	Amount   *Money `json:"amount,omitempty"`
}

func (b *Trip) validate() *Error {
	if (b.Distance == "") != (b.Unit == "") {
		return Errorf(Invalid, "A distance needs its unit, km or mi.").At("unit")
	}
	return first(decimal("distance", b.Distance, false), oneOf("unit", b.Unit, "km", "mi"), line("zone", b.Zone, false), money("amount", b.Amount))
}

// CautionShown records that a caution was on the screen before a step.
type CautionShown struct {
	Caution string `json:"caution"`
	Before  string `json:"before,omitempty"`
}

func (b *CautionShown) validate() *Error {
	return first(word("caution", b.Caution, true), line("before", b.Before, false))
}

// Acknowledge is a signature bound to what was shown, or the recorded reason why there is none.
type Acknowledge struct {
	// About is damage-on-arrival, work-done, estimate, ...
	About string `json:"about"`
	// Outcome is signed, declined or absent.
	Outcome string `json:"outcome"`
	Name    string `json:"name,omitempty"`
	Role    string `json:"role,omitempty"`
	Reason  string `json:"reason,omitempty"`
	// Shown are the entries on the screen; ShownDigests the originals, so that the signature is bound to their bytes.
	Shown        []EntryID `json:"shown,omitempty"`
	ShownDigests []Digest  `json:"shownDigests,omitempty"`
	// Statement is the sentence that was signed.
	Statement string `json:"statement,omitempty"`
	// Strokes are the pen's paths, each a list of x,y pairs in a box of 1000 units width.
	Strokes [][]int `json:"strokes,omitempty"`
}

func (b *Acknowledge) validate() *Error {
	if b.Outcome == "signed" && (b.Name == "" || len(b.Strokes) == 0) {
		return Errorf(Invalid, "A signature needs the name and the pen strokes.").At("name")
	}
	if (b.Outcome == "declined" || b.Outcome == "absent") && b.Reason == "" {
		return Errorf(Invalid, "Say why there is no signature.").At("reason")
	}
	if err := strokes("strokes", b.Strokes); err != nil {
		return err
	}
	for _, d := range b.ShownDigests {
		if !d.Valid() {
			return Errorf(Invalid, "Name the pictures shown by their SHA-256.").At("shownDigests")
		}
	}
	return first(word("about", b.About, true), oneOf("outcome", b.Outcome, "signed", "declined", "absent"), required("outcome", b.Outcome),
		line("name", b.Name, false), line("role", b.Role, false), text("reason", b.Reason, false), text("statement", b.Statement, false), ids("shown", b.Shown))
}

// Note is free text.
type Note struct {
	Text string `json:"text"`
	// Photos are the entries it speaks of.
	Photos []EntryID `json:"photos,omitempty"`
}

func (b *Note) validate() *Error { return first(text("text", b.Text, true), ids("photos", b.Photos)) }
