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
	names := make([]string, len(list))
	for i, id := range list {
		names[i] = noun(terms, id)
	}
	return join(names, joint)
}

// join lists words as they are: "a", "a or b", "a, b or c".
func join(list []string, joint string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	last := len(list) - 1
	return strings.Join(list[:last], ", ") + " " + joint + " " + list[last]
}

// theSubject names what a picture shows, for use inside a sentence.
func theSubject(id string) string {
	switch id {
	case "after-repair":
		return "the result after the repair"
	case "as-left-display":
		return "the display as left"
	case "damage-wide":
		return "the damage and what is around it"
	case "damage-close":
		return "the damage from close by"
	case "customer-document":
		return "the customer's document"
	case "other":
		return "something else"
	}
	return "the " + noun(subjects, id)
}

func theSubjects(list []string, joint string) string {
	names := make([]string, len(list))
	for i, id := range list {
		names[i] = theSubject(id)
	}
	return join(names, joint)
}

// eventNoun names an event for use inside a sentence, without an article.
func eventNoun(id string) string {
	switch id {
	case "opened":
		return "opening of the job"
	case "dispatched":
		return "dispatch"
	case "arrived":
		return "arrival"
	case "work-started":
		return "start of work"
	case "part-removed":
		return "removal of the part"
	case "part-fitted":
		return "fitting of the part"
	case "work-finished":
		return "end of work"
	case "left":
		return "departure"
	case "sent":
		return "sending of the claim"
	case "answered":
		return "payer's answer"
	}
	return noun(events, id)
}

// one gives the sentence at hand when there is one thing, else counts.
func one(n int, thing, sentence string) string {
	if n == 1 {
		return sentence
	}
	return thereIs(n, thing) + "."
}

func thereIs(n int, one string) string {
	if n == 1 {
		return "There is " + plural(n, one)
	}
	return "There are " + plural(n, one)
}

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
