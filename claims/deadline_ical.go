package claims

import (
	"strings"
	"time"
	"unicode/utf8"
)

// CalendarFeed writes deadlines as an iCalendar stream (RFC 5545): one all-day event each, on the last day at the site, which needs
// no time zone; lines end in CRLF and are folded at 75 octets, texts are escaped. An event keeps its UID while the deadline
// moves, so that a subscriber sees it move.
func CalendarFeed(shop ShopID, name string, stamp time.Time, list []DueJob) []byte {
	var f feed
	f.line("BEGIN:VCALENDAR")
	f.line("VERSION:2.0")
	f.line("PRODID:-//Kickplate//Deadlines//EN")
	f.line("CALSCALE:GREGORIAN")
	f.line("METHOD:PUBLISH")
	f.text("X-WR-CALNAME", name+": deadlines")
	at := stamp.UTC().Format("20060102T150405Z")
	for _, d := range list {
		f.line("BEGIN:VEVENT")
		f.line("UID:" + string(d.Job) + "-" + d.Code + "@" + string(shop) + ".kickplate.invalid")
		f.line("DTSTAMP:" + at)
		f.line("DTSTART;VALUE=DATE:" + compactDay(d.Day))
		f.line("DTEND;VALUE=DATE:" + compactDay(d.Day.AddDays(1)))
		f.text("SUMMARY", upper(d.What)+": "+strings.TrimSpace(d.Number+" "+spaced(d.UnitKind)))
		says := "Last day at the site."
		if d.Customer != "" {
			says += "\nCustomer: " + d.Customer
		}
		if d.Place != "" {
			says += "\nAddress: " + d.Place
		}
		if d.Payer != "" {
			says += "\nPayer: " + d.Payer
		}
		if !d.Amount.IsZero() {
			says += "\nAmount: " + d.Amount.Plain()
		}
		f.text("DESCRIPTION", says)
		f.line("TRANSP:TRANSPARENT")
		f.line("END:VEVENT")
	}
	f.line("END:VCALENDAR")
	return f.out
}

func compactDay(d Day) string { return strings.ReplaceAll(string(d), "-", "") }

type feed struct{ out []byte }

// text writes a property of the type TEXT (section 3.3.11): backslash, semicolon and comma are escaped, a line break is \n, and
// other control characters, which the grammar does not allow, are dropped.
func (f *feed) text(name, value string) {
	var b strings.Builder
	b.WriteString(name + ":")
	for _, r := range strings.ReplaceAll(strings.ToValidUTF8(value, ""), "\r\n", "\n") {
		switch {
		case r == '\\' || r == ';' || r == ',':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n' || r == '\r':
			b.WriteString(`\n`)
		case r == '\t' || r >= ' ' && r != 0x7f:
			b.WriteRune(r)
		}
	}
	f.line(b.String())
}

// line folds at 75 octets without the line break (section 3.1), never inside a character.
func (f *feed) line(s string) {
	room := 75
	for len(s) > room {
		cut := room
		for cut > 0 && !utf8.RuneStart(s[cut]) {
			cut--
		}
		f.out = append(append(f.out, s[:cut]...), "\r\n "...)
		s, room = s[cut:], 74
	}
	f.out = append(append(f.out, s...), "\r\n"...)
}
