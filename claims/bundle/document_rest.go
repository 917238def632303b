package bundle

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules/readings"
)

// journal lists every entry in the order of the devices' clocks, with the time the server took it.
func (pl *plan) journal() Section {
	t := Table{Head: []string{"Made", "By", "What", "Received", "Log"}, Widths: []float64{23, 22, 26, 23, 6}}
	lines := slices.Clone(pl.lines)
	slices.SortStableFunc(lines, func(a, b line) int { return a.kept.At.Compare(b.kept.At) })
	for i := 0; i < len(lines); i++ {
		l := lines[i]
		leaf := fmt.Sprint(l.rec.Leaf)
		if n := runOf(lines[i:]); n > 1 {
			last := lines[i+n-1]
			t.Rows = append(t.Rows, []Cell{{Text: moment(l.kept.At)}, {Text: l.kept.By}, {Text: fmt.Sprintf("%s, %d times", l.kept.Kind, n)},
				{Text: moment(l.kept.Received.UTC().Truncate(time.Second))}, {Text: fmt.Sprintf("%d–%d", l.rec.Leaf, last.rec.Leaf)}})
			i += n - 1
			continue
		}
		if l.why != "" {
			t.Rows = append(t.Rows, []Cell{{Text: "held back", Tone: Warn}, {}, {Text: l.why}, {}, {Text: leaf}})
			continue
		}
		if !l.read {
			t.Rows = append(t.Rows, []Cell{{Text: "can't be read", Tone: Bad}, {}, {}, {}, {Text: leaf}})
			continue
		}
		k := &l.kept
		what := strings.ReplaceAll(string(k.Kind), "-", " ")
		if k.Supersedes != "" {
			what += ", corrects an earlier entry: " + pl.hold.scrub(k.Why)
		}
		if s := pl.byEntry[k.ID]; s != nil {
			what += fmt.Sprintf(" %d", s.no)
		}
		if n := pl.numbers[k.ID]; n > 0 {
			what += fmt.Sprintf(", no. %d", n)
		}
		t.Rows = append(t.Rows, []Cell{{Text: moment(k.At)}, {Text: strings.Join(slices.Compact([]string{k.By, k.Device}), ", ")}, {Text: what}, {Text: moment(k.Received.UTC().Truncate(time.Second))}, {Text: leaf}})
	}
	if len(t.Rows) == 0 {
		return Section{}
	}
	return Section{ID: "journal", Title: "Order of events", Blocks: []Block{
		Text{Quiet, "“Made” is the device's clock, “received” the server's, “log” the entry's place in the shop's log; “no.” is its number in the account, a photo's first number that of this report."}, t,
	}}
}

// runOf counts the server's own entries of one kind that follow each other in the log: they take one row.
func runOf(lines []line) int {
	n := 0
	for n < len(lines) {
		l := &lines[n]
		if !l.read || l.why != "" || l.kept.Kind != claims.KindExamined && l.kept.Kind != claims.KindCodes {
			break
		}
		if n > 0 && (l.kept.Kind != lines[0].kept.Kind || l.rec.Leaf != lines[n-1].rec.Leaf+1) {
			break
		}
		n++
	}
	return n
}

// notInAccount shows what was struck, waived, not understood or does not fit together.
func (pl *plan) notInAccount() Section {
	var blocks []Block
	j := &pl.job
	if len(j.Struck) > 0 {
		t := Table{Head: []string{"Struck", "Made", "Struck by", "Why"}, Widths: []float64{22, 24, 24, 30}}
		for _, s := range j.Struck {
			name := strings.ReplaceAll(string(s.Kind), "-", " ")
			for _, p := range pl.struck {
				if p.Entry == s.Entry && p.digest != "" {
					name += "\nSHA-256 " + string(p.digest)
				}
			}
			t.Rows = append(t.Rows, []Cell{{Text: name}, {Text: s.By + "\n" + moment(s.At)}, {Text: s.Strike.By + "\n" + moment(s.Strike.At)}, {Text: s.Strike.Why}})
		}
		blocks = append(blocks, Text{Head, "Struck from the account"}, t)
	}
	if c := pl.corrections(); len(c.Rows) > 0 {
		blocks = append(blocks, Text{Head, "Corrected"}, c)
	}
	if len(j.Waivers) > 0 {
		t := Table{Head: []string{"Waived requirement", "By", "Why"}, Widths: []float64{30, 30, 40}}
		for _, w := range j.Waivers {
			t.Rows = append(t.Rows, []Cell{{Text: w.Body.Requirement}, {Text: w.By + "\n" + moment(w.At)}, {Text: w.Body.Reason}})
		}
		blocks = append(blocks, Text{Head, "Waived"}, t)
	}
	if len(j.HandedIn) > 0 {
		t := Table{Head: []string{"Sent in by another than it names", "When", "What is known"}, Widths: []float64{26, 26, 48}}
		for _, h := range j.HandedIn {
			t.Rows = append(t.Rows, []Cell{{Text: fmt.Sprintf("%s of %s, by %s", entryCount(len(h.Body.Entries)), h.Body.By, h.Body.Person)}, {Text: moment(h.At)}, {Text: h.Body.Says}})
		}
		blocks = append(blocks, Text{Head, "Sent in by another"}, t)
	}
	for _, l := range j.Likenesses {
		what := fmt.Sprintf("%s looks like a photo of job %s (%d of 64 fingerprint bits differ).", cmp.Or(pl.photoNumbers(l.Body.Photo), "A photo"), l.Body.OtherJob, l.Body.Bits)
		if l.Body.OtherDigest == l.Body.Digest {
			what = fmt.Sprintf("%s has the same bytes as a photo of job %s.", cmp.Or(pl.photoNumbers(l.Body.Photo), "A photo"), l.Body.OtherJob)
		}
		blocks = append(blocks, Text{Warn, strings.ToUpper(what[:1]) + what[1:]})
	}
	if len(j.Unknown) > 0 {
		t := Table{Head: []string{"Entry of an unknown kind, or that can't be read", "Made"}, Widths: []float64{64, 36}}
		for _, u := range j.Unknown {
			body := string(u.Body)
			if r := []rune(body); len(r) > 600 {
				body = string(r[:600]) + " …"
			}
			t.Rows = append(t.Rows, []Cell{{Text: string(u.Kind) + "\n" + body}, {Text: u.By + "\n" + moment(u.At)}})
		}
		blocks = append(blocks, Text{Head, "Not understood"}, t)
	}
	for i, p := range j.Problems {
		if i == 0 {
			blocks = append(blocks, Text{Head, "Does not fit together"})
		}
		blocks = append(blocks, Text{Warn, "Entry " + string(p.Entry) + ": " + p.Says})
	}
	if len(j.Allegations) > 0 && pl.view == nil {
		t := Table{Head: []string{"Said to be damaged", "Words", "When"}, Widths: []float64{26, 48, 26}}
		for _, a := range j.Allegations {
			t.Rows = append(t.Rows, []Cell{{Text: a.Body.Area}, {Text: strings.Join(nonEmpty(a.Body.Words, a.Body.By), "\n")}, {Text: moment(a.At)}})
		}
		blocks = append(blocks, Text{Head, "Said against the shop"}, t)
	}
	return Section{ID: "changes", Title: "Corrections, strikes, waivers and doubts", Blocks: blocks}
}

// corrections lists corrected entries from the journal itself, so that none can be missed.
func (pl *plan) corrections() Table {
	t := Table{Head: []string{"Correction of", "By", "Why"}, Widths: []float64{30, 30, 40}}
	for _, l := range pl.lines {
		if !l.read || l.why != "" || l.kept.Supersedes == "" {
			continue
		}
		what := strings.ReplaceAll(string(l.kept.Kind), "-", " ")
		if s := pl.byEntry[l.kept.Supersedes]; s != nil {
			what += fmt.Sprintf(" %d", s.no)
		}
		t.Rows = append(t.Rows, []Cell{{Text: what}, {Text: l.kept.By + "\n" + moment(l.kept.At)}, {Text: l.kept.Why}})
	}
	return t
}

func (pl *plan) heldBack() Section {
	if !pl.leftOut() {
		return Section{}
	}
	var blocks []Block
	if pl.view != nil {
		blocks = append(blocks, Text{Plain, "This file leaves out " + pl.leftWords() + ". What is left out is listed with its place in the shop's log, so that it can be asked for and compared."})
	}
	if len(pl.parcel.Hold.Names()) > 0 {
		blocks = append(blocks, Text{Plain, "On request of the shop this bundle holds back: " + strings.Join(pl.parcel.Hold.Names(), ", ") +
			". What is held back is listed with its SHA-256, so that it can be asked for and compared. Pictures and free text were not searched beyond the recorded names, numbers and addresses."})
	}
	if !pl.hold.hold.Position {
		blocks = append(blocks, Text{Warn, "Positions were not held back: they tell where the pictures were taken."})
	}
	t := Table{Head: []string{"Held back", "Why", "SHA-256 or place in the log"}, Widths: []float64{30, 30, 40}}
	for _, w := range pl.left {
		sum := string(w.Digest)
		if w.Leaf != nil {
			sum = fmt.Sprintf("leaf %d", *w.Leaf)
		}
		t.Rows = append(t.Rows, []Cell{{Text: w.What + " " + w.Name}, {Text: w.Why}, {Text: sum, Tone: Code}})
	}
	if len(t.Rows) > 0 {
		blocks = append(blocks, t)
	}
	return Section{ID: "held-back", Title: "Held back", Blocks: blocks}
}

func (pl *plan) custodyPage() Section {
	c := &pl.parcel.Custody
	blocks := []Block{Text{Plain, fmt.Sprintf("Every entry of the job, as it reached the shop, stands in data/custody/entries.txt (%s). Each is a leaf of the shop's append-only log (hashing of RFC 6962).",
		entryCount(len(pl.lines)))}}
	if len(c.Checkpoint) > 0 {
		blocks = append(blocks, Text{Plain, "The log was sealed for this bundle with this checkpoint, signed with the shop's key:"}, Text{Code, strings.TrimSpace(string(c.Checkpoint))},
			Text{Plain, "Key:"}, Text{Code, c.Key})
	} else {
		blocks = append(blocks, Text{Warn, "The log was not sealed when this bundle was built: there is no checkpoint and there are no proofs in it."})
	}
	if n := len(c.Stamps); n > 0 {
		blocks = append(blocks, Text{Plain, fmt.Sprintf("There are %s by others over the checkpoint (RFC 3161), in data/custody.", plural(n, "time stamp"))})
	} else {
		blocks = append(blocks, Text{Quiet, "No time stamp by others is in this bundle."})
	}
	blocks = append(blocks, pl.devices()...)
	blocks = append(blocks, Text{Head, "How to check this bundle"},
		Text{Plain, "Unzip it and run, in the folder that holds bagit.txt:"},
		Text{Code, "sha256sum -c manifest-sha256.txt\nsha256sum -c tagmanifest-sha256.txt"},
		Text{Plain, "That shows that nothing was changed or lost since the bundle was built. data/README.txt has the steps for the log, the signature and the time stamps, with sha256sum and openssl."},
		Text{Plain, "The sums show that these are the bytes the shop put in. The log shows the order in which entries reached the shop, to whoever knows an earlier checkpoint or trusts a time stamp. None of it shows that what a person typed is true; that is for the reader. This is not legal advice."},
		Text{Head, "Originals"}, pl.digests())
	return Section{ID: "custody", Title: "Custody and how to check", Break: true, Blocks: blocks}
}

func (pl *plan) digests() Table {
	t := Table{Head: []string{"No.", "File", "SHA-256 of the original"}, Widths: []float64{7, 37, 56}}
	for _, s := range pl.shots {
		file := cmp.Or(strings.TrimPrefix(s.file, "data/originals/"), "not in the bundle")
		t.Rows = append(t.Rows, []Cell{{Text: fmt.Sprint(s.no)}, {Text: file, Link: s.file}, {Text: string(s.Body.Digest), Tone: Code}})
	}
	return t
}

// gauge is the drawing of a reading's verdict, or nil when no component model applies.
func (pl *plan) gauge(r *claims.Item[claims.Reading]) *Gauge {
	v, ok, err := claims.Judge(r.Body, pl.parcel.Pack)
	if err != nil || !ok {
		return nil
	}
	c, ok, err := claims.CaseOf(r.Body, pl.parcel.Pack)
	if err != nil || !ok {
		return nil
	}
	g := &Gauge{Says: v.Says, Unit: v.Unit.Symbol(), Low: number(v.Low), High: number(v.High), Expect: number(v.Expected)}
	if read := number(v.Read); read != nil {
		g.Read = *read
	} else {
		g.Words = strings.ReplaceAll(r.Body.State, "-", " ")
	}
	if spread := number(v.Uncertainty); spread != nil {
		g.Spread = *spread
	}
	if g.SVG, err = readings.Plot(c.Profile, c.Value, c.Conditions, c.Instrument); err != nil {
		g.SVG = ""
	}
	return g
}

// number reads a decimal of a verdict; nil when there is none.
func number(s string) *float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}
