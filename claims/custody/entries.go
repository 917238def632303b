package custody

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strconv"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// The file entries.txt of a bundle has one line an entry, in the order of the log:
//
//	<leaf number> <the exact line that is the leaf>
//	<leaf number> held-back <leaf hash, 64 hexadecimal digits>
//
// Each line ends in a line feed. The leaf's hash is SHA-256 over a zero byte and the line without number, blank and
// line feed. A leaf's line is a JSON object, so it never begins with "held-back": the second form stands for an entry that is
// in the log and in the proofs, but whose content is not shown.
const heldBack = "held-back "

// MaxEntryLine is the longest line of entries.txt that is read, in bytes.
const MaxEntryLine = claims.MaxStoreLine + 32

// EntryLine is one line of entries.txt.
type EntryLine struct {
	Leaf uint64
	// Line is the leaf's exact bytes; nil when held back.
	Line []byte
	Hash tlog.Hash
}

// WriteEntries writes entries.txt for records in the order of the log; of those that hold says, only the hash.
func WriteEntries(w io.Writer, records []claims.Record, hold func(claims.Record) bool) error {
	b := bufio.NewWriter(w)
	for i, r := range records {
		if i > 0 && r.Leaf <= records[i-1].Leaf {
			return fmt.Errorf("entry %d comes after entry %d; sort them by their place in the log", r.Leaf, records[i-1].Leaf)
		}
		if bytes.IndexByte(r.Line, '\n') >= 0 || len(r.Line) == 0 || r.Line[0] != '{' {
			return fmt.Errorf("entry %d is not one line of JSON", r.Leaf)
		}
		b.WriteString(strconv.FormatUint(r.Leaf, 10))
		b.WriteByte(' ')
		if hold != nil && hold(r) {
			hash := tlog.RecordHash(r.Line)
			b.WriteString(heldBack + hex.EncodeToString(hash[:]))
		} else {
			b.Write(r.Line)
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}

// ReadEntries calls yield for each line of an entries.txt, in order, until it returns false.
func ReadEntries(r io.Reader, yield func(EntryLine) bool) error {
	b := bufio.NewReader(r)
	var last uint64
	for n := 1; ; n++ {
		raw, err := readLine(b)
		if errors.Is(err, io.EOF) && len(raw) == 0 {
			return nil
		}
		if err != nil {
			return fmt.Errorf("entries.txt, line %d: %w", n, err)
		}
		e, err := parseEntryLine(raw)
		if err != nil {
			return fmt.Errorf("entries.txt, line %d: %w", n, err)
		}
		if n > 1 && e.Leaf <= last {
			return fmt.Errorf("entries.txt, line %d: entry %d comes after entry %d", n, e.Leaf, last)
		}
		last = e.Leaf
		if !yield(e) {
			return nil
		}
	}
}

// readLine returns a line without its end, in memory bounded by MaxEntryLine.
func readLine(b *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := b.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > MaxEntryLine:
			return nil, fmt.Errorf("longer than %d bytes", MaxEntryLine)
		case err == nil:
			return line[:len(line)-1], nil
		case errors.Is(err, bufio.ErrBufferFull):
		case errors.Is(err, io.EOF) && len(line) > 0:
			return nil, errors.New("the line is not ended: the file is cut short")
		default:
			return nil, err
		}
	}
}

func parseEntryLine(raw []byte) (EntryLine, error) {
	number, line, ok := bytes.Cut(raw, []byte(" "))
	leaf, err := strconv.ParseUint(string(number[:min(len(number), 20)]), 10, 63)
	if !ok || err != nil || strconv.FormatUint(leaf, 10) != string(number) {
		return EntryLine{}, fmt.Errorf("it begins with %q, not with the entry's number in the log and a blank", cut(string(number)))
	}
	if digits, held := bytes.CutPrefix(line, []byte(heldBack)); held {
		hash, err := hex.DecodeString(string(digits[:min(len(digits), 65)]))
		if err != nil || len(hash) != tlog.HashSize || hex.EncodeToString(hash) != string(digits) {
			return EntryLine{}, fmt.Errorf("a held-back entry shows its hash in 64 small hexadecimal digits")
		}
		return EntryLine{Leaf: leaf, Hash: tlog.Hash(hash)}, nil
	}
	if len(line) == 0 || line[0] != '{' {
		return EntryLine{}, fmt.Errorf("entry %d is not a JSON object", leaf)
	}
	return EntryLine{Leaf: leaf, Line: line, Hash: tlog.RecordHash(line)}, nil
}
