// Package boltstore keeps the journals of all shops in one bbolt file: the embedded default.
//
// The file's first level is the shop, so every key begins with the shop, and a handle opened for one shop cannot name
// another's keys. Below a shop are the buckets listed in layout.go. One Commit is one transaction: records, custody
// leaves, tree hashes, card and index entries. Commits that arrive while another is being written to disk are
// written together by the next transaction (one wait for the disk for all of them); each is checked before
// anything of it is written, so a refused one costs the others nothing.
//
// It imports claims, bbolt and tlog; never another store, nor HTTP, nor the custody log's own package.
package boltstore
