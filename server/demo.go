package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"kickplate/claims"
	"kickplate/claims/bundle"
	"kickplate/server/demo"
)

// demoDay loads an invented working day through the HTTP API of a server of its own, then goes on serving it.
func demoDay(ctx context.Context, c console, args []string) error {
	var cfg config
	var noServe bool
	fs := flags(c, "demo", "[--data DIR] [--listen ADDR] [--no-serve]", `
Draws the photos of an invented working day of an invented shop, sends them and the entries to a server of its own as phones
would, checks the claims, builds the bundle of the complete one and verifies it. Then it serves the result, so that you
can look around. Running it again on the same folder is harmless.`)
	fs.StringVar(&cfg.data, "data", "./kickplate-demo", "the data `folder` of the demo")
	fs.StringVar(&cfg.listen, "listen", defaultListen, "the `address` to listen on")
	fs.BoolVar(&noServe, "no-serve", false, "end when the day is loaded and the bundle verified")
	fs.TextVar(&cfg.logLevel, "log-level", slog.LevelWarn, "how much to log: debug, info, warn or error")
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	if len(rest) > 0 {
		return usagef("demo takes flags only; %q is none.", rest[0])
	}
	if noServe && cfg.listen == defaultListen {
		cfg.listen = "127.0.0.1:0" // any free port will do: nobody opens it
	}
	if err := cfg.check(); err != nil {
		return err
	}
	log := cfg.logger(c)
	b, err := openBackend(cfg.data, cfg.packs, true, log)
	if err != nil {
		return err
	}
	err = demoBackend(ctx, c, cfg, b, log, noServe)
	if e := b.close(); e != nil {
		err = errors.Join(err, fmt.Errorf("close the journal: %w", e))
	}
	return err
}

func demoBackend(ctx context.Context, c console, cfg config, b *backend, log *slog.Logger, noServe bool) error {
	ln, err := listen(ctx, cfg.listen)
	if err != nil {
		return err
	}
	defer ln.Close()
	f, err := openFront(ctx, cfg, ln, log)
	if err != nil {
		return err
	}
	srv, err := newServer(cfg, b, f, log)
	if err != nil {
		return err
	}
	defer srv.Close()
	serving, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- f.serve(serving, srv, log) }()
	err = playDay(ctx, c, cfg, b, f)
	if err == nil && !noServe {
		fmt.Fprintln(c.out)
		if err = welcome(ctx, c, cfg, b, f); err == nil {
			return <-ended
		}
	}
	stop()
	return errors.Join(err, <-ended)
}

// playDay signs in as the shop's owner and has the day played over HTTP.
func playDay(ctx context.Context, c console, cfg config, b *backend, f *front) error {
	letterhead := claims.Shop{Name: demo.ShopName, Zone: demo.Zone, Country: "US", Currency: "USD"}
	if err := b.service.SetShop(ctx, theOperator(), letterhead); err != nil {
		return err
	}
	link, err := b.access.OwnerLink(ctx, theShop)
	if err != nil {
		return err
	}
	session, err := b.access.SignIn(ctx, link)
	if err != nil {
		return err
	}
	folder := filepath.Join(cfg.data, "bundles")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	_, err = demo.Run(ctx, demo.RunOptions{
		BaseURL: f.local, Token: session.Token, Out: c.out, Folder: folder, Verify: verifyWords, Day: demo.Options{Shop: theShop},
	})
	return errors.Join(err, b.access.SignOut(ctx, session.Token))
}

// verifyWords checks a bundle and says what holds, a line an area.
func verifyWords(ctx context.Context, path string) ([]string, error) {
	report, err := verifyFile(ctx, path, bundle.Options{})
	if err != nil {
		return nil, err
	}
	lines := make([]string, 0, len(report.Checks))
	for _, check := range report.Checks {
		lines = append(lines, strings.TrimSpace(fmt.Sprintf("%-11s %s", check.Result, check.Says)))
	}
	if !report.Holds {
		return lines, errors.New("the bundle that was just built does not verify")
	}
	return lines, nil
}
