package custody

import (
	"bytes"
	"crypto"
	_ "crypto/sha1" // for ESS signing certificates of version 1, which know nothing else
	_ "crypto/sha256"
	_ "crypto/sha512"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/digitorus/pkcs7"
)

// verifySigner checks what RFC 3161, 2.3 and 2.4.2 demand of the one who signed the token, and that the signature holds.
func verifySigner(token []byte, at time.Time, roots *x509.CertPool) (*x509.Certificate, error) {
	p7, err := pkcs7.Parse(token)
	if err != nil {
		return nil, fmt.Errorf("the token cannot be read: %w", err)
	}
	signer := p7.GetOnlySigner()
	if signer == nil { // without certificates timestamp.Parse has verified nothing
		return nil, errors.New("the token does not hold the one certificate that signed it")
	}
	if err := p7.Verify(); err != nil {
		return nil, fmt.Errorf("the signature does not hold: %w", err)
	}
	var content asn1.ObjectIdentifier
	if err := p7.UnmarshalSignedAttribute(pkcs7.OIDAttributeContentType, &content); err != nil || !content.Equal(oidTSTInfo()) {
		return nil, errors.New("what is signed is not a time stamp")
	}
	if err := namesSigner(p7, signer); err != nil {
		return nil, err
	}
	if len(signer.ExtKeyUsage) != 1 || signer.ExtKeyUsage[0] != x509.ExtKeyUsageTimeStamping || len(signer.UnknownExtKeyUsage) > 0 || !criticalUsage(signer) {
		return nil, fmt.Errorf("the certificate of %q is not for time-stamping alone", cut(signer.Subject.String()))
	}
	if at.Before(signer.NotBefore) || at.After(signer.NotAfter) {
		return nil, fmt.Errorf("the certificate of %q was not valid at the time in the stamp", cut(signer.Subject.String()))
	}
	if roots == nil {
		return signer, nil
	}
	between := x509.NewCertPool()
	for _, c := range p7.Certificates {
		between.AddCert(c)
	}
	if _, err := signer.Verify(x509.VerifyOptions{
		Roots: roots, Intermediates: between, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping},
	}); err != nil {
		return nil, fmt.Errorf("the certificate of %q leads to none that is trusted: %w", cut(signer.Subject.String()), err)
	}
	return signer, nil
}

// Object identifiers: RFC 3161 2.4.2, RFC 5280 4.2.1.12, RFC 2634 5.4, RFC 5035 3.
func oidTSTInfo() asn1.ObjectIdentifier {
	return asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 1, 4}
}
func oidKeyUsage() asn1.ObjectIdentifier { return asn1.ObjectIdentifier{2, 5, 29, 37} }
func oidESSv1() asn1.ObjectIdentifier {
	return asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 2, 12}
}
func oidESSv2() asn1.ObjectIdentifier {
	return asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 2, 47}
}

// criticalUsage reports whether the extended key usage is marked critical.
func criticalUsage(c *x509.Certificate) bool {
	return slices.ContainsFunc(c.Extensions, func(e pkix.Extension) bool { return e.Critical && e.Id.Equal(oidKeyUsage()) })
}

// namesSigner checks the signed attribute that says by its hash which certificate signs (ESS signing certificate), so
// that no other certificate for the same key can be slipped in.
func namesSigner(p7 *pkcs7.PKCS7, signer *x509.Certificate) error {
	var list struct {
		Certs    []asn1.RawValue
		Policies asn1.RawValue `asn1:"optional"`
	}
	hash := crypto.SHA256
	if err := p7.UnmarshalSignedAttribute(oidESSv2(), &list); err != nil {
		if err := p7.UnmarshalSignedAttribute(oidESSv1(), &list); err != nil {
			return errors.New("the signature does not say which certificate made it")
		}
		hash = crypto.SHA1
	}
	if len(list.Certs) == 0 {
		return errors.New("the signature does not say which certificate made it")
	}
	rest := list.Certs[0].Bytes // the first is the signer's
	var field asn1.RawValue
	rest, err := asn1.Unmarshal(rest, &field)
	if err == nil && field.Class == asn1.ClassUniversal && field.Tag == asn1.TagSequence && hash == crypto.SHA256 {
		var algorithm pkix.AlgorithmIdentifier
		if _, err := asn1.Unmarshal(field.FullBytes, &algorithm); err != nil {
			return fmt.Errorf("the signature's certificate hash cannot be read: %w", err)
		}
		switch algorithm.Algorithm.String() { // FIPS 180-4 hashes, identifiers by RFC 5754
		case "2.16.840.1.101.3.4.2.1":
			hash = crypto.SHA256
		case "2.16.840.1.101.3.4.2.2":
			hash = crypto.SHA384
		case "2.16.840.1.101.3.4.2.3":
			hash = crypto.SHA512
		default:
			return fmt.Errorf("the signature names its certificate by an unknown hash, %s", algorithm.Algorithm)
		}
		_, err = asn1.Unmarshal(rest, &field)
	}
	if err != nil || field.Class != asn1.ClassUniversal || field.Tag != asn1.TagOctetString {
		return errors.New("the signature's certificate hash cannot be read")
	}
	h := hash.New()
	h.Write(signer.Raw)
	if !bytes.Equal(h.Sum(nil), field.Bytes) {
		return errors.New("the signature names another certificate than the one that is in the token")
	}
	return nil
}

// Far above what a time stamp with certificates needs: its nesting, and the bytes of a key or a signature (an RSA modulus
// of 32,768 bits).
const (
	maxNesting   = 32
	maxBitString = 4096
)

// shallowDER refuses what is nested deeper than a time stamp ever is or has indefinite lengths: the library's transcoder
// copies the content again at every level, so that a quarter of a megabyte of nothing but nesting would keep it busy
// for minutes. So would a signature by a key of that size.
func shallowDER(b []byte, depth int) error {
	if depth > maxNesting {
		return fmt.Errorf("it is nested more than %d levels deep", maxNesting)
	}
	for len(b) > 0 {
		var v asn1.RawValue
		rest, err := asn1.Unmarshal(b, &v)
		if err != nil {
			return err
		}
		if v.Class == asn1.ClassUniversal && v.Tag == asn1.TagBitString && len(v.Bytes) > maxBitString {
			return fmt.Errorf("it holds a key or signature of %d bytes, more than any in use", len(v.Bytes))
		}
		if v.IsCompound {
			if err := shallowDER(v.Bytes, depth+1); err != nil {
				return err
			}
		}
		b = rest
	}
	return nil
}
