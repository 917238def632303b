package claims

// The kinds of entry. Each has one body type, below and in the file of its concept. A new kind is a new line here and in newBody.
const (
	KindOpen        Kind = "open"           // the job begins: complaint, number, appointment
	KindCustomer    Kind = "customer"       // who it is for
	KindSite        Kind = "site"           // where the unit stands
	KindUnit        Kind = "unit"           // the appliance and its rating plate
	KindCoverage    Kind = "coverage"       // who is to pay, under what terms
	KindArrive      Kind = "arrive"         // a visit begins
	KindWorkStart   Kind = "work-start"     // the first tool touches the unit
	KindWorkFinish  Kind = "work-finish"    // the unit is together again
	KindLeave       Kind = "leave"          // a visit ends
	KindPhoto       Kind = "photo"          // a picture, clip or document was taken or chosen
	KindMarkup      Kind = "markup"         // a layer of arrows, rings and words over a photo
	KindReading     Kind = "reading"        // a measurement was made
	KindSign        Kind = "sign"           // something was seen, heard or found that is no number
	KindCause       Kind = "cause"          // what was found to be at fault
	KindCorrection  Kind = "correction"     // what was done about it
	KindDamage      Kind = "damage"         // something is damaged; or an area was looked at and is not
	KindPart        Kind = "part"           // a part was taken out, fitted or replaced
	KindPartReturn  Kind = "part-return"    // what became of the old part
	KindRefrigerant Kind = "refrigerant"    // refrigerant was taken out or put in
	KindLabour      Kind = "labour"         // work time or a flat-rate job
	KindTrip        Kind = "trip"           // a journey
	KindAcknowledge Kind = "acknowledge"    // the customer signed, declined or was absent
	KindNote        Kind = "note"           // words that fit nowhere else
	KindCaution     Kind = "caution-shown"  // a safety caution was on the screen
	KindWaive       Kind = "waive"          // a requirement is set aside, by whom and why
	KindStrike      Kind = "strike"         // an entry is taken out of the account, and why
	KindExamined    Kind = "examined"       // the server looked at a photo's bytes
	KindCodes       Kind = "codes"          // the server looked for bar and QR codes in a photo
	KindLikeness    Kind = "likeness"       // the server found the same or a similar photo elsewhere
	KindBuilt       Kind = "built"          // a bundle was built
	KindFetched     Kind = "fetched"        // a bundle was downloaded or opened
	KindSend        Kind = "send"           // a claim went to the payer
	KindAnswer      Kind = "answer"         // the payer answered
	KindBilled      Kind = "billed"         // the server drew up the bill by the shop's rates
	KindPayment     Kind = "payment"        // money came in
	KindReply       Kind = "reply"          // an answer to a refusal was written, with its cover letter
	KindSettle      Kind = "settle"         // nothing more is expected: the claim is closed
	KindAllege      Kind = "allege"         // somebody says the shop did damage
	KindStatement   Kind = "statement"      // what somebody says about it
	KindRespond     Kind = "respond"        // a letter that answers allegations was written
	KindOffer       Kind = "offer"          // an offer to settle allegations was made
	KindOfferAnswer Kind = "offer-answer"   // the other side answered an offer
	KindRelease     Kind = "release"        // a release was sent, signed or declined
	KindPaidOut     Kind = "paid-out"       // the shop or its insurer paid to settle
	KindInsurer     Kind = "insurer-notice" // the shop's insurer was told
	KindDisputeEnd  Kind = "dispute-end"    // allegations are closed, and how
	KindCover       Kind = "cover"          // a layer of filled shapes over a photo: what a bundle may not show
	KindHold        Kind = "hold"           // a legal hold: nothing of the job may be erased, or no longer so
	KindErase       Kind = "erase"          // the server erased the content of entries, by whom and why
	KindExported    Kind = "exported"       // a copy of all that is held on the customer was made
)

// newBody returns a new zero body of a known kind, or nil.
func newBody(k Kind) any {
	switch k {
	case KindOpen:
		return new(Open)
	case KindCustomer:
		return new(Customer)
	case KindSite:
		return new(Site)
	case KindUnit:
		return new(Unit)
	case KindCoverage:
		return new(Coverage)
	case KindArrive, KindWorkStart, KindWorkFinish:
		return new(Step)
	case KindLeave:
		return new(Leave)
	case KindPhoto:
		return new(Photo)
	case KindMarkup:
		return new(Markup)
	case KindReading:
		return new(Reading)
	case KindSign:
		return new(Sign)
	case KindCause, KindCorrection:
		return new(Narrative)
	case KindDamage:
		return new(Damage)
	case KindPart:
		return new(Part)
	case KindPartReturn:
		return new(PartReturn)
	case KindRefrigerant:
		return new(Refrigerant)
	case KindLabour:
		return new(Labour)
	case KindTrip:
		return new(Trip)
	case KindAcknowledge:
		return new(Acknowledge)
	case KindNote:
		return new(Note)
	case KindCaution:
		return new(CautionShown)
	case KindWaive:
		return new(Waive)
	case KindStrike:
		return new(Strike)
	case KindExamined:
		return new(PhotoFacts)
	case KindCodes:
		return new(CodesRead)
	case KindLikeness:
		return new(Likeness)
	case KindBuilt:
		return new(Built)
	case KindFetched:
		return new(Fetched)
	case KindHandedIn:
		return new(HandedIn)
	case KindMailed:
		return new(Mailed)
	case KindShared:
		return new(Shared)
	case KindUnshared:
		return new(Unshared)
	case KindStatement:
		return new(Statement)
	case KindSend:
		return new(Send)
	case KindAnswer:
		return new(Answer)
	case KindBilled:
		return new(Bill)
	case KindPayment:
		return new(Payment)
	case KindReply:
		return new(Reply)
	case KindSettle:
		return new(Settle)
	case KindAllege:
		return new(Allege)
	case KindLinkStatement:
		return new(LinkStatement)
	case KindRespond:
		return new(Respond)
	case KindOffer:
		return new(Offer)
	case KindOfferAnswer:
		return new(OfferAnswer)
	case KindRelease:
		return new(Release)
	case KindPaidOut:
		return new(PaidOut)
	case KindInsurer:
		return new(InsurerNotice)
	case KindDisputeEnd:
		return new(DisputeEnd)
	case KindCover:
		return new(Cover)
	case KindHold:
		return new(LegalHold)
	case KindErase:
		return new(Erase)
	case KindExported:
		return new(Exported)
	}
	return nil
}

// serverKinds are written by the server alone: a device that sends one is refused.
func serverKind(k Kind) bool {
	switch k {
	case KindExamined, KindCodes, KindLikeness, KindBuilt, KindFetched, KindBilled, KindShared, KindUnshared, KindLinkStatement, KindHandedIn, KindMailed, KindErase, KindExported:
		return true
	}
	return false
}

// bearing reports whether an entry of this kind can change what a bill says.
func bearing(k Kind) bool {
	switch k {
	case KindOpen, KindSite, KindUnit, KindCoverage, KindArrive, KindLeave, KindCause, KindDamage, KindPart, KindLabour, KindTrip, KindStrike:
		return true
	}
	return false
}
