package media

import "encoding/binary"

// mostMeta bounds the size of the "meta" box that is read; phones write some 5 kB.
const mostMeta = 4 << 20

// walkHEIF reads the boxes of a HEIF file (ISO/IEC 23008-12, ISO/IEC 14496-12 §8.11): the largest picture size that any item
// claims, and the Exif item. It checks that every item's bytes are in the file.
func walkHEIF(u *upload) (pictureHead, error) {
	h := pictureHead{perPixel: 30} // measured: 340 to 430 MB for 12 million pixels, of which most is the decoder's
	meta, err := findMeta(u)
	if err != nil {
		return h, err
	}
	var items map[uint32]string
	var places map[uint32][]extent
	var idat []byte
	err = boxes(meta[4:], func(name string, body []byte) error {
		var err error
		switch name {
		case "iinf":
			items, err = itemTypes(body)
		case "iloc":
			places, err = itemPlaces(body)
		case "idat":
			idat = body
		case "iprp":
			err = boxes(body, func(name string, body []byte) error {
				if name != "ipco" {
					return nil
				}
				return boxes(body, func(name string, body []byte) error {
					if name == "ispe" && len(body) >= 12 {
						w, ht := binary.BigEndian.Uint32(body[4:]), binary.BigEndian.Uint32(body[8:])
						if w > 1<<20 || ht > 1<<20 {
							w, ht = min(w, 1<<20), min(ht, 1<<20)
						}
						if int64(w)*int64(ht) > int64(h.width)*int64(h.height) {
							h.width, h.height = int(w), int(ht)
						}
					}
					return nil
				})
			})
		}
		return err
	})
	if err != nil {
		return h, errBoxes(u, err.Error())
	}
	if h.width == 0 || len(places) == 0 {
		return h, errBoxes(u, "no picture size or no items")
	}
	for id, list := range places {
		var total int64
		for _, x := range list {
			end := u.size
			if x.inIdat {
				end = int64(len(idat))
			}
			if x.at < 0 || x.length < 0 || x.at > end || x.length > end-x.at {
				return h, errBoxes(u, "an item lies outside the file")
			}
			total += x.length
		}
		if items[id] != "Exif" || h.exif != nil || total < 10 || total > mostBlock {
			continue
		}
		block := make([]byte, 0, total)
		for _, x := range list {
			if x.inIdat {
				block = append(block, idat[x.at:x.at+x.length]...)
				continue
			}
			part := make([]byte, x.length)
			if err := readExact(u.section(), part, x.at, errBoxes(u, "an item is cut off")); err != nil {
				return h, err
			}
			block = append(block, part...)
		}
		// The block begins with the distance from here to the TIFF header.
		if skip := int64(binary.BigEndian.Uint32(block)); skip < int64(len(block))-4 {
			h.exif = afterExifMark(block[4+skip:])
		}
	}
	return h, nil
}

// findMeta returns the body of the top-level "meta" box.
func findMeta(u *upload) ([]byte, error) {
	r := u.section()
	for at, n := int64(0), 0; at+8 <= u.size && n < 1000; n++ {
		var head [16]byte
		k := min(16, u.size-at)
		if err := readExact(r, head[:k], at, errBoxes(u, "a box is cut off")); err != nil {
			return nil, err
		}
		size, skip := int64(binary.BigEndian.Uint32(head[:4])), int64(8)
		switch {
		case size == 1 && k == 16:
			size, skip = int64(binary.BigEndian.Uint64(head[8:])&(1<<62-1)), 16
		case size == 0:
			size = u.size - at
		}
		if size < skip || size > u.size-at {
			return nil, errBoxes(u, "a box reaches past the end")
		}
		if string(head[4:8]) == "meta" {
			if size-skip < 4 || size > mostMeta {
				return nil, errBoxes(u, "the meta box has an impossible size")
			}
			body := make([]byte, size-skip)
			return body, readExact(r, body, at+skip, errBoxes(u, "the meta box is cut off"))
		}
		at += size
	}
	return nil, errBoxes(u, "there is no meta box")
}

type boxError string

func (e boxError) Error() string { return string(e) }

// boxes calls do for each box in b.
func boxes(b []byte, do func(name string, body []byte) error) error {
	for len(b) >= 8 {
		size := uint64(binary.BigEndian.Uint32(b))
		skip := uint64(8)
		if size == 0 {
			size = uint64(len(b))
		}
		if size == 1 && len(b) >= 16 {
			size, skip = binary.BigEndian.Uint64(b[8:]), 16
		}
		if size < skip || size > uint64(len(b)) {
			return boxError("a box reaches past the one around it")
		}
		if err := do(string(b[4:8]), b[skip:size]); err != nil {
			return err
		}
		b = b[size:]
	}
	return nil
}

// itemTypes reads "iinf": item id to four-letter type.
func itemTypes(b []byte) (map[uint32]string, error) {
	out := map[uint32]string{}
	skip := 6
	if len(b) > 0 && b[0] != 0 {
		skip = 8
	}
	if len(b) < skip {
		return nil, boxError("iinf is too short")
	}
	err := boxes(b[skip:], func(name string, body []byte) error {
		if name != "infe" || len(body) < 4 {
			return nil
		}
		switch {
		case body[0] == 2 && len(body) >= 12:
			out[uint32(binary.BigEndian.Uint16(body[4:]))] = string(body[8:12])
		case body[0] == 3 && len(body) >= 14:
			out[binary.BigEndian.Uint32(body[4:])] = string(body[10:14])
		}
		return nil
	})
	return out, err
}

// extent is a run of an item's bytes, in the file or in the "idat" box.
type extent struct {
	at, length int64
	inIdat     bool
}

// itemPlaces reads "iloc": where the bytes of each item are.
func itemPlaces(b []byte) (map[uint32][]extent, error) {
	c := cursor{b: b}
	version := c.number(1)
	c.number(3)
	sizes := c.number(2)
	offSize, lenSize, baseSize, indexSize := int(sizes>>12&15), int(sizes>>8&15), int(sizes>>4&15), int(sizes&15)
	if version == 0 {
		indexSize = 0
	}
	idSize := 2
	if version == 2 {
		idSize = 4
	}
	out := map[uint32][]extent{}
	count := c.number(idSize)
	for i := uint64(0); i < count && !c.short; i++ {
		id := uint32(c.number(idSize))
		method := uint64(0)
		if version > 0 {
			method = c.number(2) & 15
		}
		c.number(2)
		base := c.number(baseSize)
		n := c.number(2)
		for j := uint64(0); j < n && !c.short; j++ {
			c.number(indexSize)
			at, length := c.number(offSize)+base, c.number(lenSize)
			if method > 1 { // derived from another item: no bytes of its own
				continue
			}
			out[id] = append(out[id], extent{int64(at & (1<<63 - 1)), int64(length & (1<<63 - 1)), method == 1})
		}
	}
	if c.short {
		return nil, boxError("iloc is too short")
	}
	return out, nil
}

// cursor reads big-endian numbers and remembers when the bytes ran out.
type cursor struct {
	b     []byte
	short bool
}

func (c *cursor) number(bytes int) uint64 {
	if bytes > 8 || len(c.b) < bytes {
		c.short, c.b = true, nil
		return 0
	}
	var v uint64
	for _, x := range c.b[:bytes] {
		v = v<<8 | uint64(x)
	}
	c.b = c.b[bytes:]
	return v
}
