package claims

import (
	"slices"
	"strconv"
)

// Allege records that somebody says the shop did damage. What is sent along (letters, pictures) are photo entries with from set to
// whoever sent it: received, neither trusted nor doubted.
type Allege struct {
	// Area is a place on the unit or in the room: one of the areas of the vocabulary, or words.
	Area string `json:"area"`
	Kind string `json:"kind,omitempty"`
	// Words are theirs; By who says so; How it reached the shop; Came when it did; Since when it is said to be so.
	Words   string `json:"words"`
	By      string `json:"by,omitempty"`
	How     string `json:"how,omitempty"`
	Came    string `json:"came,omitempty"`
	Since   string `json:"since,omitempty"`
	Amount  *Money `json:"amount,omitempty"`
	Wants   string `json:"wants,omitempty"` // money, repair, replacement, an answer ...
	ReplyBy string `json:"replyBy,omitempty"`
	// Photos are what was sent along. Evidence names entries of the shop that show the place, where the words of the areas do not tell.
	Photos   []EntryID `json:"photos,omitempty"`
	Evidence []EntryID `json:"evidence,omitempty"`
	// X and Y pick the place on the drawn view named by View, in thousandths.
	View string `json:"view,omitempty"`
	X    int    `json:"x,omitempty"`
	Y    int    `json:"y,omitempty"`
}

func (b *Allege) validate() *Error {
	return first(line("area", b.Area, true), word("kind", b.Kind, false), text("words", b.Words, true), line("by", b.By, false), line("how", b.How, false),
		when("came", b.Came), when("since", b.Since), money("amount", b.Amount), word("wants", b.Wants, false), date("replyBy", b.ReplyBy),
		ids("photos", b.Photos), ids("evidence", b.Evidence), word("view", b.View, false), count("x", b.X, 1000), count("y", b.Y, 1000))
}

// Statement is what somebody says about an allegation, in their own words.
type Statement struct {
	// About is the allegation; empty = the job as a whole.
	About EntryID `json:"about,omitempty"`
	// From is customer, technician, witness, payer, insurer or other; Name the person.
	From string `json:"from"`
	Name string `json:"name,omitempty"`
	Text string `json:"text"`
	// How it reached the shop; On the day or moment it was made, when that is not the entry's own.
	How    string    `json:"how,omitempty"`
	On     string    `json:"on,omitempty"`
	Photos []EntryID `json:"photos,omitempty"`
}

func (b *Statement) validate() *Error {
	return first(maybe("about", b.About), word("from", b.From, true), line("name", b.Name, false), text("text", b.Text, true), line("how", b.How, false),
		when("on", b.On), ids("photos", b.Photos))
}

// Respond records the letter that answers allegations. Whether it was sent, and how, is in Sent.
type Respond struct {
	Allegations []EntryID `json:"allegations"`
	Letter      string    `json:"letter"`
	// Leans are the entries the letter leans on.
	Leans []EntryID `json:"leans,omitempty"`
	// Sent says how it went out; empty = it was written and packed, not sent.
	Sent string `json:"sent,omitempty"`
}

func (b *Respond) validate() *Error {
	return first(atLeastOne("allegations", b.Allegations), text("letter", b.Letter, true), ids("leans", b.Leans), line("sent", b.Sent, false))
}

// DisputeEnd closes allegations.
type DisputeEnd struct {
	Allegations []EntryID `json:"allegations"`
	// Outcome is agreed, withdrawn, refused, decided or lapsed.
	Outcome string `json:"outcome"`
	Reason  string `json:"reason,omitempty"`
}

func (b *DisputeEnd) validate() *Error {
	return first(atLeastOne("allegations", b.Allegations), required("outcome", b.Outcome), oneOf("outcome", b.Outcome, "agreed", "withdrawn", "refused", "decided", "lapsed"),
		text("reason", b.Reason, false))
}

// atLeastOne is a list of at least one entry.
func atLeastOne(field string, list []EntryID) *Error {
	if len(list) == 0 {
		return Errorf(Invalid, "Name at least one entry here.").At(field)
	}
	return ids(field, list)
}

// AllegationState is where one allegation stands.
type AllegationState struct {
	// Word is open, answered, offered, agreed, or the outcome under which it was closed.
	Word  string
	Ended bool
	// Answered is true once a letter was written or an offer was made by the shop.
	Answered bool
}

// StateOf tells where an allegation stands, by the entries that name it.
func (j *Job) StateOf(allegation EntryID) AllegationState {
	s := AllegationState{Word: "open"}
	for _, r := range j.Responses {
		if slices.Contains(r.Body.Allegations, allegation) {
			s.Word, s.Answered = "answered", true
		}
	}
	for _, o := range j.Offers {
		if !slices.Contains(o.Body.Allegations, allegation) {
			continue
		}
		s.Word, s.Answered = "offered", s.Answered || o.Body.From != "customer"
		for _, a := range j.OfferAnswers {
			if a.Body.Offer != o.Entry {
				continue
			}
			switch a.Body.Outcome {
			case "accepted":
				s.Word, s.Answered = "agreed", true
			case "declined":
				s.Word = "answered"
			}
		}
	}
	for _, e := range j.DisputeEnds {
		if slices.Contains(e.Body.Allegations, allegation) {
			s.Word, s.Ended = e.Body.Outcome, true
		}
	}
	return s
}

// disputed reports whether an allegation is still open.
func (j *Job) disputed() bool {
	return slices.ContainsFunc(j.Allegations, func(a Item[Allege]) bool { return !j.StateOf(a.Entry).Ended })
}

// disputeDeadlines are the last days that open allegations bring: the answer to the customer, the answer to an offer, the insurer's question.
func (j *Job) disputeDeadlines() []Deadline {
	var list []Deadline
	add := func(code, what, on string, entry EntryID) {
		day, ok := ParseDay(on)
		if !ok {
			return
		}
		n := 1
		for _, d := range list {
			if d.What == what {
				n++
			}
		}
		if n > 1 {
			code += "-" + strconv.Itoa(n) // one deadline each, told apart in a calendar
		}
		list = append(list, Deadline{Code: code, What: what, Day: day, Says: "the day was named", Entries: some(entry)})
	}
	open := func(ids []EntryID) bool {
		return len(ids) == 0 && j.disputed() || slices.ContainsFunc(ids, func(id EntryID) bool {
			return !j.StateOf(id).Ended && slices.ContainsFunc(j.Allegations, func(a Item[Allege]) bool { return a.Entry == id })
		})
	}
	for _, a := range j.Allegations {
		if s := j.StateOf(a.Entry); !s.Ended && !s.Answered {
			add("answer-customer", "answer the customer", a.Body.ReplyBy, a.Entry)
		}
	}
	for _, o := range j.Offers {
		answered := slices.ContainsFunc(j.OfferAnswers, func(a Item[OfferAnswer]) bool { return a.Body.Offer == o.Entry })
		if answered || !open(o.Body.Allegations) {
			continue
		}
		if o.Body.From == "shop" {
			add("offer", "the customer answers the offer", o.Body.AnswerBy, o.Entry)
		} else {
			add("answer-offer", "answer the offer", o.Body.AnswerBy, o.Entry)
		}
	}
	for i, n := range j.InsurerNotices {
		if i == len(j.InsurerNotices)-1 && open(n.Body.Allegations) {
			add("insurer", "answer the insurer", n.Body.ReplyBy, n.Entry)
		}
	}
	return list
}
