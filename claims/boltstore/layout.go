package boltstore

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"

	"kickplate/claims"
)

// formatVersion is the highest version of the layout below that is known. A file with a higher one is refused: an older program must
// not write into what it does not understand. A new file has the first version; the first erasure makes it the one with stubs.
const (
	formatVersion = 2
	formatFirst   = 1
	formatStubs   = 2
)

// The file:
//
//	format            "version" → decimal number
//	shops / <shop> /
//	    log           "size" → number of leaves (8 bytes, as all numbers: big-endian)
//	    leaves        leaf number → job, entry, line
//	    hashes        tlog index → 32 bytes
//	    entries       entry id → leaf number
//	    records       job, position in the job → leaf number
//	    chains        device, sequence, leaf number → nothing
//	    jobs          job → head, times, words
//	    cards         job → card as JSON
//	    changed, opened, due     claims.CardOrder key → nothing
//	    keys          name, value, job → nothing
//	    words         word (cut), 0, job, length of job → nothing
//	    prints        fingerprint, job, digest → nothing
//	    bands         band number, fingerprint rotated so that the band leads → nothing
//	    notes         name → 1 byte, value
const (
	bucketFormat  = "format"
	bucketShops   = "shops"
	bucketLog     = "log"
	bucketLeaves  = "leaves"
	bucketHashes  = "hashes"
	bucketEntries = "entries"
	bucketRecords = "records"
	bucketChains  = "chains"
	bucketJobs    = "jobs"
	bucketCards   = "cards"
	bucketKeys    = "keys"
	bucketWords   = "words"
	bucketPrints  = "prints"
	bucketBands   = "bands"
	bucketNotes   = "notes"
)

const (
	wordCut  = 64  // bytes of a word that are indexed; the rest is compared with the word list
	valueCut = 120 // bytes of an index value or name that are kept as they are; longer ones end in their SHA-256
)

func shopBuckets() []string {
	return []string{
		bucketLog, bucketLeaves, bucketHashes, bucketEntries, bucketRecords, bucketChains, bucketJobs, bucketCards,
		string(claims.ByChanged), string(claims.ByOpened), string(claims.ByDue),
		bucketKeys, bucketWords, bucketPrints, bucketBands, bucketNotes,
	}
}

// errDamaged marks what only damage to the file, or a change by another program, can explain.
var errDamaged = errors.New("the data file is damaged; stop the server, keep a copy of the file, and restore the last backup")

func damaged(format string, args ...any) error {
	return fmt.Errorf(format+": %w", append(args, errDamaged)...)
}

func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

func parseNumber(what string, b []byte) (uint64, error) {
	if len(b) != 8 {
		return 0, damaged("%s has %d bytes instead of 8", what, len(b))
	}
	return binary.BigEndian.Uint64(b), nil
}

// appendID writes an id so that what follows it cannot be mistaken for a part of it.
func appendID(b []byte, id string) []byte {
	return append(append(b, byte(len(id))), id...)
}

func cutID(b []byte) (id string, rest []byte, ok bool) {
	if len(b) == 0 || len(b) < 1+int(b[0]) {
		return "", nil, false
	}
	return string(b[1 : 1+b[0]]), b[1+b[0]:], true
}

func recordKey(job claims.JobID, pos claims.Head) []byte {
	return binary.BigEndian.AppendUint64(appendID(nil, string(job)), uint64(pos))
}

func encodeLeaf(job claims.JobID, r claims.Record) []byte {
	b := make([]byte, 0, 2+len(job)+len(r.Entry)+len(r.Line))
	b = appendID(b, string(job))
	b = appendID(b, string(r.Entry))
	return append(b, r.Line...)
}

func decodeLeaf(leaf uint64, b []byte) (claims.Record, error) {
	job, rest, ok := cutID(b)
	if !ok {
		return claims.Record{}, damaged("leaf %d has no job", leaf)
	}
	entry, line, ok := cutID(rest)
	if !ok {
		return claims.Record{}, damaged("leaf %d has no entry id", leaf)
	}
	return claims.Record{
		Entry: claims.EntryID(entry), Job: claims.JobID(job), Leaf: leaf, Line: append([]byte(nil), line...),
	}, nil
}

// exact keeps short text as it is and replaces the end of long text by its hash, so that equal stays equal and
// different stays different while keys stay short.
func exact(s string) string {
	if len(s) <= valueCut {
		return s
	}
	sum := sha256.Sum256([]byte(s))
	return s[:valueCut] + string(sum[:])
}

func keyPrefix(name, value string) []byte {
	return appendID(appendID(nil, exact(name)), exact(value))
}

func cutWord(w string) string { return w[:min(len(w), wordCut)] }

func wordKey(word string, job claims.JobID) []byte {
	b := append([]byte(cutWord(word)), 0)
	b = append(b, job...)
	return append(b, byte(len(job)))
}

func jobOfWordKey(k []byte) (claims.JobID, bool) {
	if len(k) == 0 {
		return "", false
	}
	n := int(k[len(k)-1])
	if len(k) < n+2 {
		return "", false
	}
	return claims.JobID(k[len(k)-1-n : len(k)-1]), true
}

// encodeJob is what lists need to know of a job without opening its card: head, place in each order, words.
func encodeJob(c claims.Card) []byte {
	b := number(uint64(c.Entries))
	for _, o := range claims.CardOrders() {
		k, ok := o.Key(c)
		if !ok {
			b = append(b, 0)
			continue
		}
		b = append(b, byte(len(k)-len(c.Job)))
		b = append(b, k[:len(k)-len(c.Job)]...)
	}
	for _, w := range c.Words {
		b = append(binary.AppendUvarint(b, uint64(len(w))), w...)
	}
	return b
}

func headOf(job claims.JobID, b []byte) (claims.Head, error) {
	if len(b) < 8 {
		return 0, damaged("the state of job %q has %d bytes", job, len(b))
	}
	return claims.Head(binary.BigEndian.Uint64(b)), nil
}

// timeOf returns the job's key in an order; nil when it is not in it.
func timeOf(job claims.JobID, b []byte, order claims.CardOrder) ([]byte, error) {
	rest := b[min(8, len(b)):]
	for _, o := range claims.CardOrders() {
		if len(rest) == 0 || len(rest) < 1+int(rest[0]) {
			return nil, damaged("the state of job %q is cut short", job)
		}
		n := 1 + int(rest[0])
		if o == order {
			if n == 1 {
				return nil, nil
			}
			return append(append([]byte(nil), rest[1:n]...), job...), nil
		}
		rest = rest[n:]
	}
	return nil, fmt.Errorf("no order %q", order)
}

// hasWords reports whether the job has, for each beginning, a word that begins with it.
func hasWords(b []byte, beginnings []string) bool {
	rest := b[min(8, len(b)):]
	for range claims.CardOrders() {
		if len(rest) == 0 || len(rest) < 1+int(rest[0]) {
			return false
		}
		rest = rest[1+int(rest[0]):]
	}
	found := make([]bool, len(beginnings))
	for len(rest) > 0 {
		n, used := binary.Uvarint(rest)
		if used <= 0 || uint64(len(rest)-used) < n {
			return false
		}
		word := string(rest[used : used+int(n)])
		rest = rest[used+int(n):]
		for i, p := range beginnings {
			if len(word) >= len(p) && word[:len(p)] == p {
				found[i] = true
			}
		}
	}
	for _, f := range found {
		if !f {
			return false
		}
	}
	return true
}
