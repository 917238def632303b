package claims

import "slices"

// RefusalReasons are all reasons, in the order people are shown them.
func RefusalReasons() []RefusalReason {
	plate := need{"The rating plate", "Photograph the rating plate so that every character can be read.", subjects("rating-plate")}
	bought := need{"The proof of purchase", "Ask the customer for the receipt and photograph it.", subjects("proof-of-purchase", "customer-document")}
	cause := need{"The cause, naming the part", "Enter the cause and the component it is about.", causesOfParts}
	shown := need{"The reading or photo that shows the failure", "Enter the reading as found, or a photo of the failed part; a look at the old part may still be possible.", showsFailure}
	visit := need{"Arrival and departure", "Enter when the visit began and ended, with the reason why it is entered late.", visits}
	return []RefusalReason{
		{"out-of-term", "The unit is out of term", []need{bought, plate,
			{"The date that starts the term", "Enter the date of purchase or installation with the coverage.", said("coverage.start", "coverage.purchased", "coverage.installed")},
			{"When the failure was reported", "Enter when the job was given out.", said("open.dispatched", "open.complaint")}}},
		{"no-proof-of-purchase", "The purchase is not proven", []need{bought}},
		{"plate-mismatch", "Model or serial are missing, unreadable or differ", []need{plate,
			{"Model and serial as entered", "Enter model and serial from the plate.", said("unit.model", "unit.serial")},
			{"Model and serial on the payer's papers", "Enter the serial as the payer's papers have it.", said("coverage.serial", "coverage.model")}}},
		{"no-cause", "The cause is missing or does not fit the part", []need{cause, shown}},
		{"part-not-needed", "The part was not needed, or no fault was found", []need{shown, cause,
			{"The failed part and its label", "Photograph the old part and its label while it is still here.", subjects("failed-part", "part-label")},
			{"The result after the repair", "Take a reading as left or a photo after the repair; without one a second visit may be needed.", asLeft}}},
		{"duplicate", "The claim, or the repair, was claimed before", []need{plate, visit,
			{"What was sent before", "Look for the earlier claim and name its number.", func(j *Job) []EntryID { return entries(j.Sends) }}}},
		{"late", "The claim came late", []need{visit,
			{"When the claim was sent", "Enter the day on which the claim went out, and how.", func(j *Job) []EntryID { return entries(j.Sends) }}}},
		{"not-authorised", "The work was not authorised", []need{
			{"The authorisation number", "Ask the payer for the authorisation, and enter its number.", said("coverage.authorisation")},
			{"When work began", "Enter when work began.", func(j *Job) []EntryID { return entries(j.WorkStarts) }}}},
		{"excluded-use", "The use or the cause is excluded", []need{cause, shown,
			{"The surroundings and the unit as found", "Photos of the room and of the unit as found can't be taken any more: say what was seen.", subjects("surroundings", "whole-unit", "floor")},
			{"How the unit is used", "Enter whether the use is household or commercial.", said("unit.usage")}}},
		{"damage-found", "Damage on the unit is held against the claim", []need{
			{"The damage as found on arrival", "Enter what was found on arrival, and when it was entered.", func(j *Job) []EntryID { return damages(j, "on-arrival") }},
			{"Photos of it, wide and close", "Photos of the damage are missing: photograph it, and say that it is later.", subjects("damage-wide", "damage-close")},
			{"The customer's acknowledgement", "Ask the customer to sign what was found, or enter why not.", func(j *Job) []EntryID { return entries(j.Acks) }}}},
		{"labour-over", "The labour is above the allowance", []need{visit,
			{"The time worked", "Enter the minutes worked.", func(j *Job) []EntryID { return entries(j.Labour) }},
			{"What took the time", "Say in a note or with the labour what took longer than usual.", longer}}},
		{"amount-over", "An amount is above the limit or the agreed price", []need{
			{"The parts with invoice", "Enter the invoices of the parts.", invoices},
			{"The authorisation number", "Ask the payer for the authorisation, and enter its number.", said("coverage.authorisation")}}},
		{"part-not-returned", "The old part was not returned", []need{
			{"The return of the part, with its tracking", "Enter how and when the part was shipped, with the tracking number and a photo.", returned},
			{"The part's label", "Photograph the label of the old part before it leaves.", subjects("part-label", "failed-part")}}},
		{"photos-missing", "Photos or readings are missing or unreadable", []need{plate, shown,
			{"The meter's display", "A photo of the display can't be made up for: say which instrument was used.", subjects("meter-display", "as-left-display")},
			{"The result after the repair", "Take a photo after the repair if the unit can still be reached.", asLeft}}},
		{"photo-reused", "A photo was used on another claim", []need{plate, visit,
			{"The photos of this visit", "Say where the photo was taken, and strike it if it is from another job.", func(j *Job) []EntryID { return entries(j.Photos) }}}},
		{"dates-wrong", "The dates do not fit each other", []need{visit,
			{"When the job was given out", "Enter when the job was given out.", said("open.dispatched")}}},
		{"repeat", "The repair repeats an earlier one", []need{cause, shown,
			{"The serial of the unit", "Enter the unit's serial.", said("unit.serial")}}},
		{"other", "Another reason", []need{plate, cause, shown, visit}},
	}
}

func refusalReason(id string) (RefusalReason, bool) {
	all := RefusalReasons()
	if i := slices.IndexFunc(all, func(r RefusalReason) bool { return r.ID == id }); i >= 0 {
		return all[i], true
	}
	return RefusalReason{}, false
}

func reasonIDs() []string {
	var ids []string
	for _, r := range RefusalReasons() {
		ids = append(ids, r.ID)
	}
	return ids
}

func entries[B any](items []Item[B]) []EntryID {
	var ids []EntryID
	for _, it := range items {
		ids = append(ids, it.Entry)
	}
	return ids
}

func subjects(list ...string) func(*Job) []EntryID {
	return func(j *Job) []EntryID { return photosOf(j, "", list...) }
}

func said(fields ...string) func(*Job) []EntryID {
	return func(j *Job) []EntryID {
		var ids []EntryID
		for _, f := range fields {
			if id := j.Said[f]; id != "" {
				ids = append(ids, id)
			}
		}
		return ids
	}
}

func visits(j *Job) []EntryID {
	var ids []EntryID
	for _, v := range j.Visits {
		if v.Arrived != nil && v.Left != nil {
			ids = append(ids, v.Arrived.Entry, v.Left.Entry)
		}
	}
	return ids
}

// causesOfParts are the causes that name a component of which a part was fitted, or any while none was.
func causesOfParts(j *Job) []EntryID {
	var ids []EntryID
	fitted := repaired(j)
	for _, c := range j.Causes {
		if slices.Contains(fitted, c.Body.Component) {
			ids = append(ids, c.Entry)
		}
	}
	return ids
}

// showsFailure are readings as found and photos of the components of the repair.
func showsFailure(j *Job) []EntryID {
	var ids []EntryID
	for _, c := range repaired(j) {
		for _, r := range j.Readings {
			if r.Body.Component == c && r.Body.Moment != "as-left" {
				ids = append(ids, r.Entry)
			}
		}
		ids = append(ids, photosOf(j, c, "failed-part", "symptom")...)
	}
	return ids
}

func asLeft(j *Job) []EntryID {
	var ids []EntryID
	for _, r := range j.Readings {
		if r.Body.Moment == "as-left" {
			ids = append(ids, r.Entry)
		}
	}
	return append(ids, photosOf(j, "", "after-repair", "as-left-display", "fitted-part")...)
}

func damages(j *Job, seen string) []EntryID {
	var ids []EntryID
	for _, d := range j.Damages {
		if d.Body.Seen == seen {
			ids = append(ids, d.Entry)
		}
	}
	return ids
}

func longer(j *Job) []EntryID {
	var ids []EntryID
	for _, l := range j.Labour {
		if l.Body.Says != "" {
			ids = append(ids, l.Entry)
		}
	}
	return append(ids, entries(j.Notes)...)
}

func invoices(j *Job) []EntryID {
	var ids []EntryID
	for _, p := range j.Parts {
		if p.Body.Invoice != "" {
			ids = append(ids, p.Entry)
		}
	}
	return ids
}

// returned are the reports that an old part was shipped or has arrived.
func returned(j *Job) []EntryID {
	var ids []EntryID
	for _, r := range j.PartReturns {
		if r.Body.Held == "shipped" && r.Body.Tracking != "" || r.Body.Held == "received" {
			ids = append(ids, r.Entry)
			if r.Body.Photo != "" {
				ids = append(ids, r.Body.Photo)
			}
		}
	}
	return ids
}
