package rules

import (
	"strings"
	"unicode/utf8"
)

// fieldTitle names a dotted field for people: the ones the trade has a word for, else its own name in words.
func fieldTitle(name string) string {
	switch name {
	case "unit.kind":
		return "Kind of unit"
	case "unit.model":
		return "Model number"
	case "unit.serial":
		return "Serial number"
	case "unit.usage":
		return "Use of the unit"
	case "customer.name":
		return "Customer's name"
	case "site.address":
		return "Address of the site"
	case "coverage.kind":
		return "Kind of coverage"
	case "coverage.payer":
		return "Payer"
	case "coverage.number":
		return "Coverage or contract number"
	case "coverage.authorisation":
		return "Authorisation number"
	case "coverage.start":
		return "Start of coverage"
	case "coverage.end":
		return "End of coverage"
	case "coverage.purchased":
		return "Date of purchase"
	case "narrative.complaint":
		return "Complaint"
	case "narrative.cause":
		return "Cause"
	case "narrative.correction":
		return "Correction"
	}
	head, rest, ok := strings.Cut(name, ".")
	if !ok {
		return upperFirst(strings.ReplaceAll(name, "-", " "))
	}
	return upperFirst(strings.ReplaceAll(head, "-", " ")) + ": " + strings.NewReplacer("-", " ", ".", ", ").Replace(rest)
}

func lowerFirst(s string) string {
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && (s[1] < 'A' || s[1] > 'Z') {
		return string(s[0]+'a'-'A') + s[1:]
	}
	return s
}

func upperFirst(s string) string {
	if s != "" && s[0] >= 'a' && s[0] <= 'z' {
		return string(s[0]-('a'-'A')) + s[1:]
	}
	return s
}

// noun gives a term's title for use inside a sentence.
func noun(terms []Term, id string) string { return lowerFirst(titleOf(terms, id)) }

// nouns joins titles: "a", "a or b", "a, b or c".
func nouns(terms []Term, list []string, joint string) string {
	var b strings.Builder
	for i, id := range list {
		switch {
		case i == 0:
		case i == len(list)-1:
			b.WriteString(" " + joint + " ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(noun(terms, id))
	}
	return b.String()
}

func join(list []string, joint string) string { return nouns(nil, list, joint) }

// clip keeps quoted outside text short and whole.
func clip(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	n := most
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}

func contains(list []string, s string) bool {
	for i := range list {
		if list[i] == s {
			return true
		}
	}
	return false
}
