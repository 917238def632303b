package main

import (
	"crypto/x509"
	"errors"
	"fmt"
	"os"
	"time"

	"kickplate/claims"
	"kickplate/server/mailer"
)

// smtpPassword is the environment variable with the mail server's password: the command line can be read by everybody on the machine.
const smtpPassword = "KICKPLATE_SMTP_PASSWORD"

// mailWith makes the mailer that the configuration asks for; nil = none.
func mailWith(cfg config) (claims.Mailer, error) {
	if cfg.smtp == "" {
		return nil, nil
	}
	o := mailer.Options{Address: cfg.smtp, From: cfg.mailFrom, Security: cfg.smtpSecurity, User: cfg.smtpUser, Now: time.Now}
	if cfg.smtpUser != "" {
		if o.Password = os.Getenv(smtpPassword); o.Password == "" {
			return nil, fmt.Errorf("--smtp-user needs a password: put it into the environment variable %s", smtpPassword)
		}
	}
	if cfg.smtpRoots != "" {
		pem, err := os.ReadFile(cfg.smtpRoots)
		if err != nil {
			return nil, fmt.Errorf("read the mail server's certificates: %w", err)
		}
		o.Roots = x509.NewCertPool()
		if !o.Roots.AppendCertsFromPEM(pem) {
			return nil, errors.New(cfg.smtpRoots + " holds no certificate in PEM")
		}
	}
	m, err := mailer.New(o)
	if err != nil {
		return nil, fmt.Errorf("--smtp can't be used: %w", err)
	}
	return m, nil
}
