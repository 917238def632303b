package custody_test

import (
	"encoding/base32"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims/custody"
)

// TestCheckpointExample reads the example that the C2SP specification prints.
func TestCheckpointExample(t *testing.T) {
	signed, err := os.ReadFile(filepath.Join(vectors, "checkpoint-c2sp.txt"))
	require.NoError(t, err)
	c, err := custody.Peek(signed)
	require.NoError(t, err)
	require.Equal(t, "example.com/behind-the-sofa", c.Origin)
	require.EqualValues(t, 20852163, c.Size)
	require.Equal(t, "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=", c.Root.String())
	require.True(t, strings.HasPrefix(string(signed), c.Text()+"\n— "))
	_, err = custody.Open(signed)
	require.ErrorContains(t, err, "not signed by a key that is known")
}

func TestParseTextRefuses(t *testing.T) {
	const root = "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I="
	_, err := custody.ParseText("o\n1\n" + root + "\n")
	require.NoError(t, err)
	for _, bad := range []string{
		"", "o", "o\n1\n" + root, "o\n1\n" + root + "\nmore\n", "o\n1\n" + root + "\n\n", "\n1\n" + root + "\n", "a b\n1\n" + root + "\n", "a+b\n1\n" + root + "\n",
		"o\n01\n" + root + "\n", "o\n-1\n" + root + "\n", "o\n+1\n" + root + "\n", "o\n\n" + root + "\n", "o\n9223372036854775808\n" + root + "\n",
		"o\n1\nCsUY\n", "o\n1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2J=\n", "o\r\n1\r\n" + root + "\r\n", "\xff\n1\n" + root + "\n",
	} {
		_, err := custody.ParseText(bad)
		require.Error(t, err, "%q", bad)
	}
}

// TestOpenSSL has openssl, which knows nothing of notes, verify the Ed25519 signature of a checkpoint.
func TestOpenSSL(t *testing.T) {
	s := memShop(t)
	appendLines(t, s, jsonLine(1), jsonLine(2))
	notary := &custody.Notary{Keys: openKeys(t)}
	signed, c, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	keys, err := notary.Keys.Verifiers(c.Origin)
	require.NoError(t, err)
	text, signature, pem, err := custody.Parts(signed, keys[0])
	require.NoError(t, err)
	dir := t.TempDir()
	write := func(name string, b []byte) { require.NoError(t, os.WriteFile(filepath.Join(dir, name), b, 0o600)) }
	write("text", []byte(text))
	write("sig", signature)
	write("key.pem", pem)
	verify := []string{"pkeyutl", "-verify", "-pubin", "-inkey", "key.pem", "-rawin", "-in", "text", "-sigfile", "sig"}
	out, err := openssl(t, dir, verify...)
	require.NoError(t, err, out)
	require.Contains(t, out, "Signature Verified Successfully")
	write("text", []byte(strings.Replace(text, "\n2\n", "\n3\n", 1)))
	out, err = openssl(t, dir, verify...)
	require.Error(t, err, out)
}

// TestVerifierKeyID: the key id of the example key in C2SP signed-note is 530d903a (published).
func TestVerifierKeyID(t *testing.T) {
	_, _, _, err := custody.Parts([]byte("x\n\n— example.com/foo AAAA\n"), "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k")
	require.ErrorContains(t, err, "malformed note", "the key itself is read; only the note is bad")
	_, _, _, err = custody.Parts(nil, "example.com/foo+530d903b+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k")
	require.ErrorContains(t, err, "verifier key")
}

func TestCheckpointTamper(t *testing.T) {
	s := memShop(t)
	appendLines(t, s, jsonLine(1), jsonLine(2))
	notary := &custody.Notary{Keys: openKeys(t)}
	signed, c, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	keys, err := notary.Keys.Verifiers(c.Origin)
	require.NoError(t, err)
	got, err := custody.Open(signed, keys...)
	require.NoError(t, err)
	require.Equal(t, c, got)
	for i := range signed {
		for _, bit := range []byte{1, 0x20, 0x80} {
			spoilt := append([]byte(nil), signed...)
			spoilt[i] ^= bit
			if got, err := custody.Open(spoilt, keys...); err == nil {
				t.Fatalf("byte %d changed, yet it verifies as %+v", i, got)
			}
		}
	}
	_, err = custody.Open(signed, mustVerifiers(t, openKeys(t), c.Origin)...)
	require.Error(t, err, "another key")
	_, err = custody.Open(signed, mustVerifiers(t, notary.Keys, "kickplate/other")...)
	require.Error(t, err, "the same key under another log's name")
	elsewhere := c
	elsewhere.Origin = "kickplate/other"
	foreign, err := notary.Keys.Sign(elsewhere)
	require.NoError(t, err)
	mixed := strings.Replace(string(foreign), "kickplate/other\n", c.Origin+"\n", 1)
	_, err = custody.Open([]byte(mixed), append(keys, mustVerifiers(t, notary.Keys, "kickplate/other")...)...)
	require.Error(t, err, "the signature of one log under the text of another")
	_, err = custody.Open(make([]byte, custody.MaxCheckpoint+1), keys...)
	require.Error(t, err)
}

func mustVerifiers(t testing.TB, k *custody.Keys, origin string) []string {
	t.Helper()
	keys, err := k.Verifiers(origin)
	require.NoError(t, err)
	return keys
}

func TestKeys(t *testing.T) {
	t.Run("MadeOnce", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "keys")
		var wg sync.WaitGroup
		made := make([]*custody.Keys, 8)
		errs := make([]error, len(made))
		for i := range made {
			wg.Go(func() { made[i], errs[i] = custody.OpenKeys(path) })
		}
		wg.Wait()
		for i := range made {
			require.NoError(t, errs[i])
			require.Equal(t, mustVerifiers(t, made[0], "o"), mustVerifiers(t, made[i], "o"), "eight at once make one key")
		}
		info, err := os.Stat(path)
		require.NoError(t, err)
		require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
		left, err := os.ReadDir(filepath.Dir(path))
		require.NoError(t, err)
		require.Len(t, left, 1, "no temporary file stays")
	})
	t.Run("Rotate", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "keys")
		keys, err := custody.OpenKeys(path)
		require.NoError(t, err)
		c := custody.Checkpoint{Origin: "kickplate/x", Size: 1}
		var signed [][]byte
		for range 3 {
			one, err := keys.Sign(c)
			require.NoError(t, err)
			signed = append(signed, one)
			require.NoError(t, keys.Rotate())
		}
		again, err := custody.OpenKeys(path)
		require.NoError(t, err)
		list := mustVerifiers(t, again, c.Origin)
		require.Equal(t, mustVerifiers(t, keys, c.Origin), list)
		require.Len(t, list, 4)
		for i, one := range signed {
			_, err := custody.Open(one, list...)
			require.NoError(t, err, "signed before rotation %d", i+1)
			_, err = custody.Open(one, list[0])
			require.Error(t, err, "the new key did not sign it")
		}
	})
	t.Run("ErrOpenToOthers", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "keys")
		_, err := custody.OpenKeys(path)
		require.NoError(t, err)
		require.NoError(t, os.Chmod(path, 0o640))
		_, err = custody.OpenKeys(path)
		require.ErrorContains(t, err, "chmod 600")
	})
	t.Run("ErrSpoilt", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "keys")
		_, err := custody.OpenKeys(path)
		require.NoError(t, err)
		good, err := os.ReadFile(path)
		require.NoError(t, err)
		private := string(good[strings.Index(string(good), "PRIVATE"):])
		for name, bad := range map[string]string{
			"empty": "", "two": string(good) + private, "cut": string(good[:len(good)-10]), "noise": "hello\n" + string(good),
			"short": "PRIVATE+KEY+", "mangled": "x" + private, "hash": strings.Replace(string(good), "kickplate+", "kickplatf+", 1),
		} {
			require.NoError(t, os.WriteFile(path, []byte(bad), 0o600))
			_, err := custody.OpenKeys(path)
			require.Error(t, err, name)
			require.NotContains(t, err.Error(), strings.SplitN(private, "+", 5)[4][:20], "the private key is never shown")
			now, err := os.ReadFile(path)
			require.NoError(t, err)
			require.Equal(t, bad, string(now), "a bad key file is left as it is")
		}
	})
	t.Run("ErrName", func(t *testing.T) {
		keys := openKeys(t)
		_, err := keys.Sign(custody.Checkpoint{Origin: "a b"})
		require.Error(t, err)
		_, err = keys.Verifiers("a+b")
		require.Error(t, err)
	})
}

func TestCode(t *testing.T) {
	s := vectorShop(t)
	crockford := base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)
	for size := uint64(1); size <= 8; size++ {
		c, err := custody.At(t.Context(), s, size)
		require.NoError(t, err)
		code := c.Code()
		require.Equal(t, crockford.EncodeToString(c.Root[:])[:20], code.Digits, "the standard library's base 32 with Crockford's digits")
		holds, err := code.Holds(t.Context(), s)
		require.NoError(t, err)
		require.True(t, holds)
		d := code.Digits
		printed := fmt.Sprintf("%d-%s-%s-%s-%s-%s", size, d[:4], d[4:8], d[8:12], d[12:16], d[16:])
		require.Equal(t, printed, code.String())
		for _, typed := range []string{
			printed, strings.ToLower(printed), strings.ReplaceAll(printed, "-", " "), " " + printed + "\n", fmt.Sprintf("%d %s", size, d),
			strings.NewReplacer("0", "O", "1", "l").Replace(strings.TrimPrefix(printed, fmt.Sprint(size))),
		} {
			if !strings.HasPrefix(strings.TrimSpace(typed), fmt.Sprint(size)) {
				typed = fmt.Sprint(size) + typed
			}
			got, err := custody.ParseCode(typed)
			require.NoError(t, err, "%q", typed)
			require.Equal(t, code, got, "%q", typed)
		}
		wrong := code
		wrong.Digits = "0" + code.Digits[1:]
		if wrong != code {
			holds, err = wrong.Holds(t.Context(), s)
			require.NoError(t, err)
			require.False(t, holds)
		}
		wrong = code
		wrong.Size = 9
		holds, err = wrong.Holds(t.Context(), s)
		require.NoError(t, err)
		require.False(t, holds)
	}
	for _, bad := range []string{"", "8", "8-", "8-ABCD", "0-0000-0000-0000-0000-0000", "x-0000-0000-0000-0000-0000", "08-0000-0000-0000-0000-0000",
		"8-0000-0000-0000-0000-000U", "8-0000-0000-0000-0000-00000", "8-0000-0000-0000-0000-000é", "-8-0000-0000-0000-0000-0000", strings.Repeat("8", 300)} {
		_, err := custody.ParseCode(bad)
		require.Error(t, err, "%q", bad)
	}
}
