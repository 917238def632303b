package main

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// custodyCheck walks everything that is kept.
func custodyCheck(ctx context.Context, c console, args []string) error {
	var data string
	var skim bool
	fs := flags(c, "custody check", "[--data DIR] [FILE…]", `
Reads every entry, every original and every checkpoint that is kept and says whether they agree. FILEs are bundles, or checkpoints
out of them, that were elsewhere: with customers, with payers. They show what somebody who rewrote the whole folder can't hide. Says of each device
that wrote whether its entries are all here and in order. Exit code 1 when anything is wrong. The server must not be running on the same data folder.`)
	dataFlag(fs, &data)
	fs.BoolVar(&skim, "skim", false, "only look whether originals are there, without reading their bytes")
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	b, err := openBackend(data, "", false, quiet(c))
	if err != nil {
		return err
	}
	defer b.close()
	check, err := b.checker(ctx, theShop)
	if err != nil {
		return err
	}
	check.Skim = skim
	for _, name := range rest {
		raw, err := witness(name)
		if err != nil {
			return fmt.Errorf("read the checkpoint %s: %w", name, err)
		}
		check.Witnessed = append(check.Witnessed, raw)
	}
	report, err := check.Check(ctx)
	if err != nil {
		return err
	}
	if err := tell(c.out, report); err != nil {
		return err
	}
	if err := tellChains(ctx, c.out, check.Store); err != nil {
		return err
	}
	if !report.OK() {
		return errBroken
	}
	return nil
}

// witness reads a checkpoint that was elsewhere: a file of its own, or in a bundle.
func witness(name string) ([]byte, error) {
	z, err := zip.OpenReader(name)
	if err != nil {
		return readBounded(name, custody.MaxCheckpoint) // no ZIP: the checkpoint itself
	}
	defer z.Close()
	for _, f := range z.File {
		if !strings.HasSuffix(f.Name, "/data/custody/checkpoint.txt") {
			continue
		}
		r, err := f.Open()
		if err != nil {
			return nil, err
		}
		defer r.Close()
		raw, err := io.ReadAll(io.LimitReader(r, custody.MaxCheckpoint+1))
		if err == nil && len(raw) > custody.MaxCheckpoint {
			err = fmt.Errorf("it has more than %d bytes", custody.MaxCheckpoint)
		}
		return raw, err
	}
	return nil, errors.New("this ZIP holds no checkpoint; is it a bundle?")
}

func readBounded(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	raw, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(raw)) > most {
		err = fmt.Errorf("it has more than %d bytes", most)
	}
	return raw, err
}

// tellChains says of each device whether its entries are all here and in the order in which it made them. What is missing was lost with a
// phone or not sent yet: worth knowing, no broken promise of the store's.
func tellChains(ctx context.Context, w io.Writer, st claims.Store) error {
	devices, err := st.Devices(ctx)
	if err != nil {
		return err
	}
	for _, device := range devices {
		chain, err := claims.ChainOf(ctx, st, device)
		if err != nil {
			return err
		}
		if _, err := fmt.Fprintf(w, "Device %s: %s\n", device, chain.Says); err != nil {
			return err
		}
		for _, f := range chain.Flaws {
			if _, err := fmt.Fprintf(w, "  %s: %s\n", f.Kind, f.Says); err != nil {
				return err
			}
		}
	}
	return nil
}

func tell(w io.Writer, r custody.Report) error {
	var s strings.Builder
	for _, p := range r.Problems {
		fmt.Fprintf(&s, "BROKEN  %s: %s\n", p.Where, p.Says)
	}
	if more := r.Found - len(r.Problems); more > 0 {
		fmt.Fprintf(&s, "BROKEN  and %d more\n", more)
	}
	for _, e := range r.Erasings {
		fmt.Fprintf(&s, "Erased: %d entries of job %s by entry %d (%s, %s, %s); their hashes are in the log.\n", e.Entries, e.Job, e.Leaf, e.By, e.At.Format("2006-01-02"), e.Basis)
	}
	for _, n := range r.NotChecked {
		fmt.Fprintf(&s, "Not checked: %s\n", n)
	}
	fmt.Fprintf(&s, "Looked at %d entries of %d jobs, %d originals (%d bytes), %d checkpoints.\n", r.Entries, r.Jobs, r.Originals, r.OriginalBytes, r.Checkpoints)
	switch r.Found {
	case 0:
		s.WriteString("Everything agrees.\n")
	case 1:
		s.WriteString("One promise is broken.\n")
	default:
		fmt.Fprintf(&s, "%d promises are broken.\n", r.Found)
	}
	_, err := io.WriteString(w, s.String())
	return err
}
