package register

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
)

// Row is one customer with one unit.
type Row struct {
	ID        string    `json:"id"`
	Name      string    `json:"name"`
	Phone     string    `json:"phone,omitempty"`
	Email     string    `json:"email,omitempty"`
	Address   string    `json:"address,omitempty"`
	UnitKind  string    `json:"unitKind,omitempty"`
	Maker     string    `json:"maker,omitempty"`
	Model     string    `json:"model,omitempty"`
	Serial    string    `json:"serial,omitempty"`
	Purchased string    `json:"purchased,omitempty"`
	Added     time.Time `json:"added,omitzero"`
}

// column is one column of a file: its name, what else it may be called, and what it is checked with.
type column struct {
	name  string
	also  []string
	most  int
	field func(*Row) *string
	check func(string) string
}

// Columns are the names that a file's first line may have, in any order; name is needed.
func Columns() []string {
	var names []string
	for _, c := range columns(nil) {
		names = append(names, c.name)
	}
	return names
}

func columns(kinds []string) []column {
	return []column{
		{"name", []string{"customer", "customer name"}, 200, func(r *Row) *string { return &r.Name }, nil},
		{"phone", []string{"telephone", "mobile"}, 60, func(r *Row) *string { return &r.Phone }, phone},
		{"email", []string{"e-mail", "mail"}, 200, func(r *Row) *string { return &r.Email }, address},
		{"address", []string{"place", "site"}, 200, func(r *Row) *string { return &r.Address }, nil},
		{"unit", []string{"unit kind", "kind", "appliance"}, 40, func(r *Row) *string { return &r.UnitKind }, func(s string) string {
			if slices.Contains(kinds, s) {
				return ""
			}
			return "Write one of: " + strings.Join(kinds, ", ") + "."
		}},
		{"maker", []string{"brand", "manufacturer"}, 200, func(r *Row) *string { return &r.Maker }, nil},
		{"model", []string{"model number"}, 200, func(r *Row) *string { return &r.Model }, nil},
		{"serial", []string{"serial number"}, 200, func(r *Row) *string { return &r.Serial }, nil},
		{"purchased", []string{"bought", "purchase date"}, 10, func(r *Row) *string { return &r.Purchased }, day},
	}
}

func phone(s string) string {
	digits := 0
	for _, c := range s {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case !strings.ContainsRune("+-()./ x", c):
			return "Write a telephone number with digits, such as +1 555 010 0199."
		}
	}
	if digits < 3 {
		return "Write a telephone number with digits, such as +1 555 010 0199."
	}
	return ""
}

func address(s string) string {
	local, host, ok := strings.Cut(s, "@")
	if !ok || local == "" || !strings.Contains(host, ".") || strings.ContainsAny(s, " \t,;<>") || strings.Contains(host, "@") {
		return "Write one mail address, such as name@example.com."
	}
	return ""
}

func day(s string) string {
	if d, err := time.Parse(time.DateOnly, s); err != nil || d.Year() < 1950 || d.Year() > 2099 {
		return "Write the date as year, month, day: 2024-07-31."
	}
	return ""
}

// fill puts a cell into the row; the answer says what to write instead.
func (c column) fill(r *Row, cell string) string {
	cell = strings.Join(strings.Fields(unguard(cell)), " ")
	if n := len([]rune(cell)); n > c.most {
		return fmt.Sprintf("Shorten this to %d characters; it has %d.", c.most, n)
	}
	for _, r := range cell {
		if r < ' ' || r == 0x7f {
			return "Take out the character that is no letter, digit or sign."
		}
	}
	if c.name == "unit" {
		cell = strings.ReplaceAll(strings.ToLower(cell), " ", "-")
	}
	if cell != "" && c.check != nil {
		if says := c.check(cell); says != "" {
			return says
		}
	}
	*c.field(r) = cell
	return ""
}

// unguard takes away the apostrophe that claims.SafeCell put in front.
func unguard(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && claims.SafeCell(rest) == cell {
		return rest
	}
	return cell
}

// key tells whether two rows are the same customer with the same unit.
func (r Row) key() string {
	fold := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }
	return strings.Join([]string{fold(r.Name), fold(r.Address), r.UnitKind, claims.FoldKey(r.Model), claims.FoldKey(r.Serial)}, "\x00")
}

// matches reports whether, for each of the words, a word of the row begins with it.
func (r Row) matches(words []string) bool {
	have := claims.WordsOf(strings.Join([]string{r.Name, r.Phone, r.Email, r.Address, r.Maker, r.Model, r.Serial}, " "))
	have = append(have, claims.FoldKey(r.Serial), claims.FoldKey(r.Phone))
	for _, w := range words {
		if !slices.ContainsFunc(have, func(h string) bool { return strings.HasPrefix(h, w) }) {
			return false
		}
	}
	return true
}
