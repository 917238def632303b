package rules

import (
	"strings"
	"unicode/utf8"
)

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
