// Package packs holds the rule packs and reads them: YAML in, compiled packs out, every mistake named with its file and
// line and what to write instead. A shop's own folder may add packs, extend ours or take the place of one.
//
// Start with Default, or WithShop for a data folder that has packs of its own; Set.Pick chooses the pack for a job.
// Packs carry example cases; RunCases runs them.
//
// The package imports rules and the YAML reader, nothing else of ours. The phone does not need it: it gets the same packs
// as JSON (see JSON) and compiles them with rules alone.
package packs
