package claims

import (
	"math/big"
	"slices"
	"strconv"
	"strings"
	"time"

	"kickplate/rules"
)

// FactsOf lays a job out for checking against a pack, as of now. It is pure: the phone and the server make the same
// facts from the same entries, save for what only the server can know (receipts, likenesses).
func FactsOf(j *Job, pack *rules.Pack, now time.Time) rules.Facts {
	f := rules.Facts{Now: now, Zone: j.Site.Zone, Fields: map[string]string{}, Dates: map[string]string{}, Numbers: map[string]string{},
		Events: map[string][]rules.Moment{}, Cautions: map[string][]rules.Moment{}}
	fieldFacts(&f, j)
	dateFacts(&f, j)
	numberFacts(&f, j)
	eventFacts(&f, j)
	photoFacts(&f, j)
	readingFacts(&f, j, pack)
	for _, p := range j.Parts {
		b := p.Body
		f.Parts = append(f.Parts, rules.Part{Entry: string(p.Entry), At: corrected(p.At, p.Clock), Component: b.Component, Action: b.Action,
			Number: b.Number, Serial: b.Serial, Quantity: strconv.Itoa(max(1, b.Quantity)), Invoice: b.Invoice, Original: b.Original, Held: j.held(p)})
	}
	for _, d := range j.Damages {
		f.Damages = append(f.Damages, rules.Damage{Entry: string(d.Entry), At: corrected(d.At, d.Clock), Area: d.Body.Area, Kind: d.Body.Kind,
			Seen: d.Body.Seen, Photos: texts(d.Body.Photos), Bears: d.Body.Bears})
	}
	for _, a := range j.Acks {
		f.Acks = append(f.Acks, rules.Acknowledgement{Entry: string(a.Entry), At: corrected(a.At, a.Clock), About: a.Body.About,
			Outcome: a.Body.Outcome, Shown: texts(a.Body.Shown)})
	}
	for _, c := range j.Cautions {
		f.Cautions[c.Body.Caution] = append(f.Cautions[c.Body.Caution], rules.Moment{At: corrected(c.At, c.Clock), Entry: string(c.Entry)})
	}
	for _, w := range j.Waivers {
		f.Waivers = append(f.Waivers, rules.Waiver{Entry: string(w.Entry), At: corrected(w.At, w.Clock), Requirement: w.Body.Requirement, By: w.By, Why: w.Body.Reason})
	}
	return f
}

func texts(ids []EntryID) []string {
	var out []string
	for _, id := range ids {
		out = append(out, string(id))
	}
	return out
}

func fieldFacts(f *rules.Facts, j *Job) {
	set := func(name, value string) {
		if strings.TrimSpace(value) != "" {
			f.Fields[name] = value
		}
	}
	set("job.number", j.Open.Number)
	set("job.technician", j.Open.Technician)
	set("unit.kind", j.Unit.Kind)
	set("unit.maker", j.Unit.Maker)
	set("unit.model", j.Unit.Model)
	set("unit.serial", j.Unit.Serial)
	set("unit.usage", j.Unit.Usage)
	set("unit.refrigerant", j.Unit.Refrigerant)
	set("unit.unreadable", j.Unit.Unreadable)
	set("customer.name", j.Customer.Name)
	set("customer.phone", j.Customer.Phone)
	set("site.address", j.Site.Address)
	set("coverage.kind", j.Coverage.Kind)
	set("coverage.payer", j.Coverage.Payer)
	set("coverage.number", j.Coverage.Number)
	set("coverage.authorisation", j.Coverage.Authorisation)
	set("coverage.start-event", j.Coverage.StartEvent)
	set("coverage.serial", j.Coverage.Serial)
	set("coverage.model", j.Coverage.Model)
	set("coverage.pack", j.Coverage.Pack)
	set("narrative.complaint", j.Open.Complaint)
	set("narrative.cause", narrative(j.Causes))
	set("narrative.correction", narrative(j.Corrections))
	for _, r := range j.Refrigerants {
		set("refrigerant.type", r.Body.Type)
		set("refrigerant.certificate", r.Body.Certificate)
		if r.Body.Action == "recovered" {
			set("refrigerant.recovery-method", r.Body.Method)
		}
	}
}

func narrative(items []Item[Narrative]) string {
	var parts []string
	for _, it := range items {
		parts = append(parts, it.Body.Text)
	}
	return strings.Join(parts, "\n")
}

func dateFacts(f *rules.Facts, j *Job) {
	set := func(name, value string) {
		if value != "" {
			f.Dates[name] = value
		}
	}
	c := j.Coverage
	set("coverage.purchased", c.Purchased)
	set("coverage.installed", c.Installed)
	if len(j.Unit.Manufactured) == len("2006-01-02") {
		set("unit.manufactured", j.Unit.Manufactured)
	}
	start := c.startDate(f.Dates["unit.manufactured"])
	set("coverage.start", start)
	if day, ok := ParseDay(start); ok {
		set("coverage.end", string(j.coveredUntil(day)))
	}
	if day, ok := j.ReturnBy(); ok {
		set("part-return.due", string(day))
	}
	if n := len(j.Answers); n > 0 {
		set("claim.reply-by", j.Answers[n-1].Body.ReplyBy)
	}
}

func numberFacts(f *rules.Facts, j *Job) {
	count := func(name string, n int) {
		if n > 0 {
			f.Numbers[name] = strconv.Itoa(n)
		}
	}
	minutes := 0
	for _, l := range j.Labour {
		minutes += l.Body.Minutes
	}
	count("labour.minutes", minutes)
	count("coverage.labour-minutes", j.Coverage.LabourMinutes)
	count("coverage.submit-days", j.Coverage.SubmitDays)
	count("coverage.return-days", j.Coverage.ReturnDays)
	total := j.Total()
	if !total.IsZero() {
		f.Numbers["amount.total-minor"] = strconv.FormatInt(total.Minor, 10)
	}
	if l := j.Coverage.Limit; l != nil && (total.IsZero() || l.Currency == total.Currency) {
		f.Numbers["coverage.limit-minor"] = strconv.FormatInt(l.Minor, 10)
	}
	km := new(big.Rat)
	for _, t := range j.Trips {
		if d, ok := new(big.Rat).SetString(t.Body.Distance); ok && t.Body.Distance != "" {
			if t.Body.Unit == "mi" {
				d.Mul(d, big.NewRat(1609344, 1000000)) // international mile, exact
			}
			km.Add(km, d)
		}
	}
	if km.Sign() > 0 {
		f.Numbers["trip.distance-km"] = plainDecimal(km)
	}
	grams := map[string]*big.Rat{}
	for _, r := range j.Refrigerants {
		if g, ok := new(big.Rat).SetString(r.Body.Grams); ok {
			name := map[string]string{"recovered": "refrigerant.recovered-g", "charged": "refrigerant.charged-g"}[r.Body.Action]
			if name == "" {
				continue
			}
			if grams[name] == nil {
				grams[name] = new(big.Rat)
			}
			grams[name].Add(grams[name], g)
		}
	}
	for name, g := range grams {
		f.Numbers[name] = plainDecimal(g)
	}
}

// plainDecimal writes a finite decimal fraction exactly, without trailing zeros.
func plainDecimal(r *big.Rat) string {
	s := r.FloatString(12)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func eventFacts(f *rules.Facts, j *Job) {
	add := func(event string, at time.Time, entry EntryID) {
		if !at.IsZero() {
			f.Events[event] = append(f.Events[event], rules.Moment{At: at, Entry: string(entry)})
		}
	}
	add("opened", j.Opened, "")
	if t, err := time.Parse(time.RFC3339Nano, j.Open.Dispatched); err == nil {
		add("dispatched", t, "")
	} else if day, ok := ParseDay(j.Open.Dispatched); ok {
		y, m, d := day.time().Date()
		add("dispatched", time.Date(y, m, d, 0, 0, 0, 0, j.zone()), "")
	}
	for _, v := range j.Visits {
		if a := v.Arrived; a != nil {
			add("arrived", stepTime(a.At, a.Clock, a.Body.When), a.Entry)
		}
		if l := v.Left; l != nil {
			add("left", stepTime(l.At, l.Clock, l.Body.When), l.Entry)
		}
	}
	for _, w := range j.WorkStarts {
		add("work-started", stepTime(w.At, w.Clock, w.Body.When), w.Entry)
	}
	for _, w := range j.WorkFinishes {
		add("work-finished", stepTime(w.At, w.Clock, w.Body.When), w.Entry)
	}
	for _, p := range j.Parts {
		at := corrected(p.At, p.Clock)
		if p.Body.Action != "fitted" {
			add("part-removed", at, p.Entry)
		}
		if p.Body.Action != "removed" {
			add("part-fitted", at, p.Entry)
		}
	}
	for _, s := range j.Sends {
		add("sent", corrected(s.At, s.Clock), s.Entry)
	}
	for _, a := range j.Answers {
		add("answered", corrected(a.At, a.Clock), a.Entry)
	}
	for event := range f.Events {
		slices.SortStableFunc(f.Events[event], func(a, b rules.Moment) int { return a.At.Compare(b.At) })
	}
}

func photoFacts(f *rules.Facts, j *Job) {
	used := map[EntryID]string{}
	for _, l := range j.Likenesses {
		what := "near:"
		if l.Body.OtherDigest == l.Body.Digest {
			what = "same:"
		}
		if !strings.HasPrefix(used[l.Body.Photo], "same:") {
			used[l.Body.Photo] = what + string(l.Body.OtherJob)
		}
	}
	views := j.PhotoViews()
	var orders []Order
	if _, worked := j.FirstWork(); worked {
		orders = j.PhotoOrders(views)
	}
	for i, p := range j.Photos {
		b, v := p.Body, views[i]
		photo := rules.Photo{Entry: string(p.Entry), Digest: string(b.Digest), Subject: b.Subject, Component: b.Component, At: v.Time.At,
			TimeBasis: v.Time.Basis, Place: v.Place.Where, Metres: v.Place.Metres, UsedBefore: used[p.Entry], PairedWith: string(b.PairedWith)}
		if orders != nil {
			photo.BeforeWork, photo.BeforeWorkBy = orders[i].Answer, orders[i].By
		}
		if facts, ok := j.Facts[b.Digest]; ok {
			photo.Width, photo.Height = facts.Width, facts.Height
			photo.Sharp, photo.Dark, photo.Bright = facts.Sharp, facts.Dark, facts.Bright
			photo.Document = facts.Type == "application/pdf"
			for _, c := range facts.Codes {
				photo.Codes = append(photo.Codes, c.Text)
			}
		}
		f.Photos = append(f.Photos, photo)
	}
}

// PhotoView is what can be said about a photo's moment and place.
type PhotoView struct {
	Time  TimeBasis `json:"time"`
	Place Place     `json:"place"`
}

// PhotoViews judges every photo of the job, in the order of Photos.
func (j *Job) PhotoViews() []PhotoView {
	near := neighbours(j)
	out := make([]PhotoView, len(j.Photos))
	for i := range j.Photos {
		p := &j.Photos[i]
		w := timeWitness{item: p, before: near[i].before, after: near[i].after}
		pos := p.Body.Position
		if facts, ok := j.Facts[p.Body.Digest]; ok {
			w.facts = &facts
			if facts.GPS != nil {
				pos = facts.GPS
			}
		}
		out[i] = PhotoView{Time: w.judge(), Place: PlaceOf(j.Site, pos)}
	}
	return out
}

type between struct{ before, after time.Time }

// neighbours finds, for each photo, the corrected times of the photos next to it in its device's sequence.
func neighbours(j *Job) []between {
	out := make([]between, len(j.Photos))
	byDevice := map[string][]int{}
	for i, p := range j.Photos {
		if p.Seq > 0 && p.Body.Source != "gallery" && p.Body.Source != "file" {
			byDevice[p.Device] = append(byDevice[p.Device], i)
		}
	}
	for _, list := range byDevice {
		slices.SortFunc(list, func(a, b int) int {
			if j.Photos[a].Seq < j.Photos[b].Seq {
				return -1
			}
			return 1
		})
		for n, i := range list {
			if n > 0 {
				p := j.Photos[list[n-1]]
				out[i].before = corrected(p.At, p.Clock)
			}
			if n+1 < len(list) {
				p := j.Photos[list[n+1]]
				out[i].after = corrected(p.At, p.Clock)
			}
		}
	}
	return out
}
