package measure

// How edges are found in EdgeWidth.
const (
	edgeRows   = 5   // rows averaged along the edge, against noise
	leastRise  = 36  // grey levels from foot to top; fainter edges are not measured
	leastEdges = 40  // fewer in a direction say nothing
	edgeShare  = 0.1 // the sharpest tenth of the edges counts: only what is in focus has to be sharp
)

// EdgeWidth is how many pixels the sharper edges of the picture take from dark to bright: the rise of an edge divided by its
// steepest step, so 1 for a perfect step and 2.5 sigma under a Gaussian blur, whatever the contrast. That makes it comparable
// between pictures where LaplacianVariance is not (compare the no-reference blur measures of Marziliano et al., ICIP 2002).
// Rows and columns are measured apart and the wider result counts, because a moved camera blurs in one direction
// only; both is false when one direction has too few edges to tell, so that a movement along the others cannot be
// seen. width is 0 when there are too few edges at all.
func EdgeWidth(g Grey) (width float64, both bool) {
	if g.Empty() {
		return 0, false
	}
	across, okA := edgeWidths(g.W, g.H, func(x, y int) int32 { return int32(g.Pix[y*g.W+x]) })
	down, okD := edgeWidths(g.H, g.W, func(y, x int) int32 { return int32(g.Pix[y*g.W+x]) })
	return max(across, down), okA && okD
}

// edgeWidths measures the edges along lines of n pixels, of which there are lines.
func edgeWidths(n, lines int, at func(i, line int) int32) (float64, bool) {
	const scale, top = 16, 64 * 16 // widths in sixteenths of a pixel
	var count [top]int
	total := 0
	row := make([]int32, n)
	for line := 0; line+edgeRows <= lines; line += edgeRows {
		for i := range row {
			var v int32
			for k := range edgeRows {
				v += at(i, line+k)
			}
			row[i] = v
		}
		var rise, steepest int32
		end := func() {
			if rise >= leastRise*edgeRows || rise <= -leastRise*edgeRows {
				count[min(top-1, int(scale*rise/steepest))]++
				total++
			}
			rise, steepest = 0, 0
		}
		for i := 1; i < n; i++ {
			d := row[i] - row[i-1]
			if d > -edgeRows && d < edgeRows || rise > 0 != (d > 0) {
				end()
			}
			if d <= -edgeRows || d >= edgeRows {
				rise += d
				if steepest == 0 || d > 0 && d > steepest || d < 0 && d < steepest {
					steepest = d
				}
			}
		}
		end()
	}
	if total < leastEdges {
		return 0, false
	}
	want := int(edgeShare * float64(total))
	for w, c := range count {
		if want -= c; want < 0 {
			return (float64(w) + 0.5) / scale, true
		}
	}
	return float64(top) / scale, true
}
