package bundle

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"kickplate/claims"
	"kickplate/rules"
)

// heldMark stands where a held-back value stood.
const heldMark = "[held back]"

// holder keeps customer details or positions out of a bundle. It looks at every entry, not only at the state of the job:
// an old phone number in a corrected entry is a customer detail too.
type holder struct {
	hold claims.Hold
	// covered are pictures that go in covered: what was read in them is held back too, since it may lie under a cover.
	covered map[claims.Digest]bool
	values  []string // texts that must not appear, longest first
}

func newHolder(hold claims.Hold, kept []claims.Kept) *holder {
	h := &holder{hold: hold}
	if !hold.Customer {
		return h
	}
	add := func(s string) {
		for _, line := range strings.Split(s, "\n") {
			if line = strings.TrimSpace(line); len([]rune(line)) >= 4 && !slices.Contains(h.values, line) {
				h.values = append(h.values, line)
			}
		}
	}
	for _, k := range kept {
		body, err := claims.DecodeBody(k.Kind, k.Body)
		if err != nil {
			continue // withheld as a whole, see entry
		}
		switch b := body.(type) {
		case *claims.Customer:
			add(b.Name)
			add(b.Phone)
			add(b.Email)
		case *claims.Site:
			add(b.Address)
		case *claims.Acknowledge:
			add(b.Name)
		case *claims.Allege:
			add(b.By)
		case *claims.LinkStatement:
			add(b.Name)
		case *claims.Mailed:
			if b.For == "customer" {
				add(b.To)
			}
		case *claims.Shared:
			if b.For == "customer" {
				add(b.To)
			}
		}
	}
	slices.SortFunc(h.values, func(a, b string) int {
		if d := len(b) - len(a); d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	return h
}

func (h *holder) any() bool { return h.hold.Customer || h.hold.Position }

// entry says why an entry is held back, or "".
func (h *holder) entry(k *claims.Kept) string {
	if k.Kind == claims.KindCodes && len(h.covered) > 0 {
		if body, err := claims.DecodeBody(k.Kind, k.Body); err == nil {
			if b := body.(*claims.CodesRead); h.covered[b.Digest] && len(b.Codes) > 0 {
				return "what was read in a covered picture"
			}
		}
	}
	if !h.any() {
		return ""
	}
	body, err := claims.DecodeBody(k.Kind, k.Body)
	if err != nil {
		return "it can't be read, so nobody can say what is in it"
	}
	if _, unknown := body.(*json.RawMessage); unknown {
		return "its kind is unknown here, so nobody can say what is in it"
	}
	if h.hold.Customer {
		switch k.Kind {
		case claims.KindCustomer, claims.KindSite, claims.KindAcknowledge, claims.KindAllege, claims.KindStatement, claims.KindLinkStatement:
			return "customer details"
		}
	}
	var tree any
	if json.Unmarshal(k.Body, &tree) != nil {
		return "it can't be read, so nobody can say what is in it"
	}
	if h.hold.Position && hasPosition(tree) {
		return "a position"
	}
	if h.mentions(tree) || h.has(k.Why) || h.has(k.By) {
		return "customer details"
	}
	return ""
}

func hasPosition(v any) bool {
	switch v := v.(type) {
	case map[string]any:
		for k, inner := range v {
			if k == "position" || k == "gps" || k == "lat" || k == "lon" || hasPosition(inner) {
				return true
			}
		}
	case []any:
		return slices.ContainsFunc(v, hasPosition)
	}
	return false
}

func (h *holder) mentions(v any) bool {
	switch v := v.(type) {
	case string:
		return h.has(v)
	case map[string]any:
		for _, inner := range v {
			if h.mentions(inner) {
				return true
			}
		}
	case []any:
		return slices.ContainsFunc(v, h.mentions)
	}
	return false
}

func (h *holder) has(s string) bool { return h.scrub(s) != s }

// scrub replaces every held-back value in a text, whatever its case.
func (h *holder) scrub(s string) string {
	for _, v := range h.values {
		low, want := strings.ToLower(s), strings.ToLower(v)
		if len(low) != len(s) { // a letter whose lower case has another length: compare as it is
			low, want = s, v
		}
		if !strings.Contains(low, want) {
			continue
		}
		var out strings.Builder
		for {
			i := strings.Index(low, want)
			if i < 0 {
				break
			}
			out.WriteString(s[:i])
			out.WriteString(heldMark)
			s, low = s[i+len(want):], low[i+len(want):]
		}
		out.WriteString(s)
		s = out.String()
	}
	return s
}

// job is a deep copy of j without what is held back. withheld tells which entries are.
func (h *holder) job(j claims.Job, withheld map[claims.EntryID]bool) (claims.Job, error) {
	raw, err := json.Marshal(j)
	if err != nil {
		return claims.Job{}, fmt.Errorf("copy the job: %w", err)
	}
	var c claims.Job
	if err := json.Unmarshal(raw, &c); err != nil {
		return claims.Job{}, fmt.Errorf("copy the job: %w", err)
	}
	for i := range c.Unknown { // Kept.Raw is not in JSON
		c.Unknown[i].Raw = j.Unknown[i].Raw
	}
	for d := range h.covered {
		if f, ok := c.Facts[d]; ok && len(f.Codes) > 0 {
			f.Codes = nil
			c.Facts[d] = f
		}
	}
	if !h.any() {
		return c, nil
	}
	for i := range c.Unknown {
		c.Unknown[i].Body, c.Unknown[i].Raw = json.RawMessage(`{"withheld":true}`), nil
	}
	for i := range c.Struck {
		if withheld[c.Struck[i].Entry] {
			c.Struck[i].Body = json.RawMessage(`{"withheld":true}`)
		}
	}
	c.Site.Position, c.Site.Radius = nil, 0
	if h.hold.Customer {
		h.customer(&c)
	}
	if h.hold.Position {
		positions(&c)
	}
	h.walk(reflect.ValueOf(&c).Elem())
	return c, nil
}

func (h *holder) customer(c *claims.Job) {
	c.Customer, c.Site.Address = claims.Customer{}, ""
	for i := range c.Acks {
		b := &c.Acks[i].Body
		b.Strokes = nil
		if b.Name != "" {
			b.Name = heldMark
		}
	}
	for i := range c.LinkStatements {
		b := &c.LinkStatements[i].Body
		b.Name, b.Words, b.Pictures = heldMark, heldMark, nil
	}
	for i := range c.Allegations {
		c.Allegations[i].Body.By, c.Allegations[i].Body.Words = "", heldMark
	}
}

func positions(c *claims.Job) {
	for i := range c.Photos {
		c.Photos[i].Body.Position = nil
	}
	for i := range c.Visits {
		if a := c.Visits[i].Arrived; a != nil {
			a.Body.Position = nil
		}
		if l := c.Visits[i].Left; l != nil {
			l.Body.Position = nil
		}
	}
	for i := range c.WorkStarts {
		c.WorkStarts[i].Body.Position = nil
	}
	for i := range c.WorkFinishes {
		c.WorkFinishes[i].Body.Position = nil
	}
	for d, f := range c.Facts {
		f.GPS = nil
		c.Facts[d] = f
	}
}

// report is a copy of the check's report without held-back values.
func (h *holder) report(r rules.Report) rules.Report {
	r.Findings = slices.Clone(r.Findings)
	for i := range r.Findings {
		f := &r.Findings[i]
		f.Sentence, f.Cure, f.Title = h.scrub(f.Sentence), h.scrub(f.Cure), h.scrub(f.Title)
	}
	return r
}

// walk scrubs every string below v in place.
func (h *holder) walk(v reflect.Value) {
	if len(h.values) == 0 {
		return
	}
	switch v.Kind() {
	case reflect.String:
		if v.CanSet() {
			v.SetString(h.scrub(v.String()))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			h.walk(v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				h.walk(v.Field(i))
			}
		}
	case reflect.Slice:
		if raw, ok := v.Interface().(json.RawMessage); ok {
			if v.CanSet() && len(raw) > 0 {
				v.Set(reflect.ValueOf(h.scrubJSON(raw)))
			}
			return
		}
		for i := range v.Len() {
			h.walk(v.Index(i))
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			inner := reflect.New(v.Type().Elem()).Elem()
			inner.Set(v.MapIndex(key))
			h.walk(inner)
			v.SetMapIndex(key, inner)
		}
	}
}

func (h *holder) scrubJSON(raw json.RawMessage) json.RawMessage {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var tree any
	if dec.Decode(&tree) != nil || !h.mentions(tree) {
		return raw
	}
	out, err := json.Marshal(h.scrubTree(tree))
	if err != nil {
		return json.RawMessage(`{"withheld":true}`)
	}
	return out
}

func (h *holder) scrubTree(v any) any {
	switch v := v.(type) {
	case string:
		return h.scrub(v)
	case map[string]any:
		for k, inner := range v {
			v[k] = h.scrubTree(inner)
		}
	case []any:
		for i, inner := range v {
			v[i] = h.scrubTree(inner)
		}
	}
	return v
}
