package demo

import (
	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// heaterJob is the claim that is complete: a defrost heater burnt through, replaced under the maker's warranty.
func (s *script) heaterJob() {
	const (
		maker, model, serial = "Pellworrow", "PW-RF2214S", "PW4418A07265"
		part                 = "PW-DH-30214"
		customer             = "Maren Tindle"
	)
	site := claims.Position{Lat: 41.918342, Lon: -91.716205, Accuracy: 6}
	bought := s.before(8, 3)
	desk := s.on(s.desk, 0, -1, site)
	desk.job = s.begin("TB-2041", "Refrigerator, defrost heater open, maker's warranty", desk.moment("15:10"), true)
	desk.do("15:10", claims.KindOpen, &claims.Open{
		Number: "TB-2041", Complaint: "Fresh food is warm since Sunday, the freezer has thick frost at the back and the fan scrapes.",
		Appointment: s.date.Format("2006-01-02") + "T09:00:00" + s.date.Format("-07:00"), Dispatched: desk.last.Format("2006-01-02T15:04:05-07:00"),
		Technician: technician, Currency: "USD",
	})
	desk.do("15:11", claims.KindCustomer, &claims.Customer{Name: customer, Phone: "555-0114", Email: "maren.tindle@example.com"})
	desk.do("15:12", claims.KindSite, &claims.Site{Address: "418 Lantern Row\nTeasel Bend, IA", Country: "US", Zone: Zone, Position: &site})
	desk.do("15:13", claims.KindUnit, &claims.Unit{Kind: "refrigerator", Maker: maker, Model: model, Usage: "household"})
	desk.do("15:15", claims.KindCoverage, &claims.Coverage{
		Kind: "maker-warranty", Payer: "Pellworrow Warranty Desk", Number: "PWC-88217", Serial: serial, Model: model, StartEvent: "purchase",
		TermMonths: 12, PartMonths: map[string]int{"compressor": 60, "sealed-system": 60}, SubmitDays: 30, ReturnDays: 45,
		Limit: usd(40000), LabourMinutes: 120,
	})

	v := s.on(s.phone, desk.job, 0, site)
	v.step("08:52", claims.KindArrive, "")
	whole := draw.Room{Unit: "refrigerator", Place: "kitchen", Maker: "PELLWORROW", Look: 0}
	v.shoot("08:53", picture{scene: whole, subject: "whole-unit", portrait: true, caption: "As found, plugged in and running"})
	floor := whole
	floor.Low = true
	v.shoot("08:54", picture{scene: floor, subject: "floor", caption: "Floor before the unit, dry, no marks"})
	for _, view := range []struct{ clock, area, caption string }{
		{"08:55", "way-in", "From the door, the way it would come out"}, {"08:55", "left-side", "What stands left of it"}, {"08:56", "right-side", "What stands right of it"},
	} {
		v.shoot(view.clock, picture{scene: whole, subject: "surroundings", area: view.area, caption: view.caption})
	}
	v.shoot("08:57", picture{subject: "rating-plate", caption: "Left wall of the fresh-food compartment", scene: draw.Plate{
		Maker: "PELLWORROW", Kind: "REFRIGERATOR-FREEZER", Model: model, Serial: serial, Made: s.before(12, 0)[:7],
		Lines: []string{"120 V ~  60 Hz  6.5 A", "R-600a  58 g   DEFROST 450 W", "NET VOL. 22.1 cu ft"},
	}})
	v.do("08:58", claims.KindUnit, &claims.Unit{Model: model, Serial: serial, Manufactured: s.before(12, 0)[:7], Refrigerant: "R-600a", SupplyVolts: "120"})
	v.caution("08:59", "Look before touching", "flammable-refrigerant")
	v.shoot("09:01", picture{subject: "proof-of-purchase", portrait: true, caption: "Receipt, shown by the customer", scene: draw.Receipt{
		Store: "OVENBRIGHT & SONS", Head: []string{"Home & Kitchen", "12 Quarry Cross, Teasel Bend", "Tel 555-0142"},
		Items: [][2]string{{"REFRIGERATOR", "1,149.00"}, {"  MODEL " + model, ""}, {"  SER " + serial, ""}, {"DELIVERY", "49.00"}, {"SALES TAX 7.0 %", "83.86"}, {"TOTAL USD", "1,281.86"}},
		Foot:  []string{"PAID BY CARD  **** 0117", bought + "  15:42  TILL 3", "KEEP THIS RECEIPT FOR WARRANTY"}, Number: "OB-3381-" + bought[2:4] + bought[5:7] + bought[8:],
	}})
	v.do("09:02", claims.KindCoverage, &claims.Coverage{Purchased: bought})
	v.do("09:03", claims.KindDamage, &claims.Damage{Area: "cabinet, doors, liner and floor", Kind: "none", Seen: "on-arrival", Words: "Looked over all round, nothing to note."})
	v.caution("09:04", "Measure", "mains", "stored-charge", "hot-heater")
	s.heaterFound(v)
	s.heaterRepair(v, part)
	s.heaterLeft(v, customer)
}

func (s *script) heaterFound(v *visit) {
	fresh := v.shoot("09:06", picture{subject: "meter-display", component: "fresh-food-compartment", scene: draw.Compartment{Display: "53.1", Unit: "°F"}, caption: "Middle shelf, door closed ten minutes"})
	v.do("09:07", claims.KindReading, measured("fresh-food-compartment", "temperature", "53.1", "[degF]", "as-found", "middle shelf, in a glass of water",
		`{"ambient":{"quantity":"temperature","value":"72","unit":"[degF]"}}`, named("us-refrigerator"), thermometer, fresh))
	frozen := v.shoot("09:09", picture{subject: "meter-display", component: "freezer-compartment", scene: draw.Compartment{Freezer: true, Frost: 0.5, Display: "23.4", Unit: "°F", Look: 1}})
	v.do("09:10", claims.KindReading, measured("freezer-compartment", "temperature", "23.4", "[degF]", "as-found", "between frozen packs", "", named("us-freezer"), thermometer, frozen))
	supply := v.shoot("09:13", picture{subject: "meter-display", component: "supply", scene: draw.Meter{Value: "118.4", Unit: "V~", Mode: "AUTO AC", On: "outlet"}, caption: "Outlet behind the unit, compressor running"})
	v.do("09:14", claims.KindReading, measured("supply", "voltage-ac", "118.4", "V", "as-found", "at the outlet, compressor running",
		`{"load":"under-load","compressor":"running"}`, named("supply-120v-utilisation-a"), meter, supply))
	v.shoot("09:17", picture{subject: "symptom", component: "freezer-compartment", scene: draw.Compartment{Freezer: true, Frost: 0.75}, caption: "Frost on the rear panel of the freezer"})
	v.caution("09:18", "Repair", "sharp-edges", "sharp-fins")
	v.step("09:19", claims.KindWorkStart, "Unplugged, proved dead")
	v.shoot("09:27", picture{subject: "symptom", component: "evaporator-coil", scene: draw.Coil{Frost: 0.72}, caption: "Even heavy frost over the whole coil, cover off"})
	ol := v.shoot("09:34", picture{subject: "meter-display", component: "defrost-heater", scene: draw.Meter{Value: "OL", Unit: "MΩ", Mode: "AUTO", On: "heater"}, caption: "At the heater's own terminals, both leads off"})
	reading := v.do("09:35", claims.KindReading, measured("defrost-heater", "resistance", "OL", "", "as-found", "at the heater's own terminals",
		`{"circuit":"isolated"}`, named("heater-450w-120v"), meter, ol))
	v.do("09:37", claims.KindCause, &claims.Narrative{
		Component: "defrost-heater", Evidence: []claims.EntryID{ol, reading},
		Text: "Defrost heater open: the meter shows over-range at its own terminals with both leads off, 32 Ω is due for 450 W at 120 V. The coil iced up and the air no longer passes.",
	})
}

func (s *script) heaterRepair(v *visit, part string) {
	v.shoot("09:52", picture{subject: "failed-part", component: "defrost-heater", scene: draw.HeaterPart{Broken: true}, caption: "Burnt through at the bend"})
	v.shoot("09:53", picture{subject: "part-label", component: "defrost-heater", scene: draw.Label{
		Maker: "PELLWORROW", Number: part, Title: "DEFROST HEATER ASSY", Lines: []string{"120 V  450 W   QTY 1", "For models PW-RF22.., PW-RF24.."}}, caption: "Box of the new heater"})
	v.shoot("09:54", picture{subject: "part-label", component: "defrost-heater", scene: draw.Label{
		Maker: "PELLWORROW", Number: part, Title: "DEFROST HEATER", Lines: []string{"120 V  450 W"}, Old: true}, caption: "Label on the old heater"})
	v.do("10:08", claims.KindPart, &claims.Part{
		Component: "defrost-heater", Action: "replaced", Number: part, Description: "Defrost heater assembly, 450 W", Quantity: 1, Invoice: "GP-55102",
		InvoiceDate: s.date.AddDate(0, 0, -1).Format("2006-01-02"), Price: usd(6480), Original: "yes", Held: "held",
	})
	ohms := v.shoot("10:10", picture{subject: "meter-display", component: "defrost-heater", scene: draw.Meter{Value: "32.1", Unit: "Ω", Mode: "AUTO", On: "heater", Look: 1}, caption: "New heater, before its leads go on"})
	v.do("10:11", claims.KindReading, measured("defrost-heater", "resistance", "32.1", "Ohm", "as-left", "at the heater's own terminals, fitted",
		`{"circuit":"isolated","leadResistance":{"quantity":"resistance","value":"0.1","unit":"Ohm"}}`, named("heater-450w-120v"), meter, ohms))
	v.shoot("10:14", picture{subject: "fitted-part", component: "defrost-heater", scene: draw.Coil{New: true, Frost: 0.05}, caption: "New heater in its clips, coil thawed"})
}

func (s *script) heaterLeft(v *visit, customer string) {
	v.shoot("10:27", picture{subject: "after-repair", component: "freezer-compartment", scene: draw.Compartment{Freezer: true, Look: 2}, caption: "Panel back on, fan free"})
	v.do("10:29", claims.KindCorrection, &claims.Narrative{
		Component: "defrost-heater",
		Text:      "Thawed the coil, cleared the drain, fitted a new defrost heater (32.1 Ω), forced a defrost and saw it heat. Compartments are falling; they need some hours to settle.",
	})
	v.step("10:30", claims.KindWorkFinish, "")
	fresh := v.shoot("11:11", picture{subject: "as-left-display", component: "fresh-food-compartment", scene: draw.Compartment{Display: "44.6", Unit: "°F", Look: 1}})
	v.do("11:12", claims.KindReading, measured("fresh-food-compartment", "temperature", "44.6", "[degF]", "as-left", "middle shelf, in a glass of water",
		`{"start":{"quantity":"temperature","value":"53.1","unit":"[degF]"},"sinceStart":{"quantity":"duration","value":"41","unit":"min"}}`, named("pull-down-refrigerator-us"), thermometer, fresh))
	frozen := v.shoot("11:13", picture{subject: "as-left-display", component: "freezer-compartment", scene: draw.Compartment{Freezer: true, Display: "6.8", Unit: "°F"}})
	v.do("11:14", claims.KindReading, measured("freezer-compartment", "temperature", "6.8", "[degF]", "as-left", "between frozen packs",
		`{"start":{"quantity":"temperature","value":"23.4","unit":"[degF]"},"sinceStart":{"quantity":"duration","value":"43","unit":"min"}}`, named("pull-down-freezer-us"), thermometer, frozen))
	area := v.shoot("11:16", picture{subject: "work-area", scene: draw.Room{Unit: "refrigerator", Place: "kitchen", Maker: "PELLWORROW", Look: 0, Near: true}, caption: "Unit back in place, floor clean"})
	v.do("11:18", claims.KindAcknowledge, &claims.Acknowledge{
		About: "work-done", Outcome: "signed", Name: customer, Role: "owner of the unit", Shown: []claims.EntryID{fresh, frozen, area},
		Statement: "The work was done as described and the unit is running.", Strokes: sign(customer),
	})
	v.do("11:19", claims.KindLabour, &claims.Labour{Minutes: 110, Says: "Diagnosis, thaw, heater, test", Amount: usd(11800)})
	v.do("11:20", claims.KindTrip, &claims.Trip{Distance: "9.4", Unit: "mi", Amount: usd(3500)})
	v.do("11:21", claims.KindLeave, &claims.Leave{})
}
