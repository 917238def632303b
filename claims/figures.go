package claims

import (
	"cmp"
	"context"
	"slices"
	"time"
)

// figuresStep is how many jobs one question for figures looks at. Figures of pages add up: whoever asks goes on by cursor.
const figuresStep = 400

// MoneyFigures add up what is still to come in on open jobs.
type MoneyFigures struct {
	Jobs   int          `json:"jobs"`
	States []MoneyState `json:"states"`
	Ages   []MoneyAge   `json:"ages"`
	Next   string       `json:"next,omitempty"`
}

// MoneyState is the money of one state of the board, by currency, in minor units.
type MoneyState struct {
	State string           `json:"state"`
	Jobs  int              `json:"jobs"`
	Money map[string]int64 `json:"money"`
}

// MoneyAge is the money owed since From to To days (To 0 = and longer): what was sent waits for somebody else, what was not for the shop.
type MoneyAge struct {
	From   int              `json:"from"`
	To     int              `json:"to,omitempty"`
	Jobs   int              `json:"jobs"`
	Sent   map[string]int64 `json:"sent"`
	Unsent map[string]int64 `json:"unsent"`
}

func moneyAges() []MoneyAge {
	var list []MoneyAge
	for _, a := range [][2]int{{0, 7}, {8, 30}, {31, 60}, {61, 90}, {91, 0}} {
		list = append(list, MoneyAge{From: a[0], To: a[1], Sent: map[string]int64{}, Unsent: map[string]int64{}})
	}
	return list
}

// Money adds up the open jobs' money by state and age, figuresStep jobs at a time, those changed last first.
func (s *Service) Money(ctx context.Context, a Actor, cursor string) (MoneyFigures, error) {
	out := MoneyFigures{Ages: moneyAges()}
	for _, state := range BoardStates() {
		if state != "settled" {
			out.States = append(out.States, MoneyState{State: state, Money: map[string]int64{}})
		}
	}
	var err error
	out.Next, err = s.eachCard(ctx, a, CardQuery{Key: "state", Value: "open", Cursor: cursor}, func(c Card) bool {
		out.Jobs++
		for i := range out.States {
			if out.States[i].State == c.State {
				out.States[i].Jobs++
				if c.Stake.Minor != 0 {
					out.States[i].Money[c.Stake.Currency] += c.Stake.Minor
				}
			}
		}
		if c.Stake.Minor == 0 {
			return true
		}
		days := int(max(s.Now().Sub(c.Since), 0) / (24 * time.Hour))
		for i := range out.Ages {
			g := &out.Ages[i]
			if days < g.From || g.To != 0 && days > g.To {
				continue
			}
			g.Jobs++
			if c.State == "sent" || c.State == "answered" || c.State == "disputed" {
				g.Sent[c.Stake.Currency] += c.Stake.Minor
			} else {
				g.Unsent[c.Stake.Currency] += c.Stake.Minor
			}
		}
		return true
	})
	return out, err
}

// FoundFigures count what was found missing and what was refused on jobs that changed since a day.
type FoundFigures struct {
	Since time.Time `json:"since"`
	Jobs  int       `json:"jobs"`
	// Missing counts jobs by rule pack, technician and requirement; Reasons jobs by refusal reason.
	Missing []FoundMissing `json:"missing"`
	Reasons []FoundReason  `json:"reasons"`
	Next    string         `json:"next,omitempty"`
}

// FoundMissing is one requirement that was open on so many jobs of one technician under one rule pack.
type FoundMissing struct {
	Pack        string `json:"pack"`
	Technician  string `json:"technician"`
	Requirement string `json:"requirement"`
	Title       string `json:"title"`
	Jobs        int    `json:"jobs"`
}

// FoundReason is one refusal reason.
type FoundReason struct {
	Reason string `json:"reason"`
	Jobs   int    `json:"jobs"`
}

// Found counts gaps and refusal reasons over the jobs changed since a moment, figuresStep jobs at a time, those changed last first.
func (s *Service) Found(ctx context.Context, a Actor, since time.Time, cursor string) (FoundFigures, error) {
	out := FoundFigures{Since: since, Missing: []FoundMissing{}, Reasons: []FoundReason{}}
	gaps, reasons := map[FoundMissing]int{}, map[string]int{}
	ended := false
	var err error
	out.Next, err = s.eachCard(ctx, a, CardQuery{Order: "changed", Cursor: cursor}, func(c Card) bool {
		if ended = c.Changed.Before(since); ended {
			return false
		}
		out.Jobs++
		for _, id := range c.Missing {
			gaps[FoundMissing{Pack: c.Pack, Technician: c.Technician, Requirement: id}]++
		}
		for _, r := range c.Reasons {
			reasons[r]++
		}
		return true
	})
	if err != nil {
		return FoundFigures{}, err
	}
	if ended {
		out.Next = ""
	}
	for g, n := range gaps {
		g.Jobs, g.Title = n, s.requirementTitle(g.Pack, g.Requirement)
		out.Missing = append(out.Missing, g)
	}
	for r, n := range reasons {
		out.Reasons = append(out.Reasons, FoundReason{r, n})
	}
	slices.SortFunc(out.Missing, func(x, y FoundMissing) int {
		return cmp.Or(cmp.Compare(y.Jobs, x.Jobs), cmp.Compare(x.Requirement, y.Requirement), cmp.Compare(x.Pack, y.Pack), cmp.Compare(x.Technician, y.Technician))
	})
	slices.SortFunc(out.Reasons, func(x, y FoundReason) int {
		return cmp.Or(cmp.Compare(y.Jobs, x.Jobs), cmp.Compare(x.Reason, y.Reason))
	})
	return out, nil
}

func (s *Service) requirementTitle(pack, id string) string {
	if p, ok := s.Packs.Pack(pack); ok {
		for _, r := range p.Pack().Requirements {
			if r.ID == id {
				return r.Title
			}
		}
	}
	return id
}

// eachCard calls f for at most figuresStep cards of a list, until it returns false, and returns where to go on.
func (s *Service) eachCard(ctx context.Context, a Actor, q CardQuery, f func(Card) bool) (next string, err error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return "", err
	}
	q.Limit = MaxCardPage
	for range figuresStep / MaxCardPage {
		page, err := st.Cards(ctx, q)
		if err != nil {
			return "", err
		}
		for _, c := range page.Cards {
			if !f(c) {
				return "", nil
			}
		}
		if q.Cursor = page.Next; q.Cursor == "" {
			break
		}
	}
	return q.Cursor, nil
}
