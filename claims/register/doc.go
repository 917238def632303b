// Package register keeps a shop's customers with their units from before their first job here: what an older list, exported as CSV, knows.
// A row is copied into a job's own entries when the job is opened; the journal never points back at it.
//
// Use Register.Preview to see what a file would bring, and Register.Keep to keep it. The package imports claims and the standard library,
// never a store or the server.
package register
