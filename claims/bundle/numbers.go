package bundle

import "kickplate/claims"

// accountNumbers maps the entries of the account to their numbers, by which letters and other entries name them.
func accountNumbers(j *claims.Job) map[claims.EntryID]int {
	m := map[claims.EntryID]int{}
	for _, v := range j.Visits {
		if v.Arrived != nil {
			m[v.Arrived.Entry] = v.Arrived.Number
		}
		if v.Left != nil {
			m[v.Left.Entry] = v.Left.Number
		}
	}
	noteNumbers(m, j.WorkStarts)
	noteNumbers(m, j.WorkFinishes)
	noteNumbers(m, j.Photos)
	noteNumbers(m, j.Markups)
	noteNumbers(m, j.Covers)
	noteNumbers(m, j.Readings)
	noteNumbers(m, j.Signs)
	noteNumbers(m, j.Causes)
	noteNumbers(m, j.Corrections)
	noteNumbers(m, j.Damages)
	noteNumbers(m, j.Parts)
	noteNumbers(m, j.PartReturns)
	noteNumbers(m, j.Refrigerants)
	noteNumbers(m, j.Labour)
	noteNumbers(m, j.Trips)
	noteNumbers(m, j.Acks)
	noteNumbers(m, j.Notes)
	noteNumbers(m, j.Cautions)
	noteNumbers(m, j.Waivers)
	noteNumbers(m, j.Bundles)
	noteNumbers(m, j.Fetches)
	noteNumbers(m, j.Sends)
	noteNumbers(m, j.Answers)
	noteNumbers(m, j.Allegations)
	noteNumbers(m, j.Bills)
	noteNumbers(m, j.Payments)
	noteNumbers(m, j.Replies)
	noteNumbers(m, j.Settlements)
	noteNumbers(m, j.Likenesses)
	noteNumbers(m, j.Shares)
	noteNumbers(m, j.Unshares)
	noteNumbers(m, j.Statements)
	noteNumbers(m, j.LinkStatements)
	noteNumbers(m, j.Responses)
	noteNumbers(m, j.Offers)
	noteNumbers(m, j.OfferAnswers)
	noteNumbers(m, j.Releases)
	noteNumbers(m, j.PaidOut)
	noteNumbers(m, j.InsurerNotices)
	noteNumbers(m, j.DisputeEnds)
	return m
}

func noteNumbers[B any](m map[claims.EntryID]int, items []claims.Item[B]) {
	for _, it := range items {
		m[it.Entry] = it.Number
	}
}
