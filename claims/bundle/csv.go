package bundle

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// csvHead are the columns of evidence.csv.
func csvHead() []string {
	return []string{"item", "no", "entry", "made_at", "by", "what", "component", "value", "unit", "verdict", "words", "time_basis", "file", "sha256", "bytes", "state"}
}

// csv is the evidence index: RFC 4180, UTF-8, CRLF, one row an item.
func (pl *plan) csv() ([]byte, error) {
	var out bytes.Buffer
	var rows [][]string
	add := func(item, no string, entry claims.EntryID, at time.Time, by string, rest ...string) {
		rows = append(rows, append([]string{item, no, string(entry), stamp(at), by}, rest...))
	}
	for _, s := range pl.shots {
		basis := ""
		if s.known != nil {
			basis = s.known.TimeBasis
		}
		words := strings.Join(nonEmpty(s.Body.Area, s.Body.Caption), ": ")
		state := strings.Join(nonEmpty(s.kept, s.why, corrected(s.Corrected)), "; ")
		add("photo", strconv.Itoa(s.no), s.Entry, s.At, s.By, s.Body.Subject, s.Body.Component, "", "", "", words, basis, s.file, string(s.Body.Digest), strconv.FormatInt(s.Body.Bytes, 10), state)
	}
	verdicts := pl.verdicts()
	j := &pl.job
	for _, r := range j.Readings {
		v := verdicts[string(r.Entry)]
		if v == nil {
			v = &rules.Reading{}
		}
		value := r.Body.Value
		if value == "" {
			value = r.Body.State
		}
		words := strings.Join(nonEmpty(r.Body.Where, pl.hold.scrub(v.Says), r.Body.Says), "; ")
		add("reading", strconv.Itoa(r.Number), r.Entry, r.At, r.By, r.Body.Quantity+ifNot(" ", r.Body.Moment), r.Body.Component, value, r.Body.Unit, v.Outcome, words, "", pl.fileOf(r.Body.Photo), "", "", corrected(r.Corrected))
	}
	for _, c := range j.Causes {
		add("cause", strconv.Itoa(c.Number), c.Entry, c.At, c.By, "", c.Body.Component, "", "", "", c.Body.Text, "", "", "", "", corrected(c.Corrected))
	}
	for _, c := range j.Corrections {
		add("correction", strconv.Itoa(c.Number), c.Entry, c.At, c.By, "", c.Body.Component, "", "", "", c.Body.Text, "", "", "", "", corrected(c.Corrected))
	}
	for _, d := range j.Damages {
		words := strings.Join(nonEmpty(d.Body.Area, d.Body.Words, pl.photoNumbers(d.Body.Photos...)), "; ")
		add("damage", strconv.Itoa(d.Number), d.Entry, d.At, d.By, d.Body.Kind+" "+d.Body.Seen, "", "", "", "", words, "", "", "", "", corrected(d.Corrected))
	}
	for _, p := range j.Parts {
		words := strings.Join(nonEmpty(p.Body.Number, p.Body.Description, p.Body.Serial, p.Body.Invoice), "; ")
		add("part", strconv.Itoa(p.Number), p.Entry, p.At, p.By, p.Body.Action, p.Body.Component, money(p.Body.Price), currencyOf(p.Body.Price), "", words, "", "", "", "", corrected(p.Corrected))
	}
	for _, l := range j.Labour {
		add("labour", strconv.Itoa(l.Number), l.Entry, l.At, l.By, l.Body.Flat, "", strconv.Itoa(l.Body.Minutes), "min", "", l.Body.Says, "", "", "", "", corrected(l.Corrected))
	}
	for _, t := range j.Trips {
		add("trip", strconv.Itoa(t.Number), t.Entry, t.At, t.By, t.Body.Zone, "", t.Body.Distance, t.Body.Unit, "", "", "", "", "", "", corrected(t.Corrected))
	}
	for _, a := range j.Acks {
		words := strings.Join(nonEmpty(a.Body.Name, a.Body.Statement, a.Body.Reason), "; ")
		add("acknowledgement", strconv.Itoa(a.Number), a.Entry, a.At, a.By, a.Body.About, "", "", "", a.Body.Outcome, words, "", "", "", "", corrected(a.Corrected))
	}
	for _, n := range j.Notes {
		add("note", strconv.Itoa(n.Number), n.Entry, n.At, n.By, "", "", "", "", "", n.Body.Text, "", "", "", "", corrected(n.Corrected))
	}
	for _, x := range j.Waivers {
		add("waiver", strconv.Itoa(x.Number), x.Entry, x.At, x.By, x.Body.Requirement, "", "", "", "", x.Body.Reason, "", "", "", "", corrected(x.Corrected))
	}
	for _, s := range j.Signs {
		add("sign", strconv.Itoa(s.Number), s.Entry, s.At, s.By, s.Body.Sign, s.Body.Component, "", "", "", s.Body.Says, "", pl.fileOf(s.Body.Photo), "", "", corrected(s.Corrected))
	}
	for i, l := range pl.bill.Lines {
		add("bill-line", strconv.Itoa(i+1), "", time.Time{}, "", l.Kind, l.Component, pl.minor(l.Amount), pl.bill.Currency, "",
			fmt.Sprintf("%s; payer %s, customer %s, shop %s", l.Says, pl.minor(l.Payer), pl.minor(l.Customer), pl.minor(l.Shop)))
	}
	for _, s := range j.Sends {
		add("send", strconv.Itoa(s.Number), s.Entry, s.At, s.By, s.Body.How, "", money(s.Body.Asked), currencyOf(s.Body.Asked), "", s.Body.To, "", "", "", "", corrected(s.Corrected))
	}
	for _, a := range j.Answers {
		add("answer", strconv.Itoa(a.Number), a.Entry, a.At, a.By, a.Body.Outcome, "", money(a.Body.Paid), currencyOf(a.Body.Paid), "", strings.Join(nonEmpty(reasonTitle(a.Body.Reason), a.Body.Words), "; "), "", "", "", "", corrected(a.Corrected))
	}
	for _, p := range j.Payments {
		add("payment", strconv.Itoa(p.Number), p.Entry, p.At, p.By, p.Body.From, "", money(p.Body.Amount), currencyOf(p.Body.Amount), "", strings.Join(nonEmpty(p.Body.On, p.Body.Reference, p.Body.Says), "; "), "", "", "", "", corrected(p.Corrected))
	}
	for _, r := range j.Replies {
		add("reply", strconv.Itoa(r.Number), r.Entry, r.At, r.By, r.Body.Reason, "", "", "", "", r.Body.Letter)
	}
	for _, x := range j.Settlements {
		add("settlement", strconv.Itoa(x.Number), x.Entry, x.At, x.By, x.Body.Outcome, "", "", "", "", x.Body.Reason, "", "", "", "", corrected(x.Corrected))
	}
	pl.disputeRows(add)
	for _, s := range j.Struck {
		digest := ""
		for _, p := range pl.struck {
			if p.Entry == s.Entry {
				digest = string(p.digest)
			}
		}
		add("struck "+string(s.Kind), "", s.Entry, s.At, s.By, "", "", "", "", "", s.Strike.Why, "", "", digest, "", "struck by "+s.Strike.By+" at "+stamp(s.Strike.At))
	}
	for _, u := range j.Unknown {
		add("unknown "+string(u.Kind), "", u.ID, u.At, u.By)
	}
	w, err := claims.NewCSV(&out, csvHead()...)
	for _, row := range rows {
		if err == nil {
			err = w.Write(row...)
		}
	}
	if err == nil {
		err = w.Flush()
	}
	if err != nil {
		return nil, fmt.Errorf("write evidence.csv: %w", err)
	}
	return out.Bytes(), nil
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

func corrected(list []claims.Change) string {
	if len(list) == 0 {
		return ""
	}
	last := list[len(list)-1]
	return "corrected by " + last.By + ": " + last.Why
}

func ifNot(lead, s string) string {
	if s == "" {
		return ""
	}
	return lead + s
}

func money(m *claims.Money) string {
	a, _, _ := strings.Cut(amount(m), " ")
	return a
}

func currencyOf(m *claims.Money) string {
	if m == nil {
		return ""
	}
	return m.Currency
}

func (pl *plan) fileOf(id claims.EntryID) string {
	if s := pl.byEntry[id]; s != nil {
		return s.file
	}
	return ""
}
