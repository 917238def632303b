package measure

// LaplacianVariance is the variance of the Laplacian: how much the brightness of neighbouring pixels jumps. Pech-Pacheco
// et al., ICPR 2000, 3:314-317. It follows OpenCV: kernel 0 1 0 / 1 -4 1 / 0 1 0 (ksize 1), border reflect-101,
// population variance. There is no universal threshold for it: see Judge.
func LaplacianVariance(g Grey) float64 {
	if g.Empty() {
		return 0
	}
	sum, sq := laplacian(g, 0, 0, g.W, g.H)
	return variance(sum, sq, g.W*g.H)
}

// laplacian sums the Laplacian and its square over the pixels x0..x1, y0..y1.
func laplacian(g Grey, x0, y0, x1, y1 int) (sum, sq int64) {
	for y := y0; y < y1; y++ {
		up, row, down := g.Pix[mirror(y-1, g.H)*g.W:][:g.W], g.Pix[y*g.W:][:g.W], g.Pix[mirror(y+1, g.H)*g.W:][:g.W]
		at := func(x int) {
			v := int64(up[x]) + int64(down[x]) + int64(row[mirror(x-1, g.W)]) + int64(row[mirror(x+1, g.W)]) - 4*int64(row[x])
			sum += v
			sq += v * v
		}
		from, to := x0, x1
		if from == 0 {
			at(0)
			from = 1
		}
		if to == g.W && to > from {
			at(g.W - 1)
			to--
		}
		if from >= to {
			continue
		}
		left, mid, right := row[from-1:to-1], row[from:to], row[from+1:to+1]
		above, below := up[from:to], down[from:to]
		for i := range mid {
			v := int64(int32(above[i]) + int32(below[i]) + int32(left[i]) + int32(right[i]) - 4*int32(mid[i]))
			sum += v
			sq += v * v
		}
	}
	return sum, sq
}

// mirror is reflect-101: …2 1 | 0 1 2…
func mirror(i, n int) int {
	switch {
	case n == 1:
		return 0
	case i < 0:
		return -i
	case i >= n:
		return 2*n - 2 - i
	}
	return i
}

func variance(sum, sq int64, n int) float64 {
	if n == 0 {
		return 0
	}
	mean := float64(sum) / float64(n)
	return float64(sq)/float64(n) - mean*mean
}
