package rules

import "strconv"

// interval judges a time limit in calendar days by the site's date. The day of From is day 0.
func (c *checker) interval(it *item) verdict {
	r := it.r.Interval
	from, fromEntry, known, problem := c.siteDay(it.from)
	switch {
	case problem != "":
		return verdict{outcome: Doubt, sentence: problem}
	case !known:
		return verdict{outcome: NotNeeded, sentence: "The time does not run yet: " + c.say(it.from) + " is not on record."}
	}
	limit := c.allowedDays(r)
	due := from + day(limit)
	v := verdict{outcome: Met, due: due.String()}
	if fromEntry != "" {
		v.entries = append(v.entries, fromEntry)
	}
	to, toEntry, done, problem := c.siteDay(it.to)
	if problem != "" {
		v.outcome, v.sentence = Doubt, problem
		return v
	}
	if done {
		if toEntry != "" {
			v.entries = append(v.entries, toEntry)
		}
		v.sentence = upperFirst(c.say(it.to)) + " came " + days(int(to-from)) + " after " + c.say(it.from) + "; at most " + days(limit) + " are allowed."
		if to > due {
			v.outcome = Gap
		}
		return v
	}
	today, _, known, problem := c.siteDay(when{now: true})
	switch {
	case problem != "":
		v.outcome, v.sentence = Doubt, problem
	case !known:
		v.outcome, v.sentence = Doubt, "Today's date is not known, so nobody can tell whether there is time left."
	case today > due:
		v.outcome, v.soon = Gap, true
		v.sentence = "The time ran out on " + due.String() + ", " + days(int(today-due)) + " ago."
	default:
		left := int(due - today)
		v.soon = left <= r.Warn
		v.sentence = days(left) + " left, until " + due.String() + "."
		if v.soon {
			v.sentence = "Only " + v.sentence
		}
	}
	return v
}

// allowedDays is the job's own number of days when it has a usable one, else the pack's.
func (c *checker) allowedDays(r *IntervalRule) int {
	if n, err := strconv.Atoi(c.facts.Numbers[r.DaysFrom]); err == nil && n >= 0 && n <= 36600 {
		return n
	}
	return r.Days
}

// order judges First ≤ Then, by instants or, when one is a date, by the site's calendar days.
func (c *checker) order(it *item) verdict {
	r := it.r.Order
	if it.from.date == "" && it.to.date == "" {
		first, firstEntry, known1 := c.instant(it.from)
		then, thenEntry, known2 := c.instant(it.to)
		if v, open := c.unknown(it, known1, known2); open {
			return v
		}
		v := verdict{outcome: Met, sentence: c.inOrder(it)}
		for _, e := range [2]string{firstEntry, thenEntry} {
			if e != "" {
				v.entries = append(v.entries, e)
			}
		}
		if first.After(then) {
			v.outcome, v.sentence = Gap, upperFirst(c.say(it.from))+" came after "+c.say(it.to)+"."
		}
		return v
	}
	first, firstEntry, known1, problem1 := c.siteDay(it.from)
	then, thenEntry, known2, problem2 := c.siteDay(it.to)
	if problem1 == "" {
		problem1 = problem2
	}
	if problem1 != "" {
		return verdict{outcome: Doubt, sentence: problem1}
	}
	if v, open := c.unknown(it, known1, known2); open {
		return v
	}
	v := verdict{outcome: Met, sentence: c.inOrder(it)}
	for _, e := range [2]string{firstEntry, thenEntry} {
		if e != "" {
			v.entries = append(v.entries, e)
		}
	}
	if it.to.date != "" {
		v.due = then.String()
		if today, _, known, problem := c.siteDay(when{now: true}); known && problem == "" {
			v.soon = r.Warn > 0 && then-today <= day(r.Warn) && then >= today
		}
	}
	if first > then {
		v.outcome = Gap
		v.sentence = upperFirst(c.say(it.from)) + " (" + first.String() + ") is after " + c.say(it.to) + " (" + then.String() + ")."
	}
	return v
}

func (c *checker) inOrder(it *item) string {
	if len(c.facts.Events[it.from.event]) > 1 || len(c.facts.Events[it.to.event]) > 1 {
		return upperFirst(c.say(it.from)) + " is not after " + c.say(it.to) + "."
	}
	return it.met
}

// unknown answers an order of which a side has not happened.
func (c *checker) unknown(it *item, first, then bool) (verdict, bool) {
	switch {
	case first && then:
		return verdict{}, false
	case then && !first:
		return verdict{outcome: Gap, sentence: upperFirst(c.say(it.from)) + " is not on record, " + c.say(it.to) + " is."}, true
	case it.r.Order.Both:
		missing := c.say(it.to)
		if !first {
			missing = c.say(it.from)
		}
		return verdict{outcome: Gap, sentence: upperFirst(missing) + " is not on record."}, true
	}
	return verdict{outcome: NotNeeded, sentence: upperFirst(c.say(it.to)) + " has not happened."}, true
}

func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return strconv.Itoa(n) + " days"
}
