package draw

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"
)

// Exif is what the camera writes into the file. CIPA DC-008 (Exif 2.32) names the tags.
type Exif struct {
	Make, Model, Software string
	// Taken is the moment of capture by the camera's clock; its zone offset is written too, and milliseconds.
	Taken time.Time
	// Position is where the camera was; nil writes no GPS block.
	Position *Position
	// Exposure in seconds is 1/Speed.
	Speed, ISO int

	width, height, orientation int
}

// Position is a WGS 84 position in degrees, with the radius of its uncertainty and the height above sea level in metres.
type Position struct{ Lat, Lon, Error, Altitude float64 }

const (
	typeByte     = 1
	typeASCII    = 2
	typeShort    = 3
	typeLong     = 4
	typeRational = 5
	typeUndef    = 7
)

// field is one entry of a directory, its value already in bytes (big-endian).
type field struct {
	tag, kind uint16
	count     uint32
	value     []byte
}

func ascii(tag uint16, s string) field {
	return field{tag, typeASCII, uint32(len(s) + 1), append([]byte(s), 0)}
}

func short(tag uint16, v int) field {
	return field{tag, typeShort, 1, binary.BigEndian.AppendUint16(nil, uint16(v))}
}

func long(tag uint16, v uint32) field {
	return field{tag, typeLong, 1, binary.BigEndian.AppendUint32(nil, v)}
}

func undef(tag uint16, b ...byte) field { return field{tag, typeUndef, uint32(len(b)), b} }

// ratio writes numerator/denominator pairs.
func ratio(tag uint16, v ...uint32) field {
	var b []byte
	for _, n := range v {
		b = binary.BigEndian.AppendUint32(b, n)
	}
	return field{tag, typeRational, uint32(len(v) / 2), b}
}

// dir writes a directory that starts at the given offset of the TIFF block, its long values behind it.
func dir(at uint32, fields []field) []byte {
	slices.SortFunc(fields, func(a, b field) int { return int(a.tag) - int(b.tag) })
	out := binary.BigEndian.AppendUint16(nil, uint16(len(fields)))
	tail := at + 2 + 12*uint32(len(fields)) + 4
	var values []byte
	for _, f := range fields {
		out = binary.BigEndian.AppendUint16(out, f.tag)
		out = binary.BigEndian.AppendUint16(out, f.kind)
		out = binary.BigEndian.AppendUint32(out, f.count)
		if len(f.value) <= 4 {
			out = append(out, append(slices.Clone(f.value), 0, 0, 0, 0)[:4]...)
			continue
		}
		out = binary.BigEndian.AppendUint32(out, tail+uint32(len(values)))
		values = append(values, f.value...)
		if len(values)%2 == 1 {
			values = append(values, 0)
		}
	}
	return append(append(out, 0, 0, 0, 0), values...)
}

func (x *Exif) tiff() []byte {
	const stamp = "2006:01:02 15:04:05"
	local, offset := x.Taken.Format(stamp), x.Taken.Format("-07:00")
	milli := fmt.Sprintf("%03d", x.Taken.Nanosecond()/1e6)
	capture := []field{
		ratio(0x829A, 1, uint32(max(1, x.Speed))), ratio(0x829D, 18, 10), short(0x8827, x.ISO), undef(0x9000, '0', '2', '3', '2'),
		ascii(0x9003, local), ascii(0x9004, local), ascii(0x9010, offset), ascii(0x9011, offset), ascii(0x9012, offset),
		undef(0x9101, 1, 2, 3, 0), short(0x9209, 0x18), ratio(0x920A, 43, 10), ascii(0x9290, milli), ascii(0x9291, milli), ascii(0x9292, milli),
		undef(0xA000, '0', '1', '0', '0'), short(0xA001, 1), long(0xA002, uint32(x.width)), long(0xA003, uint32(x.height)), short(0xA405, 26),
	}
	main := func(exif, gps uint32) []field {
		f := []field{
			ascii(0x010F, x.Make), ascii(0x0110, x.Model), short(0x0112, x.orientation), ratio(0x011A, 72, 1), ratio(0x011B, 72, 1),
			short(0x0128, 2), ascii(0x0131, x.Software), ascii(0x0132, local), short(0x0213, 1), long(0x8769, exif),
		}
		if gps != 0 {
			f = append(f, long(0x8825, gps))
		}
		return f
	}
	out := []byte{'M', 'M', 0, 42, 0, 0, 0, 8}
	gpsAt := uint32(0)
	if x.Position != nil {
		gpsAt = 1 // the size does not depend on the value
	}
	exifAt := 8 + uint32(len(dir(8, main(1, gpsAt))))
	exif := dir(exifAt, capture)
	if x.Position != nil {
		gpsAt = exifAt + uint32(len(exif))
	}
	out = append(out, dir(8, main(exifAt, gpsAt))...)
	out = append(out, exif...)
	if x.Position != nil {
		out = append(out, dir(gpsAt, x.gps())...)
	}
	return out
}

func (x *Exif) gps() []field {
	p, utc := x.Position, x.Taken.UTC()
	ref := func(v float64, plus, minus string) string {
		if v < 0 {
			return minus
		}
		return plus
	}
	below := byte(0)
	if p.Altitude < 0 {
		below = 1
	}
	return []field{
		{0x00, typeByte, 4, []byte{2, 3, 0, 0}},
		ascii(0x01, ref(p.Lat, "N", "S")), degrees(0x02, p.Lat), ascii(0x03, ref(p.Lon, "E", "W")), degrees(0x04, p.Lon),
		{0x05, typeByte, 1, []byte{below}}, ratio(0x06, uint32(math.Round(math.Abs(p.Altitude)*100)), 100),
		ratio(0x07, uint32(utc.Hour()), 1, uint32(utc.Minute()), 1, uint32(utc.Second()), 1), ascii(0x12, "WGS-84"),
		ascii(0x1D, utc.Format("2006:01:02")), ratio(0x1F, uint32(math.Round(p.Error*1000)), 1000),
	}
}

// degrees writes degrees, minutes and ten-thousandths of a second: about 3 mm on the ground.
func degrees(tag uint16, v float64) field {
	n := uint64(math.Round(math.Abs(v) * 3600 * 1e4))
	return ratio(tag, uint32(n/36_000_000), 1, uint32(n/600_000%60), 1, uint32(n%600_000), 1e4)
}

// insert puts the block into a JPEG file right behind its start.
func (x *Exif) insert(jpg []byte) ([]byte, error) {
	if !bytes.HasPrefix(jpg, []byte{0xFF, 0xD8}) {
		return nil, errors.New("write EXIF: not a JPEG file")
	}
	body := append([]byte("Exif\x00\x00"), x.tiff()...)
	if len(body)+2 > 0xFFFF {
		return nil, fmt.Errorf("write EXIF: %d bytes do not fit in one segment", len(body))
	}
	out := make([]byte, 0, len(jpg)+len(body)+4)
	out = append(out, 0xFF, 0xD8, 0xFF, 0xE1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	out = append(out, body...)
	return append(out, jpg[2:]...), nil
}
