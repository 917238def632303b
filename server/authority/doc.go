// Package authority is a certificate authority for one shop's own network: phones get HTTPS, and with it offline mode, from a
// machine in the back room that has no public name.
//
// Start with Open; Authority.TLSConfig serves, Authority.Page leads a person through trusting it, and Split lets one port
// speak TLS to phones and plain HTTP to the machine itself and to that page.
//
// The authority can only vouch for private names and addresses (name constraints, RFC 5280 section 4.2.1.10), so a phone that
// trusts it gives nobody power over its other connections. The package imports nothing of ours and never a router.
package authority
