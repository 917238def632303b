package claims

import "encoding/json"

// stayFields are the kinds that may stay when a job is erased, with the fields that they may then hold: measured values, parts, working time,
// money and refrigerant, which a shop's books, statistics and the law on refrigerants go on needing, and which say nothing about a person. An
// entry with any other field filled in (free words, a position, a serial number) goes as a whole, as does every kind that is not named here: an
// entry's bytes are hashed as one piece, so half of it can't be kept. That money and refrigerant records have to be kept for years is common
// practice, no source.
func stayFields(k Kind) []string {
	switch k {
	case KindReading:
		return []string{"component", "quantity", "value", "unit", "state", "moment", "conditions", "profile", "instrument", "photo"}
	case KindPart:
		return []string{"component", "action", "number", "description", "quantity", "invoice", "invoiceDate", "price", "original", "held", "photos"}
	case KindPartReturn:
		return []string{"part", "held", "photo"}
	case KindRefrigerant:
		return []string{"type", "action", "grams", "method", "certificate"}
	case KindLabour:
		return []string{"minutes", "flat", "amount"}
	case KindTrip:
		return []string{"distance", "unit", "zone", "amount"}
	case KindArrive, KindWorkStart, KindWorkFinish:
		return []string{"when"}
	case KindLeave:
		return []string{"when", "gaps", "return"}
	case KindCaution:
		return []string{"caution", "before"}
	case KindPayment:
		return []string{"from", "amount", "on", "reference", "lines"}
	case KindPaidOut:
		return []string{"offer", "by", "amount", "on", "how", "reference"}
	case KindBilled:
		return []string{"currency", "on", "rates", "rounding", "taxOn", "coverage", "lines", "total", "payer", "customer", "shop", "doubt", "mixed", "problems", "bearing"}
	case KindSettle:
		return []string{"outcome"}
	case KindHold:
		return []string{"state", "reason"}
	case KindExported:
		return []string{"jobs", "originals"}
	}
	return nil
}

// stays reports whether an entry may stay when its job is erased.
func stays(k Kept, who personal) bool {
	if k.Kind == KindErase || k.Erased != "" {
		return true
	}
	fields := stayFields(k.Kind)
	if fields == nil || k.Why != "" {
		return false
	}
	var body map[string]any
	if json.Unmarshal(k.Body, &body) != nil {
		return false
	}
	allowed := map[string]bool{}
	for _, f := range fields {
		allowed[f] = true
	}
	for name, value := range body {
		if !allowed[name] && !blank(value) {
			return false
		}
	}
	return !speaksOf(body, who)
}

func blank(v any) bool {
	switch v := v.(type) {
	case nil:
		return true
	case string:
		return v == ""
	case bool:
		return !v
	case float64:
		return v == 0
	case []any:
		return len(v) == 0
	case map[string]any:
		return len(v) == 0
	}
	return false
}

func speaksOf(v any, who personal) bool {
	switch v := v.(type) {
	case string:
		return who.in(v)
	case map[string]any:
		for _, inner := range v {
			if speaksOf(inner, who) {
				return true
			}
		}
	case []any:
		for _, inner := range v {
			if speaksOf(inner, who) {
				return true
			}
		}
	}
	return false
}

// goes picks the entries of a job to be erased. Corrections go with what they correct, and what was struck goes with its strike: were one of
// them to stay alone, the account would say something it never said.
func goes(kept []Kept) map[EntryID]bool {
	who := personalOf(kept)
	at := map[EntryID]*Kept{}
	for i := range kept {
		at[kept[i].ID] = &kept[i]
	}
	root := func(id EntryID) EntryID {
		for range kept {
			k := at[id]
			if k == nil || k.Supersedes == "" {
				return id
			}
			id = k.Supersedes
		}
		return id
	}
	out, roots := map[EntryID]bool{}, map[EntryID]bool{}
	for _, k := range kept {
		if stays(k, who) {
			continue
		}
		out[k.ID], roots[root(k.ID)] = true, true
		if k.Kind != KindStrike {
			continue
		}
		if body, err := DecodeBody(k.Kind, k.Body); err == nil {
			roots[root(body.(*Strike).Entry)] = true
		}
	}
	for _, k := range kept {
		if roots[root(k.ID)] && k.Kind != KindErase && k.Erased == "" {
			out[k.ID] = true
		}
	}
	return out
}
