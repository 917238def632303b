package media

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The tags that become facts (Exif 2.31, CIPA DC-008-2016, tables 4, 7, 8 and 15).
type exifTag struct {
	name string
	in   ifd
	id   uint16
	as   shape
}

// shape is how the two readers' values of a tag are brought to one form to compare them.
type shape int

const (
	asText    shape = iota
	asDigits        // text of digits, of which a reader may keep the number only
	asInt           // one number
	asDegrees       // three rationals: degrees, minutes, seconds
	asClock         // three rationals: hours, minutes, seconds
	asReal          // one rational
)

func exifTags() []exifTag {
	return []exifTag{
		{"Make", ifd0, 0x010f, asText},
		{"Model", ifd0, 0x0110, asText},
		{"Orientation", ifd0, 0x0112, asInt},
		{"Software", ifd0, 0x0131, asText},
		{"DateTime", ifd0, 0x0132, asText},
		{"DateTimeOriginal", ifdExif, 0x9003, asText},
		{"DateTimeDigitized", ifdExif, 0x9004, asText},
		{"OffsetTimeOriginal", ifdExif, 0x9011, asText},
		{"OffsetTimeDigitized", ifdExif, 0x9012, asText},
		{"SubSecTimeOriginal", ifdExif, 0x9291, asDigits},
		{"SubSecTimeDigitized", ifdExif, 0x9292, asDigits},
		{"GPSLatitudeRef", ifdGPS, 0x0001, asText},
		{"GPSLatitude", ifdGPS, 0x0002, asDegrees},
		{"GPSLongitudeRef", ifdGPS, 0x0003, asText},
		{"GPSLongitude", ifdGPS, 0x0004, asDegrees},
		{"GPSTimeStamp", ifdGPS, 0x0007, asClock},
		{"GPSDateStamp", ifdGPS, 0x001d, asText},
		{"GPSHPositioningError", ifdGPS, 0x001f, asReal},
	}
}

// tagValues are the tags one reader saw, as canonical text by name. A tag that cannot be brought to its form is absent.
type tagValues map[string]string

// own reads the tags from the checked entries; where a tag stands twice, the first counts.
func (b *exifBlock) own() tagValues {
	out := tagValues{}
	for _, t := range exifTags() {
		for _, e := range b.entries {
			if e.in != t.in || e.id != t.id {
				continue
			}
			if v, ok := b.canonical(e, t.as); ok {
				out[t.name] = v
			}
			break
		}
	}
	return out
}

func (b *exifBlock) canonical(e exifEntry, as shape) (string, bool) {
	switch as {
	case asText, asDigits:
		if e.typ != 2 && e.typ != 7 {
			return "", false
		}
		return cleanText(string(e.val)), true
	case asInt:
		switch {
		case e.typ == 3 && e.count == 1:
			return strconv.Itoa(int(b.order.Uint16(e.val))), true
		case e.typ == 4 && e.count == 1:
			return strconv.FormatUint(uint64(b.order.Uint32(e.val)), 10), true
		case e.typ == 1 && e.count == 1:
			return strconv.Itoa(int(e.val[0])), true
		}
		return "", false
	}
	want := map[shape]uint32{asDegrees: 3, asClock: 3, asReal: 1}[as]
	if e.typ != 5 && e.typ != 10 || e.count != want {
		return "", false
	}
	var v [3]float64
	for i := range want {
		num, den := b.order.Uint32(e.val[8*i:]), b.order.Uint32(e.val[8*i+4:])
		if e.typ == 10 {
			v[i] = float64(int32(num)) / float64(int32(den))
		} else {
			v[i] = float64(num) / float64(den)
		}
	}
	return realText(as, v)
}

// realText writes up to three numbers in the form of a shape; not when one is not a number (0/0 is how cameras say
// "not known").
func realText(as shape, v [3]float64) (string, bool) {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return "", false
		}
	}
	switch as {
	case asDegrees:
		return strconv.FormatFloat(v[0]+v[1]/60+v[2]/3600, 'f', 8, 64), true
	case asClock:
		return strconv.FormatFloat(v[0]*3600+v[1]*60+v[2], 'f', 3, 64), true
	default:
		return strconv.FormatFloat(v[0], 'f', 4, 64), true
	}
}

// sameTag reports whether two canonical values of a tag mean the same.
func sameTag(as shape, a, b string) bool {
	if a == b {
		return true
	}
	switch as {
	case asDigits: // a reader that keeps the number loses leading zeros
		x, errA := strconv.Atoi(a)
		y, errB := strconv.Atoi(b)
		return errA == nil && errB == nil && x == y
	case asDegrees, asClock, asReal:
		x, errA := strconv.ParseFloat(a, 64)
		y, errB := strconv.ParseFloat(b, 64)
		return errA == nil && errB == nil && math.Abs(x-y) < map[shape]float64{asDegrees: 2e-7, asClock: 1e-2, asReal: 1e-3}[as]
	}
	return false
}

// mostText is the longest text kept from a tag, in bytes.
const mostText = 100

// cleanText cuts at the first NUL, drops what cannot be printed, trims blanks and bounds the length. Bytes that are not
// UTF-8 are dropped: EXIF text is ASCII.
func cleanText(s string) string {
	if i := strings.IndexByte(s, 0); i >= 0 {
		s = s[:i]
	}
	s = strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, s[:min(len(s), 4*mostText)])
	s = strings.TrimSpace(s)
	for len(s) > mostText {
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
	}
	return s
}
