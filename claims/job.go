package claims

import (
	"encoding/json"
	"time"
)

// Item is one live report on a job: the entry that made it, as corrected.
type Item[B any] struct {
	// Entry is the id by which other entries refer to it: that of the first version.
	Entry EntryID `json:"entry"`
	// Latest is the entry that holds the present version; equal to Entry when never corrected.
	Latest EntryID `json:"latest"`
	// Number counts the items of the job's account from 1 in canonical order: how a person names it.
	Number   int       `json:"number"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
	Device   string    `json:"device"`
	Seq      uint64    `json:"seq,omitempty"`
	Clock    *Clock    `json:"clock,omitempty"`
	Received time.Time `json:"received,omitzero"`
	Leaf     uint64    `json:"leaf,omitempty"`
	Body     B         `json:"body"`
	// Corrected lists the earlier versions' reasons, oldest first.
	Corrected []Change `json:"corrected,omitempty"`
}

// Change is a correction or a strike: which entry made it, by whom, when and why.
type Change struct {
	Entry EntryID   `json:"entry"`
	At    time.Time `json:"at"`
	By    string    `json:"by"`
	Why   string    `json:"why"`
}

// Struck is an entry that was taken out of the account, still shown with the reason.
type Struck struct {
	Entry  EntryID         `json:"entry"`
	Kind   Kind            `json:"kind"`
	At     time.Time       `json:"at"`
	By     string          `json:"by"`
	Body   json.RawMessage `json:"body"`
	Strike Change          `json:"strike"`
}

// Problem is something in the journal that does not fit together; nothing is lost by it.
type Problem struct {
	Entry EntryID `json:"entry"`
	Says  string  `json:"says"`
}

// Visit is one stay at the site. Left is nil while it lasts.
type Visit struct {
	Arrived *Item[Step]  `json:"arrived,omitempty"`
	Left    *Item[Leave] `json:"left,omitempty"`
}

// Job is the state of a job: what Fold makes of its entries.
type Job struct {
	ID       JobID    `json:"id"`
	Shop     ShopID   `json:"shop"`
	Open     Open     `json:"open"`
	Customer Customer `json:"customer"`
	Site     Site     `json:"site"`
	Unit     Unit     `json:"unit"`
	Coverage Coverage `json:"coverage"`
	// Opened is the first entry's time; Changed the last one's.
	Opened  time.Time `json:"opened,omitzero"`
	Changed time.Time `json:"changed,omitzero"`
	Entries int       `json:"entries"`

	Visits       []Visit              `json:"visits,omitempty"`
	WorkStarts   []Item[Step]         `json:"workStarts,omitempty"`
	WorkFinishes []Item[Step]         `json:"workFinishes,omitempty"`
	Photos       []Item[Photo]        `json:"photos,omitempty"`
	Markups      []Item[Markup]       `json:"markups,omitempty"`
	Readings     []Item[Reading]      `json:"readings,omitempty"`
	Signs        []Item[Sign]         `json:"signs,omitempty"`
	Causes       []Item[Narrative]    `json:"causes,omitempty"`
	Corrections  []Item[Narrative]    `json:"corrections,omitempty"`
	Damages      []Item[Damage]       `json:"damages,omitempty"`
	Parts        []Item[Part]         `json:"parts,omitempty"`
	PartReturns  []Item[PartReturn]   `json:"partReturns,omitempty"`
	Refrigerants []Item[Refrigerant]  `json:"refrigerants,omitempty"`
	Labour       []Item[Labour]       `json:"labour,omitempty"`
	Trips        []Item[Trip]         `json:"trips,omitempty"`
	Acks         []Item[Acknowledge]  `json:"acknowledgements,omitempty"`
	Notes        []Item[Note]         `json:"notes,omitempty"`
	Cautions     []Item[CautionShown] `json:"cautions,omitempty"`
	Waivers      []Item[Waive]        `json:"waivers,omitempty"`
	Bundles      []Item[Built]        `json:"bundles,omitempty"`
	Fetches      []Item[Fetched]      `json:"fetches,omitempty"`
	Shares       []Item[Shared]       `json:"shares,omitempty"`
	Unshares     []Item[Unshared]     `json:"unshares,omitempty"`
	Statements   []Item[Statement]    `json:"statements,omitempty"`
	Sends        []Item[Send]         `json:"sends,omitempty"`
	Answers      []Item[Answer]       `json:"answers,omitempty"`
	Allegations  []Item[Allege]       `json:"allegations,omitempty"`
	Bills        []Item[Bill]         `json:"bills,omitempty"`
	Payments     []Item[Payment]      `json:"payments,omitempty"`
	Replies      []Item[Reply]        `json:"replies,omitempty"`
	Settlements  []Item[Settle]       `json:"settlements,omitempty"`
	Covers       []Item[Cover]        `json:"covers,omitempty"`
	Holds        []Item[LegalHold]    `json:"holds,omitempty"`
	Exports      []Item[Exported]     `json:"exports,omitempty"`
	// Erased says that the job's content was erased: what is left is a shell. Gone counts the entries without content.
	Erased []Item[Erase] `json:"erased,omitempty"`
	Gone   int           `json:"gone,omitempty"`

	Mails          []Item[Mailed]        `json:"mails,omitempty"`
	HandedIn       []Item[HandedIn]      `json:"handedIn,omitempty"`
	LinkStatements []Item[LinkStatement] `json:"linkStatements,omitempty"`
	Responses      []Item[Respond]       `json:"responses,omitempty"`
	Offers         []Item[Offer]         `json:"offers,omitempty"`
	OfferAnswers   []Item[OfferAnswer]   `json:"offerAnswers,omitempty"`
	Releases       []Item[Release]       `json:"releases,omitempty"`
	PaidOut        []Item[PaidOut]       `json:"paidOut,omitempty"`
	InsurerNotices []Item[InsurerNotice] `json:"insurerNotices,omitempty"`
	DisputeEnds    []Item[DisputeEnd]    `json:"disputeEnds,omitempty"`

	// Facts are the examinations of the photos' bytes, by digest; Likenesses where else they were seen.
	Facts      map[Digest]PhotoFacts `json:"facts,omitempty"`
	Likenesses []Item[Likeness]      `json:"likenesses,omitempty"`

	// Said tells which entry last said a merged field: Said["coverage.purchased"], Said["unit.serial"]; names in lower case.
	Said map[string]EntryID `json:"said,omitempty"`
	// Bearing counts the entries that can change the bill; a bill drawn up at the same count is up to date.
	Bearing int `json:"bearing,omitempty"`

	Struck []Struck `json:"struck,omitempty"`
	// Unknown are entries of kinds this version does not know, and entries whose body it can't read.
	Unknown  []Kept    `json:"unknown,omitempty"`
	Problems []Problem `json:"problems,omitempty"`

	// others are originals that entries name without being live photos: struck, or replaced by a correction.
	others []Digest
	// bill is the bill by the shop's rates, where they are at hand; Total takes it before any other.
	bill *Bill
}
