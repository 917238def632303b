package claims

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"
)

// EntryID names an entry: a UUIDv7 made by the device that made the entry, so that sending twice is harmless.
type EntryID string

// Kind says what an entry reports. Known kinds are in kinds.go; an unknown kind is kept and shown, never lost.
type Kind string

// Limits on one entry. MaxEntry bounds memory per request together with the batch size.
const (
	MaxEntry   = 64 << 10 // bytes of one entry
	MaxBatch   = 200      // entries in one append
	MaxText    = 8000     // characters of a free text
	maxName    = 200      // characters of a name, a number, a label
	firstYear  = 2000
	afterYears = 2100
)

// Entry is one thing that happened on a job, as the device that saw it wrote it down. It is only ever appended.
type Entry struct {
	ID   EntryID `json:"id"`
	Shop ShopID  `json:"shop"`
	Job  JobID   `json:"job"`
	Kind Kind    `json:"kind"`
	// At is the device's clock when the entry was made, with its zone offset.
	At time.Time `json:"at"`
	// By is the person; Device the phone or desk (the server writes "server").
	By     string `json:"by"`
	Device string `json:"device"`
	// Seq counts a device's entries from 1; Prev is the SHA-256 of the exact bytes of the entry before. Together they
	// fix the order of a device's entries before there is signal. 0 and "" for entries made by the server.
	Seq  uint64 `json:"seq,omitempty"`
	Prev Digest `json:"prev,omitempty"`
	// Clock is what the device knew about its own clock.
	Clock *Clock `json:"clock,omitempty"`
	// Supersedes is the entry that this one corrects; same kind. Why is the reason, required with it.
	Supersedes EntryID         `json:"supersedes,omitempty"`
	Why        string          `json:"why,omitempty"`
	Body       json.RawMessage `json:"body"`
}

// Clock tells how far a device's clock can be trusted.
type Clock struct {
	// OffsetMs is device time minus server time when last measured, in milliseconds; UncertaintyMs half the round trip.
	OffsetMs      int64 `json:"offsetMs"`
	UncertaintyMs int64 `json:"uncertaintyMs"`
	// MonoMs is the device's monotonic clock, in milliseconds since the app's start named by Boot.
	MonoMs int64  `json:"monoMs,omitempty"`
	Boot   string `json:"boot,omitempty"`
}

// Kept is an entry together with the exact bytes it came in and when the server took it; Received is zero on a phone
// that has not sent it yet.
type Kept struct {
	Entry
	Raw      []byte    `json:"-"`
	Received time.Time `json:"received,omitzero"`
	Leaf     uint64    `json:"leaf,omitempty"`
	// Erased is the entry by which this one was erased: Raw and Body are gone then.
	Erased EntryID `json:"-"`

	hash Digest // of the bytes that were erased
}

// ParseEntry reads one entry strictly: one compact JSON object, valid UTF-8, known fields only, no field twice, all
// required fields there and possible. It validates the body of every known kind; an unknown kind needs only an
// object for a body. The error is an *Error whose Where names the field.
func ParseEntry(raw []byte) (Entry, error) {
	var e Entry
	if len(raw) > MaxEntry {
		return e, Errorf(TooLarge, "An entry has at most %d bytes; this one has %d. Put long texts and pictures into photos or documents.", MaxEntry, len(raw))
	}
	if err := compactJSON(raw); err != nil {
		return e, err
	}
	if err := strict(raw, &e); err != nil {
		return e, err
	}
	if err := e.validate(); err != nil {
		return e, err
	}
	return e, nil
}

func (e *Entry) validate() error {
	switch {
	case !validUUID(string(e.ID)):
		return Errorf(Invalid, "The entry's id must be a UUID in lower case, such as 0190b2c0-…; this is %q.", clip(string(e.ID))).At("id")
	case !ValidShop(e.Shop):
		return Errorf(Invalid, "The shop's name must be 1 to 40 lower-case letters, digits and dashes; this is %q.", clip(string(e.Shop))).At("shop")
	case !validUUID(string(e.Job)):
		return Errorf(Invalid, "The job must be a UUID in lower case; this is %q.", clip(string(e.Job))).At("job")
	case !kebab(string(e.Kind)):
		return Errorf(Invalid, "The kind must be 1 to 40 lower-case letters, digits and dashes; this is %q.", clip(string(e.Kind))).At("kind")
	case e.At.IsZero() || e.At.Year() < firstYear || e.At.Year() >= afterYears:
		return Errorf(Invalid, "The time must lie between the years %d and %d; this is %q. Check the clock of the phone.", firstYear, afterYears-1, e.At.Format(time.RFC3339)).At("at")
	case e.By == "" || !oneLine(e.By, maxName):
		return Errorf(Invalid, "Say who made the entry, in at most %d characters on one line.", maxName).At("by")
	case e.Device == "" || !oneLine(e.Device, maxName):
		return Errorf(Invalid, "Say on which device the entry was made, in at most %d characters on one line.", maxName).At("device")
	case e.Prev != "" && !e.Prev.Valid():
		return Errorf(Invalid, "The hash of the previous entry must be a SHA-256 in lower-case hexadecimal.").At("prev")
	case e.Seq > 1 && e.Prev == "":
		return Errorf(Invalid, "Entry number %d of a device must carry the hash of the one before.", e.Seq).At("prev")
	case e.Supersedes != "" && !validUUID(string(e.Supersedes)):
		return Errorf(Invalid, "The entry to correct must be named by its id.").At("supersedes")
	case e.Supersedes != "" && strings.TrimSpace(e.Why) == "":
		return Errorf(Invalid, "A correction says why: give the reason in a few words.").At("why")
	case e.Supersedes == e.ID:
		return Errorf(Invalid, "An entry can't correct itself.").At("supersedes")
	case utf8.RuneCountInString(e.Why) > MaxText:
		return Errorf(TooLarge, "The reason may have at most %d characters.", MaxText).At("why")
	}
	if c := e.Clock; c != nil && (c.UncertaintyMs < 0 || c.MonoMs < 0 || len(c.Boot) > maxName) {
		return Errorf(Invalid, "The clock's uncertainty and monotonic time can't be negative.").At("clock")
	}
	return CheckBody(e.Kind, e.Body)
}

// CheckBody says whether an entry of the kind may have this body. The error is an *Error whose Where names the field: "body.price".
func CheckBody(kind Kind, raw json.RawMessage) error {
	body, err := DecodeBody(kind, raw)
	if err != nil {
		return asError(err).At("body")
	}
	if v, ok := body.(interface{ validate() *Error }); ok {
		if err := v.validate(); err != nil {
			return err.At("body")
		}
	}
	return nil
}

// DecodeBody decodes the body of a known kind strictly into its type (a pointer); for an unknown kind it returns
// a *json.RawMessage after checking that it is an object.
func DecodeBody(kind Kind, body json.RawMessage) (any, error) {
	if len(body) == 0 || body[0] != '{' {
		return nil, Errorf(Invalid, "The body must be a JSON object.")
	}
	b := newBody(kind)
	if b == nil {
		return &body, nil
	}
	if err := strict(body, b); err != nil {
		return nil, err
	}
	return b, nil
}

// sealed is the form of a custody leaf: when the server took the entry, and the entry's exact bytes.
type sealed struct {
	Received string          `json:"received"`
	Entry    json.RawMessage `json:"entry"`
}

const sealHead, sealMid = `{"received":"`, `","entry":`

// Seal makes the leaf of an entry: one line of JSON that holds the time of receipt (UTC, microseconds) and the
// entry's exact bytes. What Seal returns is what the custody log hashes and what a bundle shows.
func Seal(received time.Time, raw []byte) []byte {
	line := make([]byte, 0, len(raw)+64)
	line = append(line, sealHead...)
	line = received.UTC().AppendFormat(line, "2006-01-02T15:04:05.000000Z")
	line = append(line, sealMid...)
	line = append(line, raw...)
	return append(line, '}')
}

// Unseal is the inverse of Seal; it reads the entry strictly.
func Unseal(line []byte) (Kept, error) {
	var s sealed
	if err := strict(line, &s); err != nil {
		return Kept{}, fmt.Errorf("sealed entry: %w", err)
	}
	at, err := time.Parse(time.RFC3339Nano, s.Received)
	if err != nil {
		return Kept{}, fmt.Errorf("sealed entry: time of receipt: %w", err)
	}
	if !bytes.Equal(Seal(at, s.Entry), line) {
		return Kept{}, fmt.Errorf("sealed entry: not in the one form that Seal writes")
	}
	var e Entry
	if err := strict(s.Entry, &e); err != nil {
		return Kept{}, fmt.Errorf("sealed entry: %w", err)
	}
	return Kept{Entry: e, Raw: s.Entry, Received: at}, nil
}

// KeptOf unseals a record. An erased one comes back without its content.
func KeptOf(r Record) (Kept, error) {
	if s, ok := ReadStub(r.Line); ok {
		return s.kept(r.Leaf), nil
	}
	k, err := Unseal(r.Line)
	if err != nil {
		return Kept{}, fmt.Errorf("leaf %d: %w", r.Leaf, err)
	}
	k.Leaf = r.Leaf
	return k, nil
}
