package demo

import (
	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// damageJob is a week old: damage from somebody's earlier attempt was found on arrival, pictured and signed for before
// work began. On the working day the customer says that the shop did it.
func (s *script) damageJob() {
	const (
		maker, model, serial = "Dorrowmead", "DM-FD2600", "DM77015B4210"
		customer             = "Tobin Harrow-Vale"
	)
	site := claims.Position{Lat: 41.905117, Lon: -91.701893, Accuracy: 7}
	bought := s.before(5, 20)
	desk := s.on(s.desk, 0, -8, site)
	desk.job = s.begin("TB-2029", "Refrigerator, damage found on arrival, disputed later", desk.moment("13:20"), false)
	desk.do("13:20", claims.KindOpen, &claims.Open{Number: "TB-2029", Complaint: "Water runs into the lower drawers and freezes on the floor of the freezer.", Technician: technician, Currency: "USD"})
	desk.do("13:21", claims.KindCustomer, &claims.Customer{Name: customer, Phone: "555-0163", Email: "t.harrowvale@example.com"})
	desk.do("13:22", claims.KindSite, &claims.Site{Address: "9 Millpond Close\nTeasel Bend, IA", Country: "US", Zone: Zone, Position: &site})
	desk.do("13:23", claims.KindUnit, &claims.Unit{Kind: "refrigerator", Maker: maker, Model: model, Usage: "household"})
	desk.do("13:25", claims.KindCoverage, &claims.Coverage{Kind: "maker-warranty", Payer: "Dorrowmead Care Desk", Number: "DMC-20417", Serial: serial, Model: model,
		StartEvent: "purchase", TermMonths: 12, SubmitDays: 30, LabourMinutes: 60, Limit: usd(25000)})

	v := s.on(s.phone, desk.job, -7, site)
	v.step("13:31", claims.KindArrive, "")
	room := draw.Room{Unit: "refrigerator", Place: "kitchen", Maker: "DORROWMEAD", Look: 1}
	v.shoot("13:32", picture{scene: room, subject: "whole-unit", portrait: true})
	low := room
	low.Low = true
	v.shoot("13:33", picture{scene: low, subject: "floor", caption: "Boards before the unit"})
	v.shoot("13:35", picture{subject: "rating-plate", scene: draw.Plate{
		Maker: "DORROWMEAD", Kind: "REFRIGERATOR-FREEZER", Model: model, Serial: serial, Made: s.before(8, 0)[:7], Aside: true,
		Lines: []string{"115 V ~  60 Hz  7.2 A", "R-134a  142 g   DEFROST 350 W", "NET VOL. 25.8 cu ft"},
	}})
	v.do("13:36", claims.KindUnit, &claims.Unit{Model: model, Serial: serial, Manufactured: s.before(8, 0)[:7], Refrigerant: "R-134a", SupplyVolts: "115"})
	v.shoot("13:38", picture{subject: "proof-of-purchase", portrait: true, scene: draw.Receipt{
		Store: "FERNLEY ROW", Head: []string{"Appliances", "3 Chandler Walk, Teasel Bend"},
		Items: [][2]string{{"REFRIGERATOR", "1,780.00"}, {"  MODEL " + model, ""}, {"  SER " + serial, ""}, {"HAUL AWAY OLD UNIT", "25.00"}, {"TAX 7.0 %", "126.35"}, {"TOTAL", "1,931.35"}},
		Foot:  []string{"CHECK 2208", bought + "  10:05"}, Number: "FR-77120", Stone: true,
	}})
	v.do("13:39", claims.KindCoverage, &claims.Coverage{Purchased: bought})
	wide := s.damageFound(v, customer)
	s.damageWork(v, customer, wide)
	s.jobs[desk.job].Disputed = true

	later := s.on(s.desk, desk.job, 0, site)
	theirs := later.shoot("08:08", picture{scene: draw.DamageClose{Kind: "melted", Look: 1}, subject: "damage-close", area: meltedWall, caption: "Sent along with the e-mail", from: "customer"})
	later.do("08:10", claims.KindAllege, &claims.Allege{
		Area: meltedWall, Kind: "melted", By: customer, How: "e-mail", Came: s.date.Format("2006-01-02"), Since: s.date.AddDate(0, 0, -7).Format("2006-01-02"),
		Words:  "Your technician melted the wall of my freezer with his steamer. It was fine before he came. I want a new liner or the money.",
		Amount: usd(78000), Wants: "money", ReplyBy: s.date.AddDate(0, 0, 6).Format("2006-01-02"), Photos: []claims.EntryID{theirs},
	})
	later.do("08:12", claims.KindAllege, &claims.Allege{
		Area: "freezer drawer, front", Kind: "cracked", By: customer, How: "e-mail", Came: s.date.Format("2006-01-02"),
		Words: "And a drawer front is cracked since then.", Wants: "replacement", ReplyBy: s.date.AddDate(0, 0, 6).Format("2006-01-02"),
	})
	later.do("08:16", claims.KindNote, &claims.Note{Text: "Customer called as well, same words. Told them we will answer in writing with the pictures from before work."})
}

// meltedWall is the place that the customer complains about.
const meltedWall = "freezer liner, left wall"

// damageFound returns the picture of the wall from before work.
func (s *script) damageFound(v *visit, customer string) claims.EntryID {
	melt := draw.Compartment{Freezer: true, Empty: true, Melted: true, Look: 2}
	wide := v.shoot("13:42", picture{scene: melt, subject: "damage-wide", component: "liner", area: meltedWall, caption: "Before any tool was out"})
	near := v.shoot("13:43", picture{scene: draw.DamageClose{Kind: "melted"}, subject: "damage-close", component: "liner", area: meltedWall, pairedWith: wide})
	v.do("13:45", claims.KindDamage, &claims.Damage{
		Area: meltedWall, Kind: "melted", Seen: "on-arrival", WidthMM: "120", HeightMM: "90", Scale: "ruler", Photos: []claims.EntryID{wide, near}, Bears: "no",
		Words: "Browned and blistered, burnt through in the middle.", SaidBy: customer, Said: "My cousin tried a heat gun on the ice last month.",
	})
	wideTrough := v.shoot("13:47", picture{scene: draw.Coil{Low: true, Chipped: true, Iced: true, Frost: 0.45, Look: 1}, subject: "damage-wide", component: "drain-trough", area: "drain trough, front rim", caption: "Cover was loose already, lifted for this picture"})
	nearTrough := v.shoot("13:48", picture{scene: draw.DamageClose{Kind: "chipped"}, subject: "damage-close", component: "drain-trough", area: "drain trough, front rim", pairedWith: wideTrough})
	v.do("13:50", claims.KindDamage, &claims.Damage{
		Area: "drain trough, front rim", Kind: "chipped", Seen: "on-arrival", WidthMM: "64", HeightMM: "22", Scale: "ruler", Photos: []claims.EntryID{wideTrough, nearTrough}, Bears: "no",
		Words: "A piece is broken out, cracks run on from its corners.",
	})
	v.do("13:51", claims.KindDamage, &claims.Damage{Area: "floor", Kind: "none", Seen: "on-arrival"})
	shown := []claims.EntryID{wide, near, wideTrough, nearTrough}
	v.do("13:53", claims.KindAcknowledge, &claims.Acknowledge{
		About: "damage-on-arrival", Outcome: "signed", Name: customer, Role: "owner of the unit", Shown: shown,
		Statement: "I have seen these pictures. The damage they show was there before the technician began to work.", Strokes: sign(customer),
	})
	return wide
}

func (s *script) damageWork(v *visit, customer string, wide claims.EntryID) {
	v.caution("13:54", "Measure", "mains")
	cold := v.shoot("13:56", picture{subject: "meter-display", component: "freezer-compartment", scene: draw.Compartment{Freezer: true, Frost: 0.3, Display: "1.4", Unit: "°F", Look: 2, Melted: true}})
	v.do("13:57", claims.KindReading, measured("freezer-compartment", "temperature", "1.4", "[degF]", "as-found", "between frozen packs", "", named("us-freezer"), thermometer, cold))
	fresh := v.shoot("13:58", picture{subject: "meter-display", component: "fresh-food-compartment", scene: draw.Compartment{Display: "38.1", Unit: "°F", Look: 2}})
	v.do("13:59", claims.KindReading, measured("fresh-food-compartment", "temperature", "38.1", "[degF]", "as-found", "middle shelf", "", named("us-refrigerator"), thermometer, fresh))
	v.step("14:02", claims.KindWorkStart, "Steam, no tools at the liner")
	v.shoot("14:04", picture{subject: "symptom", component: "drain-trough", scene: draw.Coil{Low: true, Chipped: true, Iced: true, Frost: 0.7, Look: 1}, caption: "Ice over the outlet of the trough"})
	v.do("14:30", claims.KindCause, &claims.Narrative{Component: "drain-trough", Text: "Drain outlet was frozen over and partly blocked by a piece of the chipped trough; melt water ran over the rim."})
	v.do("14:31", claims.KindCorrection, &claims.Narrative{Component: "drain-trough", Text: "Thawed the drain, took the broken piece out, flushed the tube and saw two litres run through freely. The trough still holds; a new one was offered."})
	v.shoot("14:33", picture{subject: "after-repair", component: "drain-trough", scene: draw.Coil{Low: true, Chipped: true, Look: 1, Frost: 0.02}, caption: "Outlet free, water runs"})
	v.step("14:35", claims.KindWorkFinish, "")
	leftCold := v.shoot("14:50", picture{subject: "as-left-display", component: "freezer-compartment", scene: draw.Compartment{Freezer: true, Display: "8.9", Unit: "°F", Look: 2, Melted: true}})
	v.do("14:51", claims.KindReading, measured("freezer-compartment", "temperature", "8.9", "[degF]", "as-left", "between frozen packs", "", named("us-freezer"), thermometer, leftCold))
	leftFresh := v.shoot("14:52", picture{subject: "as-left-display", component: "fresh-food-compartment", scene: draw.Compartment{Display: "40.2", Unit: "°F", Look: 2}})
	v.do("14:53", claims.KindReading, measured("fresh-food-compartment", "temperature", "40.2", "[degF]", "as-left", "middle shelf", "", named("us-refrigerator"), thermometer, leftFresh))
	v.shoot("14:53", picture{scene: draw.Compartment{Freezer: true, Empty: true, Melted: true, Look: 2}, subject: "work-area", component: "liner", area: meltedWall, pairedWith: wide, pair: "before-after"})
	v.do("14:54", claims.KindDamage, &claims.Damage{Area: "floor", Kind: "none", Seen: "on-leaving"})
	area := v.shoot("14:55", picture{subject: "work-area", scene: draw.Room{Unit: "refrigerator", Place: "kitchen", Maker: "DORROWMEAD", Look: 1, Near: true}})
	v.do("14:57", claims.KindAcknowledge, &claims.Acknowledge{About: "work-done", Outcome: "signed", Name: customer, Role: "owner of the unit", Shown: []claims.EntryID{area},
		Statement: "The work was done as described.", Strokes: sign(customer + ".")})
	v.do("14:58", claims.KindLabour, &claims.Labour{Minutes: 55, Says: "Thaw and clear the drain", Amount: usd(9400)})
	v.do("14:59", claims.KindLeave, &claims.Leave{})
}
