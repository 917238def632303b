package claims

import "fmt"

// Account holds a bill against what was paid.
type Account struct {
	Bill Bill `json:"bill"`
	// Payer and Customer say who owes what still.
	Payer    Owing `json:"payer"`
	Customer Owing `json:"customer"`
	// Lines are the bill's lines with what the payer paid for each; Differences explain what is missing or too much.
	Lines       []LineState    `json:"lines,omitempty"`
	Differences []Difference   `json:"differences,omitempty"`
	Versions    []ClaimVersion `json:"versions,omitempty"`
	Problems    []string       `json:"problems,omitempty"`
}

// Owing is one side of the account, in minor units of the bill's currency. Left is negative when too much was paid.
type Owing struct {
	Owed int64 `json:"owed"`
	Paid int64 `json:"paid"`
	Left int64 `json:"left"`
}

// LineState is the payer's part of one line. Known is false while no payment names the line.
type LineState struct {
	Line  string `json:"line"`
	Kind  string `json:"kind"`
	Says  string `json:"says"`
	Asked int64  `json:"asked"`
	Paid  int64  `json:"paid"`
	Known bool   `json:"known"`
}

// Difference is one explanation of a payer's payment that is not what was asked.
type Difference struct {
	// Minor is paid less asked: negative when short.
	Minor int64 `json:"minor"`
	// Sure is true when the payer named the line; else the amounts merely fit.
	Sure    bool      `json:"sure"`
	Says    string    `json:"says"`
	Lines   []string  `json:"lines,omitempty"`
	Reason  string    `json:"reason,omitempty"`
	Entries []EntryID `json:"entries,omitempty"`
}

// AccountOf matches the payments of a job to the lines of its bill: first by the lines that payments name, then what no payment
// has named by the amounts.
func AccountOf(j *Job, b Bill) Account {
	a := Account{Bill: b, Payer: Owing{Owed: b.Payer}, Customer: Owing{Owed: b.Customer}, Versions: j.Versions()}
	at := map[string]int{}
	for _, l := range b.Lines {
		if l.Payer != 0 {
			at[l.ID] = len(a.Lines)
			a.Lines = append(a.Lines, LineState{Line: l.ID, Kind: l.Kind, Says: l.Says, Asked: l.Payer})
		}
	}
	var loose int64
	var by []EntryID
	for _, p := range j.Payments {
		m := p.Body.Amount
		if m == nil || m.Currency != b.Currency && b.Currency != "" {
			a.Problems = append(a.Problems, fmt.Sprintf("The payment no. %d is not in the currency of the bill; it is not counted.", p.Number))
			continue
		}
		if p.Body.From == "customer" {
			a.Customer.Paid += m.Minor
			continue
		}
		a.Payer.Paid += m.Minor
		if len(p.Body.Lines) == 0 {
			loose, by = loose+m.Minor, append(by, p.Entry)
			continue
		}
		for _, l := range p.Body.Lines {
			i, ok := at[l.Line]
			if !ok {
				a.Problems = append(a.Problems, fmt.Sprintf("The payment no. %d names the line %q, which the bill does not have for the payer.", p.Number, clip(l.Line)))
				loose = loose + l.Minor
				continue
			}
			s := &a.Lines[i]
			s.Paid, s.Known = s.Paid+l.Minor, true
			if l.Reason != "" || l.Words != "" {
				d := Difference{Minor: s.Paid - s.Asked, Sure: true, Lines: []string{l.Line}, Reason: l.Reason, Entries: some(p.Entry)}
				d.Says = fmt.Sprintf("%s: %s of %s paid; %s", s.Says, plainMinor(s.Paid, b.Currency), b.Money(s.Asked).Plain(), orWords(l))
				a.Differences = append(a.Differences, d)
			}
		}
	}
	a.Payer.Left, a.Customer.Left = a.Payer.Owed-a.Payer.Paid, a.Customer.Owed-a.Customer.Paid
	a.named(b)
	if len(by) > 0 {
		a.fit(b, loose, by)
	}
	return a
}

func orWords(l PaidLine) string {
	if r, ok := refusalReason(l.Reason); ok {
		return r.Title
	}
	return "the payer writes: " + l.Words
}

// named explains the lines that payments name without a reason.
func (a *Account) named(b Bill) {
	said := map[string]bool{}
	for _, d := range a.Differences {
		said[d.Lines[0]] = true
	}
	for _, l := range a.Lines {
		if l.Known && l.Paid != l.Asked && !said[l.Line] {
			a.Differences = append(a.Differences, Difference{Minor: l.Paid - l.Asked, Sure: true, Lines: []string{l.Line},
				Says: fmt.Sprintf("%s: %s of %s paid, without a reason. Ask the payer for it.", l.Says, plainMinor(l.Paid, b.Currency), b.Money(l.Asked).Plain())})
		}
	}
}

// mostPairs bounds the lines among which two are looked for that together explain a difference.
const mostPairs = 60

// fit explains a payment that names no lines: all that no payment has named is paid, or the difference is exactly one line or two.
func (a *Account) fit(b Bill, loose int64, by []EntryID) {
	var open []LineState
	var asked int64
	for _, l := range a.Lines {
		if l.Known {
			continue
		}
		if asked += l.Asked; l.Kind != "shift" {
			open = append(open, l)
		}
	}
	diff := loose - asked
	if diff == 0 {
		for i := range a.Lines {
			if !a.Lines[i].Known {
				a.Lines[i].Paid, a.Lines[i].Known = a.Lines[i].Asked, true
			}
		}
		return
	}
	short := b.Money(diff).Plain()
	found := 0
	add := func(says string, lines ...string) {
		if found++; found <= 5 {
			a.Differences = append(a.Differences, Difference{Minor: diff, Says: says, Lines: lines, Entries: by})
		}
	}
	for _, l := range open {
		if -l.Asked == diff {
			add(fmt.Sprintf("%s: exactly the line %q; it may not have been paid.", short, l.Says), l.Line)
		}
	}
	for _, l := range b.Lines {
		if l.Kind == "shift" && l.Payer != 0 && -l.Payer == diff {
			add(fmt.Sprintf("%s: exactly what was taken off as %q; the payer may not have taken it off.", short, l.Says), l.ID)
		}
	}
	if found == 0 && len(open) <= mostPairs {
		for i, x := range open {
			for _, y := range open[i+1:] {
				if -(x.Asked + y.Asked) == diff {
					add(fmt.Sprintf("%s: exactly the lines %q and %q together; they may not have been paid.", short, x.Says, y.Says), x.Line, y.Line)
				}
			}
		}
	}
	switch {
	case found == 0:
		add(fmt.Sprintf("%s: no line and no two lines of the bill explain it. Ask the payer for the lines of the payment.", short))
	case found > 5:
		a.Problems = append(a.Problems, fmt.Sprintf("%d more combinations of lines fit the difference.", found-5))
	}
}
