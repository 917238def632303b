package custody

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"golang.org/x/mod/sumdb/note"
)

// keyName is the name in the key file. A log's own key has the log's origin for a name and the same key bytes.
const keyName = "kickplate"

const keyFileHead = `# The keys that sign checkpoints of the custody logs. The first is private: nobody else may read this file.
# Keep a copy in a safe place. Keys below it were used before; they still verify what they signed.
`

// Keys is the key file: one Ed25519 key that signs, and the public keys of those before it. Safe for use by many
// goroutines.
type Keys struct {
	path string
	mu   sync.RWMutex
	seed ed25519.PrivateKey
	old  []ed25519.PublicKey
}

// OpenKeys reads the key file at path, or makes one (mode 0600, durable) with a new key. A file that others may
// read is refused.
func OpenKeys(path string) (*Keys, error) {
	k := &Keys{path: path}
	for range 2 {
		raw, err := os.ReadFile(path)
		if err == nil {
			if err := private(path); err != nil {
				return nil, err
			}
			if err := k.parse(raw); err != nil {
				return nil, fmt.Errorf("key file %s: %w; restore it from your copy (a new key cannot sign as the old one)", path, err)
			}
			return k, nil
		}
		if !errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("read the key file: %w", err)
		}
		if _, k.seed, err = ed25519.GenerateKey(rand.Reader); err != nil {
			return nil, fmt.Errorf("make a key: %w", err)
		}
		err = k.write(func(temporary string) error { return os.Link(temporary, path) })
		if err == nil {
			return k, nil
		}
		if !errors.Is(err, os.ErrExist) { // somebody else made it just now: read theirs
			return nil, fmt.Errorf("write the key file: %w", err)
		}
	}
	return nil, fmt.Errorf("key file %s comes and goes", path)
}

func private(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 && runtime.GOOS != "windows" {
		return fmt.Errorf("key file %s can be read by others (mode %04o); run: chmod 600 %s", path, mode, path)
	}
	return nil
}

func (k *Keys) parse(raw []byte) error {
	k.seed, k.old = nil, nil
	for i, line := range strings.Split(string(raw), "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "" || line[0] == '#':
		case strings.HasPrefix(line, "PRIVATE+KEY+"):
			if k.seed != nil {
				return fmt.Errorf("line %d: a second private key", i+1)
			}
			if _, err := note.NewSigner(line); err != nil {
				return fmt.Errorf("line %d: the private key cannot be read", i+1) // never show it
			}
			// The base64 text may itself hold plus signs: the key is all of the fifth field.
			seed, err := base64.StdEncoding.DecodeString(strings.SplitN(line, "+", 5)[4])
			if err != nil || len(seed) != 1+ed25519.SeedSize {
				return fmt.Errorf("line %d: the private key cannot be read", i+1)
			}
			k.seed = ed25519.NewKeyFromSeed(seed[1:])
		default:
			public, err := publicKey(line)
			if err != nil {
				return fmt.Errorf("line %d: it is neither a key nor a remark", i+1) // the line may be a mangled private key
			}
			k.old = append(k.old, public)
		}
	}
	if k.seed == nil {
		return errors.New("there is no private key in it")
	}
	return nil
}

// publicKey takes the key out of a verifier key.
func publicKey(vkey string) (ed25519.PublicKey, error) {
	if _, err := note.NewVerifier(vkey); err != nil {
		return nil, fmt.Errorf("verifier key %q: %w", cut(vkey), err)
	}
	fields := strings.SplitN(vkey, "+", 3)
	raw, err := base64.StdEncoding.DecodeString(fields[2])
	if err != nil || len(raw) != 1+ed25519.PublicKeySize {
		return nil, fmt.Errorf("verifier key %q is not an Ed25519 key", cut(vkey))
	}
	return raw[1:], nil
}

// write makes the file beside its place, syncs it, has place put it there, and syncs the folder.
func (k *Keys) write(place func(temporary string) error) error {
	var b bytes.Buffer
	b.WriteString(keyFileHead)
	private, err := privateKey(keyName, k.seed)
	if err != nil {
		return err
	}
	b.WriteString(private + "\n")
	for _, public := range k.old {
		vkey, err := note.NewEd25519VerifierKey(keyName, public)
		if err != nil {
			return err
		}
		b.WriteString(vkey + "\n")
	}
	dir := filepath.Dir(k.path)
	f, err := os.CreateTemp(dir, ".keys-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(b.Bytes())
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := place(f.Name()); err != nil {
		return err
	}
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// privateKey is the signer key of a name in the signed-note format.
func privateKey(name string, seed ed25519.PrivateKey) (string, error) {
	vkey, err := note.NewEd25519VerifierKey(name, seed.Public().(ed25519.PublicKey))
	if err != nil {
		return "", err
	}
	hash := strings.SplitN(vkey, "+", 3)[1]
	return fmt.Sprintf("PRIVATE+KEY+%s+%s+%s", name, hash, base64.StdEncoding.EncodeToString(append([]byte{1}, seed.Seed()...))), nil
}

// Rotate makes a new key the one that signs. The old one's public half stays, so that what it signed still verifies.
func (k *Keys) Rotate() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	_, seed, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return fmt.Errorf("make a key: %w", err)
	}
	next := &Keys{path: k.path, seed: seed}
	next.old = append([]ed25519.PublicKey{k.seed.Public().(ed25519.PublicKey)}, k.old...)
	if err := next.write(func(temporary string) error { return os.Rename(temporary, k.path) }); err != nil {
		return fmt.Errorf("write the key file: %w", err)
	}
	k.seed, k.old = next.seed, next.old
	return nil
}

// Verifiers are the verifier keys of a log in the signed-note format: the one that signs now, then those before it,
// newest first.
func (k *Keys) Verifiers(origin string) ([]string, error) {
	if !validOrigin(origin) {
		return nil, fmt.Errorf("%q is not the name of a log", cut(origin))
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	var list []string
	for _, public := range append([]ed25519.PublicKey{k.seed.Public().(ed25519.PublicKey)}, k.old...) {
		vkey, err := note.NewEd25519VerifierKey(origin, public)
		if err != nil {
			return nil, err
		}
		list = append(list, vkey)
	}
	return list, nil
}

// Sign signs a checkpoint with the present key, under the name of the log.
func (k *Keys) Sign(c Checkpoint) ([]byte, error) {
	if !validOrigin(c.Origin) {
		return nil, fmt.Errorf("%q is not the name of a log", cut(c.Origin))
	}
	k.mu.RLock()
	private, err := privateKey(c.Origin, k.seed)
	k.mu.RUnlock()
	if err != nil {
		return nil, err
	}
	signer, err := note.NewSigner(private)
	if err != nil {
		return nil, err
	}
	return note.Sign(&note.Note{Text: c.Text()}, signer)
}
