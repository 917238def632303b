package main

import (
	"context"
	"crypto/x509"
	"fmt"
	"log/slog"
	"os"
	"time"

	"kickplate/claims/custody"
)

// sealEvery is how often the log is sealed and stamped without anybody asking, when a time-stamp authority is configured: what
// happened before a stamp can then not be rearranged, even by the shop.
const sealEvery = time.Hour

// stampWith has checkpoints time-stamped by the configured authority (RFC 3161). Without one nothing changes.
func (b *backend) stampWith(cfg config, log *slog.Logger) error {
	if cfg.tsa == "" {
		return nil
	}
	authority := &custody.Authority{URL: cfg.tsa}
	if err := authority.Check(); err != nil {
		return usagef("--tsa: %v.", err)
	}
	if cfg.tsaRoots != "" {
		pem, err := os.ReadFile(cfg.tsaRoots)
		if err != nil {
			return fmt.Errorf("read --tsa-roots: %w", err)
		}
		authority.Roots = x509.NewCertPool()
		if !authority.Roots.AppendCertsFromPEM(pem) {
			return usagef("--tsa-roots: %s holds no certificate in PEM form.", cfg.tsaRoots)
		}
	}
	b.notary.Stamps = &custody.Queue{Authority: authority, Now: b.service.Now, Log: log}
	return nil
}

// keepStamping seals the log now and then and works off what waits for a time stamp, until the context ends. The authority
// may be out of reach for days: what waits is kept and tried again.
func (b *backend) keepStamping(ctx context.Context, log *slog.Logger) {
	if b.notary.Stamps == nil {
		return
	}
	store, err := b.stores.Shop(ctx, theShop)
	if err != nil {
		log.Error("time stamps are off", "err", err)
		return
	}
	var sealed time.Time
	for {
		if now := b.service.Now(); now.Sub(sealed) >= sealEvery {
			sealed = now
			if size, err := store.LogSize(ctx); err == nil && size > 0 {
				if _, _, err := b.notary.Checkpoint(ctx, store); err != nil {
					log.Error("seal the log", "err", err)
				}
			}
		}
		done, err := b.notary.Stamps.Work(ctx, store)
		if err != nil && ctx.Err() == nil {
			log.Error("time stamps", "err", err)
		} else if done.Stamped > 0 || done.Failed > 0 {
			log.Info("time stamps", "stamped", done.Stamped, "failed", done.Failed, "left", done.Left)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(30 * time.Second):
		}
	}
}
