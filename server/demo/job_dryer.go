package demo

import (
	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// dryerJob is out of coverage: the term ended long ago, and the vent is choked with lint, which no maker pays.
func (s *script) dryerJob() {
	const (
		maker, model, serial = "Vellanquist", "VQ-E740", "VQ20117733"
		customer             = "Odile Marchetree"
	)
	site := claims.Position{Lat: 41.930488, Lon: -91.708811, Accuracy: 9}
	bought := s.before(38, 4)
	desk := s.on(s.desk, 0, -2, site)
	desk.job = s.begin("TB-2038", "Dryer takes hours, out of coverage", desk.moment("10:40"), false)
	desk.do("10:40", claims.KindOpen, &claims.Open{Number: "TB-2038", Complaint: "Takes three hours for one load and the room gets hot.", Technician: technician, Currency: "USD"})
	desk.do("10:41", claims.KindCustomer, &claims.Customer{Name: customer, Phone: "555-0139"})
	desk.do("10:42", claims.KindSite, &claims.Site{Address: "230 Orchard Bank\nTeasel Bend, IA", Country: "US", Zone: Zone, Position: &site})
	desk.do("10:43", claims.KindUnit, &claims.Unit{Kind: "dryer-electric", Maker: maker, Usage: "household"})
	desk.do("10:44", claims.KindCoverage, &claims.Coverage{Kind: "maker-warranty", Payer: "Vellanquist Claims", Serial: serial, Model: model, StartEvent: "purchase", TermMonths: 12, SubmitDays: 30, LabourMinutes: 45})

	v := s.on(s.phone, desk.job, 0, site)
	v.step("13:22", claims.KindArrive, "")
	room := draw.Room{Unit: "dryer", Place: "laundry", Maker: "VELLANQUIST", Look: 3}
	v.shoot("13:23", picture{scene: room, subject: "whole-unit", caption: "Dryer on the right"})
	low := room
	low.Low = true
	v.shoot("13:24", picture{scene: low, subject: "floor"})
	v.shoot("13:27", picture{subject: "rating-plate", caption: "Inside the door's frame", scene: draw.Plate{
		Maker: "VELLANQUIST", Kind: "TUMBLE DRYER", Model: model, Serial: serial, Made: s.before(42, 0)[:7], Dark: true,
		Lines: []string{"240 V ~  60 Hz  24 A", "HEATER 5400 W", "VENT 4 in, MAX 64 ft"},
	}})
	v.do("13:28", claims.KindUnit, &claims.Unit{Model: model, Serial: serial, Manufactured: s.before(42, 0)[:7], SupplyVolts: "240"})
	v.shoot("13:30", picture{subject: "proof-of-purchase", portrait: true, gain: 0.95, scene: draw.Receipt{
		Store: "OVENBRIGHT & SONS", Head: []string{"Home & Kitchen", "12 Quarry Cross, Teasel Bend"},
		Items: [][2]string{{"DRYER VQ-E740", "629.00"}, {"  SER " + serial, ""}, {"SALES TAX 7.0 %", "44.03"}, {"TOTAL USD", "673.03"}},
		Foot:  []string{"PAID BY CARD  **** 0150", bought + "  11:18  TILL 1"}, Number: "OB-1207-" + bought[2:4] + bought[5:7] + bought[8:],
	}})
	v.do("13:31", claims.KindCoverage, &claims.Coverage{Purchased: bought})
	v.do("13:32", claims.KindNote, &claims.Note{Text: "Told the customer that the warranty of 12 months is over and that they would pay. They agree to the check of the vent."})
	v.do("13:34", claims.KindAcknowledge, &claims.Acknowledge{About: "estimate", Outcome: "signed", Name: customer, Role: "customer", Statement: "I agree to pay for the visit and for cleaning the vent, 120.00 USD.", Strokes: sign(customer)})
	v.do("13:35", claims.KindDamage, &claims.Damage{Area: "cabinet, door and floor", Kind: "none", Seen: "on-arrival"})
	v.caution("13:36", "Measure", "mains", "hot-parts")
	v.shoot("13:38", picture{subject: "symptom", component: "dryer-vent", scene: draw.Vent{Lint: 0.9}, caption: "Vent behind the dryer, hose taken off"})
	v.do("13:41", claims.KindReading, measured("dryer-vent", "pressure-gauge", "1.9", "[in_i'H2O]", "as-found", "at the collar, dryer running", "", named("dryer-vent-pressure"),
		`{"id":"P-1","description":"differential gauge, 0 to 5 inches of water"}`, ""))
	v.step("13:43", claims.KindWorkStart, "")
	v.do("14:20", claims.KindCause, &claims.Narrative{Component: "dryer-vent", Text: "The vent is choked with lint along its whole length; back-pressure 1.9 inches of water where 0.6 is the most. The dryer itself heats and turns."})
	v.do("14:22", claims.KindCorrection, &claims.Narrative{Component: "dryer-vent", Text: "Brushed and vacuumed the vent to the hood, new clamp, back-pressure now 0.3 inches of water."})
	clean := v.shoot("14:24", picture{subject: "after-repair", component: "dryer-vent", scene: draw.Vent{}, caption: "Vent clean to the first bend"})
	v.do("14:26", claims.KindReading, measured("dryer-vent", "pressure-gauge", "0.3", "[in_i'H2O]", "as-left", "at the collar, dryer running", "", named("dryer-vent-pressure"),
		`{"id":"P-1","description":"differential gauge, 0 to 5 inches of water"}`, ""))
	v.step("14:27", claims.KindWorkFinish, "")
	v.shoot("14:28", picture{subject: "work-area", scene: draw.Room{Unit: "dryer", Place: "laundry", Maker: "VELLANQUIST", Look: 3, Near: true}})
	v.do("14:29", claims.KindAcknowledge, &claims.Acknowledge{About: "work-done", Outcome: "signed", Name: customer, Role: "customer", Shown: []claims.EntryID{clean}, Statement: "The work was done as described.", Strokes: sign(customer + " ")})
	v.do("14:30", claims.KindLabour, &claims.Labour{Minutes: 40, Amount: usd(8500)})
	v.do("14:30:20", claims.KindTrip, &claims.Trip{Distance: "6.1", Unit: "mi", Amount: usd(3500)})
	v.do("14:31", claims.KindLeave, &claims.Leave{})
}
