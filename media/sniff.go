package media

import (
	"bytes"
	"strings"

	"kickplate/claims"
)

// family is how a file is handled.
type family int

const (
	photo family = iota
	document
	clip
)

// kind is what a file is by its content.
type kind struct {
	mime    string
	family  family
	word    string // for sentences: "The photo has …"
	smaller string // what to do when it is too large
}

// sniffBytes is how much of the start is looked at.
const sniffBytes = 4096

const (
	mimeJPEG = "image/jpeg"
	mimePNG  = "image/png"
	mimeWebP = "image/webp"
	mimeHEIC = "image/heic"
	mimePDF  = "application/pdf"
	mimeMP4  = "video/mp4"
	mimeM4A  = "audio/mp4"
)

func photoKind(mime string) kind {
	return kind{mime, photo, "photo", "Take it with a smaller resolution."}
}

func clipKind(mime string) kind { return kind{mime, clip, "clip", "Record a shorter one."} }

// sniff decides by the first bytes what a file is. What is not accepted gets a sentence that names it.
func sniff(head []byte) (kind, error) {
	has := func(at int, s string) bool { return len(head) >= at+len(s) && string(head[at:at+len(s)]) == s }
	switch {
	case has(0, "\xff\xd8\xff"):
		return photoKind(mimeJPEG), nil
	case has(0, "\x89PNG\r\n\x1a\n"):
		return photoKind(mimePNG), nil
	case has(0, "RIFF") && has(8, "WEBP"):
		return photoKind(mimeWebP), nil
	case has(0, "%PDF-"):
		return kind{mimePDF, document, "document", "Scan it with a smaller resolution, or send single pages."}, nil
	case has(4, "ftyp"):
		return sniffBoxes(head)
	case has(0, "\x1aE\xdf\xa3") && isWebM(head):
		return clipKind(mimeWebM), nil
	}
	for _, k := range []struct {
		at    int
		magic string
		name  string
	}{
		{0, "GIF8", "a GIF picture"}, {0, "BM", "a BMP picture"}, {0, "II*\x00", "a TIFF or camera raw picture"},
		{0, "MM\x00*", "a TIFF or camera raw picture"}, {0, "II+\x00", "a TIFF picture"}, {0, "MM\x00+", "a TIFF picture"},
		{0, "PK\x03\x04", "a ZIP archive or office document"}, {0, "\x1f\x8b", "a compressed archive"},
		{0, "7z\xbc\xaf\x27\x1c", "a compressed archive"}, {0, "Rar!", "a compressed archive"},
		{0, "\xd0\xcf\x11\xe0", "an office document"}, {0, "\x1aE\xdf\xa3", "a WebM or Matroska clip"},
		{0, "RIFF", "an AVI or WAV file"}, {0, "OggS", "an Ogg file"}, {0, "ID3", "an MP3 file"},
		{0, "MZ", "a program"}, {0, "\x7fELF", "a program"}, {0, "\x00\x00\x00\x0cJXL ", "a JPEG XL picture"},
		{0, "\xff\x0a", "a JPEG XL picture"}, {0, "\x00\x00\x00\x0cjP  ", "a JPEG 2000 picture"}, {0, "\xff\x4f\xff\x51", "a JPEG 2000 picture"},
		{0, "8BPS", "a Photoshop file"}, {0, "%!PS", "a PostScript document"},
	} {
		if has(k.at, k.magic) {
			return kind{}, refuse(k.name)
		}
	}
	if name := sniffText(head); name != "" {
		return kind{}, refuse(name)
	}
	return kind{}, claims.Errorf(claims.Unsupported, "This is not a kind of file that can be taken. Send photos as JPEG, PNG, WebP or HEIC, documents as PDF, clips as MP4 or MOV, sound as M4A or WebM.")
}

func refuse(name string) *claims.Error {
	return claims.Errorf(claims.Unsupported, "This is %s. Send photos as JPEG, PNG, WebP or HEIC, documents as PDF, clips as MP4 or MOV, sound as M4A or WebM.", name)
}

// sniffBoxes reads the brand of an ISO base media file (ISO/IEC 14496-12 "ftyp": size, "ftyp", major brand, version,
// compatible brands).
func sniffBoxes(head []byte) (kind, error) {
	if len(head) < 16 {
		return kind{}, claims.Errorf(claims.Invalid, "The file is cut off after %d bytes. Send it again.", len(head))
	}
	brands := []string{string(head[8:12])}
	size := int(uint32(head[0])<<24 | uint32(head[1])<<16 | uint32(head[2])<<8 | uint32(head[3]))
	for at := 16; at+4 <= min(size, len(head), 256); at += 4 {
		brands = append(brands, string(head[at:at+4]))
	}
	any := func(list ...string) bool {
		for _, b := range brands {
			for _, l := range list {
				if b == l {
					return true
				}
			}
		}
		return false
	}
	major := brands[0]
	switch {
	case strings.HasPrefix(major, "avi") || (any("avif", "avis") && !any("heic", "heix")):
		return kind{}, refuse("an AVIF picture")
	case major == "crx ":
		return kind{}, refuse("a camera raw picture")
	case any("heic", "heix", "heim", "heis") || major == "mif1":
		return photoKind(mimeHEIC), nil
	case any("hevc", "hevx", "msf1"):
		return kind{}, refuse("a sequence of HEIC pictures")
	case major == "qt  ":
		return clipKind("video/quicktime"), nil
	case major == "M4A " || major == "M4B ":
		return clipKind(mimeM4A), nil
	case any("isom", "iso2", "iso4", "iso5", "iso6", "mp41", "mp42", "avc1", "M4V ", "M4VP", "dash", "mmp4", "3gp4", "3gp5", "3gp6", "3g2a"):
		return clipKind(mimeMP4), nil
	}
	return kind{}, claims.Errorf(claims.Unsupported, "This is an unknown kind of media file. Send photos as JPEG, PNG, WebP or HEIC, clips as MP4 or MOV, sound as M4A or WebM.")
}

// sniffText names text files, the web pages among them: a sign-in page saved in place of a photo is a common accident.
func sniffText(head []byte) string {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n\f")
	low := bytes.ToLower(text[:min(len(text), 512)])
	switch {
	case len(text) == 0:
		return ""
	case bytes.HasPrefix(low, []byte("<!doctype html")) || bytes.HasPrefix(low, []byte("<html")) ||
		bytes.HasPrefix(low, []byte("<head")) || bytes.HasPrefix(low, []byte("<body")) || bytes.HasPrefix(low, []byte("<script")):
		return "a web page, not a photo"
	case bytes.Contains(low, []byte("<svg")):
		return "an SVG drawing"
	case bytes.HasPrefix(low, []byte("<!--")) || bytes.HasPrefix(low, []byte("<?xml")) || text[0] == '<':
		return "a web page or an XML file, not a photo"
	}
	for _, c := range head {
		if c < 0x20 && c != '\t' && c != '\n' && c != '\r' && c != '\f' {
			return ""
		}
	}
	return "a text file"
}
