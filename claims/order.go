package claims

import (
	"fmt"
	"strings"
	"time"
)

// Order says whether something came before the first work on the job, by the strongest clock that can tell.
//
// The clocks, strongest first: the server had it before the step (receipt); the device's own chained sequence (sequence), unless the step
// was noted down later and states its own time; corrected clocks that stand farther apart than they may be off (clocks, or stated
// when a person stated the step's time). Clocks that contradict each other make it conflicting; none that tells, cannot-tell. What no clock
// places against every entry of work is not before the first.
type Order struct {
	// Answer is before, after, cannot-tell or conflicting.
	Answer string `json:"answer"`
	By     string `json:"by,omitempty"`
	Says   string `json:"says"`
}

// The answers of Order.
const (
	Before     = "before"
	After      = "after"
	CannotTell = "cannot-tell"
)

// Work is an entry that tells of work on the unit.
type Work struct {
	Entry EntryID
	Kind  Kind
	What  string
	At    time.Time
	mark  mark
}

// mark is what is known about the moment of one entry.
type mark struct {
	device   string
	seq      uint64
	at       time.Time
	blur     time.Duration // how far at may be off; negative = nobody knows
	received time.Time
	stated   bool // at was stated by a person afterwards
	existed  bool // the entry shows only that the thing existed by then: it was chosen or sent along
	doubt    string
}

// unknownBlur marks a clock that was never measured.
const unknownBlur = -1

// leastApart is the least that two clocks must differ before they tell an order: EXIF and people write whole seconds.
const leastApart = time.Second

func markOf[B any](it *Item[B], stated string) mark {
	m := mark{device: it.Device, seq: it.Seq, at: corrected(it.At, it.Clock), blur: unknownBlur, received: it.Received}
	if it.Clock != nil {
		m.blur = it.Clock.uncertainty()
	}
	if t, err := time.Parse(time.RFC3339Nano, stated); stated != "" && err == nil {
		m.at, m.stated, m.blur = t, true, time.Minute
	}
	return m
}

// FirstWork is the entry by which before and after are told: the earliest start or end of work, part, or picture of the finished repair.
func (j *Job) FirstWork() (Work, bool) {
	if w := j.Works(); len(w) > 0 {
		return w[0], true
	}
	return Work{}, false
}

// Works lists the entries that tell of work, the earliest first; the others in no order.
func (j *Job) Works() []Work {
	var list []Work
	add := func(id EntryID, k Kind, what string, m mark) { list = append(list, Work{id, k, what, m.at, m}) }
	for i := range j.WorkStarts {
		add(j.WorkStarts[i].Entry, KindWorkStart, "work started", markOf(&j.WorkStarts[i], j.WorkStarts[i].Body.When))
	}
	for i := range j.WorkFinishes {
		add(j.WorkFinishes[i].Entry, KindWorkFinish, "work was finished", markOf(&j.WorkFinishes[i], j.WorkFinishes[i].Body.When))
	}
	for i := range j.Parts {
		add(j.Parts[i].Entry, KindPart, "a part was "+j.Parts[i].Body.Action, markOf(&j.Parts[i], ""))
	}
	for i := range j.Photos {
		if p := &j.Photos[i]; (p.Body.Subject == "after-repair" || p.Body.Subject == "fitted-part") && p.Body.From == "" && p.Body.Source != "gallery" && p.Body.Source != "file" {
			add(p.Entry, KindPhoto, "the repair was pictured", markOf(p, p.Body.Captured))
			last := &list[len(list)-1]
			last.mark.stated, last.mark.blur = false, unknownBlur
			if p.Clock != nil {
				last.mark.blur, last.mark.at = p.Clock.uncertainty(), corrected(last.mark.at, p.Clock)
				last.At = last.mark.at
			}
		}
	}
	for i := range list { // the earliest to the front; the others keep their place
		if list[i].At.Before(list[0].At) {
			list[0], list[i] = list[i], list[0]
		}
	}
	return list
}

// PhotoOrders says of every photo, in the order of Photos, whether it was taken before the first work.
func (j *Job) PhotoOrders(views []PhotoView) []Order {
	work := j.Works()
	out := make([]Order, len(j.Photos))
	for i := range j.Photos {
		out[i] = orderOf(photoMark(&j.Photos[i], views[i]), work)
	}
	return out
}

func photoMark(p *Item[Photo], v PhotoView) mark {
	m := markOf(p, "")
	m.at = v.Time.At
	switch {
	case p.Body.From != "" || p.Body.Source == "file":
		m.at, m.blur, m.existed = time.Time{}, unknownBlur, true
	case p.Body.Source == "gallery":
		m.blur, m.existed = unknownBlur, true
		if v.Time.Basis == Consistent { // the GPS clock agrees
			m.blur = sameMoment
		}
	}
	if v.Time.Basis == Conflicting {
		m.at, m.blur, m.doubt = time.Time{}, unknownBlur, v.Time.Says
	}
	return m
}

// ItemOrder says whether an entry was made before the first work.
func ItemOrder[B any](j *Job, it *Item[B]) Order { return orderOf(markOf(it, ""), j.Works()) }

func orderOf(m mark, work []Work) Order {
	if len(work) == 0 {
		return Order{Answer: CannotTell, Says: "No entry tells when work began."}
	}
	first := against(m, work[0])
	if first.Answer == After || first.Answer == Conflicting {
		return first
	}
	// It has to be before every other entry of work as well: one that no clock places may be the real first.
	var open *Order
	for _, w := range work[1:] {
		o := against(m, w)
		switch {
		case o.Answer == CannotTell:
			open = &o
		case o.Answer == Before:
		case first.Answer == Before:
			return Order{Answer: Conflicting, Says: first.Says + " But: " + o.Says}
		default: // whatever came first, this one did before it
			return o
		}
	}
	if first.Answer == Before && open != nil {
		return Order{Answer: CannotTell, Says: first.Says + " But: " + open.Says}
	}
	return first
}

// against tells the order of m and one work entry.
func against(m mark, w Work) Order {
	var told []Order
	add := func(answer, by, format string, args ...any) {
		told = append(told, Order{answer, by, fmt.Sprintf(format, args...)})
	}
	s := w.mark
	when := s.at.In(zoneOf(m.at, s.at)).Format("15:04:05")
	if s.stated {
		when += " as stated afterwards"
	}
	switch {
	case !m.received.IsZero() && s.blur >= 0 && m.received.Before(s.at.Add(-s.blur)):
		add(Before, "receipt", "The server had it %s before %s (%s).", span(s.at.Sub(m.received)), w.What, when)
	case !s.received.IsZero() && !m.existed && !m.at.IsZero() && m.blur >= 0 && s.received.Before(m.at.Add(-m.blur)):
		add(After, "receipt", "The server had the entry that %s before it was made.", w.What)
	}
	chained := m.device == s.device && m.seq > 0 && s.seq > 0
	if chained && !s.stated {
		if m.seq < s.seq {
			add(Before, "sequence", "One device made it as its entry %d and noted that %s as its entry %d; each carries the hash of the one before.", m.seq, w.What, s.seq)
		} else if m.seq > s.seq && !m.existed {
			add(After, "sequence", "One device made it as its entry %d, after its entry %d that %s.", m.seq, s.seq, w.What)
		}
	}
	if apart, may, ok := clocksApart(m, s); ok {
		by := "clocks"
		if s.stated {
			by = "stated"
		}
		answer := Before
		if apart < 0 {
			answer = After
		}
		// Within what still counts as one moment a sequence decides alone.
		if len(told) == 0 || told[0].Answer == answer || apart.Abs() > sameMoment {
			add(answer, by, "By the clocks it is from %s %s %s (%s); they may be off by %s.", span(apart), answer, w.What, when, span(may))
		}
	}
	out := Order{Answer: CannotTell, Says: "No clock tells whether it is from before " + w.What + "."}
	if len(told) > 0 {
		out = told[0]
		for _, o := range told[1:] {
			if o.Answer != out.Answer {
				says := []string{}
				for _, o := range told {
					says = append(says, o.Says)
				}
				return Order{Answer: Conflicting, Says: "The clocks contradict each other. " + strings.Join(says, " ")}
			}
		}
	}
	if m.doubt != "" {
		out.Says += " Its own clocks contradict each other: " + m.doubt
		if len(told) == 0 {
			out.Answer = Conflicting
		}
	}
	return out
}

// clocksApart is how long before s the moment m lies, and how far both may be off; ok is false when that is not more.
func clocksApart(m, s mark) (apart, may time.Duration, ok bool) {
	if m.at.IsZero() || s.at.IsZero() {
		return 0, 0, false
	}
	switch {
	case m.blur >= 0 && s.blur >= 0:
		may = m.blur + s.blur
	case m.device == s.device && !m.existed && !s.stated: // one clock, however wrong
	default:
		return 0, 0, false
	}
	may = max(may, leastApart)
	apart = s.at.Sub(m.at)
	return apart, may, apart.Abs() > may
}

// zoneOf is the zone to write a time in: that of the thing itself, where it has one.
func zoneOf(own, other time.Time) *time.Location {
	if own.IsZero() {
		return other.Location()
	}
	return own.Location()
}
