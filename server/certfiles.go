package main

import (
	"crypto/tls"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"
)

// certFiles serves a certificate from two files and takes a new one when the files change, so that whatever renews them
// need not restart the server.
type certFiles struct {
	cert, key string
	log       *slog.Logger

	mu     sync.Mutex
	loaded *tls.Certificate
	stamp  time.Time
	looked time.Time
}

// lookEvery is how often the files are looked at.
const lookEvery = time.Minute

func newCertFiles(cert, key string, log *slog.Logger) (*certFiles, error) {
	f := &certFiles{cert: cert, key: key, log: log}
	if err := f.load(); err != nil {
		return nil, err
	}
	return f, nil
}

func (f *certFiles) load() error {
	pair, err := tls.LoadX509KeyPair(f.cert, f.key)
	if err != nil {
		return fmt.Errorf("the certificate %s with the key %s can't be used: %w", f.cert, f.key, err)
	}
	info, err := os.Stat(f.cert)
	if err != nil {
		return fmt.Errorf("the certificate %s can't be used: %w", f.cert, err)
	}
	f.loaded, f.stamp, f.looked = &pair, info.ModTime(), time.Now()
	return nil
}

// get returns the certificate; files that can't be read just now, because they are being replaced, leave the old one in use.
func (f *certFiles) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now := time.Now(); now.Sub(f.looked) > lookEvery {
		f.looked = now
		if info, err := os.Stat(f.cert); err == nil && !info.ModTime().Equal(f.stamp) {
			if err := f.load(); err != nil {
				f.log.Error("the renewed certificate is not used", "error", err)
			}
		}
	}
	return f.loaded, nil
}

// name is the first host name of the certificate, "" when it has none that can be opened.
func (f *certFiles) name() string {
	for _, n := range f.loaded.Leaf.DNSNames {
		if n != "" && n[0] != '*' {
			return n
		}
	}
	return ""
}
