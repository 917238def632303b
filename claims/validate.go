package claims

import (
	"strings"
	"time"
	"unicode/utf8"
)

// The small checks that bodies are made of. Each returns nil or an *Error that points at the field.

func first(errs ...*Error) *Error {
	for _, e := range errs {
		if e != nil {
			return e
		}
	}
	return nil
}

func required(field, s string) *Error {
	if strings.TrimSpace(s) == "" {
		return Errorf(Invalid, "This is needed and was left empty.").At(field)
	}
	return nil
}

// line is text on one line.
func line(field, s string, need bool) *Error {
	if need {
		if err := required(field, s); err != nil {
			return err
		}
	}
	if !oneLine(s, maxName) {
		return Errorf(Invalid, "This must be at most %d characters on one line.", maxName).At(field)
	}
	return nil
}

// text may have several lines.
func text(field, s string, need bool) *Error {
	if need {
		if err := required(field, s); err != nil {
			return err
		}
	}
	if utf8.RuneCountInString(s) > MaxText {
		return Errorf(TooLarge, "This may have at most %d characters.", MaxText).At(field)
	}
	if strings.ContainsRune(s, 0) {
		return Errorf(Invalid, "This contains a NUL character.").At(field)
	}
	return nil
}

// word is a name from one of our vocabularies: lower-case letters, digits, dashes.
func word(field, s string, need bool) *Error {
	if s == "" && !need {
		return nil
	}
	if !kebab(s) {
		return Errorf(Invalid, "This must be a word of lower-case letters, digits and dashes; it is %q.", clip(s)).At(field)
	}
	return nil
}

func oneOf(field, s string, options ...string) *Error {
	if s == "" {
		return nil
	}
	for _, o := range options {
		if s == o {
			return nil
		}
	}
	return Errorf(Invalid, "%q is not possible here; choose one of: %s.", clip(s), strings.Join(options, ", ")).At(field)
}

func count(field string, n, most int) *Error {
	if n < 0 || n > most {
		return Errorf(Invalid, "This must be a whole number from 0 to %d; it is %d.", most, n).At(field)
	}
	return nil
}

// decimal is an optional minus, digits, and at most one point with digits after it; no exponent.
func decimal(field, s string, need bool) *Error {
	if s == "" && !need {
		return nil
	}
	if !isDecimal(s) {
		return Errorf(Invalid, "This must be a number such as 12 or -3.5, with a point and without a unit; it is %q.", clip(s)).At(field)
	}
	return nil
}

func isDecimal(s string) bool {
	if len(s) > 30 {
		return false
	}
	s = strings.TrimPrefix(s, "-")
	whole, frac, point := strings.Cut(s, ".")
	return digits(whole) && (!point || digits(frac))
}

func digits(s string) bool {
	if s == "" {
		return false
	}
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}

func date(field, s string) *Error {
	if s == "" {
		return nil
	}
	if d, err := time.Parse("2006-01-02", s); err != nil || d.Year() < 1950 || d.Year() >= afterYears {
		return Errorf(Invalid, "A date looks like 2026-03-04 (year, month, day) and must exist; this is %q.", clip(s)).At(field)
	}
	return nil
}

// partialDate may lack the day, or the month and the day: that is how plates have it.
func partialDate(field, s string) *Error {
	if len(s) == 4 {
		s += "-01-01"
	} else if len(s) == 7 {
		s += "-01"
	}
	return date(field, s)
}

// moment is an RFC 3339 time with its zone offset.
func moment(field, s string) *Error {
	if s == "" {
		return nil
	}
	if t, err := time.Parse(time.RFC3339Nano, s); err != nil || t.Year() < firstYear || t.Year() >= afterYears {
		return Errorf(Invalid, "A time looks like 2026-03-04T09:12:33-05:00, between the years %d and %d; this is %q.", firstYear, afterYears-1, clip(s)).At(field)
	}
	return nil
}

// when is a date or a moment.
func when(field, s string) *Error {
	if len(s) == len("2006-01-02") {
		return date(field, s)
	}
	return moment(field, s)
}

func position(field string, p *Position) *Error {
	if p == nil {
		return nil
	}
	// The comparisons are written so that NaN fails them.
	if !(p.Lat >= -90 && p.Lat <= 90) || !(p.Lon >= -180 && p.Lon <= 180) {
		return Errorf(Invalid, "A position has a latitude from -90 to 90 and a longitude from -180 to 180 degrees.").At(field)
	}
	if !(p.Accuracy >= 0 && p.Accuracy <= 1e7) {
		return Errorf(Invalid, "The accuracy of a position is a number of metres, not negative.").At(field)
	}
	return nil
}

func money(field string, m *Money) *Error {
	if m == nil {
		return nil
	}
	if m.Currency == "" {
		return Errorf(Invalid, "An amount needs its currency, such as USD.").At(field)
	}
	if m.Minor < -1e12 || m.Minor > 1e12 {
		return Errorf(Invalid, "This amount is out of range.").At(field)
	}
	return currency(field, m.Currency)
}

func currency(field, s string) *Error {
	return capitals(field, s, 3, "A currency is its ISO 4217 code of three capitals, such as USD")
}

func country(field, s string) *Error {
	return capitals(field, s, 2, "A country is its ISO 3166 code of two capitals, such as US")
}

func capitals(field, s string, n int, says string) *Error {
	if s == "" {
		return nil
	}
	ok := len(s) == n
	for _, c := range []byte(s) {
		ok = ok && c >= 'A' && c <= 'Z'
	}
	if !ok {
		return Errorf(Invalid, "%s; this is %q.", says, clip(s)).At(field)
	}
	return nil
}

func one(field string, id EntryID) *Error {
	if !validUUID(string(id)) {
		return Errorf(Invalid, "Name the entry by its id.").At(field)
	}
	return nil
}

func maybe(field string, id EntryID) *Error {
	if id == "" {
		return nil
	}
	return one(field, id)
}

func ids(field string, list []EntryID) *Error {
	if len(list) > 500 {
		return Errorf(TooLarge, "At most 500 entries can be named here.").At(field)
	}
	for _, id := range list {
		if err := one(field, id); err != nil {
			return err
		}
	}
	return nil
}

func list(field string, l []string, most int) *Error {
	if len(l) > most {
		return Errorf(TooLarge, "At most %d can be named here.", most).At(field)
	}
	for _, s := range l {
		if err := line(field, s, true); err != nil {
			return err
		}
	}
	return nil
}
