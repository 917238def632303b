package main

import (
	"bytes"
	"context"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"kickplate/claims"
	"kickplate/claims/boltstore"
)

// TestScripts runs the commands as a person types them: testdata/scripts/*.txtar.
func TestScripts(t *testing.T) {
	dir := filepath.Join("..", "testdata", "scripts")
	found, err := filepath.Glob(filepath.Join(dir, "*.txtar"))
	require.NoError(t, err)
	require.NotEmpty(t, found, "no scripts in %s", dir)
	setup := func(env *testscript.Env) error {
		env.Values[heldKey{}] = map[string]*boltstore.Stores{}
		return nil
	}
	testscript.Run(t, testscript.Params{Dir: dir, Setup: setup, Cmds: map[string]func(*testscript.TestScript, bool, []string){
		"smallshop": smallShop, "occupy": occupy, "lock": lock, "unlock": unlock, "newer": newer, "flip": flip,
	}})
}

func check(ts *testscript.TestScript, err error) {
	if err != nil {
		ts.Fatalf("%v", err)
	}
}

// smallShop DIR makes a data folder with one job, J-1, and its bundle in DIR/bundle.zip.
func smallShop(ts *testscript.TestScript, _ bool, args []string) {
	dir := ts.MkAbs(args[0])
	ctx := context.Background()
	b, err := openBackend(dir, "", true, slog.New(slog.DiscardHandler))
	check(ts, err)
	defer func() { check(ts, b.close()) }()
	data := snapshot(args[0], 1)
	up := filepath.Join(dir, "upload.jpg")
	check(ts, os.WriteFile(up, data, 0o600))
	f, err := os.Open(up)
	check(ts, err)
	defer f.Close()
	d := claims.DigestOf(data)
	_, err = b.service.Receive(ctx, theOperator(), claims.Upload{Digest: d, Size: int64(len(data)), Bytes: f, Path: up})
	check(ts, err)
	job := makeID()
	var raws [][]byte
	// The phone's own chain, in which number 3 is missing.
	for i, e := range []map[string]any{
		{"kind": "open", "body": map[string]any{"number": "J-1", "complaint": "Does not cool"}},
		{"kind": "unit", "body": map[string]any{"kind": "refrigerator", "maker": "Alpenfrost", "model": "AF-200"}},
		{"kind": "coverage", "body": map[string]any{"kind": "maker-warranty", "payer": "Alpenfrost"}},
		{"kind": "photo", "body": map[string]any{"digest": d, "bytes": len(data), "subject": "symptom"}},
	} {
		e["id"], e["shop"], e["job"], e["by"], e["device"], e["at"] = makeID(), "shop", job, "Ana", "phone", time.Now().UTC().Format(time.RFC3339)
		e["seq"] = []int{1, 2, 4, 5}[i]
		if i > 0 {
			e["prev"] = claims.DigestOf(raws[i-1])
		}
		raws = append(raws, asJSON(e))
	}
	_, err = b.service.Append(ctx, theOperator(), rawMessages(raws))
	check(ts, err)
	built, err := b.service.Build(ctx, theOperator(), claims.JobID(job), claims.Hold{})
	check(ts, err)
	blob, _, err := b.service.Bundle(ctx, theOperator(), claims.JobID(job), built.Version, false)
	check(ts, err)
	defer blob.Close()
	var all bytes.Buffer
	_, err = all.ReadFrom(blob)
	check(ts, err)
	check(ts, os.WriteFile(filepath.Join(dir, "bundle.zip"), all.Bytes(), 0o600))
}

// occupy VAR listens on a free port and puts its address into the variable.
func occupy(ts *testscript.TestScript, _ bool, args []string) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	check(ts, err)
	ts.Defer(func() { ln.Close() })
	ts.Setenv(args[0], ln.Addr().String())
}

// heldKey finds the data folders that a script holds open.
type heldKey struct{}

func held(ts *testscript.TestScript) map[string]*boltstore.Stores {
	return ts.Value(heldKey{}).(map[string]*boltstore.Stores)
}

// lock DIR holds a data folder open, as a running server does; unlock DIR lets it go.
func lock(ts *testscript.TestScript, _ bool, args []string) {
	stores, err := boltstore.Open(filepath.Join(ts.MkAbs(args[0]), "journal.db"), boltstore.Options{})
	check(ts, err)
	held(ts)[args[0]] = stores
}

func unlock(ts *testscript.TestScript, _ bool, args []string) {
	check(ts, held(ts)[args[0]].Close())
}

// newer DIR makes a data folder look as if a newer program had written it.
func newer(ts *testscript.TestScript, _ bool, args []string) {
	db, err := bbolt.Open(filepath.Join(ts.MkAbs(args[0]), "journal.db"), 0o600, nil)
	check(ts, err)
	check(ts, db.Update(func(tx *bbolt.Tx) error { return tx.Bucket([]byte("format")).Put([]byte("version"), []byte("99")) }))
	check(ts, db.Close())
}

// flip original DIR changes one bit of a photo that is kept; flip picture BUNDLE one in the first picture of a
// bundle (its middle may be a byte that says nothing, like the version of the packer).
func flip(ts *testscript.TestScript, _ bool, args []string) {
	path := ts.MkAbs(args[1])
	if args[0] == "original" {
		check(ts, filepath.WalkDir(filepath.Join(path, "originals"), func(p string, e fs.DirEntry, err error) error {
			if err == nil && !e.IsDir() && strings.HasPrefix(path, ts.MkAbs(".")) {
				if raw, _ := os.ReadFile(p); bytes.HasPrefix(raw, []byte{0xff, 0xd8}) {
					path = p
				}
			}
			return err
		}))
		check(ts, os.Chmod(path, 0o600))
	}
	raw, err := os.ReadFile(path)
	check(ts, err)
	at := len(raw) / 2
	if args[0] == "picture" {
		at = bytes.Index(raw, []byte{0xff, 0xd8, 0xff}) + 300
	}
	raw[at] ^= 1
	check(ts, os.WriteFile(path, raw, 0o600))
}
