package media

import (
	"errors"
	"fmt"
	"image"
	"io"

	"github.com/gen2brain/heic"

	"kickplate/claims"
)

// pictureHEIC decodes a HEIC photo in its own slot, one at a time. The decoder cannot be interrupted, so it may outlive the
// examination; its slot and memory stay taken until it is done. A HEIC photo whose structure is whole but which the
// decoder does not know, or which is too large for it, is kept, without a view and with a note.
func (e *Examiner) pictureHEIC(u *upload, p plan, f *claims.PhotoFacts) (image.Image, func(), error) {
	if p.cost > e.opt.Memory {
		f.Notes = append(f.Notes, fmt.Sprintf("This HEIC photo (%d × %d pixels) is too large to be shown here. The original is kept as it is; send a JPEG as well if the picture must be seen.", p.width, p.height))
		return nil, nil, nil
	}
	if err := e.take(u.ctx, e.heic, 1); err != nil {
		return nil, nil, err
	}
	if err := e.take(u.ctx, e.memory, p.cost); err != nil {
		e.heic.Release(1)
		return nil, nil, err
	}
	result := make(chan decoded, 1)
	go func() {
		d := decodeHEIC(u)
		// The decoder's own memory is most of the cost, and free by now.
		e.memory.Release(p.cost)
		e.heic.Release(1)
		result <- d
	}()
	select {
	case <-u.ctx.Done():
		return nil, nil, u.ctx.Err()
	case d := <-result:
		if d.err != nil {
			f.Notes = append(f.Notes, "This HEIC photo cannot be shown here (its kind is not known to the decoder). The original is kept as it is; send a JPEG as well if the picture must be seen.")
			return nil, nil, nil
		}
		return d.img, func() {}, nil
	}
}

type decoded struct {
	img image.Image
	err error
}

// decodeHEIC runs the HEIC decoder in its WebAssembly sandbox, where a hostile file can spoil nothing but its own picture.
// The library prefers a libheif of the system when it finds one, which would read foreign bytes inside this process: then
// nothing is decoded. Building with -tags nodynamic leaves that path out altogether.
func decodeHEIC(u *upload) (d decoded) {
	defer func() {
		if p := recover(); p != nil {
			d = decoded{err: panicked(p)}
		}
	}()
	if heic.Dynamic() == nil {
		return decoded{err: errors.New("heic: only the system's libheif is there; build with -tags nodynamic")}
	}
	img, err := heic.Decode(io.NewSectionReader(u.src, 0, u.size))
	if err != nil {
		return decoded{err: fmt.Errorf("heic: %w", err)}
	}
	img, err = normalise(img)
	return decoded{img: img, err: err}
}
