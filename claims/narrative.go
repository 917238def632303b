package claims

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kickplate/rules"
)

// Draft is complaint, cause and correction put into sentences from the entries. It says nothing that no entry says; what is
// missing is named instead. It is a proposal to edit: only the cause and correction entries that a person makes go into the account.
type Draft struct {
	Complaint  DraftText `json:"complaint"`
	Cause      DraftText `json:"cause"`
	Correction DraftText `json:"correction"`
	// Parts tell, for each part fitted, what stands behind it.
	Parts []PartSupport `json:"parts,omitempty"`
	// Missing are sentences about what the entries don't tell.
	Missing []string `json:"missing,omitempty"`
}

// DraftText is one text with the entries it leans on. Numbers in it are those of the account: photo no. 7 is Item.Number 7.
type DraftText struct {
	Text    string    `json:"text"`
	Entries []EntryID `json:"entries,omitempty"`
}

// PartSupport is what stands behind a part that was fitted.
type PartSupport struct {
	Part      EntryID `json:"part"`
	Number    int     `json:"number"`
	Component string  `json:"component"`
	// Causes, Readings and Photos are the entries about the same component: readings as found that support replacing it,
	// photos of the failed part, its label or the symptom.
	Causes   []EntryID `json:"causes,omitempty"`
	Readings []EntryID `json:"readings,omitempty"`
	Photos   []EntryID `json:"photos,omitempty"`
	// Against are readings as found that speak against replacing it.
	Against []EntryID `json:"against,omitempty"`
	// Supported is true when a cause and a reading or a photo stand behind it, and no reading speaks against it.
	Supported bool   `json:"supported"`
	Says      string `json:"says"`
}

// Draft drafts the narrative of a job.
func (s *Service) Draft(ctx context.Context, a Actor, job JobID) (Draft, error) {
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return Draft{}, err
	}
	var pack *rules.Pack
	if p, err := s.PackFor(j); err == nil {
		pack = p.Pack()
	}
	return DraftOf(&j, pack), nil
}

// DraftOf drafts the narrative. The pack lends its component models to readings that bring none; it may be nil.
func DraftOf(j *Job, pack *rules.Pack) Draft {
	d := drafter{j: j, verdicts: map[EntryID]verdict{}}
	for _, r := range j.Readings {
		switch v, ok, err := Judge(r.Body, pack); {
		case err != nil:
			d.verdicts[r.Entry] = verdict{supports: "neutral"} // what can't be judged supports nothing
		case ok:
			d.verdicts[r.Entry] = verdict{supports: string(v.Supports), says: v.Says}
		}
	}
	d.complaint()
	d.parts()
	d.cause()
	d.correction()
	return d.draft
}

type verdict struct{ supports, says string }

type drafter struct {
	j        *Job
	verdicts map[EntryID]verdict
	draft    Draft
}

func (d *drafter) missing(format string, args ...any) {
	d.draft.Missing = append(d.draft.Missing, fmt.Sprintf(format, args...))
}

func (t *DraftText) say(sentence string, by ...EntryID) {
	sentence = strings.TrimSpace(sentence)
	if sentence == "" {
		return
	}
	if !strings.ContainsAny(sentence[len(sentence)-1:], ".!?") {
		sentence += "."
	}
	if t.Text != "" {
		t.Text += " "
	}
	t.Text += sentence
	for _, id := range by {
		if id != "" && !slices.Contains(t.Entries, id) {
			t.Entries = append(t.Entries, id)
		}
	}
}

func (d *drafter) complaint() {
	if d.j.Open.Complaint == "" {
		d.missing("The complaint in the customer's words is not on record.")
		return
	}
	d.draft.Complaint.say(d.j.Open.Complaint, d.j.Said["open.complaint"])
	for _, p := range d.j.Photos {
		if p.Body.Subject == "symptom" {
			d.draft.Complaint.say(fmt.Sprintf("Seen on photo no. %d", p.Number)+captioned(p.Body.Caption), p.Entry)
		}
	}
}

func captioned(caption string) string {
	if caption == "" {
		return ""
	}
	return " (" + caption + ")"
}

// cause gives the causes in the technician's words, then the readings as found with their verdicts and the photos that show it.
func (d *drafter) cause() {
	t := &d.draft.Cause
	for _, c := range d.j.Causes {
		t.say(c.Body.Text, c.Entry)
	}
	if len(d.j.Causes) == 0 {
		d.missing("No cause is on record: say what was found to be at fault.")
	}
	for _, r := range d.j.Readings {
		if r.Body.Moment == "as-left" {
			continue
		}
		t.say(d.reading(r), r.Entry)
	}
	for _, p := range d.j.Photos {
		switch p.Body.Subject {
		case "failed-part", "part-label", "meter-display":
			t.say(fmt.Sprintf("Photo no. %d shows the %s%s", p.Number, subjectWords(p.Body), captioned(p.Body.Caption)), p.Entry)
		}
	}
}

func subjectWords(p Photo) string {
	s := spaced(p.Subject)
	if p.Component != "" {
		s += ", " + spaced(p.Component)
	}
	return s
}

// reading is one reading in words, with its verdict's sentence when there is one.
func (d *drafter) reading(r Item[Reading]) string {
	b := r.Body
	s := upper(strings.TrimSpace(spaced(b.Component) + " " + spaced(b.Quantity)))
	if b.State != "" {
		s += ": " + spaced(b.State)
	} else {
		s += ": " + b.Value + " " + b.Unit
	}
	if b.Moment != "" {
		s += ", " + spaced(b.Moment)
	}
	if b.Where != "" {
		s += ", " + b.Where
	}
	s += fmt.Sprintf(" (reading no. %d)", r.Number)
	if v, ok := d.verdicts[r.Entry]; ok && v.says != "" {
		s += ". " + v.says
	}
	return s
}

// correction gives the corrections in the technician's words, then the parts, refrigerant, and the readings and photos as left.
func (d *drafter) correction() {
	t := &d.draft.Correction
	for _, c := range d.j.Corrections {
		t.say(c.Body.Text, c.Entry)
	}
	if len(d.j.Corrections) == 0 {
		d.missing("No correction is on record: say what was done.")
	}
	for _, p := range d.j.Parts {
		s := upper(p.Body.Action) + " " + spaced(p.Body.Component)
		if p.Body.Number != "" {
			s += ", part " + p.Body.Number
		}
		if n := p.Body.Quantity; n > 1 {
			s += fmt.Sprintf(", %d pieces", n)
		}
		t.say(fmt.Sprintf("%s (part no. %d)", s, p.Number), p.Entry)
	}
	for _, r := range d.j.Refrigerants {
		t.say(fmt.Sprintf("%s %s g of %s (no. %d)", upper(spaced(r.Body.Action)), r.Body.Grams, r.Body.Type, r.Number), r.Entry)
	}
	proven := false
	for _, r := range d.j.Readings {
		if r.Body.Moment == "as-left" {
			t.say(d.reading(r), r.Entry)
			proven = true
		}
	}
	for _, p := range d.j.Photos {
		switch p.Body.Subject {
		case "fitted-part", "after-repair", "as-left-display":
			t.say(fmt.Sprintf("Photo no. %d shows the %s%s", p.Number, subjectWords(p.Body), captioned(p.Body.Caption)), p.Entry)
			proven = true
		}
	}
	if !proven {
		d.missing("Nothing shows the result: take a reading as left, or a photo after the repair.")
	}
}

// parts checks that each part fitted has a cause and a reading or a photo behind it.
func (d *drafter) parts() {
	for _, p := range d.j.Parts {
		if p.Body.Action == "removed" {
			continue
		}
		s := PartSupport{Part: p.Entry, Number: p.Number, Component: p.Body.Component}
		for _, c := range d.j.Causes {
			if c.Body.Component == s.Component {
				s.Causes = append(s.Causes, c.Entry)
			}
		}
		for _, r := range d.j.Readings {
			if r.Body.Component != s.Component || r.Body.Moment == "as-left" {
				continue
			}
			switch v, ok := d.verdicts[r.Entry]; {
			case !ok || v.supports == "yes":
				s.Readings = append(s.Readings, r.Entry)
			case v.supports == "no":
				s.Against = append(s.Against, r.Entry)
			}
		}
		s.Photos = photosOf(d.j, s.Component, "failed-part", "part-label", "symptom")
		for _, id := range p.Body.Photos {
			if !slices.Contains(s.Photos, id) && slices.ContainsFunc(d.j.Photos, func(ph Item[Photo]) bool { return ph.Entry == id }) {
				s.Photos = append(s.Photos, id)
			}
		}
		s.judge()
		d.draft.Parts = append(d.draft.Parts, s)
		if !s.Supported {
			d.missing("%s", s.Says)
		}
	}
}

func (s *PartSupport) judge() {
	var lacks []string
	if len(s.Causes) == 0 {
		lacks = append(lacks, "a cause that names it")
	}
	if len(s.Readings) == 0 && len(s.Photos) == 0 {
		lacks = append(lacks, "a reading or a photo that shows it")
	}
	part := fmt.Sprintf("Part no. %d (%s)", s.Number, spaced(s.Component))
	switch {
	case len(s.Against) > 0:
		s.Says = part + ": a reading as found speaks against replacing it. Measure again, or say what else showed it."
	case len(lacks) > 0:
		s.Says = part + " lacks " + listed(lacks) + "."
	default:
		s.Supported, s.Says = true, part+" has a cause and evidence behind it."
	}
}
