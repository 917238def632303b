package media

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/bep/imagemeta"

	"kickplate/claims"
)

// cameraFacts reads the EXIF block raw into facts. whole is the file itself when it is a JPEG, else nil. Nothing about EXIF
// makes a photo unacceptable: what cannot be read becomes a note.
func cameraFacts(raw []byte, whole io.ReadSeeker, facts *claims.PhotoFacts) {
	if raw == nil && whole == nil {
		return
	}
	b, ok := walkExif(raw)
	if raw != nil && !ok {
		facts.Notes = append(facts.Notes, "The camera's data (EXIF) in the file is damaged and was not read.")
	}
	if b == nil {
		return
	}
	if len(b.faults) > 0 {
		facts.Notes = append(facts.Notes, "Parts of the camera's data (EXIF) are damaged and were left out: "+strings.Join(b.faults, "; ")+".")
	}
	seen := b.own()
	first, err := readGoexif(b)
	if b.overlaps {
		first = nil
	}
	if err != nil || b.overlaps {
		facts.Notes = append(facts.Notes, "One of the two EXIF readers could not read the camera's data.")
	}
	format := imagemeta.JPEG
	if whole == nil {
		whole, format = bytes.NewReader(raw), imagemeta.TIFF
	}
	second, err := readImagemeta(whole, format)
	if err != nil {
		facts.Notes = append(facts.Notes, "One of the two EXIF readers could not read all of the camera's data.")
	}
	facts.Disagreements = disagreements(seen, first, second)
	seen.fill(facts)
}

// disagreements lists the tags that two of the three readings see differently. A tag one of them does not see at all is not
// a disagreement: the older reader gives up a whole directory for one tag it does not like.
func disagreements(own, first, second tagValues) []string {
	var out []string
	for _, t := range exifTags() {
		var values []string
		differ := false
		for _, r := range []tagValues{own, first, second} {
			v, ok := r[t.name]
			if !ok {
				continue
			}
			for _, w := range values {
				differ = differ || !sameTag(t.as, v, w)
			}
			values = append(values, v)
		}
		if differ {
			for i, v := range values {
				values[i] = strconv.Quote(v)
			}
			out = append(out, t.name+": "+strings.Join(values, ", "))
		}
	}
	return out
}

func (v tagValues) fill(f *claims.PhotoFacts) {
	note := func(format string, args ...any) { f.Notes = append(f.Notes, fmt.Sprintf(format, args...)) }
	if s, ok := v["Orientation"]; ok {
		if n, err := strconv.Atoi(s); err == nil && n >= 1 && n <= 8 {
			f.Orientation = n
		} else if s != "0" {
			note("The orientation in the file (%s) is none of 1 to 8 and was ignored.", s)
		}
	}
	f.Camera = camera(v["Make"], v["Model"])
	f.Software = v["Software"]
	f.Taken = v.taken(note)
	f.GPS = v.position(note)
}

func camera(maker, model string) string {
	switch {
	case maker == "":
		return model
	case model == "":
		return maker
	case strings.HasPrefix(strings.ToLower(model), strings.ToLower(maker)):
		return model
	}
	return cleanText(maker + " " + model)
}

// taken is the capture time: DateTimeOriginal, or DateTimeDigitized where that is missing. DateTime is when the file was
// last changed, and never stands in for it.
func (v tagValues) taken(note func(string, ...any)) *claims.ExifTime {
	gps := v.gpsTime()
	for _, name := range []string{"Original", "Digitized"} {
		s := v["DateTime"+name]
		local, ok := exifDate(s)
		if !ok {
			if strings.Trim(s, " :0") != "" {
				note("The capture time in the file is not a date: %q.", s)
			}
			continue
		}
		if name == "Digitized" {
			note("The file has no time of exposure; the time when the picture was digitized is used.")
		}
		t := &claims.ExifTime{Local: local, GPSUTC: gps}
		if frac := strings.TrimSpace(v["SubSecTime"+name]); digitsOnly(frac) && len(frac) <= 9 {
			t.Fraction = frac
		}
		t.Offset = exifOffset(v["OffsetTime"+name], note)
		return t
	}
	if changed, ok := exifDate(v["DateTime"]); ok {
		note("The file says when it was last changed (%s), but not when the picture was taken.", changed)
	}
	if gps != "" {
		note("The file has a GPS clock (%s) but no capture time.", gps)
	}
	return nil
}

// No camera wrote EXIF before 1970, where the clocks of many begin: an earlier year, or one far ahead, is no time of exposure.
const firstYear, lastYear = 1970, 2199

// exifDate checks "YYYY:MM:DD HH:MM:SS" against the calendar and writes it as "YYYY-MM-DDThh:mm:ss".
func exifDate(s string) (string, bool) {
	if len(s) != 19 {
		return "", false
	}
	t, err := time.Parse("2006:01:02 15:04:05", s)
	if err != nil || t.Year() < firstYear || t.Year() > lastYear {
		return "", false
	}
	return t.Format("2006-01-02T15:04:05"), true
}

func exifOffset(s string, note func(string, ...any)) string {
	if strings.Trim(s, " :") == "" {
		return ""
	}
	if s == "Z" {
		return "+00:00"
	}
	if len(s) == 6 && (s[0] == '+' || s[0] == '-') && s[3] == ':' && digitsOnly(s[1:3]) && digitsOnly(s[4:]) {
		h, _ := strconv.Atoi(s[1:3])
		m, _ := strconv.Atoi(s[4:])
		if h < 14 && m < 60 || h == 14 && m == 0 {
			return s
		}
	}
	note("The time zone in the file is not an offset: %q.", s)
	return ""
}

func digitsOnly(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// gpsTime joins GPSDateStamp "YYYY:MM:DD" and GPSTimeStamp (both UTC); "" when either is missing or impossible.
func (v tagValues) gpsTime() string {
	day, err := time.Parse("2006:01:02", v["GPSDateStamp"])
	if err != nil || day.Year() < firstYear || day.Year() > lastYear {
		return ""
	}
	secs, err := strconv.ParseFloat(v["GPSTimeStamp"], 64)
	if err != nil || secs < 0 || secs >= 86400 {
		return ""
	}
	return day.Add(time.Duration(secs) * time.Second).Format("2006-01-02T15:04:05Z")
}

func (v tagValues) position(note func(string, ...any)) *claims.Position {
	lat, okLat := v.degrees("GPSLatitude", "N", "S", 90)
	lon, okLon := v.degrees("GPSLongitude", "E", "W", 180)
	if !okLat || !okLon {
		if v["GPSLatitude"] != "" || v["GPSLongitude"] != "" {
			note("The GPS position in the file is incomplete or impossible and was ignored.")
		}
		return nil
	}
	if lat == 0 && lon == 0 {
		note("The GPS position in the file is exactly 0, 0, which cameras write when they do not know it; it was ignored.")
		return nil
	}
	p := &claims.Position{Lat: lat, Lon: lon}
	if acc, err := strconv.ParseFloat(v["GPSHPositioningError"], 64); err == nil && acc > 0 && acc < 1e7 {
		p.Accuracy = acc
	}
	return p
}

func (v tagValues) degrees(name, plus, minus string, most float64) (float64, bool) {
	d, err := strconv.ParseFloat(v[name], 64)
	if err != nil || d < 0 || d > most {
		return 0, false
	}
	switch strings.ToUpper(v[name+"Ref"]) {
	case plus:
		return d, true
	case minus:
		return -d, true
	}
	return 0, false
}
