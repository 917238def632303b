package media

import (
	"bufio"
	"bytes"
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
	if p.plain {
		if made, err := e.photoFast(u, p, f); !errors.Is(err, errNotFast) {
			return made, err
		}
	}
	img, release, err := e.picture(u, p, f)
	if err != nil || img == nil {
		return claims.Derived{}, err
	}
	defer release()
	orientation := f.Orientation
	if u.kind.mime == mimeHEIC {
		orientation = 1 // its decoder has turned the picture upright already
	}
	return derive(img, orientation, f)
}

// photoFast is the short way for plain baseline JPEGs: see fastjpeg.go and planar.go. With errNotFast nothing has happened.
func (e *Examiner) photoFast(u *upload, p plan, f *claims.PhotoFacts) (claims.Derived, error) {
	if err := e.take(u.ctx, e.memory, p.cost); err != nil {
		return claims.Derived{}, err
	}
	defer e.memory.Release(p.cost)
	data := make([]byte, u.size)
	if n, err := u.section().ReadAt(data, 0); n < len(data) {
		return claims.Derived{}, fmt.Errorf("read the upload: %w", err)
	}
	u.src = bytes.NewReader(data) // the digest need not read the disk again
	img, err := decodeFast(data, max(p.width, p.height) >= 2*viewSide)
	if err != nil {
		return claims.Derived{}, err
	}
	if err := u.ctx.Err(); err != nil {
		return claims.Derived{}, err
	}
	return derivePlanar(img, p.width, p.height, f.Orientation, f)
}

// picture decodes the picture within the memory that all decodes share; release gives it back. A picture that is kept but
// cannot be shown is nil, with a note and without an error.
func (e *Examiner) picture(u *upload, p plan, f *claims.PhotoFacts) (img image.Image, release func(), err error) {
	if u.kind.mime == mimeHEIC {
		return e.pictureHEIC(u, p, f)
	}
	if err := e.take(u.ctx, e.memory, p.cost); err != nil {
		return nil, nil, err
	}
	release = func() { e.memory.Release(p.cost) }
	img, err = decode(u)
	if err != nil {
		release()
		return nil, nil, decodeFault(u, p, err)
	}
	return img, release, nil
}

// plan is what the header says about a picture before it is decoded.
type plan struct {
	width, height int
	cost          int64 // bytes the decoder and the scaling will take at most
	most          int   // pixels
	scan          int64 // where the compressed picture begins (JPEG)
	plain         bool  // a baseline JPEG: worth the short way
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
		p.width, p.height, p.cost, p.scan, block = h.width, h.height, h.cost(), h.scan, h.exif
		p.plain = h.sof == 0xc0 || h.sof == 0xc1
		p.cost += u.size
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
func decodeFault(u *upload, p plan, err error) error {
	var own *claims.Error
	if u.ctx.Err() != nil || errors.As(err, &own) {
		return err
	}
	cut := errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || strings.Contains(err.Error(), "unexpected EOF")
	if cut || u.kind.mime == mimeJPEG && !endsProperly(u, p.scan) {
		return &claims.Error{Code: claims.Invalid, Err: err,
			Says: fmt.Sprintf("The photo is cut off: %s have arrived, and the rest of the picture is missing. Send it again, or take it again.", inMB(u.size))}
	}
	return &claims.Error{Code: claims.Invalid, Err: err, Says: "The photo is damaged and cannot be shown. Send it again, or take it again."}
}

// endsProperly reports whether a JPEG has its end marker among its last bytes, behind the beginning of the picture.
func endsProperly(u *upload, scan int64) bool {
	from := max(scan, u.size-64<<10)
	tail := make([]byte, max(0, u.size-from))
	n, _ := u.section().ReadAt(tail, from)
	return bytes.Contains(tail[:n], []byte{0xff, 0xd9})
}

// upright returns the size of a picture after its EXIF orientation has been applied.
func upright(w, h, orientation int) (int, int) {
	if orientation >= 5 && orientation <= 8 {
		return h, w
	}
	return w, h
}
