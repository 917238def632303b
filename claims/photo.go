package claims

// Photo reports a picture, clip or document whose bytes are kept under Digest.
type Photo struct {
	Digest Digest `json:"digest"`
	Bytes  int64  `json:"bytes"`
	// Name is the file's name on the device, for a person only; never a path on ours.
	Name string `json:"name,omitempty"`
	// Subject is what it is meant to show (see rules.Subjects); Component what it concerns.
	Subject   string `json:"subject"`
	Component string `json:"component,omitempty"`
	// Area is a place on the unit or in the room, for surroundings and damage.
	Area    string `json:"area,omitempty"`
	Caption string `json:"caption,omitempty"`
	// Source is camera (taken now, in or through the app; a sound recorded there too), gallery (chosen later) or file.
	Source string `json:"source,omitempty"`
	// Captured is the device's clock at capture (RFC 3339); the entry's own time when empty.
	Captured string `json:"captured,omitempty"`
	// Position is where the device was.
	Position *Position `json:"position,omitempty"`
	// PairedWith is the entry of the other half (wide/close, before/after); Pair is its kind.
	PairedWith EntryID `json:"pairedWith,omitempty"`
	Pair       string  `json:"pair,omitempty"`
	// From says who took it when it was not the shop (customer, payer, other).
	From string `json:"from,omitempty"`
}

func (b *Photo) validate() *Error {
	if !b.Digest.Valid() {
		return Errorf(Invalid, "Name the photo by the SHA-256 of its bytes, in 64 lower-case hexadecimal digits.").At("digest")
	}
	if b.Bytes <= 0 {
		return Errorf(Invalid, "Say how many bytes the photo has.").At("bytes")
	}
	if b.PairedWith != "" && !validUUID(string(b.PairedWith)) {
		return Errorf(Invalid, "Name the other photo of the pair by its entry id.").At("pairedWith")
	}
	return first(line("name", b.Name, false), word("subject", b.Subject, true), word("component", b.Component, false), line("area", b.Area, false),
		text("caption", b.Caption, false), oneOf("source", b.Source, "camera", "gallery", "file"), moment("captured", b.Captured),
		position("position", b.Position), oneOf("pair", b.Pair, "wide-close", "before-after"), word("from", b.From, false))
}

// Markup is a layer over a photo: arrows, rings and words, never burnt into the original.
type Markup struct {
	Photo EntryID `json:"photo"`
	Marks []Mark  `json:"marks"`
}

// Mark is one drawing; coordinates in thousandths of the upright picture's width and height.
type Mark struct {
	// Shape is arrow, ring or words.
	Shape string `json:"shape"`
	X1    int    `json:"x1"`
	Y1    int    `json:"y1"`
	X2    int    `json:"x2,omitempty"`
	Y2    int    `json:"y2,omitempty"`
	Text  string `json:"text,omitempty"`
}

func (b *Markup) validate() *Error {
	if len(b.Marks) == 0 || len(b.Marks) > 100 {
		return Errorf(Invalid, "A mark-up has 1 to 100 marks.").At("marks")
	}
	for _, m := range b.Marks {
		for _, v := range []int{m.X1, m.Y1, m.X2, m.Y2} {
			if v < 0 || v > 1000 {
				return Errorf(Invalid, "A mark lies within the picture: coordinates from 0 to 1000.").At("marks")
			}
		}
		if err := first(oneOf("marks", m.Shape, "arrow", "ring", "words"), required("marks", m.Shape), line("marks", m.Text, false)); err != nil {
			return err
		}
	}
	return one("photo", b.Photo)
}

// CodesRead are the bar and QR codes the server found in an original.
type CodesRead struct {
	Digest Digest `json:"digest"`
	Codes  []Code `json:"codes"`
}

// Likeness says that a photo of this job is the same as, or looks like, one of another job or an earlier one of this.
type Likeness struct {
	Photo  EntryID `json:"photo"`
	Digest Digest  `json:"digest"`
	// Other names where the other photo is.
	OtherJob    JobID  `json:"otherJob"`
	OtherDigest Digest `json:"otherDigest"`
	// Bits is the number of differing fingerprint bits; 0 with equal digests = the same bytes.
	Bits int `json:"bits"`
}
