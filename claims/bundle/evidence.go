package bundle

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"time"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/readings"
)

// Format names the version of the bundle's form. FORMAT.md describes it; an older version stays readable for ever.
const Format = "kickplate-bundle/3"

// formats are all that were ever written, by their number less one: 2 added the amounts, the answer on coverage, and what passed after the claim
// was sent; 3 links, statements and disputes.
func formats() []string { return []string{"kickplate-bundle/1", "kickplate-bundle/2", Format} }

// Account is the version of the rules by which claims.Fold makes an account of entries, draws up bills and judges the times of photos, and by
// which claims/dispute draws up the view of a dispute file. Raise it
// when those change so that an older bundle comes out differently (testdata/bundles shows it): Verify then says of
// bundles with another number that it can't work their account out again, instead of calling them broken.
const Account = 2

//go:embed evidence.schema.json
var schema []byte

// Schema is the JSON Schema (draft 2020-12) of evidence.json.
func Schema() []byte { return bytes.Clone(schema) }

// Evidence is evidence.json: everything the bundle says, for programs.
type Evidence struct {
	Format   string    `json:"format"`
	Account  int       `json:"account"`
	Bag      string    `json:"bag"`
	Claim    string    `json:"claim"`
	Version  int       `json:"version"`
	Built    time.Time `json:"built"`
	BuiltBy  string    `json:"builtBy"`
	HeldBack []string  `json:"heldBack,omitempty"`
	// Withheld lists entries and originals that were left out, with the sums that bind the shop to them.
	Withheld []Withheld `json:"withheld,omitempty"`

	Shop     claims.Shop     `json:"shop"`
	Job      EvidenceJob     `json:"job"`
	Customer claims.Customer `json:"customer"`
	Site     claims.Site     `json:"site"`
	Unit     claims.Unit     `json:"unit"`
	Coverage claims.Coverage `json:"coverage"`

	Photos       []EvidencePhoto                    `json:"photos"`
	StruckPhotos []EvidenceStruck                   `json:"struckPhotos,omitempty"`
	Readings     []EvidenceReading                  `json:"readings,omitempty"`
	Visits       []claims.Visit                     `json:"visits,omitempty"`
	WorkStarts   []claims.Item[claims.Step]         `json:"workStarts,omitempty"`
	WorkFinishes []claims.Item[claims.Step]         `json:"workFinishes,omitempty"`
	Causes       []claims.Item[claims.Narrative]    `json:"causes,omitempty"`
	Corrections  []claims.Item[claims.Narrative]    `json:"corrections,omitempty"`
	Damages      []claims.Item[claims.Damage]       `json:"damages,omitempty"`
	Parts        []claims.Item[claims.Part]         `json:"parts,omitempty"`
	PartReturns  []claims.Item[claims.PartReturn]   `json:"partReturns,omitempty"`
	Refrigerants []claims.Item[claims.Refrigerant]  `json:"refrigerants,omitempty"`
	Labour       []claims.Item[claims.Labour]       `json:"labour,omitempty"`
	Trips        []claims.Item[claims.Trip]         `json:"trips,omitempty"`
	Acks         []claims.Item[claims.Acknowledge]  `json:"acknowledgements,omitempty"`
	Notes        []claims.Item[claims.Note]         `json:"notes,omitempty"`
	Cautions     []claims.Item[claims.CautionShown] `json:"cautions,omitempty"`
	Waivers      []claims.Item[claims.Waive]        `json:"waivers,omitempty"`
	Markups      []claims.Item[claims.Markup]       `json:"markups,omitempty"`
	Covers       []claims.Item[claims.Cover]        `json:"covers,omitempty"`
	Likenesses   []claims.Item[claims.Likeness]     `json:"likenesses,omitempty"`
	Bundles      []claims.Item[claims.Built]        `json:"bundles,omitempty"`
	Fetches      []claims.Item[claims.Fetched]      `json:"fetches,omitempty"`
	Sends        []claims.Item[claims.Send]         `json:"sends,omitempty"`
	Answers      []claims.Item[claims.Answer]       `json:"answers,omitempty"`
	Allegations  []claims.Item[claims.Allege]       `json:"allegations,omitempty"`
	Signs        []claims.Item[claims.Sign]         `json:"signs,omitempty"`
	Bills        []claims.Item[claims.Bill]         `json:"bills,omitempty"`
	Payments     []claims.Item[claims.Payment]      `json:"payments,omitempty"`
	Replies      []claims.Item[claims.Reply]        `json:"replies,omitempty"`
	Settlements  []claims.Item[claims.Settle]       `json:"settlements,omitempty"`

	Shares         []claims.Item[claims.Shared]        `json:"shares,omitempty"`
	Unshares       []claims.Item[claims.Unshared]      `json:"unshares,omitempty"`
	Statements     []claims.Item[claims.Statement]     `json:"statements,omitempty"`
	LinkStatements []claims.Item[claims.LinkStatement] `json:"linkStatements,omitempty"`
	Responses      []claims.Item[claims.Respond]       `json:"responses,omitempty"`
	Offers         []claims.Item[claims.Offer]         `json:"offers,omitempty"`
	OfferAnswers   []claims.Item[claims.OfferAnswer]   `json:"offerAnswers,omitempty"`
	Releases       []claims.Item[claims.Release]       `json:"releases,omitempty"`
	PaidOut        []claims.Item[claims.PaidOut]       `json:"paidOut,omitempty"`
	InsurerNotices []claims.Item[claims.InsurerNotice] `json:"insurerNotices,omitempty"`
	DisputeEnds    []claims.Item[claims.DisputeEnd]    `json:"disputeEnds,omitempty"`

	// Dispute is there in a dispute file.
	Dispute *EvidenceDispute `json:"dispute,omitempty"`

	// Bill is what the job costs and who bears it; Balance holds it against the payments, nil while there are none.
	Bill    *claims.Bill     `json:"bill,omitempty"`
	Balance *EvidenceBalance `json:"balance,omitempty"`
	// CoverageAnswer says whether the papers' terms cover the job; nil when nothing about coverage is on record.
	CoverageAnswer *claims.CoverageAnswer `json:"coverageAnswer,omitempty"`
	// Conflicts are readings and signs that do not fit together: common practice, no source.
	Conflicts []readings.Conflict `json:"conflicts,omitempty"`

	// Struck, Unknown and Problems are shown, never hidden.
	Struck   []claims.Struck  `json:"struck,omitempty"`
	Unknown  []claims.Kept    `json:"unknown,omitempty"`
	Problems []claims.Problem `json:"problems,omitempty"`

	// Check is the report of the rule pack at the time Built.
	Check   rules.Report    `json:"check"`
	Custody EvidenceCustody `json:"custody"`
}

// EvidenceJob is the job's opening and its extent.
type EvidenceJob struct {
	ID claims.JobID `json:"id"`
	claims.Open
	Opened  time.Time `json:"opened,omitzero"`
	Changed time.Time `json:"changed,omitzero"`
	Entries int       `json:"entries"`
}

// EvidencePhoto is one photo with its place in the bundle.
type EvidencePhoto struct {
	// No is its number in the report and in the file names.
	No int `json:"no"`
	// Kept is whole (the original is in the bag), stripped (the same picture without metadata stands in for it), view (a
	// reduced one does), covered (one with parts covered by hand) or withheld.
	Kept string `json:"kept"`
	Why  string `json:"why,omitempty"`
	// Derived says how a picture that stands in was made.
	Derived *Derivation `json:"derived,omitempty"`
	// SHA256 is the digest of the original; FileSHA256 that of the file in the bag.
	SHA256     claims.Digest `json:"sha256"`
	File       string        `json:"file,omitempty"`
	FileSHA256 string        `json:"fileSha256,omitempty"`
	Thumbnail  string        `json:"thumbnail,omitempty"`
	// SameAs is the number of an earlier photo with the same bytes.
	SameAs int `json:"sameAs,omitempty"`
	// Taken is the best supported moment of capture, TimeBasis how well it is supported.
	Taken      time.Time          `json:"taken,omitzero"`
	TimeBasis  string             `json:"timeBasis,omitempty"`
	Place      string             `json:"place,omitempty"`
	Metres     float64            `json:"metres,omitempty"`
	UsedBefore string             `json:"usedBefore,omitempty"`
	Facts      *claims.PhotoFacts `json:"facts,omitempty"`
	claims.Item[claims.Photo]
}

// EvidenceStruck is a photo that was struck from the account: listed, its picture stays out.
type EvidenceStruck struct {
	Entry  claims.EntryID `json:"entry"`
	SHA256 claims.Digest  `json:"sha256,omitempty"`
	Strike claims.Change  `json:"strike"`
}

// EvidenceReading is one reading with the verdict of its component model.
type EvidenceReading struct {
	Outcome  string `json:"outcome,omitempty"`
	Supports string `json:"supports,omitempty"`
	Says     string `json:"says,omitempty"`
	claims.Item[claims.Reading]
}

// EvidenceCustody says what stands in the custody folder.
type EvidenceCustody struct {
	Entries  int  `json:"entries"`
	Withheld int  `json:"withheld"`
	Sealed   bool `json:"sealed"`
	Stamps   int  `json:"stamps"`
}

func (pl *plan) evidence() ([]byte, error) {
	j, p := &pl.job, pl.parcel
	e := Evidence{
		Format: Format, Account: Account, Bag: pl.root, Claim: pl.number, Version: p.Version, Built: pl.built, BuiltBy: p.BuiltBy, HeldBack: p.Hold.Names(), Withheld: pl.left, Shop: p.Shop,
		Job:      EvidenceJob{ID: j.ID, Open: j.Open, Opened: j.Opened, Changed: j.Changed, Entries: j.Entries},
		Customer: j.Customer, Site: j.Site, Unit: j.Unit, Coverage: j.Coverage,
		Photos: []EvidencePhoto{}, Visits: j.Visits, WorkStarts: j.WorkStarts, WorkFinishes: j.WorkFinishes, Causes: j.Causes, Corrections: j.Corrections,
		Damages: j.Damages, Parts: j.Parts, PartReturns: j.PartReturns, Refrigerants: j.Refrigerants, Labour: j.Labour, Trips: j.Trips, Acks: j.Acks,
		Notes: j.Notes, Cautions: j.Cautions, Waivers: j.Waivers, Markups: j.Markups, Covers: j.Covers, Likenesses: j.Likenesses, Bundles: j.Bundles, Fetches: j.Fetches,
		Sends: j.Sends, Answers: j.Answers, Allegations: j.Allegations, Signs: j.Signs, Bills: j.Bills, Payments: j.Payments, Replies: j.Replies,
		Settlements: j.Settlements, Shares: j.Shares, Unshares: j.Unshares, Statements: j.Statements, LinkStatements: j.LinkStatements, Responses: j.Responses,
		Offers: j.Offers, OfferAnswers: j.OfferAnswers, Releases: j.Releases, PaidOut: j.PaidOut, InsurerNotices: j.InsurerNotices, DisputeEnds: j.DisputeEnds,
		Bill: &pl.bill, Balance: pl.balance, Conflicts: pl.conflicts, Struck: j.Struck, Unknown: j.Unknown, Problems: j.Problems,
		Check: pl.report, Custody: EvidenceCustody{Entries: len(pl.lines), Sealed: len(p.Custody.Checkpoint) > 0, Stamps: len(p.Custody.Stamps)},
	}
	e.Shop.Release = "" // a template is no evidence
	if pl.stated() {
		e.CoverageAnswer = &pl.cover
	}
	if pl.view != nil {
		e.Dispute = &EvidenceDispute{Allegations: p.Dispute.Allegations, Include: p.Dispute.Include, View: pl.view}
	}
	for _, l := range pl.lines {
		if l.why != "" {
			e.Custody.Withheld++
		}
	}
	for _, s := range pl.shots {
		ph := EvidencePhoto{
			No: s.no, Kept: s.kept, Why: s.why, Derived: s.made, SHA256: s.Body.Digest, File: s.file, FileSHA256: s.sum, Thumbnail: s.thumb, SameAs: s.same, Facts: s.facts, Item: s.Item,
		}
		if k := s.known; k != nil {
			ph.Taken, ph.TimeBasis, ph.Place, ph.Metres, ph.UsedBefore = k.At, k.TimeBasis, k.Place, k.Metres, k.UsedBefore
			if p.Hold.Position {
				ph.Metres = 0
			}
		}
		e.Photos = append(e.Photos, ph)
	}
	for _, s := range pl.struck {
		e.StruckPhotos = append(e.StruckPhotos, EvidenceStruck{Entry: s.Entry, SHA256: s.digest, Strike: s.Strike})
	}
	verdicts := pl.verdicts()
	for _, r := range j.Readings {
		er := EvidenceReading{Item: r}
		if v := verdicts[string(r.Entry)]; v != nil {
			er.Outcome, er.Supports, er.Says = v.Outcome, v.Supports, pl.hold.scrub(v.Says)
		}
		e.Readings = append(e.Readings, er)
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(&e); err != nil {
		return nil, fmt.Errorf("write evidence.json: %w", err)
	}
	return out.Bytes(), nil
}

// verdicts are the facts about the readings by entry.
func (pl *plan) verdicts() map[string]*rules.Reading {
	out := map[string]*rules.Reading{}
	for i := range pl.parcel.Facts.Readings {
		out[pl.parcel.Facts.Readings[i].Entry] = &pl.parcel.Facts.Readings[i]
	}
	return out
}
