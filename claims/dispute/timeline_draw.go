package dispute

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
)

// The drawing's measures, in millimetres. 176 fits between the margins of A4 and of US Letter.
const (
	drawWidth  = 176
	drawLabels = 24.0
	drawLane   = 8.5
	drawHead   = 9.0
	drawFoot   = 7.0
	mostDays   = 6  // days with a visit that are drawn
	mostLines  = 24 // lines of the list below
)

// Timeline draws the events of a view: one panel for each day on which something happened at the site, with the moment of the first work as a line
// through it, and what followed as a list. Pictures bear the numbers of their exhibits.
func Timeline(v View) Drawing {
	d := Drawing{Width: drawWidth, Title: "Order of events", Words: words(v)}
	no := map[claims.EntryID]int{}
	for _, e := range v.Exhibits {
		no[e.Entry] = e.No
	}
	var days []string
	byDay := map[string][]Event{}
	var later []Event
	for _, e := range v.Timeline {
		if e.Lane == laneDispute {
			later = append(later, e)
			continue
		}
		day := e.At.Format(time.DateOnly)
		if !slices.Contains(days, day) {
			days = append(days, day)
		}
		byDay[day] = append(byDay[day], e)
	}
	y := 2.0
	for n, day := range days {
		if n == mostDays {
			d.text(0, y+4, 3, Soft, "start", fmt.Sprintf("%d more days are in the order of events in words.", len(days)-mostDays))
			y += 7
			break
		}
		y = d.panel(y, day, byDay[day], v.Work, no)
	}
	if len(later) > 0 {
		d.text(0, y+4, 3.4, Ink, "start", "What followed")
		y += 6.5
		for n, e := range later {
			if n == mostLines {
				d.text(0, y+3, 3, Soft, "start", fmt.Sprintf("%d more are in the order of events in words.", len(later)-mostLines))
				y += 5
				break
			}
			d.add(Shape{Kind: "diamond", X: 1.6, Y: y + 2, W: 1.3, Ink: Accent, Hollow: e.Kind != "allege"})
			d.text(4.5, y+3, 3, Soft, "start", e.At.Format("2006-01-02 15:04"))
			d.text(34, y+3, 3, Ink, "start", fitting(e.Says, 3, drawWidth-34))
			y += 5
		}
	}
	if len(days)+len(later) == 0 {
		d.text(0, y+4, 3, Soft, "start", "No event is on record.")
		y += 7
	}
	d.Height = y + 1
	return d
}

// panel draws one day and returns where it ends.
func (d *Drawing) panel(y float64, day string, events []Event, work Work, no map[claims.EntryID]int) float64 {
	from, to := events[0].At, events[0].At
	for _, e := range events {
		if e.To.After(to) {
			to = e.To
		}
		if e.At.After(to) {
			to = e.At
		}
	}
	if to.Sub(from) > 24*time.Hour { // a visit that nobody ended in time
		to = from.Add(24 * time.Hour)
	}
	step := tick(to.Sub(from))
	from, to = from.Truncate(step), to.Truncate(step).Add(step)
	x := func(t time.Time) float64 {
		share := float64(t.Sub(from)) / float64(to.Sub(from))
		return drawLabels + 2 + min(max(share, 0), 1)*(drawWidth-drawLabels-6)
	}
	zone := events[0].At
	d.text(0, y+4, 3.4, Ink, "start", day+zone.Format(" (UTC -07:00)"))
	top := y + drawHead
	shown := lanes()[:5]
	bottom := top + float64(len(shown))*drawLane
	for t := from; !t.After(to); t = t.Add(step) {
		d.add(Shape{Kind: "line", X: x(t), Y: top, H: bottom - top, Ink: Rule})
		d.text(x(t), bottom+3.6, 2.6, Soft, "middle", t.In(zone.Location()).Format("15:04"))
	}
	lane := map[string]float64{}
	for i, l := range shown {
		mid := top + (float64(i)+0.5)*drawLane
		lane[l.ID] = mid
		d.text(drawLabels-1, mid+1.1, 3, Ink, "end", l.Title)
		d.add(Shape{Kind: "line", X: drawLabels, Y: mid + drawLane/2, W: drawWidth - drawLabels, Ink: Rule})
	}
	begins := work.Entry != "" && !work.At.Before(from) && !work.At.After(to)
	if begins {
		d.add(Shape{Kind: "line", X: x(work.At), Y: top - 2.2, H: bottom - top + 2.2, Ink: Accent, Dashed: true})
		d.text(x(work.At), top-3, 2.8, Accent, "middle", "work begins "+work.At.Format("15:04"))
	}
	early := func(at time.Time) string {
		if work.Entry != "" && at.Before(work.At) {
			return Early
		}
		return Late
	}
	labelled := -100.0
	for _, e := range events {
		mid, ink := lane[e.Lane], early(e.At)
		switch {
		case (e.Lane == laneVisit || e.Lane == laneWork) && !e.To.IsZero():
			d.add(Shape{Kind: "box", X: x(e.At), Y: mid - 1.9, W: max(x(e.To)-x(e.At), 0.8), H: 3.8, Ink: map[string]string{laneVisit: Soft, laneWork: Late}[e.Lane]})
		case e.Lane == lanePhotos:
			d.add(Shape{Kind: "dot", X: x(e.At), Y: mid - 0.8, W: 1.5, Ink: ink, Hollow: e.Bad || ink == Late})
			if label := numbers(e.Entries, no); x(e.At)-labelled > 1.1*float64(len(label))+1.5 {
				d.text(x(e.At), mid+3.4, 2.3, Ink, "middle", label)
				labelled = x(e.At)
			}
		case e.Lane == laneDamage:
			d.add(Shape{Kind: "diamond", X: x(e.At), Y: mid, W: 1.8, Ink: ink, Hollow: ink == Late})
		case e.Lane == laneSignature:
			d.add(Shape{Kind: "box", X: x(e.At) - 1.5, Y: mid - 1.5, W: 3, H: 3, Ink: ink, Hollow: e.Kind != "signed"})
		default:
			d.add(Shape{Kind: "diamond", X: x(e.At), Y: mid, W: 1.6, Ink: Accent, Hollow: true})
		}
	}
	return bottom + drawFoot
}

// numbers writes the exhibits of a mark: 3, 5–7.
func numbers(ids []claims.EntryID, no map[claims.EntryID]int) string {
	var list []int
	for _, id := range ids {
		if n := no[id]; n > 0 {
			list = append(list, n)
		}
	}
	slices.Sort(list)
	var out []string
	for i := 0; i < len(list); i++ {
		k := i
		for k+1 < len(list) && list[k+1] == list[k]+1 {
			k++
		}
		if k == i {
			out = append(out, fmt.Sprint(list[i]))
		} else {
			out = append(out, fmt.Sprintf("%d–%d", list[i], list[k]))
		}
		i = k
	}
	return strings.Join(out, ", ")
}

// tick is the distance of the lines of a panel: at most about ten of them.
func tick(span time.Duration) time.Duration {
	for _, t := range []time.Duration{time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour} {
		if span <= 9*t {
			return t
		}
	}
	return 4 * time.Hour
}

// words tell the whole drawing.
func words(v View) string {
	out := []string{v.Work.Says}
	for _, e := range v.Timeline {
		out = append(out, e.At.Format("2006-01-02 15:04 ")+e.Says)
	}
	return strings.Join(out, "\n")
}
