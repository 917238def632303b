package claims

import (
	"context"
	"slices"
	"strings"
)

// Reply is an answer to a refusal: the letter that goes with the bundle, and what it leans on.
type Reply struct {
	// Answer is the payer's answer that is replied to; Reason one of RefusalReasons.
	Answer EntryID   `json:"answer"`
	Reason string    `json:"reason"`
	Letter string    `json:"letter"`
	Leans  []EntryID `json:"leans,omitempty"`
}

func (b *Reply) validate() *Error {
	if _, ok := refusalReason(b.Reason); !ok {
		return Errorf(Invalid, "%q is no refusal reason; choose one of: %s.", clip(b.Reason), strings.Join(reasonIDs(), ", ")).At("reason")
	}
	return first(one("answer", b.Answer), text("letter", b.Letter, true), ids("leans", b.Leans))
}

// Replied is what Reply made.
type Replied struct {
	Reply Reply `json:"reply"`
	Built Built `json:"bundle"`
}

// Reply answers the payer's last refusal in one step: it records the letter with the entries it leans on, and builds the bundle
// that goes with it as a new version. An empty letter is the draft of RefusalHelp; an empty reason that of the answer. Whether it
// was sent is for a send entry to say.
func (s *Service) Reply(ctx context.Context, a Actor, job JobID, reason, letter string, hold Hold) (Replied, error) {
	st, err := s.store(ctx, a, ActSend)
	if err != nil {
		return Replied{}, err
	}
	h, err := s.RefusalHelp(ctx, a, job, reason)
	if err != nil {
		return Replied{}, err
	}
	switch {
	case h.Answer == "":
		return Replied{}, Errorf(Invalid, "There is no refusal to answer. Record the payer's answer first.").At("answer")
	case h.Letter == "":
		return Replied{}, Errorf(Invalid, "Say which reason the payer gives: the answer has none of the known ones.").At("reason")
	}
	r := Reply{Answer: h.Answer, Reason: h.Reason, Letter: letter}
	if letter == "" {
		r.Letter = h.Letter
	}
	for _, it := range h.Items {
		for _, id := range it.Entries {
			if !slices.Contains(r.Leans, id) && len(r.Leans) < 500 {
				r.Leans = append(r.Leans, id)
			}
		}
	}
	if err := r.validate(); err != nil {
		return Replied{}, err
	}
	if err := s.record(ctx, st, a, job, KindReply, r); err != nil {
		return Replied{}, err
	}
	built, err := s.Build(ctx, a, job, hold)
	return Replied{Reply: r, Built: built}, err
}
