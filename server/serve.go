package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"

	"kickplate/claims"
	"kickplate/media"
	"kickplate/pwa"
	"kickplate/server/authority"
	"kickplate/server/web"
)

// grace is how long requests under way may go on when the server is told to stop.
const grace = 20 * time.Second

// serve is the command that serves a shop.
func serve(ctx context.Context, c console, args []string) error {
	var cfg config
	fs := flags(c, "serve", "[flags]", `
Serves a shop: the app for phones and the desk, and the API. Everything that is kept is in the data folder; to make a backup,
stop the server and copy that folder. The first start prints a one-time link with which the owner gets in.

Phones need HTTPS for working without signal: --own-authority for a shop without a public name, --acme or
--tls-cert with one, or a reverse proxy that is named with --trusted-proxy.`)
	cfg.register(fs)
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	if len(rest) > 0 {
		return usagef("serve takes flags only; %q is none.", rest[0])
	}
	if err := cfg.check(); err != nil {
		return err
	}
	log := cfg.logger(c)
	b, err := openBackend(cfg.data, cfg.packs, true, log)
	if err != nil {
		return err
	}
	err = serveBackend(ctx, c, cfg, b, log)
	if e := b.close(); e != nil {
		err = errors.Join(err, fmt.Errorf("close the journal: %w", e))
	}
	return err
}

// serveBackend listens, says where, and serves until the context ends.
func serveBackend(ctx context.Context, c console, cfg config, b *backend, log *slog.Logger) error {
	if err := b.stampWith(cfg, log); err != nil {
		return err
	}
	if media.FindTesseract() == "" {
		log.Info("printed text on plates is not read: the program tesseract is not installed (bar codes are read all the same)")
	}
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
	if err := welcome(ctx, c, cfg, b, f); err != nil {
		return err
	}
	stamping, stop := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() { defer close(ended); b.keepStamping(stamping, log) }()
	defer func() { stop(); <-ended }()
	return f.serve(ctx, srv, log)
}

// listen opens the port with an error that says what to do.
func listen(ctx context.Context, addr string) (net.Listener, error) {
	var lc net.ListenConfig
	ln, err := lc.Listen(ctx, "tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("something else already listens on %s: stop it, or choose another port with --listen", addr)
	case errors.Is(err, syscall.EACCES), errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("this user may not listen on %s: ports below 1024 need more rights; choose another with --listen", addr)
	case errors.Is(err, syscall.EADDRNOTAVAIL):
		return nil, fmt.Errorf("%s is not an address of this machine; see --listen", addr)
	case err != nil:
		return nil, fmt.Errorf("listen on %s: %w", addr, err)
	}
	return ln, nil
}

func newServer(cfg config, b *backend, f *front, log *slog.Logger) (*web.Server, error) {
	app, err := pwa.New()
	if err != nil {
		return nil, fmt.Errorf("the app is not whole in this program: %w", err)
	}
	mail, err := mailWith(cfg)
	if err != nil {
		return nil, err
	}
	return web.New(web.Options{
		Service: b.service, Access: b.access, Shares: &claims.Shares{Service: b.service, Random: rand.Reader, Mailer: mail}, Shop: theShop, Packs: b.shelf, App: app, Trust: f.page,
		Incoming: filepath.Join(b.dir, "incoming"), PublicURL: f.publicURL, TrustedProxies: cfg.proxies, HSTS: f.hsts,
		Now: b.service.Now, Log: log,
	})
}

// front is how the server meets the network.
type front struct {
	ln net.Listener
	// config is nil for plain HTTP.
	config *tls.Config
	// local is where a browser on this machine opens the server; publicURL where phones do, if that is known.
	local, publicURL string
	// authority and page are set with --own-authority.
	authority *authority.Authority
	page      http.Handler
	pageURL   string
	hsts      time.Duration
}

const year = 365 * 24 * time.Hour

// openFront prepares the chosen kind of HTTPS.
func openFront(_ context.Context, cfg config, ln net.Listener, log *slog.Logger) (*front, error) {
	host, port, err := net.SplitHostPort(ln.Addr().String())
	if err != nil {
		return nil, err
	}
	here := host
	if ip := net.ParseIP(host); ip == nil || ip.IsUnspecified() {
		here = "127.0.0.1"
	}
	f := &front{ln: ln, local: "http://" + net.JoinHostPort(here, port), publicURL: cfg.publicURL}
	switch {
	case cfg.tlsCert != "":
		keeper, err := newCertFiles(cfg.tlsCert, cfg.tlsKey, log)
		if err != nil {
			return nil, err
		}
		f.config = &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, GetCertificate: keeper.get}
		f.local, f.hsts = "https://"+net.JoinHostPort(here, port), year
		if name := keeper.name(); f.publicURL == "" && name != "" {
			f.publicURL = "https://" + withPort(name, port)
		}
	case cfg.acme != "":
		m := &autocert.Manager{Prompt: autocert.AcceptTOS, HostPolicy: autocert.HostWhitelist(cfg.acme), Email: cfg.acmeMail,
			Cache: autocert.DirCache(filepath.Join(cfg.data, "keys", "acme"))}
		if cfg.acmeDirectory != "" {
			m.Client = &acme.Client{DirectoryURL: cfg.acmeDirectory}
		}
		f.config = m.TLSConfig() // answers the TLS-ALPN-01 challenge (RFC 8737) on the port itself
		f.config.MinVersion = tls.VersionTLS12
		f.hsts = year
		f.local = "https://" + cfg.acme
		if f.publicURL == "" {
			f.publicURL = f.local
		}
	case cfg.ownAuthority:
		return f, f.ownAuthority(cfg, port)
	}
	return f, nil
}

// ownAuthority prepares HTTPS by the shop's own authority. No HSTS then: it would also turn the plain page on which
// phones get the certificate into HTTPS, which they can't open before they have it.
func (f *front) ownAuthority(cfg config, port string) error {
	var err error
	f.authority, err = authority.Open(filepath.Join(cfg.data, "keys"), authority.Options{Names: cfg.names, Now: time.Now})
	if err != nil {
		return err
	}
	f.config = f.authority.TLSConfig()
	name := lanAddress()
	if len(cfg.names) > 0 {
		name = cfg.names[0]
	}
	if f.publicURL == "" {
		f.publicURL = "https://" + net.JoinHostPort(name, port)
	}
	f.pageURL = "http://" + net.JoinHostPort(name, port) + "/trust"
	f.page, err = f.authority.Page(f.publicURL, f.pageURL, web.QR)
	return err
}

func withPort(name, port string) string {
	if port == "443" {
		return name
	}
	return net.JoinHostPort(name, port)
}

// serve runs until the context ends.
func (f *front) serve(ctx context.Context, srv *web.Server, log *slog.Logger) error {
	switch {
	case f.config == nil:
		return srv.Serve(ctx, f.ln, grace)
	case f.authority == nil:
		return srv.Serve(ctx, tls.NewListener(f.ln, f.config), grace)
	}
	secure, plain := authority.Split(ctx, f.ln, f.config)
	hs := &http.Server{Handler: authority.Plain(srv, f.page), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 32 << 10,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	ended := make(chan error, 1)
	go func() { ended <- hs.Serve(plain) }()
	err := srv.Serve(ctx, secure, grace)
	late, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
	defer cancel()
	if e := hs.Shutdown(late); e != nil && err == nil {
		err = hs.Close()
	}
	<-ended
	return err
}

// welcome says where the server is and, at the first start, how the owner gets in.
func welcome(ctx context.Context, c console, cfg config, b *backend, f *front) error {
	token, err := b.access.FirstLink(ctx, theShop)
	if err == nil && cfg.ownerLink {
		token, err = b.access.OwnerLink(ctx, theShop)
	}
	if err != nil {
		return err
	}
	var s strings.Builder
	fmt.Fprintf(&s, "Kickplate is at %s   (data in %s; stop with Ctrl-C)\n", f.local, cfg.data)
	if f.publicURL != "" && f.publicURL != f.local {
		fmt.Fprintf(&s, "Phones open     %s\n", f.publicURL)
	}
	if f.authority != nil {
		fmt.Fprintf(&s, "Each phone first opens %s and is led through trusting this server.\nFingerprint of its certificate (SHA-256): %s\n", f.pageURL, f.authority.Fingerprint())
	}
	if f.config == nil && len(cfg.proxies) == 0 {
		if host, _, err := net.SplitHostPort(cfg.listen); err == nil && !isLoopback(host) {
			s.WriteString("This is plain http: phones have no offline mode here, and others in the network can read along. Use --own-authority.\n")
		}
	}
	if token != "" {
		fmt.Fprintf(&s, "\nThe owner gets in with this link, once, within a day:\n\n  %s/#enter=%s\n\n", f.local, token)
	}
	_, err = fmt.Fprint(c.out, s.String())
	return err
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// lanAddress is the machine's first private IPv4 address, for people to open; 127.0.0.1 when there is none.
func lanAddress() string {
	addrs, err := net.InterfaceAddrs()
	if err == nil {
		for _, a := range addrs {
			if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsPrivate() {
				return n.IP.String()
			}
		}
	}
	return "127.0.0.1"
}
