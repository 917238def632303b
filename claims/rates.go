package claims

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// Rates are a shop's prices, as a list of cards: what a job costs goes by the card that held on the day of the work.
type Rates struct {
	Cards []RateCard `json:"cards"`
}

// RateCard is one set of prices, from a day on. Prices are decimals in major units of Currency ("95.00"), so that a rate may be
// finer than the coin: 0.725 a mile.
type RateCard struct {
	Name string `json:"name"`
	// From is the first day of work it holds for; Payer narrows it to one payer, empty = everybody.
	From     Day    `json:"from"`
	Payer    string `json:"payer,omitempty"`
	Currency string `json:"currency"`
	// Rounding of halves, half-up or half-even; TaxOn says whether tax is rounded on each line or on the total.
	Rounding Rounding          `json:"rounding"`
	Labour   LabourRate        `json:"labour"`
	Flat     map[string]string `json:"flat,omitempty"` // price by the code of the job
	// Diagnosis is charged once when a cause was found; WithRepair says it is charged even when a part was fitted.
	Diagnosis           string    `json:"diagnosis,omitempty"`
	DiagnosisWithRepair bool      `json:"diagnosisWithRepair,omitempty"`
	Trip                TripRate  `json:"trip"`
	Parts               PartsRate `json:"parts"`
	Tax                 TaxRate   `json:"tax"`
}

// LabourRate prices time. The minutes of the job are added up, raised to Least, then rounded to Step: up, or to the nearest with a half up.
type LabourRate struct {
	PerHour  string `json:"perHour,omitempty"`
	Step     int    `json:"step,omitempty"` // minutes; 0 or 1 = to the minute
	StepRule string `json:"stepRule,omitempty"`
	Least    int    `json:"least,omitempty"` // minutes
}

// TripRate prices journeys: by zone where the trip names one, else Base and PerUnit for the distance beyond Free.
type TripRate struct {
	Base    string            `json:"base,omitempty"`
	PerUnit string            `json:"perUnit,omitempty"`
	Unit    string            `json:"unit,omitempty"` // km or mi
	Free    string            `json:"free,omitempty"` // distance that Base pays for
	Zones   map[string]string `json:"zones,omitempty"`
}

// PartsRate adds a percentage for handling to each part, at most HandlingMost a line.
type PartsRate struct {
	HandlingPercent string `json:"handlingPercent,omitempty"`
	HandlingMost    string `json:"handlingMost,omitempty"`
}

// TaxRate is a percentage on lines of these kinds: part, handling, labour, diagnosis, trip.
type TaxRate struct {
	Percent     string   `json:"percent,omitempty"`
	On          []string `json:"on,omitempty"`
	Per         string   `json:"per,omitempty"` // line or total; empty = line
	ExemptPayer bool     `json:"exemptPayer,omitempty"`
}

const mostCards = 200

func (r *Rates) validate() *Error {
	if len(r.Cards) > mostCards {
		return Errorf(TooLarge, "At most %d rate cards can be kept.", mostCards).At("cards")
	}
	seen := map[string]bool{}
	for i := range r.Cards {
		c := &r.Cards[i]
		where := fmt.Sprintf("cards[%d]", i)
		if err := c.validate(); err != nil {
			return err.At(where)
		}
		key := string(c.From) + " " + FoldKey(c.Payer)
		if seen[key] {
			return Errorf(Invalid, "Two cards hold from %s for the same payer. Change one of the days.", c.From).At(where + ".from")
		}
		seen[key] = true
	}
	return nil
}

func (c *RateCard) validate() *Error {
	if _, ok := Exponent(c.Currency); !ok {
		return Errorf(Invalid, "%q is not a currency of ISO 4217; write three capitals such as USD.", clip(c.Currency)).At("currency")
	}
	if err := first(line("name", c.Name, true), required("from", string(c.From)), date("from", string(c.From)), line("payer", c.Payer, false),
		required("rounding", string(c.Rounding)), oneOf("rounding", string(c.Rounding), string(HalfUp), string(HalfEven)),
		price("labour.perHour", c.Labour.PerHour), count("labour.step", c.Labour.Step, 24*60), oneOf("labour.stepRule", c.Labour.StepRule, "up", "nearest"),
		count("labour.least", c.Labour.Least, 24*60), price("diagnosis", c.Diagnosis), price("trip.base", c.Trip.Base), price("trip.perUnit", c.Trip.PerUnit),
		oneOf("trip.unit", c.Trip.Unit, "km", "mi"), price("trip.free", c.Trip.Free), percent("parts.handlingPercent", c.Parts.HandlingPercent),
		price("parts.handlingMost", c.Parts.HandlingMost), percent("tax.percent", c.Tax.Percent), oneOf("tax.per", c.Tax.Per, "line", "total")); err != nil {
		return err
	}
	if c.Trip.PerUnit != "" && c.Trip.Unit == "" {
		return Errorf(Invalid, "Say whether the price of the distance is for a km or a mi.").At("trip.unit")
	}
	if c.Tax.Percent != "" && len(c.Tax.On) == 0 {
		return Errorf(Invalid, "Say what is taxed: part, handling, labour, diagnosis, trip.").At("tax.on")
	}
	for _, on := range c.Tax.On {
		if err := first(required("tax.on", on), oneOf("tax.on", on, taxable...)); err != nil {
			return err
		}
	}
	for at, prices := range map[string]map[string]string{"flat": c.Flat, "trip.zones": c.Trip.Zones} {
		if len(prices) > 500 {
			return Errorf(TooLarge, "At most 500 prices can be kept here.").At(at)
		}
		for name, p := range prices {
			if err := first(line(at, name, true), required(at, p), price(at, p)); err != nil {
				return err
			}
		}
	}
	return nil
}

var taxable = []string{"part", "handling", "labour", "diagnosis", "trip"}

func price(field, s string) *Error {
	if err := decimal(field, s, false); err != nil {
		return err
	}
	if strings.HasPrefix(s, "-") || len(s) > 16 {
		return Errorf(Invalid, "A price is not below nought and has at most 16 characters; this is %q.", clip(s)).At(field)
	}
	return nil
}

func percent(field, s string) *Error {
	if err := price(field, s); err != nil {
		return err
	}
	if ratOf(s).Cmp(big.NewRat(1000, 1)) > 0 {
		return Errorf(Invalid, "A percentage is at most 1000; this is %q.", clip(s)).At(field)
	}
	return nil
}

// On picks the card for a payer on a day: the payer's own before everybody's, and of these the latest that has begun.
func (r *Rates) On(day Day, payer string) (RateCard, bool) {
	best := -1
	for i, c := range r.Cards {
		own := c.Payer != ""
		if own && FoldKey(c.Payer) != FoldKey(payer) || c.From > day {
			continue
		}
		if best < 0 {
			best = i
			continue
		}
		b := r.Cards[best]
		if own && b.Payer == "" || own == (b.Payer != "") && c.From > b.From {
			best = i
		}
	}
	if best < 0 {
		return RateCard{}, false
	}
	return r.Cards[best], true
}

// noteRates is the note that holds the shop's rates.
const noteRates = "rates"

// Rates returns the shop's rates; a shop that has set none has an empty list.
func (s *Service) Rates(ctx context.Context, a Actor) (Rates, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return Rates{}, err
	}
	return rates(ctx, st)
}

func rates(ctx context.Context, st Store) (Rates, error) {
	r := Rates{Cards: []RateCard{}}
	raw, err := st.Note(ctx, noteRates)
	if errors.Is(err, ErrAbsent) {
		return r, nil
	}
	if err != nil {
		return r, err
	}
	if err := json.Unmarshal(raw, &r); err != nil {
		return r, fmt.Errorf("read the shop's rates: %w", err)
	}
	return r, nil
}

// SetRates replaces the shop's rates. Add a card with a later From instead of changing one that has held: what was billed before
// goes by the old. Cards of jobs in lists show the new amounts when something next happens on the job.
func (s *Service) SetRates(ctx context.Context, a Actor, r Rates) error {
	st, err := s.store(ctx, a, ActRates)
	if err != nil {
		return err
	}
	if err := r.validate(); err != nil {
		return err
	}
	slices.SortStableFunc(r.Cards, func(x, y RateCard) int {
		return strings.Compare(string(x.From)+FoldKey(x.Payer), string(y.From)+FoldKey(y.Payer))
	})
	raw, err := json.Marshal(r)
	if err != nil {
		return err
	}
	return st.PutNote(ctx, noteRates, raw)
}
