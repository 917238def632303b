package align

// match is a pair of points that look alike: indexes into the corners of both pictures.
type match struct{ a, b int }

// ratio is how much nearer the best description must be than the next best one elsewhere (squared: distances are).
const ratio = 0.85 * 0.85

// matches pairs points whose descriptions are each other's nearest, and clearly nearer than the next.
func matches(a, b []corner) []match {
	var out []match
	for i := range a {
		j, ok := nearest(&a[i], b)
		if !ok {
			continue
		}
		if back, ok := nearest(&b[j], a); ok && near(a[back].at, a[i].at, sameSpot) {
			out = append(out, match{i, j})
		}
	}
	return out
}

// sameSpot is the distance in pixels within which two points are one place, found on two levels or with two directions.
const sameSpot = 4

func near(p, q point, d float64) bool {
	p = p.sub(q)
	return p.x*p.x+p.y*p.y <= d*d
}

// nearest finds the nearest description; ok is false when another place is about as near.
func nearest(c *corner, list []corner) (int, bool) {
	const far = 1 << 30
	best, second, at := int32(far), int32(far), -1
	for i := range list {
		d := distance(c, &list[i], second)
		switch {
		case d < best:
			if at < 0 || !near(list[at].at, list[i].at, sameSpot) {
				second = best
			}
			best, at = d, i
		case d < second && !near(list[at].at, list[i].at, sameSpot):
			second = d
		}
	}
	return at, at >= 0 && second < far && float64(best) < ratio*float64(second)
}

// distance is the squared distance, or something above limit as soon as it is. Most are told apart by their summaries: by the
// inequality of Cauchy and Schwarz, the squared distance is at least that of the sums divided by how many each sums up.
func distance(a, b *corner, limit int32) int32 {
	var sum int32
	for i, v := range a.summary {
		d := v - b.summary[i]
		sum += d * d
	}
	if sum/directions > limit {
		return sum / directions
	}
	sum = 0
	for k := 0; k < dims; k += 16 {
		x, y := a.sign[k:][:16], b.sign[k:][:16]
		for i, v := range x {
			d := int32(v) - int32(y[i])
			sum += d * d
		}
		if sum > limit {
			return sum
		}
	}
	return sum
}

func summed(sign *[dims]uint8) (out [cells * cells]int32) {
	for i, v := range sign {
		out[i/directions] += int32(v)
	}
	return out
}
