package dispute

import (
	"cmp"
	"slices"
	"time"

	"kickplate/claims"
)

// Allegation is one allegation with what the entries say about it.
type Allegation struct {
	Entry   claims.EntryID `json:"entry"`
	Number  int            `json:"number"`
	At      time.Time      `json:"at"`
	Area    string         `json:"area"`
	Kind    string         `json:"kind,omitempty"`
	Words   string         `json:"words"`
	By      string         `json:"by,omitempty"`
	How     string         `json:"how,omitempty"`
	Came    string         `json:"came,omitempty"`
	Since   string         `json:"since,omitempty"`
	ReplyBy string         `json:"replyBy,omitempty"`
	Wants   string         `json:"wants,omitempty"`
	Amount  *claims.Money  `json:"amount,omitempty"`
	View    string         `json:"view,omitempty"`
	X       int            `json:"x,omitempty"`
	Y       int            `json:"y,omitempty"`
	// State is open, answered, offered, agreed, or the outcome under which it was closed; Ended is true then.
	State   string  `json:"state"`
	Ended   bool    `json:"ended,omitempty"`
	Finding Finding `json:"finding"`
	// Before and After are pictures of the place by their order to the first work; Unplaced those of which nobody can say, and why.
	Before   []PlacePhoto `json:"before"`
	After    []PlacePhoto `json:"after"`
	Unplaced []PlacePhoto `json:"unplaced"`
	Pairs    []Pair       `json:"pairs"`
	// Theirs is what the other side sent, as received: neither trusted nor doubted.
	Theirs     []PlacePhoto `json:"theirs"`
	Statements []Said       `json:"statements,omitempty"`
}

// Said is what somebody said about an allegation, or about the job as a whole, in their own words.
type Said struct {
	Entry claims.EntryID `json:"entry"`
	At    time.Time      `json:"at"`
	From  string         `json:"from"`
	Name  string         `json:"name,omitempty"`
	Text  string         `json:"text"`
	// How it came; a statement over a link is by whoever had the link.
	How    string           `json:"how,omitempty"`
	Photos []claims.EntryID `json:"photos,omitempty"`
	// Pictures came over a link with it: they are kept under these digests.
	Pictures []claims.Digest `json:"pictures,omitempty"`
}

// PlacePhoto is a picture of an allegation's place.
type PlacePhoto struct {
	Entry  claims.EntryID `json:"entry"`
	Number int            `json:"number"`
	Digest claims.Digest  `json:"digest"`
	Title  string         `json:"title"`
	Area   string         `json:"area,omitempty"`
	// Subject is what it is meant to show; Match how its place relates to the allegation's: same, named, narrower, wider or part.
	Subject string       `json:"subject,omitempty"`
	Match   string       `json:"match,omitempty"`
	Order   claims.Order `json:"order"`
	At      time.Time    `json:"at,omitzero"`
	From    string       `json:"from,omitempty"`
}

// Pair is two pictures of the place to look at side by side, from before and after the first work.
type Pair struct {
	Before claims.EntryID `json:"before"`
	After  claims.EntryID `json:"after"`
	Why    string         `json:"why"`
}

func (r *reader) allegation(it *claims.Item[claims.Allege]) Allegation {
	b := &it.Body
	state := r.j.StateOf(it.Entry)
	a := Allegation{Entry: it.Entry, Number: it.Number, At: fair(it), Area: b.Area, Kind: b.Kind, Words: b.Words, By: b.By, How: b.How, Came: b.Came, Since: b.Since,
		ReplyBy: b.ReplyBy, Wants: b.Wants, Amount: b.Amount, View: b.View, X: b.X, Y: b.Y, State: state.Word, Ended: state.Ended,
		Before: []PlacePhoto{}, After: []PlacePhoto{}, Unplaced: []PlacePhoto{}, Pairs: []Pair{}, Theirs: []PlacePhoto{}}
	at := placeOf(b.Area)
	for i := range r.j.Photos {
		p := &r.j.Photos[i]
		match := matchPhoto(b, at, p, r.j.Damages)
		shot := PlacePhoto{Entry: p.Entry, Number: p.Number, Digest: p.Body.Digest, Title: photoTitle(&p.Body), Area: p.Body.Area, Subject: p.Body.Subject,
			Match: match, Order: r.orders[i], At: r.views[i].Time.At, From: p.Body.From}
		switch {
		case p.Body.From != "":
			if slices.Contains(b.Photos, p.Entry) || ofPlace(match) || r.inStatement(it.Entry, p.Entry) {
				a.Theirs = append(a.Theirs, shot)
			}
		case match == "" || personal(&p.Body):
		case shot.Order.Answer == claims.Before:
			a.Before = append(a.Before, shot)
		case shot.Order.Answer == claims.After:
			a.After = append(a.After, shot)
		default:
			a.Unplaced = append(a.Unplaced, shot)
		}
	}
	a.Pairs = r.pairs(a.Before, a.After)
	a.Statements = r.said(it.Entry)
	a.Finding = r.finding(it, &a)
	return a
}

func (r *reader) inStatement(allegation, photo claims.EntryID) bool {
	return slices.ContainsFunc(r.j.Statements, func(s claims.Item[claims.Statement]) bool {
		return s.Body.About == allegation && slices.Contains(s.Body.Photos, photo)
	})
}

// mostPairs is how many pairs are offered for a look side by side.
const mostPairs = 12

// pairs lines up pictures from before and after: first those that were paired on the phone, then those of the same area, then of the same subject.
func (r *reader) pairs(before, after []PlacePhoto) []Pair {
	type scored struct {
		Pair
		rank int
	}
	var list []scored
	for i := range before {
		for k := range after {
			x, y := &before[i], &after[k]
			px, py := &r.j.Photos[r.photo[x.Entry]].Body, &r.j.Photos[r.photo[y.Entry]].Body
			s := scored{Pair: Pair{Before: x.Entry, After: y.Entry}, rank: 3}
			switch {
			case py.Pair == "before-after" && py.PairedWith == x.Entry || px.Pair == "before-after" && px.PairedWith == y.Entry:
				s.rank, s.Why = 0, "taken as the same view"
			case px.Area != "" && placeOf(px.Area).relation(placeOf(py.Area)) == same && px.Subject == py.Subject:
				s.rank, s.Why = 1, "the same area and subject"
			case px.Subject == py.Subject && px.Component == py.Component:
				s.rank, s.Why = 2, "the same subject"
			default:
				s.Why = "the same place by its words"
			}
			list = append(list, s)
		}
	}
	slices.SortStableFunc(list, func(a, b scored) int { return cmp.Compare(a.rank, b.rank) })
	out := []Pair{}
	for _, s := range list[:min(len(list), mostPairs)] {
		out = append(out, s.Pair)
	}
	return out
}

// said gathers the statements about an allegation, and those about none in particular, in the order of the account.
func (r *reader) said(allegation claims.EntryID) []Said {
	type numbered struct {
		Said
		n int
	}
	var list []numbered
	for i := range r.j.Statements {
		if s := &r.j.Statements[i]; s.Body.About == allegation || s.Body.About == "" {
			list = append(list, numbered{Said{Entry: s.Entry, At: fair(s), From: s.Body.From, Name: s.Body.Name, Text: s.Body.Text, How: s.Body.How, Photos: s.Body.Photos}, s.Number})
		}
	}
	for i := range r.j.LinkStatements {
		s := &r.j.LinkStatements[i]
		said := Said{Entry: s.Entry, At: fair(s), From: s.Body.From, Name: s.Body.Name, Text: s.Body.Words, How: "over a link"}
		for _, p := range s.Body.Pictures {
			said.Pictures = append(said.Pictures, p.Digest)
		}
		list = append(list, numbered{said, s.Number})
	}
	slices.SortStableFunc(list, func(a, b numbered) int { return cmp.Compare(a.n, b.n) })
	var out []Said
	for _, s := range list {
		out = append(out, s.Said)
	}
	return out
}
