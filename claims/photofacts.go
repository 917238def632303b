package claims

import (
	"context"
	"io"
)

// PhotoFacts is what an examination found out about an original's bytes: nothing typed, nothing assumed.
// It is a function of the bytes (and of the examiner's version), so it can be recomputed by anybody.
type PhotoFacts struct {
	Digest Digest `json:"digest"`
	Bytes  int64  `json:"bytes"`
	// Type is the sniffed media type: image/jpeg, image/png, image/webp, image/heic, application/pdf,
	// video/mp4, video/quicktime, audio/mp4, audio/webm ... never the one that was claimed.
	Type string `json:"type"`
	// Width and Height are in pixels as shown upright (after orientation); 0 when there is no picture.
	Width  int `json:"width,omitempty"`
	Height int `json:"height,omitempty"`
	// Orientation is the EXIF orientation 1..8; 0 = not said.
	Orientation int `json:"orientation,omitempty"`
	// Camera, Software: as written in the file, cut to a sane length.
	Camera   string `json:"camera,omitempty"`
	Software string `json:"software,omitempty"`
	// Taken is the EXIF capture time exactly as far as it goes: local date and time, sub-second digits, zone offset.
	Taken *ExifTime `json:"taken,omitempty"`
	// GPS is the EXIF position.
	GPS *Position `json:"gps,omitempty"`
	// Readers tells whether the two EXIF readers agree, tag by tag where they do not. Empty = agree.
	Disagreements []string `json:"disagreements,omitempty"`
	// Notes are plain sentences on what could not be read and why ("the EXIF block is damaged: ...").
	Notes []string `json:"notes,omitempty"`
	// Sharpness is the variance of the Laplacian of the grey view at the stated working width.
	Sharpness float64 `json:"sharpness,omitempty"`
	// DarkShare and BrightShare are the shares (0..1) of clipped dark and bright pixels, Mean the mean grey 0..255.
	DarkShare   float64 `json:"darkShare,omitempty"`
	BrightShare float64 `json:"brightShare,omitempty"`
	Mean        float64 `json:"mean,omitempty"`
	// Sharp, Dark, Bright are the verdicts drawn from the numbers: "yes", "no", "doubt"; empty = not examined.
	Sharp  string `json:"sharp,omitempty"`
	Dark   string `json:"dark,omitempty"`
	Bright string `json:"bright,omitempty"`
	// Fingerprint is a 64-bit perceptual hash as 16 hexadecimal digits; empty when there is no picture.
	Fingerprint string `json:"fingerprint,omitempty"`
	// Codes are the bar and QR codes found, when they were looked for.
	Codes []Code `json:"codes,omitempty"`
	// CodesSought is true when somebody looked for codes (so that none found means none found).
	CodesSought bool `json:"codesSought,omitempty"`
	// Examiner names the version of the examination.
	Examiner string `json:"examiner"`
}

// ExifTime is a capture time as EXIF has it. Without Offset the instant is unknown: it is never guessed.
type ExifTime struct {
	// Local is "YYYY-MM-DDThh:mm:ss".
	Local string `json:"local"`
	// Fraction holds the sub-second digits as written, without the point.
	Fraction string `json:"fraction,omitempty"`
	// Offset is "+hh:mm" or "-hh:mm"; empty = not in the file.
	Offset string `json:"offset,omitempty"`
	// GPSUTC is the GPS clock, "YYYY-MM-DDThh:mm:ssZ"; a cross-check on Offset.
	GPSUTC string `json:"gpsUTC,omitempty"`
}

// Position is a WGS 84 position in degrees; Accuracy is the reported radius in metres, 0 = not reported.
type Position struct {
	Lat      float64 `json:"lat"`
	Lon      float64 `json:"lon"`
	Accuracy float64 `json:"accuracy,omitempty"`
}

// Code is one bar or QR code read in a picture.
type Code struct {
	Format string `json:"format"`
	Text   string `json:"text"`
}

// Derived are the pictures made from an original; each is JPEG bytes, upright, without metadata. Nil when there
// is no picture to make (documents, clips).
type Derived struct {
	View  []byte // longest side 1600 px at most
	Thumb []byte // longest side 320 px at most
}

// Examiner looks at the bytes of an upload. It reads at most size bytes from r, bounds its memory and its time,
// and returns an *Error with a sentence for a person when the bytes are not an acceptable photo, document or clip.
// It never trusts a name or a claimed type, and never panics.
type Examiner interface {
	Examine(ctx context.Context, r io.ReaderAt, size int64) (PhotoFacts, Derived, error)
	// Codes looks for bar and QR codes; slow, so asked only for plates and labels.
	Codes(ctx context.Context, r io.ReaderAt, size int64) ([]Code, error)
}

// NoExtension is the ending of a file of which nothing is known.
const NoExtension = ".bin"

// Extension is the usual ending of a file's name for what the bytes are, never for what the uploader called them; NoExtension where
// nothing is known.
func (f *PhotoFacts) Extension() string {
	if f == nil {
		return NoExtension
	}
	switch f.Type {
	case "image/jpeg":
		return ".jpg"
	case "image/png":
		return ".png"
	case "image/webp":
		return ".webp"
	case "image/heic":
		return ".heic"
	case "application/pdf":
		return ".pdf"
	case "video/mp4":
		return ".mp4"
	case "video/quicktime":
		return ".mov"
	case "audio/mp4":
		return ".m4a"
	case "audio/webm":
		return ".webm"
	}
	return NoExtension
}
