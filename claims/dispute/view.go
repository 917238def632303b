package dispute

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// View is what a job's entries say about its allegations.
type View struct {
	Allegations []Allegation     `json:"allegations"`
	Condition   []Condition      `json:"condition"`
	Proof       []ShotProof      `json:"proof"`
	Exhibits    []Exhibit        `json:"exhibits"`
	Timeline    []Event          `json:"timeline"`
	Work        Work             `json:"work"`
	Settlement  []SettlementStep `json:"settlement"`
}

// Work is the entry by which before and after are told.
type Work struct {
	Entry claims.EntryID `json:"entry,omitempty"`
	At    time.Time      `json:"at,omitzero"`
	Kind  claims.Kind    `json:"kind,omitempty"`
	Says  string         `json:"says"`
}

// ShotProof says of one picture of the shop whether it was taken before the first work.
type ShotProof struct {
	Entry  claims.EntryID `json:"entry"`
	Number int            `json:"number"`
	Digest claims.Digest  `json:"digest"`
	Title  string         `json:"title"`
	Area   string         `json:"area,omitempty"`
	Order  claims.Order   `json:"order"`
}

// Exhibit is one picture or paper under the number that a dispute file gives it.
type Exhibit struct {
	No     int            `json:"no"`
	Entry  claims.EntryID `json:"entry"`
	Digest claims.Digest  `json:"digest,omitempty"`
	Title  string         `json:"title"`
}

// reader holds a job with what is worked out once.
type reader struct {
	j      *claims.Job
	views  []claims.PhotoView
	orders []claims.Order
	photo  map[claims.EntryID]int // index into j.Photos
}

func read(j *claims.Job) *reader {
	r := &reader{j: j, views: j.PhotoViews(), photo: map[claims.EntryID]int{}}
	r.orders = j.PhotoOrders(r.views)
	for i := range j.Photos {
		r.photo[j.Photos[i].Entry] = i
	}
	return r
}

// Of draws up the view of a job. It is pure, and total on every job.
func Of(j *claims.Job) View {
	r := read(j)
	v := View{Allegations: []Allegation{}, Condition: r.condition(), Proof: []ShotProof{}, Exhibits: r.exhibits(), Timeline: r.timeline(),
		Work: r.work(), Settlement: settlement(j)}
	for i := range j.Allegations {
		v.Allegations = append(v.Allegations, r.allegation(&j.Allegations[i]))
	}
	for i := range j.Photos {
		if p := &j.Photos[i]; p.Body.From == "" {
			v.Proof = append(v.Proof, ShotProof{Entry: p.Entry, Number: p.Number, Digest: p.Body.Digest, Title: photoTitle(&p.Body), Area: p.Body.Area, Order: r.orders[i]})
		}
	}
	return v
}

func (r *reader) work() Work {
	w, ok := r.j.FirstWork()
	if !ok {
		return Work{Says: "No entry tells when work began, so before and after can't be told."}
	}
	out := Work{Entry: w.Entry, At: w.At, Kind: w.Kind, Says: "Before and after are told by the first entry of work: " + w.What + " at " + clock(w.At) + "."}
	if w.Kind != claims.KindWorkStart {
		out.Says += " No start of work is on record before it."
	}
	return out
}

// clock writes a moment for a person, in its own zone.
func clock(t time.Time) string { return t.Format("2006-01-02 15:04:05 -07:00") }

// fair is a device's time as the server's clock would have shown it.
func fair[B any](it *claims.Item[B]) time.Time {
	if it.Clock == nil {
		return it.At
	}
	return it.At.Add(-time.Duration(it.Clock.OffsetMs) * time.Millisecond)
}

// stated is the moment of a step: as stated, else by the corrected clock.
func stated[B any](it *claims.Item[B], when string) time.Time {
	if t, err := time.Parse(time.RFC3339Nano, when); when != "" && err == nil {
		return t
	}
	return fair(it)
}

// taken is the best supported moment of a picture; the entry's own corrected time when nothing says more.
func (r *reader) taken(i int) time.Time {
	if at := r.views[i].Time.At; !at.IsZero() {
		return at
	}
	return fair(&r.j.Photos[i])
}

func photoTitle(p *claims.Photo) string {
	parts := []string{titleOf(rules.Subjects(), p.Subject)}
	if p.Component != "" {
		parts = append(parts, componentTitle(p.Component))
	}
	if p.Area != "" {
		parts = append(parts, areaTitle(p.Area))
	}
	return strings.Join(slices.Compact(parts), ", ")
}

// exhibits numbers pictures and papers: those of the shop and of the other side in the order of time; papers with personal data last, so that
// their being chosen or not changes no other number.
func (r *reader) exhibits() []Exhibit {
	idx := make([]int, len(r.j.Photos))
	for i := range idx {
		idx[i] = i
	}
	slices.SortStableFunc(idx, func(a, b int) int {
		return cmp.Or(cmp.Compare(late(&r.j.Photos[a].Body), late(&r.j.Photos[b].Body)), r.taken(a).Compare(r.taken(b)), cmp.Compare(r.j.Photos[a].Number, r.j.Photos[b].Number))
	})
	out := []Exhibit{}
	for n, i := range idx {
		p := &r.j.Photos[i]
		title := photoTitle(&p.Body)
		if p.Body.From != "" {
			title += ", received from: " + p.Body.From
		}
		out = append(out, Exhibit{No: n + 1, Entry: p.Entry, Digest: p.Body.Digest, Title: title})
	}
	return out
}

// late sorts papers with personal data behind the pictures.
func late(p *claims.Photo) int {
	if personal(p) {
		return 1
	}
	return 0
}

// personal reports whether a picture is a paper with data of the customer that a dispute about damage does not need. What the other side
// sent along is theirs to show.
func personal(p *claims.Photo) bool {
	return p.From == "" && (p.Subject == "proof-of-purchase" || p.Subject == "customer-document")
}
