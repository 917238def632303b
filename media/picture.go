package media

import (
	"bufio"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"strings"

	"golang.org/x/image/webp"

	"kickplate/claims"
)

// photo decodes a picture once and takes everything from it.
func (e *Examiner) photo(u *upload, f *claims.PhotoFacts) (claims.Derived, error) {
	p, err := e.look(u, f)
	if err != nil {
		return claims.Derived{}, err
	}
	if u.kind.mime == mimeHEIC {
		return e.photoHEIC(u, p, f)
	}
	release, err := e.reserve(u, p)
	if err != nil {
		return claims.Derived{}, err
	}
	defer release()
	img, err := decode(u)
	if err != nil {
		return claims.Derived{}, decodeFault(u, err)
	}
	return derive(img, f.Orientation, f)
}

// plan is what the header says about a picture before it is decoded.
type plan struct {
	width, height int
	cost          int64 // bytes the decoder and the scaling will take at most
	most          int   // pixels
}

// look reads the headers: size, cost, the camera's data. It refuses pictures beyond the limits.
func (e *Examiner) look(u *upload, f *claims.PhotoFacts) (plan, error) {
	p := plan{most: e.opt.MaxPixels}
	var block []byte
	var whole io.ReadSeeker
	switch u.kind.mime {
	case mimeJPEG:
		h, err := walkJPEG(u)
		if err != nil {
			return p, err
		}
		if h.sof == 0 {
			return p, claims.Errorf(claims.Invalid, "The photo is damaged: it has no picture header. Send it again, or take it again.")
		}
		p.width, p.height, p.cost, block = h.width, h.height, h.cost(), h.exif
		if block != nil {
			whole = io.NewSectionReader(u.section(), 0, h.scan)
		}
	case mimePNG:
		h, err := walkPNG(u)
		if err != nil {
			return p, err
		}
		p.width, p.height, p.cost, block = h.width, h.height, h.cost(), h.exif
	case mimeWebP:
		h, err := walkWebP(u)
		if err != nil {
			return p, err
		}
		p.width, p.height, p.cost, block = h.width, h.height, h.cost(), h.exif
	case mimeHEIC:
		h, err := walkHEIF(u)
		if err != nil {
			return p, err
		}
		p.width, p.height, p.cost, block = h.width, h.height, h.cost(), h.exif
		p.most = min(p.most, e.opt.MaxHEICPixels)
	}
	if p.width > e.opt.MaxSide || p.height > e.opt.MaxSide || int64(p.width)*int64(p.height) > int64(p.most) {
		return p, claims.Errorf(claims.TooLarge, "The photo claims to have %d × %d pixels; at most %d million, and %d along a side, can be taken. Take it with a smaller resolution.",
			p.width, p.height, p.most/1_000_000, e.opt.MaxSide)
	}
	// Scaling keeps one band of the picture's height and the view.
	p.cost += 4*viewSide*int64(p.height) + 6*4*viewSide*viewSide
	if p.cost > e.opt.Memory && u.kind.mime != mimeHEIC {
		return p, claims.Errorf(claims.TooLarge, "The photo (%d × %d pixels) needs more memory to be read than is allowed. Take it with a smaller resolution, or as an ordinary JPEG.", p.width, p.height)
	}
	cameraFacts(block, whole, f)
	f.Width, f.Height = upright(p.width, p.height, f.Orientation)
	return p, nil
}

// reserve takes the picture's share of the memory that all decodes have together.
func (e *Examiner) reserve(u *upload, p plan) (release func(), err error) {
	if err := e.take(u.ctx, e.memory, p.cost); err != nil {
		return nil, err
	}
	return func() { e.memory.Release(p.cost) }, nil
}

// decode runs the one decoder for the kind of file. It returns NRGBA without transparency, YCbCr or Gray, with its corner
// at 0,0.
func decode(u *upload) (img image.Image, err error) {
	defer func() {
		if p := recover(); p != nil {
			img, err = nil, panicked(p)
		}
	}()
	r := bufio.NewReaderSize(u.section(), 64<<10)
	switch u.kind.mime {
	case mimeJPEG:
		img, err = jpeg.Decode(r)
	case mimePNG:
		img, err = png.Decode(r)
	case mimeWebP:
		img, err = webp.Decode(r)
	default:
		return nil, fmt.Errorf("no decoder for %s", u.kind.mime)
	}
	if err != nil {
		return nil, err
	}
	return normalise(img)
}

// decodeFault is the sentence for a picture that could not be decoded.
func decodeFault(u *upload, err error) error {
	var own *claims.Error
	if u.ctx.Err() != nil || errors.As(err, &own) {
		return err
	}
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || strings.Contains(err.Error(), "unexpected EOF") {
		return &claims.Error{Code: claims.Invalid, Err: err,
			Says: fmt.Sprintf("The photo is cut off: %s have arrived, and the rest of the picture is missing. Send it again, or take it again.", inMB(u.size))}
	}
	return &claims.Error{Code: claims.Invalid, Err: err, Says: "The photo is damaged and cannot be shown. Send it again, or take it again."}
}

// upright returns the size of a picture after its EXIF orientation has been applied.
func upright(w, h, orientation int) (int, int) {
	if orientation >= 5 && orientation <= 8 {
		return h, w
	}
	return w, h
}
