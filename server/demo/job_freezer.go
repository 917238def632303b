package demo

import (
	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// freezerJob is under a service contract that has not given its authorisation yet. The apprentice's phone has no signal
// in the garage and a clock seven minutes fast; one reading is corrected, one photograph struck.
func (s *script) freezerJob() {
	const maker, model, serial = "Quarrifrost", "QF-U165", "QF31408826"
	site := claims.Position{Lat: 41.899034, Lon: -91.733907, Accuracy: 12}
	desk := s.on(s.desk, 0, -1, site)
	desk.job = s.begin("TB-2043", "Freezer under a service contract, authorisation missing", desk.moment("16:31"), false)
	desk.do("16:31", claims.KindOpen, &claims.Open{Number: "TB-2043", Complaint: "Freezer in the garage is at 15 degrees and ice grows on the back wall.", Technician: apprentice, Currency: "USD"})
	desk.do("16:32", claims.KindCustomer, &claims.Customer{Name: "Rosalind Petherbridge-Coe", Phone: "555-0188"})
	desk.do("16:33", claims.KindSite, &claims.Site{Address: "1 Old Ferry Approach\nTeasel Bend, IA", Country: "US", Zone: Zone, Position: &site})
	desk.do("16:34", claims.KindUnit, &claims.Unit{Kind: "freezer", Maker: maker, Usage: "household"})
	desk.do("16:35", claims.KindCoverage, &claims.Coverage{Kind: "service-contract", Payer: "Sagemoor Cover", Number: "SC-771-40258", Serial: serial, Model: model, StartEvent: "purchase",
		Start: s.before(20, 0), TermMonths: 36, SubmitDays: 14, Limit: usd(35000), LabourMinutes: 90})

	v := s.on(s.second, desk.job, 0, site)
	v.blind = true
	v.step("14:05", claims.KindArrive, "")
	room := draw.Room{Unit: "freezer", Place: "garage", Maker: "QUARRIFROST", Look: 3}
	v.shoot("14:06", picture{scene: room, subject: "whole-unit", portrait: true, gain: 0.9})
	low := room
	low.Low = true
	v.shoot("14:07", picture{scene: low, subject: "floor", gain: 0.9})
	pocket := v.shoot("14:08", picture{scene: draw.Coil{Low: true, Look: 2}, subject: "other", blur: 60, gain: 0.25, caption: "?"})
	v.do("14:08:30", claims.KindStrike, &claims.Strike{Entry: pocket, Reason: "Taken by accident while the phone went into the pocket."})
	v.shoot("14:10", picture{subject: "rating-plate", scene: draw.Plate{
		Maker: "QUARRIFROST", Kind: "UPRIGHT FREEZER", Model: model, Serial: serial, Made: s.before(23, 0)[:7],
		Lines: []string{"120 V ~  60 Hz  3.1 A", "R-600a  64 g   DEFROST 350 W", "NET VOL. 16.5 cu ft"},
	}})
	v.do("14:11", claims.KindUnit, &claims.Unit{Model: model, Serial: serial, Manufactured: s.before(23, 0)[:7], Refrigerant: "R-600a", SupplyVolts: "120"})
	v.do("14:12", claims.KindDamage, &claims.Damage{Area: "cabinet, door and floor", Kind: "none", Seen: "on-arrival"})
	v.caution("14:13", "Look before touching", "flammable-refrigerant", "mains", "sharp-fins")
	cold := v.shoot("14:15", picture{subject: "meter-display", component: "freezer-compartment", portrait: true, scene: draw.Compartment{Freezer: true, Frost: 0.6, Display: "15.2", Unit: "°F"}})
	slip := v.do("14:16", claims.KindReading, measured("freezer-compartment", "temperature", "152", "[degF]", "as-found", "between frozen packs", "", named("us-freezer"), thermometer, cold))
	v.fix("14:17", claims.KindReading, measured("freezer-compartment", "temperature", "15.2", "[degF]", "as-found", "between frozen packs", "", named("us-freezer"), thermometer, cold),
		slip, "The point was left out while typing; the photo shows 15.2.")
	v.step("14:19", claims.KindWorkStart, "")
	v.shoot("14:21", picture{subject: "symptom", component: "evaporator-coil", scene: draw.Coil{Frost: 0.82, Look: 2}, caption: "Coil iced over"})
	ol := v.shoot("14:28", picture{subject: "meter-display", component: "defrost-heater", portrait: true, scene: draw.Meter{Value: "OL", Unit: "kΩ", Mode: "AUTO", On: "heater", Look: 2}})
	v.do("14:29", claims.KindReading, measured("defrost-heater", "resistance", "OL", "", "as-found", "at the heater's own terminals", `{"circuit":"isolated"}`, named("heater-350w-120v"), meter, ol))
	v.do("14:31", claims.KindCause, &claims.Narrative{Component: "defrost-heater", Text: "Defrost heater open at its own terminals, both leads off. The part has to be ordered once the contract allows it."})
	v.step("14:36", claims.KindWorkFinish, "Thawed and put together for the time being")
	v.do("14:38", claims.KindAcknowledge, &claims.Acknowledge{About: "work-done", Outcome: "declined", Reason: "The customer wants to sign only when the freezer works."})
	v.do("14:39", claims.KindLabour, &claims.Labour{Minutes: 30, Says: "Diagnosis", Amount: usd(4500)})
	v.do("14:40", claims.KindLeave, &claims.Leave{
		Gaps: []string{"authorisation", "freezer-as-left", "result"}, Return: true,
		Reason: "No signal in the garage, the contract's desk could not be reached for the authorisation. Second visit with the part.",
	})
}
