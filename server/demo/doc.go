// Package demo makes an invented working day of an invented shop and plays it against a running server, as a phone
// would: photographs first, then the entries that name them, then the checks and the bundle.
//
// New draws and writes the day; Run sends it. Shop, people, addresses, makers, numbers and pictures are invented: the
// telephone numbers lie in the range 555-0100 to 555-0199 that is kept for fiction, the makers are nobody's.
//
// It must never import the server's inside (server/web, stores): it knows the HTTP API and the entry types alone.
package demo
