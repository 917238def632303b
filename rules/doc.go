// Package rules checks a job against a rule pack: facts in, findings out.
//
// A Pack is a checklist for one kind of payer and some kinds of unit. Check walks its requirements and
// answers each with a Finding: met, gap, doubt, waived or not needed, with the sentence that cures it.
// The vocabulary of requirements is closed: a pack holds data, never code, so a check always ends and always
// explains itself, on the server and on the phone alike.
//
// Compile a pack once, then Check as often as needed; Wanted lists what is still to be taken, WantedIf what a suspected
// part would need, CautionsAt what to show before a stage, Explain which pack line asked for what. Words is the
// vocabulary that packs, journal, phone and server share.
//
// The package is pure: standard library only, no clock, no files, no network. It must never import its
// children (readings, packs) nor any other room of the house.
package rules
