package dispute

import (
	"slices"

	"kickplate/claims"
)

// What goes into a dispute file only when chosen (the words of rules.FileExtras).
const (
	IncludeContact    = "contact"    // the customer's contact and the site
	IncludePapers     = "papers"     // papers with personal data
	IncludeReadings   = "readings"   // readings and signs
	IncludeNotes      = "notes"      // free notes
	IncludeClaim      = "claim"      // the claim, amounts, payer
	IncludeSettlement = "settlement" // offers, releases, payments
)

// includeOf is what an entry's kind needs to go in: "" = always, a word of the above, or "never".
func includeOf(k claims.Kind) string {
	switch k {
	case claims.KindOpen, claims.KindUnit, claims.KindArrive, claims.KindWorkStart, claims.KindWorkFinish, claims.KindLeave, claims.KindPhoto, claims.KindMarkup,
		claims.KindCause, claims.KindCorrection, claims.KindDamage, claims.KindPart, claims.KindAcknowledge, claims.KindCaution, claims.KindStrike, claims.KindExamined,
		claims.KindCodes, claims.KindLikeness, claims.KindAllege, claims.KindStatement, claims.KindLinkStatement, claims.KindRespond:
		return ""
	case claims.KindCustomer, claims.KindSite:
		return IncludeContact
	case claims.KindReading, claims.KindSign:
		return IncludeReadings
	case claims.KindNote:
		return IncludeNotes
	case claims.KindOffer, claims.KindOfferAnswer, claims.KindRelease, claims.KindPaidOut, claims.KindInsurer, claims.KindDisputeEnd:
		return IncludeSettlement
	case claims.KindCoverage, claims.KindLabour, claims.KindTrip, claims.KindRefrigerant, claims.KindPartReturn, claims.KindWaive, claims.KindSend, claims.KindAnswer,
		claims.KindBilled, claims.KindPayment, claims.KindReply, claims.KindSettle, claims.KindBuilt, claims.KindFetched, claims.KindShared, claims.KindUnshared:
		return IncludeClaim
	}
	return "never"
}

// Left is why an entry stays out of a dispute file.
const (
	leftOther  = "not needed for this dispute"
	leftAbout  = "it concerns an entry that is not in this file"
	leftAnswer = "it concerns another allegation"
)

// Choose says of each entry why it stays out of the file about the allegations, "" = it goes in. include are the chosen extras. A correction goes
// with what it corrects, a strike with what it strikes, what the server found out with its photo.
func Choose(kept []claims.Kept, allegations []claims.EntryID, include []string) []string {
	out := make([]string, len(kept))
	in := map[claims.EntryID]bool{}
	root := map[claims.EntryID]claims.EntryID{}
	for i := range kept {
		root[kept[i].ID] = kept[i].Supersedes
	}
	first := func(id claims.EntryID) claims.EntryID {
		for n := 0; root[id] != "" && n <= len(kept); n++ {
			id = root[id]
		}
		return id
	}
	digests := map[claims.Digest]bool{}
	papers := map[claims.EntryID]bool{} // by root: a photo that is, or ever was called, a paper with personal data
	for i := range kept {
		if b, ok := bodyOf[claims.Photo](&kept[i], claims.KindPhoto); ok && personal(b) {
			papers[first(kept[i].ID)] = true
		}
	}
	for i := range kept {
		k := &kept[i]
		switch need := includeOf(k.Kind); {
		case need != "" && !slices.Contains(include, need):
			out[i] = leftOther
		case k.Kind == claims.KindPhoto && papers[first(k.ID)] && !slices.Contains(include, IncludePapers):
			out[i] = "a paper with personal data"
		case k.Kind == claims.KindAllege && !slices.Contains(allegations, first(k.ID)):
			out[i] = leftAnswer
		}
		if out[i] == "" {
			in[k.ID] = true
		}
	}
	// What hangs on others, in rounds until nothing changes: each round takes something out, so it ends.
	for changed := true; changed; {
		changed = false
		for i := range kept {
			if out[i] == "" && !hangsTogether(&kept[i], in, allegations) {
				out[i], changed = leftAbout, true
				delete(in, kept[i].ID)
			}
		}
	}
	for i := range kept {
		if b, ok := bodyOf[claims.Photo](&kept[i], claims.KindPhoto); ok && out[i] == "" {
			digests[b.Digest] = true
		}
	}
	for i := range kept {
		if out[i] != "" {
			continue
		}
		ok := true
		if b, is := bodyOf[claims.PhotoFacts](&kept[i], claims.KindExamined); is {
			ok = digests[b.Digest]
		} else if b, is := bodyOf[claims.CodesRead](&kept[i], claims.KindCodes); is {
			ok = digests[b.Digest]
		}
		if !ok {
			out[i] = leftAbout
		}
	}
	return out
}

// hangsTogether reports whether what an entry leans on is in the file.
func hangsTogether(k *claims.Kept, in map[claims.EntryID]bool, allegations []claims.EntryID) bool {
	if k.Supersedes != "" && !in[k.Supersedes] {
		return false
	}
	switch k.Kind {
	case claims.KindStrike:
		b, ok := bodyOf[claims.Strike](k, claims.KindStrike)
		return ok && in[b.Entry]
	case claims.KindMarkup:
		b, ok := bodyOf[claims.Markup](k, claims.KindMarkup)
		return ok && in[b.Photo]
	case claims.KindLikeness:
		b, ok := bodyOf[claims.Likeness](k, claims.KindLikeness)
		return ok && in[b.Photo]
	case claims.KindStatement:
		b, ok := bodyOf[claims.Statement](k, claims.KindStatement)
		return ok && (b.About == "" || slices.Contains(allegations, b.About))
	case claims.KindRespond:
		b, ok := bodyOf[claims.Respond](k, claims.KindRespond)
		return ok && slices.ContainsFunc(b.Allegations, func(id claims.EntryID) bool { return slices.Contains(allegations, id) })
	}
	return true
}

func bodyOf[B any](k *claims.Kept, kind claims.Kind) (*B, bool) {
	if k.Kind != kind {
		return nil, false
	}
	body, err := claims.DecodeBody(k.Kind, k.Body)
	if err != nil {
		return nil, false
	}
	b, ok := body.(*B)
	return b, ok
}
