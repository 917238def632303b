package claims

import "slices"

// Coverage is who is to pay and under what terms, as stated on the papers.
type Coverage struct {
	// Kind is maker-warranty, service-contract, part-warranty or customer-pays.
	Kind  string `json:"kind,omitempty"`
	Payer string `json:"payer,omitempty"`
	// Pack is the id of the rule pack to check against; empty = chosen by kind of coverage and unit.
	Pack string `json:"pack,omitempty"`
	// Number is the claim, contract or dispatch number of the payer; Authorisation the approval number.
	Number        string `json:"number,omitempty"`
	Authorisation string `json:"authorisation,omitempty"`
	// Serial and Model are as the payer's papers have them, to be compared with the plate.
	Serial string `json:"serial,omitempty"`
	Model  string `json:"model,omitempty"`
	// StartEvent is what starts the term: purchase, installation or manufacture; Start its date; Purchased and
	// Installed the dates as proven.
	StartEvent string `json:"startEvent,omitempty"`
	Start      string `json:"start,omitempty"`
	Purchased  string `json:"purchased,omitempty"`
	Installed  string `json:"installed,omitempty"`
	// TermMonths and PartMonths are the terms in calendar months, for the whole unit and for named components, parts and
	// labour alike. Terms says it by component class and for parts and labour apart, and comes first where it says something.
	TermMonths int            `json:"termMonths,omitempty"`
	PartMonths map[string]int `json:"partMonths,omitempty"`
	Terms      []Term         `json:"terms,omitempty"`
	// EndRule is exclusive (the day of the start is not counted) or inclusive (it is); empty = the papers don't say.
	EndRule string `json:"endRule,omitempty"`
	// Decides is the day that must lie within the term: reported (when the failure was reported) or visited; empty = not said.
	Decides string `json:"decides,omitempty"`
	// Exclusions are what the papers leave out, by the words of Exclusions().
	Exclusions []string `json:"exclusions,omitempty"`
	// RepeatDays is how long after a repair of the same component of the same unit the payer pays no labour for another;
	// FittedMonths is the warranty on parts fitted by an earlier repair.
	RepeatDays   int `json:"repeatDays,omitempty"`
	FittedMonths int `json:"fittedMonths,omitempty"`
	// SubmitDays, ReturnDays and AnswerDays are the windows for the claim, for the old part, and for the answer to a refusal that
	// names no day. DayRule says how they are counted:
	// calendar (every day; also when empty), roll (every day, a last day without business moves on to the next with), or
	// business (only days of business). Holidays names the calendar (see HolidayCalendars), Closed lists further days.
	SubmitDays int      `json:"submitDays,omitempty"`
	ReturnDays int      `json:"returnDays,omitempty"`
	AnswerDays int      `json:"answerDays,omitempty"`
	DayRule    string   `json:"dayRule,omitempty"`
	Holidays   string   `json:"holidays,omitempty"`
	Closed     []string `json:"closed,omitempty"`
	// Limit is the most that one claim may be, TotalLimit the most of all claims together, of which Spent is used up.
	// LimitRule says which comes off first: after-deductible (also when empty) or before-deductible.
	Limit      *Money `json:"limit,omitempty"`
	TotalLimit *Money `json:"totalLimit,omitempty"`
	Spent      *Money `json:"spent,omitempty"`
	LimitRule  string `json:"limitRule,omitempty"`
	Deductible *Money `json:"deductible,omitempty"`
	// AuthoriseOver is the amount above which the payer must have said yes before the work.
	AuthoriseOver *Money `json:"authoriseOver,omitempty"`
	// LabourMinutes is the payer's allowance.
	LabourMinutes int `json:"labourMinutes,omitempty"`
}

// Term is what the papers grant for one component, or one class of components (see ComponentClasses), in calendar months.
// 0 = none.
type Term struct {
	For    string `json:"for"`
	Parts  int    `json:"parts,omitempty"`
	Labour int    `json:"labour,omitempty"`
}

// Exclusions are the words for what papers of warranty leave out (common practice, no source).
func Exclusions() []string {
	return []string{"misuse", "pre-existing-damage", "non-original-part", "commercial-use", "installation", "power", "pests", "cosmetic", "consumable", "transport", "wear"}
}

const mostTerms = 100

func (b *Coverage) validate() *Error {
	for c, m := range b.PartMonths {
		if err := first(word("partMonths", c, true), count("partMonths", m, 1200)); err != nil {
			return err
		}
	}
	if len(b.Terms) > mostTerms || len(b.Exclusions) > mostTerms || len(b.Closed) > 500 {
		return Errorf(TooLarge, "At most %d terms, %d exclusions and 500 closed days can be named.", mostTerms, mostTerms).At("terms")
	}
	seen := map[string]bool{}
	for _, t := range b.Terms {
		if err := first(word("terms", t.For, true), count("terms", t.Parts, 1200), count("terms", t.Labour, 1200)); err != nil {
			return err
		}
		if seen[t.For] {
			return Errorf(Invalid, "The terms name %s twice. Keep one.", t.For).At("terms")
		}
		seen[t.For] = true
	}
	for _, e := range b.Exclusions {
		if err := first(required("exclusions", e), oneOf("exclusions", e, Exclusions()...)); err != nil {
			return err
		}
	}
	for _, d := range b.Closed {
		if err := first(required("closed", d), date("closed", d)); err != nil {
			return err
		}
	}
	if b.Holidays != "" && !slices.Contains(HolidayCalendars(), b.Holidays) {
		return oneOf("holidays", b.Holidays, HolidayCalendars()...)
	}
	return first(
		oneOf("kind", b.Kind, "maker-warranty", "service-contract", "part-warranty", "customer-pays"), line("payer", b.Payer, false), word("pack", b.Pack, false),
		line("number", b.Number, false), line("authorisation", b.Authorisation, false), line("serial", b.Serial, false), line("model", b.Model, false),
		oneOf("startEvent", b.StartEvent, "purchase", "installation", "manufacture"), date("start", b.Start), date("purchased", b.Purchased), date("installed", b.Installed),
		count("termMonths", b.TermMonths, 1200), oneOf("endRule", b.EndRule, StartNotCounted, StartCounts), oneOf("decides", b.Decides, "reported", "visited"),
		count("repeatDays", b.RepeatDays, 3660), count("fittedMonths", b.FittedMonths, 1200), count("submitDays", b.SubmitDays, 3660),
		count("returnDays", b.ReturnDays, 3660), count("answerDays", b.AnswerDays, 3660), oneOf("dayRule", b.DayRule, "calendar", "roll", "business"), count("labourMinutes", b.LabourMinutes, 100_000),
		oneOf("limitRule", b.LimitRule, "after-deductible", "before-deductible"), money("limit", b.Limit), money("totalLimit", b.TotalLimit), money("spent", b.Spent),
		money("deductible", b.Deductible), money("authoriseOver", b.AuthoriseOver))
}

func (b *Coverage) merge(l Coverage) {
	take(&b.Kind, l.Kind)
	take(&b.Payer, l.Payer)
	take(&b.Pack, l.Pack)
	take(&b.Number, l.Number)
	take(&b.Authorisation, l.Authorisation)
	take(&b.Serial, l.Serial)
	take(&b.Model, l.Model)
	take(&b.StartEvent, l.StartEvent)
	take(&b.Start, l.Start)
	take(&b.Purchased, l.Purchased)
	take(&b.Installed, l.Installed)
	take(&b.TermMonths, l.TermMonths)
	if l.PartMonths != nil {
		b.PartMonths = l.PartMonths
	}
	takeList(&b.Terms, l.Terms)
	take(&b.EndRule, l.EndRule)
	take(&b.Decides, l.Decides)
	takeList(&b.Exclusions, l.Exclusions)
	take(&b.RepeatDays, l.RepeatDays)
	take(&b.FittedMonths, l.FittedMonths)
	take(&b.SubmitDays, l.SubmitDays)
	take(&b.ReturnDays, l.ReturnDays)
	take(&b.AnswerDays, l.AnswerDays)
	take(&b.DayRule, l.DayRule)
	take(&b.Holidays, l.Holidays)
	takeList(&b.Closed, l.Closed)
	take(&b.Limit, l.Limit)
	take(&b.TotalLimit, l.TotalLimit)
	take(&b.Spent, l.Spent)
	take(&b.LimitRule, l.LimitRule)
	take(&b.Deductible, l.Deductible)
	take(&b.AuthoriseOver, l.AuthoriseOver)
	take(&b.LabourMinutes, l.LabourMinutes)
}

func takeList[V any](to *[]V, later []V) {
	if later != nil {
		*to = later
	}
}

// months finds the term for a component: its own, its class's, the whole unit's. ok is false when the papers say nothing about it.
func (b *Coverage) months(component string) (term Term, ok bool) {
	for _, name := range classesOf(component) {
		for _, t := range b.Terms {
			if t.For == name {
				return t, true
			}
		}
		if m, ok := b.PartMonths[name]; ok {
			return Term{For: name, Parts: m, Labour: m}, true
		}
	}
	if b.TermMonths > 0 {
		return Term{For: ClassWhole, Parts: b.TermMonths, Labour: b.TermMonths}, true
	}
	return Term{}, false
}

// startDate is the day that the papers start the term on, empty when it is not known; made is the day of manufacture.
func (b *Coverage) startDate(made string) string {
	if b.Start != "" {
		return b.Start
	}
	switch b.StartEvent {
	case "purchase":
		return b.Purchased
	case "installation":
		return b.Installed
	case "manufacture":
		return made
	}
	return ""
}

// coveredUntil is the last day on which every component of the repair has some cover, for parts or for labour. While the papers
// don't say how the start counts it is the later of the two days (the day of the start not counted, Reg. 1182/71 art. 3).
func (j *Job) coveredUntil(start Day) Day {
	var until Day
	for _, c := range repaired(j) {
		term, ok := j.Coverage.months(c)
		if n := max(term.Parts, term.Labour); ok && n > 0 {
			if last := start.LastDay(n, j.Coverage.EndRule); until == "" || last < until {
				until = last
			}
		}
	}
	return until
}
