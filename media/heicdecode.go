package media

import (
	"errors"
	"fmt"
	"image"
	"io"

	"github.com/gen2brain/heic"
)

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
