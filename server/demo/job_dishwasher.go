package demo

import (
	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// dishwasherJob is a claim with gaps: the plate is blurred, nobody has a receipt, a reading has no photo of its display.
// The technician leaves all the same, and says why.
func (s *script) dishwasherJob() {
	const (
		model, serial = "LQ-D614", "LQ60231177"
		part          = "LQ-P1180"
	)
	site := claims.Position{Lat: 41.921706, Lon: -91.722418, Accuracy: 8}
	desk := s.on(s.desk, 0, -1, site)
	desk.job = s.begin("TB-2042", "Dishwasher does not drain, claim with gaps", desk.moment("16:02"), false)
	desk.do("16:02", claims.KindOpen, &claims.Open{
		Number: "TB-2042", Complaint: "Stops in the middle with E22 and leaves dirty water in the bottom.",
		Appointment: s.date.Format("2006-01-02") + "T11:30:00" + s.date.Format("-07:00"), Technician: technician, Currency: "USD",
	})
	desk.do("16:03", claims.KindCustomer, &claims.Customer{Name: "Ansel Brightwater", Phone: "555-0127"})
	desk.do("16:04", claims.KindSite, &claims.Site{Address: "77 Foundry Steps, flat 2\nTeasel Bend, IA", Country: "US", Zone: Zone, Position: &site})
	desk.do("16:05", claims.KindCoverage, &claims.Coverage{Kind: "maker-warranty", Payer: "Lissenquay Service Claims", StartEvent: "purchase", TermMonths: 24, SubmitDays: 21, ReturnDays: 30, LabourMinutes: 60, Limit: usd(30000)})
	desk.do("16:06", claims.KindUnit, &claims.Unit{Kind: "dishwasher", Maker: "Lissenquay", Usage: "household"})

	v := s.on(s.phone, desk.job, 0, site)
	v.step("11:44", claims.KindArrive, "")
	front := draw.Room{Unit: "dishwasher", Place: "kitchen", Maker: "LISSENQUAY", Look: 2}
	v.shoot("11:45", picture{scene: front, subject: "whole-unit", caption: "E22 on the display"})
	low := front
	low.Low, low.Wet = true, true
	v.shoot("11:46", picture{scene: low, subject: "floor", caption: "A little water before the unit"})
	v.shoot("11:49", picture{subject: "rating-plate", blur: 17, caption: "Edge of the door", scene: draw.Plate{
		Maker: "LISSENQUAY", Kind: "DISHWASHER", Model: model, Serial: serial, Made: s.before(15, 0)[:7], Dark: true,
		Lines: []string{"120 V ~  60 Hz  11.0 A", "WATER 20-120 psi", "TYPE D6"},
	}})
	v.do("11:50", claims.KindUnit, &claims.Unit{Model: model, Serial: serial, SupplyVolts: "120"})
	v.caution("11:51", "Measure", "mains", "water-near-live")
	v.step("11:53", claims.KindWorkStart, "")
	v.shoot("11:54", picture{subject: "symptom", component: "drain-pump", scene: draw.Tub{Water: true}, caption: "Water stands above the sieve"})
	supply := v.shoot("11:57", picture{subject: "meter-display", component: "supply", portrait: true, scene: draw.Meter{Value: "121.3", Unit: "V~", Mode: "AUTO AC", On: "outlet", Look: 1}})
	v.do("11:58", claims.KindReading, measured("supply", "voltage-ac", "121.3", "V", "as-found", "at the outlet below the sink", `{"load":"under-load"}`, named("supply-120v-utilisation-a"), meter, supply))
	v.do("12:06", claims.KindReading, measured("drain-pump", "resistance", "OL", "", "as-found", "at the pump's own terminals", `{"circuit":"isolated"}`, named("pump-dishwasher-120v"), meter, ""))
	v.shoot("12:09", picture{subject: "failed-part", component: "drain-pump", scene: draw.Pump{Blocked: true}, caption: "Fibres and a chip of glass around the impeller"})
	v.do("12:11", claims.KindCause, &claims.Narrative{Component: "drain-pump", Text: "Drain pump winding open (over-range at its own terminals); the impeller was wound up and had stalled."})
	v.do("12:20", claims.KindPart, &claims.Part{Component: "drain-pump", Action: "replaced", Number: part, Description: "Drain pump, from van stock", Quantity: 1, Price: usd(5830), Original: "yes", Held: "held"})
	ohms := v.shoot("12:21", picture{subject: "meter-display", component: "drain-pump", scene: draw.Meter{Value: "22.4", Unit: "Ω", Mode: "AUTO", On: "pump", Look: 2}, caption: "New pump"})
	v.do("12:22", claims.KindReading, measured("drain-pump", "resistance", "22.4", "Ohm", "as-left", "at the pump's own terminals", `{"circuit":"isolated"}`, named("pump-dishwasher-120v"), meter, ohms))
	v.shoot("12:34", picture{subject: "after-repair", scene: draw.Tub{}, caption: "Empty after a drain cycle"})
	v.do("12:35", claims.KindCorrection, &claims.Narrative{Component: "drain-pump", Text: "Cleaned the sump, fitted a new drain pump (22.4 Ω), ran fill and drain twice, no leak."})
	v.step("12:36", claims.KindWorkFinish, "")
	v.do("12:37", claims.KindLabour, &claims.Labour{Minutes: 45, Amount: usd(7900)})
	v.do("12:38", claims.KindAcknowledge, &claims.Acknowledge{About: "work-done", Outcome: "absent", Reason: "The customer had to leave for work at noon; the neighbour let me out."})
	v.do("12:40", claims.KindLeave, &claims.Leave{
		Gaps:   []string{"plate", "purchase-proof", "purchase-date", "part-reading-shown:drain-pump", "part-label:drain-pump", "part-record:drain-pump"},
		Reason: "Phone was wet and the plate sits deep in the door's edge. The customer will send the receipt; part box is in the van.",
	})
}
