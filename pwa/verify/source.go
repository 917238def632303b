package main

import (
	"context"
	"encoding/json"
	"errors"
	"io"

	"kickplate/claims/bundle"
)

// source is a bundle that is read piece by piece from somewhere that can only be asked for whole blocks.
type source struct {
	size int64
	// fetch returns the bytes from at on, n of them.
	fetch func(at int64, n int) ([]byte, error)
	// went is told how far the reading has come, at most once for each block.
	went func(at int64)

	from  int64
	block []byte
}

// blockSize is how much is fetched at once: a file is mostly read in order, a few kilobytes at a time.
const blockSize = 1 << 20

func (s *source) ReadAt(p []byte, at int64) (int, error) {
	if at < 0 {
		return 0, errors.New("an offset before the beginning")
	}
	n := 0
	for n < len(p) {
		here := at + int64(n)
		if here >= s.size {
			return n, io.EOF
		}
		if here < s.from || here >= s.from+int64(len(s.block)) {
			from := here / blockSize * blockSize
			want := int(min(blockSize, s.size-from))
			block, err := s.fetch(from, want)
			if err != nil {
				return n, err
			}
			if len(block) != want {
				return n, io.ErrUnexpectedEOF
			}
			s.from, s.block = from, block
			if s.went != nil {
				s.went(from + int64(want))
			}
		}
		n += copy(p[n:], s.block[here-s.from:])
	}
	return n, nil
}

// check verifies the bundle and returns the report as JSON, or {"error": …} when it can't be read.
func check(s *source, pictures bool) []byte {
	report, err := bundle.Verify(context.Background(), s, s.size, bundle.Options{SkipPictures: !pictures})
	if err != nil {
		return failed(err)
	}
	raw, err := json.Marshal(report)
	if err != nil {
		return failed(err)
	}
	return raw
}

func failed(err error) []byte {
	raw, e := json.Marshal(map[string]string{"error": err.Error()})
	if e != nil {
		return []byte(`{"error":"the answer can't be written"}`)
	}
	return raw
}
