package bundle

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// strictJSON reads one JSON value with known fields only and nothing behind it.
func strictJSON(raw []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return err
	}
	if _, err := dec.Token(); err != io.EOF {
		return fmt.Errorf("there is more after its end")
	}
	return nil
}

// entries reads the journal in the bundle, folds it again, and holds the index against it.
func (v *verifier) entries() {
	raw, ok := v.bag.data[entriesPath]
	if !ok {
		v.report.add("entries", Broken, entriesPath, "It is missing, damaged or too large.")
		return
	}
	var kept []claims.Kept
	held := 0
	var left []uint64
	err := custody.ReadEntries(bytes.NewReader(raw), func(l custody.EntryLine) bool {
		if l.Line == nil {
			held++
			left = append(left, l.Leaf)
			return true
		}
		k, err := claims.Unseal(l.Line)
		if err != nil {
			v.report.add("entries", Broken, entriesPath, "Leaf %d is not an entry: %v.", l.Leaf, err)
			return len(v.report.Checks) < 1000
		}
		k.Leaf = l.Leaf
		if k.Job != v.index.Job.ID {
			v.report.add("entries", Broken, entriesPath, "Leaf %d belongs to another job.", l.Leaf)
		}
		kept = append(kept, k)
		return true
	})
	if err != nil {
		v.report.add("entries", Broken, entriesPath, "It can't be read: %v.", err)
		return
	}
	c := v.index.Custody
	if len(kept)+held != c.Entries || held != c.Withheld {
		v.report.add("entries", Broken, entriesPath, "It has %s, %d of them held back; evidence.json says %d and %d.", entryCount(len(kept)+held), held, c.Entries, c.Withheld)
	}
	chosen := v.index.Dispute != nil && len(v.index.HeldBack) == 0 // entries are left out, the account is of the others
	if held > 0 && len(v.index.HeldBack) == 0 && !chosen {
		v.report.add("entries", Broken, entriesPath, "It holds entries back, but evidence.json does not say that anything is held back.")
	}
	if chosen {
		listed := map[uint64]bool{}
		for _, w := range v.index.Withheld {
			if w.Leaf != nil {
				listed[*w.Leaf] = true
			}
		}
		for _, leaf := range left {
			if !listed[leaf] {
				v.report.add("entries", Broken, entriesPath, "Leaf %d is left out, but evidence.json does not say so.", leaf)
				break
			}
		}
	}
	v.chains(kept)
	job := claims.Fold(kept)
	v.covers(&job)
	switch {
	case v.index.Account != Account:
		v.samePhotos(&job)
		v.report.add("entries", CannotTell, "data/evidence.json", "Its account was made by rules of version %d, this program has version %d: only the photos were held against the entries.", v.index.Account, Account)
		return
	case held == 0 || chosen:
		v.sameAccount(&job)
		v.times(&job)
		if v.index.Dispute != nil {
			v.sameDispute(&job)
		}
	default:
		v.samePhotos(&job)
	}
	if v.report.broken("entries") == 0 {
		says := "The index says what the journal's entries say: folding them again gives the same account."
		switch {
		case chosen:
			says = "The index says what the entries of this file say: folding them again gives the same account, and the findings, the condition record and the order of events come out the same."
		case held > 0:
			says = "The photos of the index are those of the entries that are shown. The rest of the account can't be folded again, because entries are held back."
		}
		v.report.add("entries", Holds, "", "%s (%s, %d held back)", says, entryCount(len(kept)+held), held)
	}
}

// chains checks that entries of one device which follow each other are linked by their hashes.
func (v *verifier) chains(kept []claims.Kept) {
	type place struct {
		device string
		seq    uint64
	}
	at := map[place]*claims.Kept{}
	for i := range kept {
		if k := &kept[i]; k.Seq > 0 {
			if other := at[place{k.Device, k.Seq}]; other != nil && !bytes.Equal(other.Raw, k.Raw) {
				v.report.add("entries", Broken, entriesPath, "The device %q made two entries number %d.", short(k.Device), k.Seq)
			}
			at[place{k.Device, k.Seq}] = k
		}
	}
	linked := 0
	for i := range kept {
		k := &kept[i]
		before := at[place{k.Device, k.Seq - 1}]
		if k.Seq < 2 || before == nil {
			continue
		}
		if k.Prev != claims.DigestOf(before.Raw) {
			v.report.add("entries", Broken, entriesPath, "Entry %d of the device %q does not follow from the one before it.", k.Seq, short(k.Device))
			continue
		}
		linked++
	}
	if linked > 0 {
		v.report.add("entries", Remark, "", "%s follow from the one before on the same device by their hash.", entryCount(linked))
	}
}

// sameAccount compares the index with the fold of the entries, part by part.
func (v *verifier) sameAccount(job *claims.Job) {
	e := v.index
	var photos []claims.Item[claims.Photo]
	for _, p := range e.Photos {
		photos = append(photos, p.Item)
	}
	slices.SortFunc(photos, func(a, b claims.Item[claims.Photo]) int { return a.Number - b.Number })
	var readings []claims.Item[claims.Reading]
	for _, r := range e.Readings {
		readings = append(readings, r.Item)
	}
	facts := map[claims.Digest]claims.PhotoFacts{}
	for _, p := range e.Photos {
		if p.Facts != nil {
			facts[p.SHA256] = *p.Facts
		}
	}
	for d := range job.Facts { // facts about photos that are no longer in the account
		if _, ok := facts[d]; !ok && !slices.ContainsFunc(photos, func(p claims.Item[claims.Photo]) bool { return p.Body.Digest == d }) {
			delete(job.Facts, d)
		}
	}
	var struck []EvidenceStruck
	for _, st := range job.Struck {
		if st.Kind == claims.KindPhoto {
			es := EvidenceStruck{Entry: st.Entry, Strike: st.Strike}
			if body, err := claims.DecodeBody(st.Kind, st.Body); err == nil {
				es.SHA256 = body.(*claims.Photo).Digest
			}
			struck = append(struck, es)
		}
	}
	type part struct {
		name      string
		says, are any
	}
	parts := []part{
		{"job", e.Job, EvidenceJob{ID: job.ID, Open: job.Open, Opened: job.Opened, Changed: job.Changed, Entries: job.Entries}},
		{"customer", e.Customer, job.Customer}, {"site", e.Site, job.Site}, {"unit", e.Unit, job.Unit}, {"coverage", e.Coverage, job.Coverage},
		{"photos", photos, job.Photos}, {"photos' facts", facts, job.Facts}, {"readings", readings, job.Readings}, {"visits", e.Visits, job.Visits},
		{"beginnings of work", e.WorkStarts, job.WorkStarts}, {"ends of work", e.WorkFinishes, job.WorkFinishes},
		{"causes", e.Causes, job.Causes}, {"corrections", e.Corrections, job.Corrections}, {"damages", e.Damages, job.Damages}, {"parts", e.Parts, job.Parts},
		{"part returns", e.PartReturns, job.PartReturns}, {"refrigerants", e.Refrigerants, job.Refrigerants}, {"labour", e.Labour, job.Labour}, {"trips", e.Trips, job.Trips},
		{"acknowledgements", e.Acks, job.Acks}, {"notes", e.Notes, job.Notes}, {"cautions", e.Cautions, job.Cautions}, {"waivers", e.Waivers, job.Waivers},
		{"mark-ups", e.Markups, job.Markups}, {"covers", e.Covers, job.Covers}, {"likenesses", e.Likenesses, job.Likenesses}, {"bundles", e.Bundles, job.Bundles}, {"fetches", e.Fetches, job.Fetches},
		{"sends", e.Sends, job.Sends}, {"answers", e.Answers, job.Answers}, {"allegations", e.Allegations, job.Allegations},
		{"strikes", e.Struck, job.Struck}, {"struck photos", e.StruckPhotos, struck}, {"unknown entries", e.Unknown, job.Unknown}, {"problems", e.Problems, job.Problems},
	}
	if e.Format != formats()[0] {
		bill := job.Bill()
		parts = append(parts, part{"signs", e.Signs, job.Signs}, part{"bills", e.Bills, job.Bills}, part{"payments", e.Payments, job.Payments},
			part{"replies", e.Replies, job.Replies}, part{"settlements", e.Settlements, job.Settlements},
			part{"bill", e.Bill, &bill}, part{"balance", e.Balance, balanceOf(job, bill)})
	}
	if e.Format == Format {
		parts = append(parts, part{"links", e.Shares, job.Shares}, part{"ended links", e.Unshares, job.Unshares}, part{"statements", e.Statements, job.Statements},
			part{"statements over links", e.LinkStatements, job.LinkStatements}, part{"letters", e.Responses, job.Responses}, part{"offers", e.Offers, job.Offers},
			part{"answers to offers", e.OfferAnswers, job.OfferAnswers}, part{"releases", e.Releases, job.Releases}, part{"payments to settle", e.PaidOut, job.PaidOut},
			part{"notices to the insurer", e.InsurerNotices, job.InsurerNotices}, part{"ends of disputes", e.DisputeEnds, job.DisputeEnds})
	}
	for _, part := range parts {
		if !sameJSON(part.says, part.are) {
			v.report.add("entries", Broken, "data/evidence.json", "What it says under %s is not what the journal's entries say.", part.name)
		}
	}
}

// sameJSON compares by what is written. Nothing and an empty list are the same.
func sameJSON(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	if errX != nil || errY != nil {
		return false
	}
	if empty(a) && empty(b) {
		return true
	}
	return bytes.Equal(x, y)
}

func empty(v any) bool {
	r := reflect.ValueOf(v)
	return (r.Kind() == reflect.Slice || r.Kind() == reflect.Map) && r.Len() == 0
}

// samePhotos compares the photos whose entries are shown.
func (v *verifier) samePhotos(job *claims.Job) {
	says := map[claims.EntryID]claims.Digest{}
	for _, p := range v.index.Photos {
		says[p.Entry] = p.SHA256
	}
	for _, p := range job.Photos {
		if says[p.Entry] != p.Body.Digest {
			v.report.add("entries", Broken, "data/evidence.json", "The entry %s reports a photo that the index does not have so.", p.Entry)
		}
	}
}

// times works the time basis of the photos out again.
func (v *verifier) times(job *claims.Job) {
	again := claims.FactsOf(job, nil, v.index.Check.At)
	basis := map[string]int{}
	for i := range again.Photos {
		basis[again.Photos[i].Entry] = i
	}
	wrong := 0
	for _, p := range v.index.Photos {
		i, ok := basis[string(p.Entry)]
		if !ok || again.Photos[i].TimeBasis != p.TimeBasis || !again.Photos[i].At.Equal(p.Taken) {
			v.report.add("time", Broken, "data/evidence.json", "Photo %d: worked out again, its time is not the one that the index says.", p.No)
			wrong++
		}
	}
	if wrong == 0 && len(v.index.Photos) > 0 {
		v.report.add("time", Holds, "", "The times of the photos, and how well they are supported, come out the same when they are worked out again from the entries.")
	}
}

// custody has the log's parts checked.
func (v *verifier) custody() {
	c := v.index.Custody
	if !c.Sealed {
		v.report.add("custody", CannotTell, "", "The shop's log was not sealed when the bundle was built: there is no checkpoint to hold the entries against.")
		return
	}
	parcel := claims.CustodyParcel{Checkpoint: v.bag.data[checkpointPath], Key: string(bytes.TrimRight(v.bag.data[keyPath], "\n")), Proofs: v.bag.data[proofsPath]}
	for i := range min(c.Stamps, 1000) {
		parcel.Stamps = append(parcel.Stamps, v.bag.data[fmt.Sprintf("%s%d%s", stampPrefix, i+1, stampSuffix)])
	}
	verdict := custody.VerifyParcel(bytes.NewReader(v.bag.data[entriesPath]), parcel, v.o.Trusted, v.o.Roots)
	for _, p := range verdict.Problems {
		v.report.add("custody", Broken, "", "%s.", upper(p))
	}
	if len(verdict.Problems) > 0 {
		return
	}
	v.report.add("custody", Holds, "", "Every entry is in the shop's log as the signed checkpoint describes it (log %s, %d entries, %d shown and %d held back here).",
		verdict.Checkpoint.Origin, verdict.Checkpoint.Size, verdict.Shown, verdict.HeldBack)
	if len(v.o.Trusted) == 0 {
		v.report.add("custody", Remark, keyPath, "The signature was checked with the key in the bundle. To know whose it is, compare the key with one that the shop gave you another way: %s", parcel.Key)
	}
	for _, s := range verdict.Stamps {
		says := "its certificate was not followed to a root"
		if s.Chained {
			says = "its certificate leads to a root that you trust"
		}
		v.report.add("custody", Holds, "", "%s stamped the checkpoint at %s; %s.", s.Authority, s.Time.UTC().Format("2006-01-02 15:04:05 UTC"), says)
	}
	if len(verdict.Stamps) == 0 {
		v.report.add("custody", Remark, "", "No time stamp by others: when the log stood like this rests on the shop's word, or on a checkpoint that you have from before.")
	}
}
