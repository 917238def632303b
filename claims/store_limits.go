package claims

import (
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"sort"
	"strings"
	"time"
)

// The bounds every store keeps to. They are far above what a job needs; they are there so that no input, however
// wrong, can make a store slow or large.
const (
	MaxStoreID     = 200     // bytes of a shop, job or entry id
	MaxStoreLine   = 8 << 20 // bytes of one record's line
	MaxStoreBatch  = 10_000  // records in one batch
	MaxStoreCard   = 4 << 20 // bytes of a card as JSON
	MaxStoreNote   = 8 << 20 // bytes of a note
	MaxNoteName    = 199     // bytes of a note's name
	MaxCardPage    = 200     // cards in one page
	MaxNearBits    = 10      // differing fingerprint bits that Near looks for
	MaxNearPhotos  = 1000    // photos Near returns
	defaultCards   = 50
	defaultNear    = 100
	cursorTimeSize = 12
)

// Check refuses a batch that no store can keep: ids missing or too long, records of another job, oversize lines,
// the same entry id twice (ErrTaken). It returns the card as it must be stored and indexed: a fresh copy, with Job and
// Entries set from the batch, in the form it has after being written as JSON (so text that is not UTF-8 is
// indexed as it will be read back), and those JSON bytes.
func (b Batch) Check() (Card, []byte, error) {
	if err := checkStoreID("job", string(b.Job)); err != nil {
		return Card{}, nil, err
	}
	if len(b.Records) > MaxStoreBatch {
		return Card{}, nil, Errorf(TooLarge, "%d entries at once; send at most %d", len(b.Records), MaxStoreBatch)
	}
	seen := make(map[EntryID]struct{}, len(b.Records))
	for i, r := range b.Records {
		where := fmt.Sprintf("records[%d]", i)
		if err := checkStoreID("entry", string(r.Entry)); err != nil {
			return Card{}, nil, err.At(where)
		}
		if r.Job != "" && r.Job != b.Job {
			return Card{}, nil, Errorf(Invalid, "the entry belongs to job %q, the batch to job %q", r.Job, b.Job).At(where)
		}
		if r.Seq > 0 {
			if err := checkStoreID("device", r.Device); err != nil {
				return Card{}, nil, err.At(where)
			}
		}
		if len(r.Line) > MaxStoreLine {
			return Card{}, nil, Errorf(TooLarge, "the entry has %d bytes; the most is %d", len(r.Line), MaxStoreLine).At(where)
		}
		if _, twice := seen[r.Entry]; twice {
			return Card{}, nil, fmt.Errorf("entry %q twice in one batch: %w", r.Entry, ErrTaken)
		}
		seen[r.Entry] = struct{}{}
	}
	card := b.Card
	card.Job, card.Entries = "", b.Was+Head(len(b.Records))
	raw, err := json.Marshal(card)
	if err != nil {
		return Card{}, nil, Errorf(Invalid, "the job's card cannot be written as JSON: %v", err)
	}
	if len(raw) > MaxStoreCard {
		return Card{}, nil, Errorf(TooLarge, "the job's card has %d bytes; the most is %d", len(raw), MaxStoreCard)
	}
	card, err = DecodeCard(b.Job, raw)
	return card, raw, err
}

// Check refuses an erasure that no store can keep, and returns the card as Batch.Check does.
func (e Erasure) Check() (Card, []byte, error) {
	for id, line := range e.Lines {
		if err := checkStoreID("entry", string(id)); err != nil {
			return Card{}, nil, err.At("lines")
		}
		if s, ok := ReadStub(line); !ok || len(line) > MaxStoreLine {
			return Card{}, nil, Errorf(Invalid, "What shall stand in the place of entry %q is not a stub.", clip(string(id))).At("lines")
		} else if s.ID != id || s.Job != e.Job {
			return Card{}, nil, Errorf(Invalid, "The stub for entry %q is that of another.", clip(string(id))).At("lines")
		}
	}
	return Batch{Job: e.Job, Was: e.Was, Card: e.Card}.Check()
}

// DecodeCard reads a card back from the JSON that Batch.Check made; the job's id comes from the key it was kept under.
func DecodeCard(job JobID, raw []byte) (Card, error) {
	var c Card
	if err := json.Unmarshal(raw, &c); err != nil {
		return Card{}, fmt.Errorf("read the card of job %q: %w", job, err)
	}
	c.Job = job
	return c, nil
}

// CheckShop refuses a shop id that no store can keep.
func CheckShop(shop ShopID) error {
	if err := checkStoreID("shop", string(shop)); err != nil {
		return err
	}
	return nil
}

func checkStoreID(what, id string) *Error {
	if id == "" || len(id) > MaxStoreID {
		return Errorf(Invalid, "the id of the %s has %d bytes; it needs 1 to %d", what, len(id), MaxStoreID)
	}
	return nil
}

// CheckNote refuses a note's name or value that no store can keep.
func CheckNote(name string, value []byte) error {
	if name == "" || len(name) > MaxNoteName {
		return Errorf(Invalid, "the name of the note has %d bytes; it needs 1 to %d", len(name), MaxNoteName)
	}
	if len(value) > MaxStoreNote {
		return Errorf(TooLarge, "the note %q has %d bytes; the most is %d", name, len(value), MaxStoreNote)
	}
	return nil
}

// CheckNear refuses a search that no store answers, and returns the limit to use: 0 means 100.
func CheckNear(bits, limit int) (int, error) {
	if bits < 0 || bits > MaxNearBits {
		return 0, Errorf(Invalid, "%d differing bits were asked for; 0 to %d are possible", bits, MaxNearBits)
	}
	if limit < 0 || limit > MaxNearPhotos {
		return 0, Errorf(Invalid, "%d photos were asked for; 1 to %d are possible", limit, MaxNearPhotos)
	}
	if limit == 0 {
		limit = defaultNear
	}
	return limit, nil
}

// CardOrder is one order that cards are listed in.
type CardOrder string

// The orders.
const (
	ByChanged CardOrder = "changed"
	ByOpened  CardOrder = "opened"
	ByDue     CardOrder = "due"
)

// CardOrders are all of them.
func CardOrders() []CardOrder { return []CardOrder{ByChanged, ByOpened, ByDue} }

// Key is where a card stands in the order: keys sort as bytes, ties go by job id. ok is false when the card is not
// in this order at all (no deadline).
func (o CardOrder) Key(c Card) (key []byte, ok bool) {
	var t time.Time
	newestFirst := true
	switch o {
	case ByChanged:
		t = c.Changed
	case ByOpened:
		t = c.Opened
	case ByDue:
		if c.Due.IsZero() {
			return nil, false
		}
		t, newestFirst = c.Due, false
	}
	key = make([]byte, cursorTimeSize, cursorTimeSize+len(c.Job))
	sec, nano := uint64(t.Unix())^(1<<63), uint32(t.Nanosecond())
	if newestFirst {
		sec, nano = ^sec, ^nano
	}
	binary.BigEndian.PutUint64(key, sec)
	binary.BigEndian.PutUint32(key[8:], nano)
	return append(key, c.Job...), true
}

// JobOf returns the job at the end of a key.
func (o CardOrder) JobOf(key []byte) JobID {
	if len(key) < cursorTimeSize {
		return ""
	}
	return JobID(key[cursorTimeSize:])
}

// Cursor is the text form of a key: where the next page begins, after this card.
func (o CardOrder) Cursor(key []byte) string {
	return string(o[0]) + base64.RawURLEncoding.EncodeToString(key)
}

// CardPlan is a CardQuery with its defaults filled in.
type CardPlan struct {
	Order CardOrder
	// After is the order key of the last card of the page before; nil on the first page.
	After []byte
	Limit int
	// Key and Value are empty when all keys will do.
	Key, Value string
	// Words are the distinct word beginnings, longest first.
	Words []string
}

// Plan checks the query and fills in its defaults.
func (q CardQuery) Plan() (CardPlan, error) {
	p := CardPlan{Order: ByChanged, Limit: q.Limit, Key: q.Key, Value: q.Value}
	if q.Order != "" {
		p.Order = CardOrder(q.Order)
	}
	switch p.Order {
	case ByChanged, ByOpened, ByDue:
	default:
		return CardPlan{}, Errorf(Invalid, "there is no order %q; use changed, due or opened", q.Order).At("order")
	}
	switch {
	case p.Limit == 0:
		p.Limit = defaultCards
	case p.Limit < 0 || p.Limit > MaxCardPage:
		return CardPlan{}, Errorf(Invalid, "a page has 1 to %d jobs, not %d", MaxCardPage, p.Limit).At("limit")
	}
	if p.Key == "" && p.Value != "" {
		return CardPlan{}, Errorf(Invalid, "a value to look for needs the name of its key").At("key")
	}
	if q.Cursor != "" {
		after, err := base64.RawURLEncoding.Strict().DecodeString(q.Cursor[1:])
		if err != nil || q.Cursor[0] != p.Order[0] || len(after) <= cursorTimeSize || len(after) > cursorTimeSize+MaxStoreID {
			return CardPlan{}, Errorf(Invalid, "this is not a place in this list; begin again with the first page").At("cursor")
		}
		p.After = after
	}
	seen := map[string]bool{"": true}
	for _, w := range q.Words {
		if !seen[w] {
			seen[w] = true
			p.Words = append(p.Words, w)
		}
	}
	if len(p.Words) > 20 {
		return CardPlan{}, Errorf(TooLarge, "%d words to look for; use at most 20", len(p.Words)).At("words")
	}
	sort.SliceStable(p.Words, func(i, j int) bool { return len(p.Words[i]) > len(p.Words[j]) })
	return p, nil
}

// HasKey reports whether the card has the exact index key.
func (c Card) HasKey(name, value string) bool {
	for _, v := range c.Keys[name] {
		if v == value {
			return true
		}
	}
	return false
}

// HasWord reports whether one of the card's words begins with the given one.
func (c Card) HasWord(beginning string) bool {
	for _, w := range c.Words {
		if strings.HasPrefix(w, beginning) {
			return true
		}
	}
	return false
}
