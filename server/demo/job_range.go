package demo

import (
	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// rangeJob is the last call of the day: found, but the part has to be ordered.
func (s *script) rangeJob() {
	const maker, model, serial = "Tharnworth", "TW-R300E", "TW5540918"
	site := claims.Position{Lat: 41.914265, Lon: -91.694411, Accuracy: 6}
	bought := s.before(3, 12)
	desk := s.on(s.desk, 0, 0, site)
	desk.job = s.begin("TB-2044", "Range, bake element burnt through, part on order", desk.moment("09:05"), false)
	desk.do("09:05", claims.KindOpen, &claims.Open{Number: "TB-2044", Complaint: "There was a flash in the oven and now it does not bake.", Technician: technician, Currency: "USD"})
	desk.do("09:06", claims.KindCustomer, &claims.Customer{Name: "Quentin Ashdown-Lee", Phone: "555-0171"})
	desk.do("09:07", claims.KindSite, &claims.Site{Address: "56 Weaver's Green\nTeasel Bend, IA", Country: "US", Zone: Zone, Position: &site})
	desk.do("09:08", claims.KindUnit, &claims.Unit{Kind: "range-electric", Maker: maker, Usage: "household"})
	desk.do("09:09", claims.KindCoverage, &claims.Coverage{Kind: "maker-warranty", Payer: "Tharnworth Warranty", Serial: serial, Model: model, StartEvent: "purchase", Purchased: bought, TermMonths: 12, SubmitDays: 30, LabourMinutes: 45, Limit: usd(30000)})

	v := s.on(s.phone, desk.job, 0, site)
	v.step("15:20", claims.KindArrive, "")
	room := draw.Room{Unit: "range", Place: "kitchen", Maker: "THARNWORTH", Look: 3, Near: true}
	v.shoot("15:21", picture{scene: room, subject: "whole-unit"})
	low := draw.Room{Unit: "range", Place: "kitchen", Maker: "THARNWORTH", Look: 3, Low: true}
	v.shoot("15:22", picture{scene: low, subject: "floor"})
	v.shoot("15:24", picture{subject: "rating-plate", caption: "Behind the storage drawer", scene: draw.Plate{
		Maker: "THARNWORTH", Kind: "ELECTRIC RANGE", Model: model, Serial: serial, Made: s.before(7, 0)[:7], Dark: true, Aside: true,
		Lines: []string{"240/120 V ~  60 Hz  40 A", "BAKE 2400 W  BROIL 3000 W", "TYPE R3"},
	}})
	v.do("15:25", claims.KindUnit, &claims.Unit{Model: model, Serial: serial, Manufactured: s.before(7, 0)[:7], SupplyVolts: "240"})
	v.do("15:26", claims.KindDamage, &claims.Damage{Area: "cooktop, door and floor", Kind: "none", Seen: "on-arrival"})
	v.caution("15:27", "Measure", "mains", "hot-parts")
	v.step("15:29", claims.KindWorkStart, "Circuit off, proved dead")
	v.shoot("15:30", picture{subject: "symptom", component: "bake-element", scene: draw.Oven{Broken: true}, caption: "Element burnt through at the right"})
	v.do("15:34", claims.KindReading, measured("bake-element", "resistance", "OL", "", "as-found", "at the element's own terminals", `{"circuit":"isolated"}`, named("heater-2400w-240v"), meter, ""))
	v.do("15:36", claims.KindCause, &claims.Narrative{Component: "bake-element", Text: "Bake element burnt through and open at its own terminals; 24 Ω is due for 2400 W at 240 V."})
	v.do("15:38", claims.KindNote, &claims.Note{Text: "Element ordered, arrives in two days. Circuit left off, customer told."})
	v.do("15:42", claims.KindLeave, &claims.Leave{Gaps: []string{"purchase-proof", "correction", "work-acknowledged"}, Reason: "Part on order, the receipt will be there for the second visit.", Return: true})
}
