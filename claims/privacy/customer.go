package privacy

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
)

// Found is one job that may be the same customer's.
type Found struct {
	Job      claims.JobID `json:"job"`
	Number   string       `json:"number,omitempty"`
	Customer string       `json:"customer,omitempty"`
	Place    string       `json:"place,omitempty"`
	Unit     string       `json:"unit,omitempty"`
	Stage    string       `json:"stage"`
	Opened   time.Time    `json:"opened,omitzero"`
	// By says what agrees: name, phone, email; empty for the job that was asked about.
	By []string `json:"by,omitempty"`
	// Hold is true under a legal hold.
	Hold bool `json:"hold,omitempty"`
}

// Customer is everything a shop has of one customer, as far as names and numbers tell.
type Customer struct {
	Customer claims.Customer `json:"customer"`
	Jobs     []Found         `json:"jobs"`
	// More is true when there are more than are listed.
	More bool `json:"more,omitempty"`
}

// mostFound bounds the jobs of one customer that are listed.
const mostFound = claims.MaxErase

// CustomerOf finds the jobs that share a name, a telephone number or a mail address with a job's customer. Two people may share a name: which of
// them belong together is for a person to say.
func (d Desk) CustomerOf(ctx context.Context, a claims.Actor, job claims.JobID) (Customer, error) {
	st, err := d.store(ctx, a, claims.ActExport)
	if err != nil {
		return Customer{}, err
	}
	j, err := d.Service.Job(ctx, a, job)
	if err != nil {
		return Customer{}, err
	}
	if j.Stage() == claims.StageErased {
		return Customer{}, claims.Errorf(claims.Erased, "This job was erased: nothing of its customer is kept.")
	}
	out := Customer{Customer: j.Customer, Jobs: []Found{found(&j, nil)}}
	by := map[claims.JobID][]string{}
	for _, mark := range j.Customer.Marks() {
		kind, _, _ := strings.Cut(mark, ":")
		q := claims.CardQuery{Order: "opened", Key: "customer", Value: claims.FoldKey(mark), Limit: claims.MaxCardPage}
		for {
			page, err := st.Cards(ctx, q)
			if err != nil {
				return Customer{}, err
			}
			for _, c := range page.Cards {
				if c.Job != job && !slices.Contains(by[c.Job], kind) {
					by[c.Job] = append(by[c.Job], kind)
				}
			}
			if q.Cursor = page.Next; q.Cursor == "" || len(by) > mostFound {
				break
			}
		}
	}
	for id, agrees := range by {
		if len(out.Jobs) >= mostFound {
			out.More = true
			break
		}
		other, err := d.Service.Job(ctx, a, id)
		if err != nil {
			return Customer{}, err
		}
		out.Jobs = append(out.Jobs, found(&other, agrees))
	}
	slices.SortFunc(out.Jobs[1:], func(x, y Found) int {
		return cmp.Or(y.Opened.Compare(x.Opened), cmp.Compare(x.Job, y.Job))
	})
	return out, nil
}

func found(j *claims.Job, by []string) Found {
	unit := strings.Join(slices.DeleteFunc([]string{j.Unit.Kind, j.Unit.Maker, j.Unit.Model}, func(s string) bool { return s == "" }), " ")
	return Found{Job: j.ID, Number: j.Open.Number, Customer: j.Customer.Name, Place: j.Site.Address, Unit: unit, Stage: j.Stage(), Opened: j.Opened, By: by, Hold: j.OnHold() != nil}
}
