package main

import (
	"flag"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"path/filepath"
	"strings"

	"kickplate/server/mailer"
)

// config is what the command line and the environment say about serving.
type config struct {
	data, listen, packs string
	publicURL           string
	tlsCert, tlsKey     string
	acme, acmeMail      string
	acmeDirectory       string
	ownAuthority        bool
	names               list
	proxies             prefixes
	logLevel            slog.Level
	logJSON             bool
	ownerLink           bool
	tsa, tsaRoots       string
	smtp, smtpSecurity  string
	smtpUser, smtpRoots string
	mailFrom            string
}

// list is a flag that can be given several times, or with commas.
type list []string

func (l *list) String() string { return strings.Join(*l, ",") }

func (l *list) Set(s string) error {
	for _, one := range strings.Split(s, ",") {
		if one = strings.TrimSpace(one); one != "" {
			*l = append(*l, one)
		}
	}
	return nil
}

// prefixes is a list of address ranges.
type prefixes []netip.Prefix

func (p *prefixes) String() string {
	var texts list
	for _, one := range *p {
		texts = append(texts, one.String())
	}
	return texts.String()
}

func (p *prefixes) Set(s string) error {
	var texts list
	if err := texts.Set(s); err != nil {
		return err
	}
	for _, text := range texts {
		one, err := netip.ParsePrefix(text)
		if addr, err2 := netip.ParseAddr(text); err != nil && err2 == nil {
			one, err = netip.PrefixFrom(addr, addr.BitLen()), nil
		}
		if err != nil {
			return fmt.Errorf("%q is no address range such as 10.0.0.0/8", text)
		}
		if one.Bits() == 0 {
			return fmt.Errorf("%q would trust everybody", text)
		}
		*p = append(*p, one)
	}
	return nil
}

const (
	defaultData   = "./kickplate-data"
	defaultListen = "127.0.0.1:8080"
)

// dataFlag adds --data.
func dataFlag(fs *flag.FlagSet, data *string) {
	fs.StringVar(data, "data", defaultData, "the data `folder`: everything that is kept is in it")
}

// register adds the flags of serve.
func (cfg *config) register(fs *flag.FlagSet) {
	dataFlag(fs, &cfg.data)
	fs.StringVar(&cfg.listen, "listen", defaultListen, "the `address` to listen on; \":8080\" = all networks of this machine")
	fs.StringVar(&cfg.packs, "packs", "", "a `folder` with rule packs of the shop's own (DATA/packs when not given)")
	fs.StringVar(&cfg.publicURL, "public-url", "", "the `URL` phones reach this server at, for links and QR codes")
	fs.StringVar(&cfg.tlsCert, "tls-cert", "", "serve HTTPS with the certificate (chain) in this PEM `file`")
	fs.StringVar(&cfg.tlsKey, "tls-key", "", "the private key of --tls-cert, a PEM `file`")
	fs.StringVar(&cfg.acme, "acme", "", "get a certificate for this public `name` by ACME; port 443 of the name must lead to --listen")
	fs.StringVar(&cfg.acmeMail, "acme-mail", "", "the mail `address` the certificate authority may write to")
	fs.StringVar(&cfg.acmeDirectory, "acme-directory", "", "the `URL` of another ACME authority's directory")
	fs.BoolVar(&cfg.ownAuthority, "own-authority", false, "serve HTTPS in the shop's own network with a certificate authority of its own, made at the first start; /trust leads each phone through trusting it")
	fs.Var(&cfg.names, "name", "with --own-authority: another `name` of this server in the network, such as kickplate.lan (repeatable)")
	fs.Var(&cfg.proxies, "trusted-proxy", "believe X-Forwarded-For and X-Forwarded-Proto from this address `range` (repeatable)")
	fs.TextVar(&cfg.logLevel, "log-level", slog.LevelInfo, "how much to log: debug, info, warn or error")
	fs.BoolVar(&cfg.logJSON, "log-json", false, "log as JSON, one object a line")
	fs.StringVar(&cfg.tsa, "tsa", "", "have the log's checkpoints time-stamped (RFC 3161) by the authority at this `URL`; it is sent a hash and nothing else")
	fs.StringVar(&cfg.tsaRoots, "tsa-roots", "", "the certificates that the authority of --tsa must lead to, a PEM `file`")
	fs.StringVar(&cfg.smtp, "smtp", "", "send bundles and links by e-mail through the mail server at this `address` (HOST:PORT)")
	fs.StringVar(&cfg.smtpSecurity, "smtp-security", mailer.StartTLS, "how to reach it: starttls, tls, or none for a relay on this machine")
	fs.StringVar(&cfg.smtpUser, "smtp-user", "", "sign in to it with this `name`; the password is in the environment variable "+smtpPassword)
	fs.StringVar(&cfg.smtpRoots, "smtp-roots", "", "the certificates that the mail server's must lead to, a PEM `file` (the system's when not given)")
	fs.StringVar(&cfg.mailFrom, "mail-from", "", "the `address` that e-mail comes from")
	fs.BoolVar(&cfg.ownerLink, "owner-link", false, "print a new one-time link for the owner, when the password is lost")
}

// check refuses what does not fit together.
func (cfg *config) check() error {
	ways := 0
	for _, on := range []bool{cfg.tlsCert != "" || cfg.tlsKey != "", cfg.acme != "", cfg.ownAuthority} {
		if on {
			ways++
		}
	}
	switch {
	case ways > 1:
		return usagef("choose one of --tls-cert, --acme and --own-authority.")
	case (cfg.tlsCert == "") != (cfg.tlsKey == ""):
		return usagef("--tls-cert and --tls-key go together.")
	case (cfg.smtp == "") != (cfg.mailFrom == ""):
		return usagef("--smtp and --mail-from go together.")
	case cfg.smtp == "" && (cfg.smtpUser != "" || cfg.smtpRoots != ""):
		return usagef("--smtp-user and --smtp-roots are for --smtp.")
	case cfg.tsaRoots != "" && cfg.tsa == "":
		return usagef("--tsa-roots is for --tsa.")
	case len(cfg.names) > 0 && !cfg.ownAuthority:
		return usagef("--name is for --own-authority.")
	}
	if _, port, err := net.SplitHostPort(cfg.listen); err != nil || port == "" {
		return usagef("--listen takes HOST:PORT, such as 127.0.0.1:8080 or :8080; this is %q.", cfg.listen)
	}
	if cfg.publicURL != "" {
		u, err := url.Parse(cfg.publicURL)
		if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" || strings.Trim(u.Path, "/") != "" {
			return usagef("--public-url is http:// or https:// and a name, without a path; this is %q.", cfg.publicURL)
		}
		cfg.publicURL = u.Scheme + "://" + u.Host
	}
	if _, err := mailWith(*cfg); err != nil {
		return err
	}
	if cfg.packs == "" {
		cfg.packs = filepath.Join(cfg.data, "packs")
	}
	return nil
}

func (cfg *config) logger(c console) *slog.Logger {
	o := &slog.HandlerOptions{Level: cfg.logLevel}
	if cfg.logJSON {
		return slog.New(slog.NewJSONHandler(c.err, o))
	}
	return slog.New(slog.NewTextHandler(c.err, o))
}
