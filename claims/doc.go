// Package claims is the domain of Kickplate: a job is a journal of entries, its state is a fold over them, and
// every use-case (append, upload, check, build, answer) is a method of Service, which authorises, validates
// and commits, in that order.
//
// The two contracts that keep data, Store and Blobs, are in store.go; their implementations live in other rooms
// and only store. The package imports rules and rules/readings and nothing else of ours; no database, no HTTP,
// no image library. It compiles for GOOS=js GOARCH=wasm: the phone runs the same Fold and the same FactsOf.
package claims
