package media

// Fixed-point inverse cosine transforms, 13 bits behind the point.

func toPixel(v int32) uint8 {
	v += 128
	if uint32(v) > 255 {
		if v < 0 {
			return 0
		}
		return 255
	}
	return uint8(v)
}

// flat fills an n x n block from its constant term alone.
func flat(dc int32, out []uint8, stride, n int) {
	v := toPixel((dc + 4) >> 3)
	for y := range n {
		row := out[y*stride:][:n]
		for x := range row {
			row[x] = v
		}
	}
}

// idct4 makes 4 x 4 samples from the 4 x 4 lowest frequencies of an 8 x 8 block: the block as it looks at half size. top is the
// last zigzag index that is not zero.
func idct4(c *[64]int32, top int, out []uint8, stride int) {
	if top == 0 {
		flat(c[0], out, stride, 4)
		return
	}
	// sqrt(1/2) cos(pi/8) and sqrt(1/2) cos(3 pi/8), 13 bits.
	const c1, c3 = 5352, 2217
	var t [16]int32
	for x := range 4 {
		f0, f1, f2, f3 := c[x], c[8+x], c[16+x], c[24+x]
		e0, e1 := (f0+f2)<<12, (f0-f2)<<12
		o0, o1 := c1*f1+c3*f3, c3*f1-c1*f3
		const half = 1 << 9
		t[x], t[4+x] = (e0+o0+half)>>10, (e1+o1+half)>>10
		t[8+x], t[12+x] = (e1-o1+half)>>10, (e0-o0+half)>>10
	}
	for y := range 4 {
		f0, f1, f2, f3 := t[4*y], t[4*y+1], t[4*y+2], t[4*y+3]
		e0, e1 := (f0+f2)<<12, (f0-f2)<<12
		o0, o1 := c1*f1+c3*f3, c3*f1-c1*f3
		// 13 bits, 3 left from the columns, and one for the half.
		const shift, half = 17, 1 << 16
		row := out[y*stride:][:4]
		row[0], row[1] = toPixel((e0+o0+half)>>shift), toPixel((e1+o1+half)>>shift)
		row[2], row[3] = toPixel((e1-o1+half)>>shift), toPixel((e0-o0+half)>>shift)
	}
}

// idct8 is the transform of Loeffler, Ligtenberg and Moschytz (ICASSP 1989), columns first.
func idct8(c *[64]int32, top int, out []uint8, stride int) {
	if top == 0 {
		flat(c[0], out, stride, 8)
		return
	}
	var t [64]int32
	for x := range 8 {
		if top < 36 && c[8+x]|c[16+x]|c[24+x]|c[32+x]|c[40+x]|c[48+x]|c[56+x] == 0 {
			v := c[x] << 2
			for y := range 8 {
				t[8*y+x] = v
			}
			continue
		}
		var r [8]int32
		lines8(&r, c[x], c[8+x], c[16+x], c[24+x], c[32+x], c[40+x], c[48+x], c[56+x])
		for y, v := range r {
			t[8*y+x] = (v + 1<<10) >> 11
		}
	}
	for y := range 8 {
		var r [8]int32
		s := t[8*y:][:8]
		lines8(&r, s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7])
		row := out[y*stride:][:8]
		for x, v := range r {
			row[x] = toPixel((v + 1<<17) >> 18)
		}
	}
}

// lines8 transforms eight values, scaled by sqrt(8) and 2^13.
func lines8(r *[8]int32, s0, s1, s2, s3, s4, s5, s6, s7 int32) {
	z1 := (s2 + s6) * 4433
	e2 := z1 - s6*15137
	e3 := z1 + s2*6270
	e0, e1 := (s0+s4)<<13, (s0-s4)<<13
	a0, a3, a1, a2 := e0+e3, e0-e3, e1+e2, e1-e2

	y1, y2, y3, y4 := s7+s1, s5+s3, s7+s3, s5+s1
	y5 := (y3 + y4) * 9633
	o0, o1, o2, o3 := s7*2446, s5*16819, s3*25172, s1*12299
	y1, y2 = -y1*7373, -y2*20995
	y3, y4 = -y3*16069+y5, -y4*3196+y5
	o0 += y1 + y3
	o1 += y2 + y4
	o2 += y2 + y3
	o3 += y1 + y4

	r[0], r[7] = a0+o3, a0-o3
	r[1], r[6] = a1+o2, a1-o2
	r[2], r[5] = a2+o1, a2-o1
	r[3], r[4] = a3+o0, a3-o0
}
