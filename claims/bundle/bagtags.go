package bundle

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	utf "golang.org/x/text/encoding/unicode"
)

// maxTagFile bounds the bytes of one tag file that are read.
const maxTagFile = 32 << 20

// declaration is bagit.txt (RFC 8493, 2.1.1).
type declaration struct {
	version  string // "1.0"
	old      bool   // before 1.0
	encoding string
}

// parseDeclaration reads bagit.txt: two lines, UTF-8 without a byte-order mark, the labels in this order.
func parseDeclaration(raw []byte) (declaration, error) {
	var d declaration
	if bytes.HasPrefix(raw, []byte("\xef\xbb\xbf")) {
		return d, fmt.Errorf("bagit.txt begins with a byte-order mark, which the format forbids")
	}
	if !utf8.Valid(raw) {
		return d, fmt.Errorf("bagit.txt is not UTF-8")
	}
	lines := textLines(string(raw))
	if len(lines) != 2 {
		return d, fmt.Errorf("bagit.txt must have two lines, it has %d", len(lines))
	}
	version, ok := strings.CutPrefix(lines[0], "BagIt-Version: ")
	if !ok {
		return d, fmt.Errorf("the first line of bagit.txt must be “BagIt-Version: 1.0” with one space, it is %q", short(lines[0]))
	}
	major, minor, dot := strings.Cut(version, ".")
	if !dot || !allDigits(major) || !allDigits(minor) || len(version) > 9 {
		return d, fmt.Errorf("%q is not a version of BagIt", short(version))
	}
	switch {
	case version == "1.0":
	case major == "0" && minor >= "93" && minor <= "97" && len(minor) == 2:
		d.old = true
	default:
		return d, fmt.Errorf("version %s of BagIt is not known here", version)
	}
	enc, ok := strings.CutPrefix(lines[1], "Tag-File-Character-Encoding: ")
	if !ok || strings.TrimSpace(enc) == "" {
		return d, fmt.Errorf("the second line of bagit.txt must be “Tag-File-Character-Encoding: UTF-8” with one space, it is %q", short(lines[1]))
	}
	d.version, d.encoding = version, strings.TrimSpace(enc)
	if _, err := decoder(d.encoding); err != nil {
		return d, err
	}
	return d, nil
}

func allDigits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// decoder knows the encodings that bags are seen with; nil means UTF-8.
func decoder(name string) (encoding.Encoding, error) {
	switch strings.ToUpper(name) {
	case "UTF-8", "UTF8", "US-ASCII", "ASCII":
		return nil, nil
	case "ISO-8859-1", "LATIN1":
		return charmap.ISO8859_1, nil
	case "WINDOWS-1252":
		return charmap.Windows1252, nil
	case "UTF-16":
		return utf.UTF16(utf.BigEndian, utf.UseBOM), nil
	case "UTF-16LE":
		return utf.UTF16(utf.LittleEndian, utf.IgnoreBOM), nil
	case "UTF-16BE":
		return utf.UTF16(utf.BigEndian, utf.IgnoreBOM), nil
	}
	return nil, fmt.Errorf("the encoding %q of the tag files is not known here", short(name))
}

// decodeTag makes text of a tag file.
func decodeTag(raw []byte, name string) (string, error) {
	enc, err := decoder(name)
	if err != nil {
		return "", err
	}
	if enc != nil {
		if raw, err = enc.NewDecoder().Bytes(raw); err != nil {
			return "", fmt.Errorf("it is not %s: %w", name, err)
		}
	} else if !utf8.Valid(raw) {
		return "", fmt.Errorf("it is not %s", name)
	}
	return strings.TrimPrefix(string(raw), "\ufeff"), nil
}

// textLines splits at LF, CR or CRLF; an empty rest after the last line end is no line.
func textLines(s string) []string {
	s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	s = strings.TrimRight(s, "\n")
	if s == "" {
		return nil
	}
	return strings.Split(s, "\n")
}

// parseInfo reads the label-value lines of bag-info.txt, with continuation lines. A label ends where its colon stands;
// before 1.0 blanks around it were common and are let pass.
func parseInfo(text string, old bool) ([]tag, error) {
	var tags []tag
	for i, line := range textLines(text) {
		if line == "" && old {
			continue
		}
		if line != "" && (line[0] == ' ' || line[0] == '\t') {
			if len(tags) == 0 {
				return nil, fmt.Errorf("line %d continues a line that is not there", i+1)
			}
			tags[len(tags)-1].value += " " + strings.TrimSpace(line)
			continue
		}
		label, value, ok := strings.Cut(line, ":")
		if !ok || strings.TrimSpace(label) == "" {
			return nil, fmt.Errorf("line %d is not a label, a colon and a value: %q", i+1, short(line))
		}
		if !old && strings.TrimSpace(label) != label {
			return nil, fmt.Errorf("line %d has blanks before the colon: %q", i+1, short(line))
		}
		tags = append(tags, tag{strings.TrimSpace(label), strings.TrimSpace(value)})
	}
	return tags, nil
}

// manifestLine is one line of a manifest.
type manifestLine struct {
	sum, path string
	star      bool // written by md5sum in binary mode
	dots      bool // with a leading ./
}

// parseManifest reads a manifest for digests of size bytes.
func parseManifest(text string, size int) ([]manifestLine, error) {
	var out []manifestLine
	for i, line := range textLines(text) {
		if line == "" {
			continue
		}
		end := strings.IndexAny(line, " \t")
		if end < 0 {
			return nil, fmt.Errorf("line %d is not a checksum and a path: %q", i+1, short(line))
		}
		m := manifestLine{sum: strings.ToLower(line[:end]), path: strings.TrimLeft(line[end:], " \t")}
		if raw, err := hex.DecodeString(m.sum); err != nil || len(raw) != size {
			return nil, fmt.Errorf("line %d: %q is not a checksum of %d hexadecimal digits", i+1, short(line[:end]), 2*size)
		}
		if rest, ok := strings.CutPrefix(m.path, "*"); ok {
			m.star, m.path = true, rest
		}
		if rest, ok := strings.CutPrefix(m.path, "./"); ok {
			m.dots, m.path = true, rest
		}
		m.path = unescape(m.path)
		if m.path == "" {
			return nil, fmt.Errorf("line %d has no path", i+1)
		}
		out = append(out, m)
	}
	return out, nil
}

// unescape undoes the only three escapes that RFC 8493 knows: line feed, carriage return and the percent sign.
func unescape(path string) string {
	return strings.NewReplacer("%0A", "\n", "%0a", "\n", "%0D", "\r", "%0d", "\r", "%25", "%").Replace(path)
}

// fetchLine is one line of fetch.txt: a file that the bag's maker left to be fetched.
type fetchLine struct{ url, path string }

func parseFetch(text string) ([]fetchLine, error) {
	var out []fetchLine
	for i, line := range textLines(text) {
		if line == "" {
			continue
		}
		f := strings.Fields(line)
		if len(f) < 3 || (f[1] != "-" && !allDigits(f[1])) {
			return nil, fmt.Errorf("line %d is not an address, a length and a path: %q", i+1, short(line))
		}
		rest := strings.TrimLeft(strings.TrimPrefix(strings.TrimLeft(line, " \t"), f[0]), " \t")
		path := strings.TrimLeft(strings.TrimPrefix(rest, f[1]), " \t")
		out = append(out, fetchLine{f[0], unescape(strings.TrimPrefix(path, "./"))})
	}
	return out, nil
}

// badPath says why a path must not be followed, or "". It must stay in the bag on every system.
func badPath(p string) string {
	switch {
	case p == "":
		return "it is empty"
	case !utf8.ValidString(p):
		return "it is not UTF-8"
	case strings.HasPrefix(p, "/"):
		return "it begins at the root of the file system"
	case strings.HasPrefix(p, "~"):
		return "it begins in somebody's home folder"
	case strings.Contains(p, `\`):
		return `it has a backslash, which leads into folders on some systems`
	case len(p) > 1 && p[1] == ':':
		return "it begins with a drive"
	case strings.IndexFunc(p, func(r rune) bool { return r < 0x20 || r == 0x7f }) >= 0 && !strings.ContainsAny(p, "\n\r"):
		return "it has control characters"
	}
	for _, part := range strings.Split(p, "/") {
		switch part {
		case "..":
			return "it leads out of the bag (..)"
		case "", ".":
			return "it is not in its plain form"
		}
	}
	return ""
}

// short cuts a text for a message.
func short(s string) string {
	if r := []rune(s); len(r) > 80 {
		return string(r[:80]) + "…"
	}
	return s
}
