package rules

// MayDoubt reports whether the requirement can end in doubt at all. Some rules only know met and gap: a signature is there
// or it is not.
func (r *Requirement) MayDoubt() bool {
	switch {
	case r.Photo != nil:
		p := r.Photo
		return p.LongSide > 0 || p.Sharp || p.NotDark || p.NotBright || p.DuringVisit || p.NearSite || p.NotUsedBefore ||
			p.TimeBasis != "" || p.Before != "" || p.After != "" || p.Pair != "" && r.Per != PerDamage
	case r.Reading != nil:
		p := r.Reading
		return p.Moment != "" || len(p.Outcome) > 0 || p.Supports || p.DisplayPhoto
	case r.Field != nil:
		return r.Field.Mentions
	case r.Agreement != nil:
		return true
	case r.Part != nil:
		return r.Part.Reading
	}
	return false
}

// MayGap reports whether the requirement can end in a gap at all. What only asks for the time of every picture can't: a
// time that is poorly supported needs eyes, it is not wrong.
func (r *Requirement) MayGap() bool {
	p := r.Photo
	return p == nil || !p.Every || p.LongSide > 0 || p.Sharp || p.NotDark || p.NotBright || p.DuringVisit || p.NearSite ||
		p.NotUsedBefore || p.Before != "" || p.After != "" || p.Pair != ""
}
