package claims

import (
	"context"
	"errors"
	"io"
	"time"
)

// ShopID names a tenant. Every key in every store begins with it.
type ShopID string

// JobID names a job: a UUIDv7 made by whoever opened it.
type JobID string

// ErrStale says that the job's head is no longer the one the caller had read: read again, then repeat.
var ErrStale = errors.New("the job has moved on since it was read")

// ErrTaken says that an entry id is already in the journal. Commit wrote nothing. Look the id up: the same bytes
// mean the entry was sent twice, other bytes mean a conflict.
var ErrTaken = errors.New("an entry with this id exists")

// ErrAbsent says that the store has no such thing for this shop.
var ErrAbsent = errors.New("no such thing here")

// Head is the number of entries a job has; it only grows.
type Head uint64

// Stores opens the journal of one shop. The handle it returns can reach that shop's data and no other.
type Stores interface {
	Shop(ctx context.Context, shop ShopID) (Store, error)
	Close() error
}

// Record is one entry as it is kept. Line is the exact leaf of the custody log (see Seal), or the stub of an erased one (see
// Stub); Leaf is its index there, set by the store.
type Record struct {
	Entry EntryID
	Job   JobID
	Leaf  uint64
	Line  []byte
	// Device and Seq are the entry's place in its device's chain; Seq 0 = none. They index the record when it is
	// committed and are not given back.
	Device string
	Seq    uint64
}

// Batch is what Commit writes together or not at all.
type Batch struct {
	Job JobID
	// Was is the head the caller had read: 0 for a new job.
	Was Head
	// Records in order. Their Leaf is ignored.
	Records []Record
	// Card replaces the job's card; its keys replace the job's index entries. The store sets its Job and Entries.
	Card Card
}

// Erasure is what Erase writes together or not at all.
type Erasure struct {
	Job JobID
	// Was is the head the caller had read.
	Was Head
	// Lines are the stubs, by the entry whose line each takes the place of.
	Lines map[EntryID][]byte
	// Card replaces the job's card, as in a Batch.
	Card Card
}

// Store keeps one shop's journal. All methods may be called at once from many goroutines.
type Store interface {
	// Commit appends the batch: records, their leaves in the shop's custody log, the card and its index
	// entries, in one transaction. It returns ErrStale when the head is not Was, ErrTaken when an entry id exists.
	// When it returns nil all of it is durable; otherwise none of it is visible.
	// Leaves get consecutive indexes in the order of Records. A batch without records replaces the card of an existing
	// job (ErrAbsent otherwise). A batch over the bounds in store_limits.go is refused with an *Error. A cancelled
	// context stops a commit that has not begun; one that has begun is finished and its outcome returned.
	Commit(ctx context.Context, b Batch) (Head, error)
	// Erase puts stubs in the place of entries' lines and replaces the job's card, in one transaction. Leaf numbers, tree hashes, ids and
	// chains stay as they are. It returns ErrStale when the head is not Was, ErrAbsent when the job or one of the entries is not there,
	// and refuses with an *Error a stub that does not carry the hash of the leaf it replaces. Erasing again what is a stub already is fine. When it
	// returns nil that is durable, and no method gives the old lines again; their bytes may still lie in free space until Scrub.
	Erase(ctx context.Context, e Erasure) error
	// Scrub overwrites whatever the store's files still hold of lines, cards and notes that were erased or replaced. When it returns nil the old bytes
	// can't be read from the files any more. It may be repeated at any time.
	Scrub(ctx context.Context) error
	// Records returns a job's records in order of arrival, starting at from (0-based), at most limit (0 = all).
	// A job that does not exist gives ErrAbsent.
	Records(ctx context.Context, job JobID, from Head, limit int) ([]Record, Head, error)
	// Lookup finds records by entry id; absent ids are simply not in the map.
	Lookup(ctx context.Context, ids []EntryID) (map[EntryID]Record, error)
	// Cards lists cards in the order of an index, page by page.
	Cards(ctx context.Context, q CardQuery) (CardPage, error)
	// Card returns a job's card or ErrAbsent.
	Card(ctx context.Context, job JobID) (Card, error)
	// LogSize is the number of leaves in the shop's custody log.
	LogSize(ctx context.Context) (uint64, error)
	// LogHashes returns stored tree hashes by index, in the numbering of golang.org/x/mod/sumdb/tlog.
	LogHashes(ctx context.Context, indexes []int64) ([][32]byte, error)
	// Leaves calls yield with the records from leaf index from on, in order, until it returns false. Yield may call
	// the store. Records that are committed meanwhile may or may not come.
	Leaves(ctx context.Context, from uint64, yield func(Record) bool) error
	// Chain calls yield with the records of a device in the order of its sequence (then of leaves), until it
	// returns false. A device that never wrote gives none.
	Chain(ctx context.Context, device string, yield func(Record) bool) error
	// Devices lists the devices that have a chain, in byte order.
	Devices(ctx context.Context) ([]string, error)
	// PutNote and Note keep small named values (checkpoints, settings, sessions): last writer wins. Names are
	// slash-separated and shorter than 200 bytes; Note returns ErrAbsent; a nil value deletes.
	PutNote(ctx context.Context, name string, value []byte) error
	Note(ctx context.Context, name string) ([]byte, error)
	// Notes calls yield in name order for every name with the prefix. Yield may call the store.
	Notes(ctx context.Context, prefix string, yield func(name string, value []byte) bool) error
	// Near finds photos whose 64-bit fingerprint differs from print in at most bits (<= 10) positions, nearest first, at most
	// limit (1..1000; 0 = 100). Fingerprints enter with a Card (Card.Prints) and leave when the card no longer has them.
	Near(ctx context.Context, print uint64, bits, limit int) ([]NearPhoto, error)
}

// Card is the small projection of a job that lists and searches use. It is rebuilt from the journal on every
// commit: losing it loses nothing.
type Card struct {
	Job      JobID  `json:"job"`
	Number   string `json:"number,omitempty"`
	Customer string `json:"customer,omitempty"`
	Place    string `json:"place,omitempty"`
	UnitKind string `json:"unitKind,omitempty"`
	Maker    string `json:"maker,omitempty"`
	Model    string `json:"model,omitempty"`
	Serial   string `json:"serial,omitempty"`
	Payer    string `json:"payer,omitempty"`
	Stage    string `json:"stage,omitempty"`
	// Appointment is the agreed day or moment, as in Open.
	Appointment string    `json:"appointment,omitempty"`
	Opened      time.Time `json:"opened,omitzero"`
	Changed     time.Time `json:"changed,omitzero"`
	// Due is the next deadline; zero = none.
	Due     time.Time `json:"due,omitzero"`
	DueWhat string    `json:"dueWhat,omitempty"`
	// Dues are all open deadlines, soonest first.
	Dues   []Due `json:"dues,omitempty"`
	Photos int   `json:"photos,omitempty"`
	Gaps   int   `json:"gaps"`
	Doubts int   `json:"doubts,omitempty"`
	Amount Money `json:"amount,omitzero"`
	// State is where the claim stands on the desk's board: gathering, complete, sent, answered, settled or disputed. Stake is the
	// money that is still to come in, owed since Since: the last sending, else the end of the visit, else the opening.
	State string    `json:"state,omitempty"`
	Stake Money     `json:"stake,omitzero"`
	Since time.Time `json:"since,omitzero"`
	// Technician is who went last, or is to go; Pack the rule pack; Missing the requirements that were open on leaving or are now;
	// Reasons those of refusals and cuts.
	Technician string   `json:"technician,omitempty"`
	Pack       string   `json:"pack,omitempty"`
	Missing    []string `json:"missing,omitempty"`
	Reasons    []string `json:"reasons,omitempty"`
	Entries    Head     `json:"entries"`
	// Keys are exact index keys: Keys["serial"] = {"ab12"}, Keys["part"] = {...}, Keys["digest"], Keys["unit"]; normalised by FoldKey.
	Keys map[string][]string `json:"keys,omitempty"`
	// Words are the lower-case words to find the job by.
	Words []string `json:"words,omitempty"`
	// Prints are the perceptual fingerprints of the job's photos.
	Prints []PhotoPrint `json:"prints,omitempty"`
}

// PhotoPrint is one photo's perceptual fingerprint.
type PhotoPrint struct {
	Digest Digest `json:"digest"`
	Print  uint64 `json:"print,string"`
}

// NearPhoto is a photo that looks alike.
type NearPhoto struct {
	Job    JobID  `json:"job"`
	Digest Digest `json:"digest"`
	// Bits is the number of differing fingerprint bits.
	Bits int `json:"bits"`
}

// CardQuery asks for a page of cards.
type CardQuery struct {
	// Order is "changed" (newest first), "due" (soonest first; jobs without a deadline are left out) or
	// "opened" (newest first). Empty = changed.
	Order string
	// Key and Value pick the jobs that have this exact index key, e.g. "serial"/"ab12"; empty = all.
	Key, Value string
	// Words picks the jobs that have, for each of these (lower case), a card word beginning with it; empty = all.
	Words []string
	// Cursor is CardPage.Next of the page before; empty = first page. It is a place in the order, so jobs that come or
	// go between pages neither repeat nor hide another; a job that itself moves in the order is where it now is.
	Cursor string
	// Limit is the page size, 1..200; 0 = 50.
	Limit int
}

// CardPage is one page; Next is empty on the last.
type CardPage struct {
	Cards []Card
	Next  string
}

// BlobStores opens the originals of one shop; like Stores, a handle reaches one shop only.
type BlobStores interface {
	Shop(ctx context.Context, shop ShopID) (Blobs, error)
}

// Blobs keeps originals, by content. Put-once: an original never changes, until it is erased as a whole.
type Blobs interface {
	// Put stores what r yields under d. It returns nil only when all bytes are durable and hash to d. The same
	// bytes again are fine; bytes that do not hash to d are refused (ErrDigest) and leave nothing behind.
	Put(ctx context.Context, d Digest, r io.Reader) error
	// Open returns the original, or ErrAbsent. The caller closes it.
	Open(ctx context.Context, d Digest) (Blob, error)
	// Has returns the size, or ErrAbsent.
	Has(ctx context.Context, d Digest) (int64, error)
	// List calls yield for every original, in digest order, until it returns false: for the scrubber.
	List(ctx context.Context, yield func(d Digest, size int64) bool) error
	// PutDerived keeps something that can be made again from the original (a view, a thumbnail, facts). It need not be durable;
	// last writer wins. The original must be here: ErrAbsent otherwise, so that nothing derived outlives an original that is erased. Names: lower-case letters, digits, '-', '.', at most 40.
	PutDerived(ctx context.Context, d Digest, name string, data []byte) error
	// Derived returns what PutDerived kept, or ErrAbsent.
	Derived(ctx context.Context, d Digest, name string) ([]byte, error)
	// Erase takes an original away with all that was derived from it. It is the one exception to put-once, for data that must not be kept
	// any longer. When it returns nil it is durably gone; what was not there is fine. Whoever has it open may read on.
	Erase(ctx context.Context, d Digest) error
}

// Adopter is a Blobs that can take over a finished file on the same file system without copying it: it verifies
// the digest, syncs, renames, syncs the folder. On success the file at path is gone.
type Adopter interface {
	Adopt(ctx context.Context, d Digest, path string) error
}

// ErrDigest says that the bytes do not hash to the digest they were sent under.
var ErrDigest = errors.New("the bytes do not match their SHA-256")

// Blob is an open original.
type Blob interface {
	io.Reader
	io.ReaderAt
	io.Seeker
	io.Closer
	Size() int64
}
