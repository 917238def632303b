// Package readings says what a meter reading should have been, and what it proves.
//
// A reading is a [Value]: a typed quantity, a decimal as it was typed and a UCUM
// unit, or a state such as "over-range" that is no number. [Parse] makes one from
// what a technician types, [Convert] changes its unit exactly, [Judge] holds it
// against a [Profile] (the data of one component) under the [Conditions] it was
// taken in and returns a [Verdict] in plain words. [Plot] draws the same verdict.
// [Conflicts] looks at all readings of a job together. [List] is the catalogue.
//
// Start with Parse, then Judge.
//
// The same input gives the same bytes on every platform: numbers leave the package
// as rounded decimal strings, lists are in a fixed order.
//
// The package is pure and runs on the phone: standard library only. It must never
// import a clock, files, the network, reflection-heavy packages, or anything else
// of this project.
package readings
