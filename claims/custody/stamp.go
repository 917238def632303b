package custody

import (
	"bytes"
	"context"
	"crypto"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/digitorus/timestamp"
)

// MaxStamp is the most bytes of a time-stamp response that are read.
const MaxStamp = 256 << 10

// Authority is a time-stamp authority by RFC 3161 over HTTP. It is sent the SHA-256 of a checkpoint and nothing else.
type Authority struct {
	// URL is where requests go, http or https (the answer is signed, so http is enough for its truth).
	URL string
	// Roots are the certificates that the authority's own must lead to; nil = that is not checked.
	Roots *x509.CertPool
	// Client; nil = one of our own. Timeout bounds a request, 0 = 20 s.
	Client  *http.Client
	Timeout time.Duration
	// Rand makes nonces; nil = crypto/rand.
	Rand io.Reader
}

// Stamp is what a time-stamp response says, after it was verified.
type Stamp struct {
	Time     time.Time
	Accuracy time.Duration // 0 = not said
	// Authority is the name in the certificate that signed; Serial the number of the stamp.
	Authority string
	Serial    string
	// Chained says that the certificate leads to one of the given roots. False = roots were not given.
	Chained bool
}

// StampRequest is a time-stamp request (DER) for the SHA-256 of data that asks for the authority's certificate. A nil
// nonce leaves it out.
func StampRequest(data []byte, nonce *big.Int) ([]byte, error) {
	sum := sha256.Sum256(data)
	return (&timestamp.Request{HashAlgorithm: crypto.SHA256, HashedMessage: sum[:], Certificates: true, Nonce: nonce}).Marshal()
}

// Check refuses an authority that cannot be asked.
func (a *Authority) Check() error {
	u, err := url.Parse(a.URL)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		return fmt.Errorf("the time-stamp authority %q is not an address that begins with http:// or https://", cut(a.URL))
	}
	return nil
}

// Stamp has data time-stamped and returns the response (DER), after verifying that it is for this data, answers this
// request, and is signed as RFC 3161 demands.
func (a *Authority) Stamp(ctx context.Context, data []byte) ([]byte, Stamp, error) {
	if err := a.Check(); err != nil {
		return nil, Stamp{}, err
	}
	from := a.Rand
	if from == nil {
		from = rand.Reader
	}
	nonce, err := rand.Int(from, new(big.Int).Lsh(big.NewInt(1), 63))
	if err != nil {
		return nil, Stamp{}, fmt.Errorf("make a nonce: %w", err)
	}
	nonce.SetBit(nonce, 63, 1) // never zero, always of one length
	query, err := StampRequest(data, nonce)
	if err != nil {
		return nil, Stamp{}, err
	}
	reply, err := a.ask(ctx, query)
	if err != nil {
		return nil, Stamp{}, fmt.Errorf("ask %s: %w", a.URL, err)
	}
	stamp, got, err := verifyStamp(reply, data, a.Roots)
	if err != nil {
		return nil, Stamp{}, fmt.Errorf("answer of %s: %w", a.URL, err)
	}
	if got == nil || got.Cmp(nonce) != 0 {
		return nil, Stamp{}, fmt.Errorf("answer of %s: it answers another request", a.URL)
	}
	return reply, stamp, nil
}

func (a *Authority) ask(ctx context.Context, query []byte) ([]byte, error) {
	timeout := a.Timeout
	if timeout == 0 {
		timeout = 20 * time.Second
	}
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, a.URL, bytes.NewReader(query))
	if err != nil {
		return nil, err
	}
	req.Header.Set("Content-Type", "application/timestamp-query")
	req.Header.Set("Accept", "application/timestamp-reply")
	client := a.Client
	if client == nil {
		client = new(http.Client)
	}
	resp, err := client.Do(req)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("it says %s", resp.Status)
	}
	if kind, _, _ := strings.Cut(resp.Header.Get("Content-Type"), ";"); strings.TrimSpace(kind) != "application/timestamp-reply" {
		return nil, fmt.Errorf("it sends %q, not a time stamp", cut(kind))
	}
	reply, err := io.ReadAll(io.LimitReader(resp.Body, MaxStamp+1))
	if err != nil {
		return nil, err
	}
	if len(reply) > MaxStamp {
		return nil, fmt.Errorf("it sends more than %d bytes", MaxStamp)
	}
	return reply, nil
}

// VerifyStamp verifies a time-stamp response (or the bare token of one) over data: the stamp is for the SHA-256 of data, the
// signature holds, and the certificate that signed is in it, is named by the signature, and is for time-stamping
// alone. With roots it must also lead to one of them, as of the time in the stamp. Revocation is not looked up.
func VerifyStamp(response, data []byte, roots *x509.CertPool) (Stamp, error) {
	stamp, _, err := verifyStamp(response, data, roots)
	return stamp, err
}

func verifyStamp(response, data []byte, roots *x509.CertPool) (stamp Stamp, nonce *big.Int, err error) {
	if len(response) > MaxStamp {
		return Stamp{}, nil, fmt.Errorf("a time stamp has at most %d bytes; this has %d", MaxStamp, len(response))
	}
	defer func() { // the libraries walk bytes from outside
		if p := recover(); p != nil {
			stamp, nonce, err = Stamp{}, nil, fmt.Errorf("the time stamp cannot be read: %v", p)
		}
	}()
	if err := shallowDER(response, 0); err != nil {
		return Stamp{}, nil, fmt.Errorf("the time stamp cannot be read: %w", err)
	}
	ts, err := timestamp.ParseResponse(response)
	if err != nil {
		var bare error
		if ts, bare = timestamp.Parse(response); bare != nil {
			return Stamp{}, nil, fmt.Errorf("the time stamp cannot be read: %w", err)
		}
	}
	signer, err := verifySigner(ts.RawToken, ts.Time, roots)
	if err != nil {
		return Stamp{}, nil, err
	}
	sum := sha256.Sum256(data)
	if ts.HashAlgorithm != crypto.SHA256 || !bytes.Equal(ts.HashedMessage, sum[:]) {
		return Stamp{}, nil, errors.New("the time stamp is for other data")
	}
	if ts.SerialNumber == nil {
		return Stamp{}, nil, errors.New("the time stamp has no serial number")
	}
	return Stamp{
		Time: ts.Time, Accuracy: ts.Accuracy, Authority: signer.Subject.String(), Serial: ts.SerialNumber.Text(16), Chained: roots != nil,
	}, ts.Nonce, nil
}
