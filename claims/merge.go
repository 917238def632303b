package claims

import "cmp"

// A job has one opening, customer, site, unit and coverage: later entries fill in or replace them field by field.

// take keeps the later value unless it is empty.
func take[V comparable](to *V, later V) { *to = cmp.Or(later, *to) }

func (b *Open) merge(l Open) {
	take(&b.Number, l.Number)
	take(&b.Complaint, l.Complaint)
	take(&b.Appointment, l.Appointment)
	take(&b.Dispatched, l.Dispatched)
	take(&b.Technician, l.Technician)
	take(&b.Currency, l.Currency)
}

func (b *Customer) merge(l Customer) {
	take(&b.Name, l.Name)
	take(&b.Phone, l.Phone)
	take(&b.Email, l.Email)
}

func (b *Site) merge(l Site) {
	take(&b.Address, l.Address)
	take(&b.Country, l.Country)
	take(&b.Zone, l.Zone)
	take(&b.Position, l.Position)
	take(&b.Radius, l.Radius)
}

func (b *Unit) merge(l Unit) {
	take(&b.Kind, l.Kind)
	take(&b.Maker, l.Maker)
	take(&b.Model, l.Model)
	take(&b.Serial, l.Serial)
	take(&b.Manufactured, l.Manufactured)
	take(&b.Usage, l.Usage)
	take(&b.Refrigerant, l.Refrigerant)
	take(&b.SupplyVolts, l.SupplyVolts)
	take(&b.Unreadable, l.Unreadable)
}
