// Package dispute answers an allegation of damage from a job's entries: the condition record, what was pictured before work began, what the
// items on record say for and against the shop, the order of events as a drawing, and the words of a dispute file (letter, release,
// certification sheet). Of is the call to begin with.
//
// Everything here is a pure function of the job: no clock, no store, no network. Rules are stated beside the code that applies them; there are
// no scores. Pictures are never judged by their content: a person says what a picture shows, by the entry that names it.
//
// It imports claims and rules only; never a store, media, the server or a sibling.
package dispute
