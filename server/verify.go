package main

import (
	"context"
	"crypto/x509"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"kickplate/claims/bundle"
)

// verify checks claim bundles. It uses nothing but the files.
func verify(ctx context.Context, c console, args []string) error {
	var asJSON bool
	var o bundle.Options
	var keys list
	var roots string
	fs := flags(c, "verify", "[--json] FILE…", `
Checks claim bundles with nothing else at hand: no server, no store, no network. Every promise is named with whether it holds.
Exit code 1 when a promise is broken, 2 when a file can't be read.`)
	fs.BoolVar(&asJSON, "json", false, "write one JSON object a file, one a line")
	fs.Var(&keys, "key", "a verifier `key` known from elsewhere to be the shop's (repeatable); without one, the key in the bundle is taken at its word")
	fs.StringVar(&roots, "roots", "", "certificates of time-stamp authorities to trust, a PEM `file`")
	fs.BoolVar(&o.SkipPictures, "skip-pictures", false, "do not compare the small pictures with the originals, the only slow part")
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	if len(rest) == 0 {
		return usagef("verify takes the bundles to check.")
	}
	o.Trusted = keys
	if roots != "" {
		raw, err := readBounded(roots, 4<<20)
		if err != nil {
			return usagef("read the certificates %s: %v.", roots, err)
		}
		o.Roots = x509.NewCertPool()
		if !o.Roots.AppendCertsFromPEM(raw) {
			return usagef("%s holds no certificates in PEM form.", roots)
		}
	}
	broken := false
	for _, name := range rest {
		report, err := verifyFile(ctx, name, o)
		if err != nil {
			return usagef("%v.", err)
		}
		broken = broken || !report.Holds
		if asJSON {
			err = json.NewEncoder(c.out).Encode(verdict{File: name, Report: report})
		} else {
			err = tellVerdict(c.out, name, report)
		}
		if err != nil {
			return err
		}
	}
	if broken {
		return errBroken
	}
	return nil
}

// verdict is a report as a line of JSON.
type verdict struct {
	File string `json:"file"`
	bundle.Report
}

func verifyFile(ctx context.Context, name string, o bundle.Options) (bundle.Report, error) {
	f, err := os.Open(name)
	if err != nil {
		return bundle.Report{}, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return bundle.Report{}, err
	}
	if !info.Mode().IsRegular() {
		return bundle.Report{}, fmt.Errorf("%s is not a file", name)
	}
	return bundle.Verify(ctx, f, info.Size(), o)
}

func tellVerdict(w io.Writer, name string, r bundle.Report) error {
	var s strings.Builder
	fmt.Fprintf(&s, "%s\n", name)
	for _, check := range r.Checks {
		where := ""
		if check.File != "" {
			where = check.File + ": "
		}
		fmt.Fprintf(&s, "  %-12s %-10s %s%s\n", strings.ToUpper(check.Result), check.Area, where, check.Says)
	}
	if r.Holds {
		s.WriteString("  Nothing in this bundle is broken.\n")
	} else {
		s.WriteString("  THIS BUNDLE IS BROKEN: do not rely on it.\n")
	}
	_, err := io.WriteString(w, s.String())
	return err
}
