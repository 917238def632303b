package bundle

import (
	"bytes"
	"fmt"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// Paths of the custody files.
const (
	entriesPath    = "data/custody/entries.txt"
	checkpointPath = "data/custody/checkpoint.txt"
	keyPath        = "data/custody/key.txt"
	proofsPath     = "data/custody/proofs.json"
	stampPrefix    = "data/custody/time-stamp-"
	stampSuffix    = ".tsr"
)

// entriesText lists the entries, each with its index in the shop's log: the exact leaf, or its hash when it is held back.
func (pl *plan) entriesText() ([]byte, error) {
	held := map[claims.EntryID]bool{}
	records := make([]claims.Record, 0, len(pl.lines))
	for _, l := range pl.lines {
		held[l.rec.Entry] = l.why != ""
		records = append(records, l.rec)
	}
	var out bytes.Buffer
	if err := custody.WriteEntries(&out, records, func(r claims.Record) bool { return held[r.Entry] }); err != nil {
		return nil, fmt.Errorf("write entries.txt: %w", err)
	}
	return out.Bytes(), nil
}

func (pl *plan) writeCustody(b *bagWriter) error {
	entries, err := pl.entriesText()
	if err != nil {
		return err
	}
	if err := b.text(entriesPath, entries); err != nil {
		return err
	}
	c := &pl.parcel.Custody
	if len(c.Checkpoint) == 0 {
		return nil // the log is not sealed yet; the report says so
	}
	if err := b.text(checkpointPath, c.Checkpoint); err != nil {
		return err
	}
	if err := b.text(keyPath, []byte(c.Key+"\n")); err != nil {
		return err
	}
	if err := b.text(proofsPath, c.Proofs); err != nil {
		return err
	}
	for i, stamp := range c.Stamps {
		if err := b.stored(fmt.Sprintf("%s%d%s", stampPrefix, i+1, stampSuffix), stamp, hexSum(stamp)); err != nil {
			return err
		}
	}
	return nil
}
