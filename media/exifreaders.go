package media

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/bep/imagemeta"
	"github.com/rwcarlsen/goexif/exif"
	"github.com/rwcarlsen/goexif/tiff"
)

// readGoexif reads the checked copy of a block with goexif. Its own table of names mixes the directories and knows neither
// the zone offsets nor the GPS accuracy (both younger than it), so the tags are looked up by number in the directory
// they belong to; where a tag stands twice, the first counts.
func readGoexif(b *exifBlock) (out tagValues, err error) {
	defer func() {
		if p := recover(); p != nil {
			out, err = nil, fmt.Errorf("goexif: panic: %v", p)
		}
	}()
	x, err := exif.Decode(bytes.NewReader(b.clean))
	if x == nil || err != nil && exif.IsCriticalError(err) {
		return nil, fmt.Errorf("goexif: %w", err)
	}
	dirs := map[ifd]*tiff.Dir{ifd0: x.Tiff.Dirs[0]}
	for in, pointer := range map[ifd]exif.FieldName{ifdExif: exif.ExifIFDPointer, ifdGPS: exif.GPSInfoIFDPointer} {
		dir, e := goexifDirectory(x, pointer)
		if e != nil && err == nil {
			err = fmt.Errorf("goexif: %s: %w", pointer, e)
		}
		dirs[in] = dir
	}
	out = tagValues{}
	for _, t := range exifTags() {
		if dirs[t.in] == nil {
			continue
		}
		for _, tag := range dirs[t.in].Tags {
			if tag.Id != t.id {
				continue
			}
			if v, ok := goexifValue(tag, t.as); ok {
				out[t.name] = v
			}
			break
		}
	}
	return out, err
}

// goexifDirectory decodes the directory that pointer points to; nil when there is none.
func goexifDirectory(x *exif.Exif, pointer exif.FieldName) (*tiff.Dir, error) {
	tag, err := x.Get(pointer)
	if err != nil {
		return nil, nil
	}
	at, err := tag.Int64(0)
	if err != nil {
		return nil, err
	}
	r := bytes.NewReader(x.Raw)
	if _, err := r.Seek(at, io.SeekStart); err != nil {
		return nil, err
	}
	dir, _, err := tiff.DecodeDir(r, x.Tiff.Order)
	return dir, err
}

func goexifValue(tag *tiff.Tag, as shape) (string, bool) {
	switch as {
	case asText, asDigits:
		if tag.Format() == tiff.UndefVal {
			return cleanText(string(tag.Val)), true
		}
		s, err := tag.StringVal()
		return cleanText(s), err == nil
	case asInt:
		v, err := tag.Int64(0)
		return strconv.FormatInt(v, 10), err == nil && tag.Count == 1
	}
	want := map[shape]uint32{asDegrees: 3, asClock: 3, asReal: 1}[as]
	if tag.Format() != tiff.RatVal || tag.Count != want {
		return "", false
	}
	var v [3]float64
	for i := range int(want) {
		num, den, err := tag.Rat2(i)
		if err != nil {
			return "", false
		}
		v[i] = float64(num) / float64(den)
	}
	return realText(as, v)
}

// readImagemeta reads with bep/imagemeta, which has limits of its own, from the raw bytes: the whole JPEG, so that it finds
// the segment by itself, or the TIFF block of other files. Only its typed values are used; its Tags helpers panic on some
// inputs.
func readImagemeta(r io.ReadSeeker, format imagemeta.ImageFormat) (out tagValues, err error) {
	out = tagValues{}
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("imagemeta: panic: %v", p)
		}
	}()
	names := map[string]exifTag{}
	for _, t := range exifTags() {
		names[imagemetaName(t.name)] = t
	}
	places := map[string]ifd{"IFD0": ifd0, "IFD0/ExifIFDP": ifdExif, "IFD0/GPSInfoIFD": ifdGPS}
	wanted := func(i imagemeta.TagInfo) (exifTag, bool) {
		t, ok := names[i.Tag]
		in, known := places[i.Namespace]
		return t, ok && known && in == t.in
	}
	_, err = imagemeta.Decode(imagemeta.Options{
		R: r, ImageFormat: format, Sources: imagemeta.EXIF,
		LimitNumTags: 2 * mostTags, LimitTagSize: 4096,
		ShouldHandleTag: func(i imagemeta.TagInfo) bool { _, ok := wanted(i); return ok },
		HandleTag: func(i imagemeta.TagInfo) error {
			if t, ok := wanted(i); ok {
				if _, seen := out[t.name]; !seen {
					if v, ok := imagemetaValue(i.Value, t.as); ok {
						out[t.name] = v
					}
				}
			}
			return nil
		},
	})
	if err != nil {
		err = fmt.Errorf("imagemeta: %w", err)
	}
	return out, err
}

// imagemetaName is the name the library gives a tag.
func imagemetaName(name string) string {
	switch name {
	case "DateTime":
		return "ModifyDate"
	case "DateTimeDigitized":
		return "CreateDate"
	}
	return name
}

func imagemetaValue(v any, as shape) (string, bool) {
	switch as {
	case asText:
		s, ok := v.(string)
		return cleanText(s), ok
	case asDigits:
		switch n := v.(type) {
		case int:
			return strconv.Itoa(n), true
		case string:
			return cleanText(n), true
		}
	case asInt:
		switch n := v.(type) {
		case uint16:
			return strconv.Itoa(int(n)), true
		case uint32:
			return strconv.FormatUint(uint64(n), 10), true
		case uint8:
			return strconv.Itoa(int(n)), true
		}
	case asDegrees:
		if f, ok := v.(float64); ok {
			return realText(asDegrees, [3]float64{f})
		}
	case asClock:
		s, _ := v.(string)
		part := strings.Split(s, ":")
		if len(part) != 3 {
			return "", false
		}
		var n [3]float64
		for i := range n {
			f, err := strconv.ParseFloat(part[i], 64)
			if err != nil {
				return "", false
			}
			n[i] = f
		}
		return realText(asClock, n)
	case asReal:
		if f, ok := v.(interface{ Float64() float64 }); ok {
			return realText(asReal, [3]float64{f.Float64()})
		}
	}
	return "", false
}
