package claims

// Role is what a person is in a shop.
type Role string

// The roles. Somebody without a role may do nothing.
const (
	Technician Role = "technician"
	Office     Role = "office"
	Owner      Role = "owner"
)

// Actor is who asks: a person of one shop on one device. The zero Actor may do nothing.
type Actor struct {
	Shop   ShopID `json:"shop"`
	Person string `json:"person"`
	Role   Role   `json:"role"`
	Device string `json:"device"`
}

// Act is something that can be asked of Service.
type Act string

// The acts, one per use-case.
const (
	ActRead    Act = "read a job"
	ActAppend  Act = "write on a job"
	ActUpload  Act = "upload a photo"
	ActBuild   Act = "build a bundle"
	ActWaive   Act = "set a requirement aside"
	ActSend    Act = "send a claim or record its answer"
	ActImport  Act = "import customers and units"
	ActShare   Act = "send out a bundle or take it back"
	ActPair    Act = "let phones in or cut them off"
	ActPeople  Act = "let people in and out"
	ActCustody Act = "check the shop's log"
	ActRates   Act = "change the shop's prices"
	ActHold    Act = "put a job under a legal hold or lift it"
	ActExport  Act = "make a copy of all that is held on a customer"
	ActErase   Act = "erase a customer's data or set how long data is kept"
)

// Acts are all of them.
func Acts() []Act {
	return []Act{ActRead, ActAppend, ActUpload, ActBuild, ActWaive, ActSend, ActShare, ActImport, ActPair, ActPeople, ActCustody, ActRates, ActHold, ActExport, ActErase}
}

// May is the one table of who may do what; anything not named is denied.
func May(r Role, a Act) bool {
	switch a {
	case ActRead, ActAppend, ActUpload, ActBuild:
		return r == Technician || r == Office || r == Owner
	case ActWaive, ActSend, ActShare, ActImport, ActPair, ActCustody, ActRates, ActHold, ActExport:
		return r == Office || r == Owner
	case ActPeople, ActErase:
		return r == Owner
	}
	return false
}

// actOf is the act that appending an entry of a kind amounts to.
func actOf(k Kind) Act {
	switch k {
	case KindWaive:
		return ActWaive
	case KindSend, KindAnswer, KindPayment, KindReply, KindSettle, KindRespond, KindOffer, KindOfferAnswer, KindRelease, KindPaidOut, KindInsurer, KindDisputeEnd:
		return ActSend
	case KindHold:
		return ActHold
	}
	return ActAppend
}

// actOfEntry is actOf, save that a technician may note down what the customer paid at the door.
func actOfEntry(e Entry) Act {
	if e.Kind == KindPayment && e.Supersedes == "" {
		if b, err := DecodeBody(e.Kind, e.Body); err == nil && b.(*Payment).From == "customer" {
			return ActAppend
		}
	}
	return actOf(e.Kind)
}

func (a Actor) allow(act Act) error {
	if a.Shop == "" || a.Person == "" {
		return Errorf(SignIn, "Sign in first.")
	}
	if !May(a.Role, act) {
		return Errorf(Forbidden, "As %s you may not %s. Ask the owner of the shop.", roleWord(a.Role), act)
	}
	return nil
}

func roleWord(r Role) string {
	if r == "" {
		return "somebody without a role"
	}
	return string(r)
}
