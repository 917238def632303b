package draw

import "math"

type pt struct{ x, y float64 }

func (p pt) add(q pt) pt              { return pt{p.x + q.x, p.y + q.y} }
func (p pt) sub(q pt) pt              { return pt{p.x - q.x, p.y - q.y} }
func (p pt) mul(k float64) pt         { return pt{p.x * k, p.y * k} }
func (p pt) len() float64             { return math.Hypot(p.x, p.y) }
func mixPt(a, b pt, t float64) pt     { return pt{a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t} }
func clamp(v, lo, hi float64) float64 { return max(lo, min(hi, v)) }
func lerp(a, b, t float64) float64    { return a + (b-a)*t }
func frac(v float64) float64          { return v - math.Floor(v) }

// wave is close to a sine, by two parabolas: -1..1, once up and down per turn.
func wave(turns float64) float64 {
	f := frac(turns) - 0.5
	return 16 * f * (math.Abs(f) - 0.5)
}

func smooth(lo, hi, v float64) float64 { t := clamp((v-lo)/(hi-lo), 0, 1); return t * t * (3 - 2*t) }

// vec is a place in a scene, in centimetres: x to the right, y up, z away from the camera.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec          { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec          { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) mul(k float64) vec      { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64      { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) unit() vec              { return a.mul(1 / math.Sqrt(a.dot(a))) }
func (a vec) cross(b vec) vec        { return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x} }
func mixVec(a, b vec, t float64) vec { return a.add(b.sub(a).mul(t)) }

// camera is a pinhole: focal in pixels, centre of the picture at cx, cy.
type camera struct {
	pos, right, up, fwd vec
	focal, cx, cy       float64
}

// look places a camera. fov is the angle across the picture's width, in degrees; roll turns the picture, in degrees.
func look(c *canvas, pos, at vec, fov, roll float64) camera {
	fwd := at.sub(pos).unit()
	right := vec{0, 1, 0}.cross(fwd).unit()
	up := fwd.cross(right)
	s, k := math.Sincos(roll * math.Pi / 180)
	right, up = right.mul(k).add(up.mul(s)), up.mul(k).sub(right.mul(s))
	w := float64(max(c.w, c.h))
	return camera{pos, right, up, fwd, w / 2 / math.Tan(fov*math.Pi/360), float64(c.w) / 2, float64(c.h) / 2}
}

const near = 2 // cm: nothing nearer is drawn

func (m *camera) eye(p vec) vec {
	d := p.sub(m.pos)
	return vec{d.dot(m.right), d.dot(m.up), d.dot(m.fwd)}
}

func (m *camera) screen(e vec) pt {
	return pt{m.cx + m.focal*e.x/e.z, m.cy - m.focal*e.y/e.z}
}

// at projects a place that lies in front of the camera.
func (m *camera) at(p vec) pt {
	e := m.eye(p)
	e.z = math.Max(e.z, near)
	return m.screen(e)
}

// scale is the size of one centimetre there, in pixels.
func (m *camera) scale(p vec) float64 { return m.focal / math.Max(m.eye(p).z, near) }

// polygon projects a flat polygon, cut off in front of the camera.
func (m *camera) polygon(ps ...vec) path {
	var out []pt
	for i, p := range ps {
		a, b := m.eye(p), m.eye(ps[(i+1)%len(ps)])
		if a.z >= near {
			out = append(out, m.screen(a))
		}
		if (a.z >= near) != (b.z >= near) {
			out = append(out, m.screen(mixVec(a, b, (near-a.z)/(b.z-a.z))))
		}
	}
	return path{out}
}

// plane carries drawing in its own coordinates onto the picture: a sheet of paper, a door, a floor.
type plane struct {
	m   [9]float64 // plane -> picture
	inv [9]float64 // picture -> plane
}

// plane makes the plane through o with the axes u and v (their lengths are one unit of the plane's coordinates).
func (m *camera) plane(o, u, v vec) plane {
	col := func(w vec, eye bool) [3]float64 {
		if eye {
			w = w.sub(m.pos)
		}
		x, y, z := w.dot(m.right), w.dot(m.up), w.dot(m.fwd)
		return [3]float64{m.focal*x + m.cx*z, -m.focal*y + m.cy*z, z}
	}
	a, b, c := col(u, false), col(v, false), col(o, true)
	p := plane{m: [9]float64{a[0], b[0], c[0], a[1], b[1], c[1], a[2], b[2], c[2]}}
	p.inv = invert(p.m)
	return p
}

func invert(m [9]float64) [9]float64 {
	c0, c1, c2 := m[4]*m[8]-m[5]*m[7], m[5]*m[6]-m[3]*m[8], m[3]*m[7]-m[4]*m[6]
	d := 1 / (m[0]*c0 + m[1]*c1 + m[2]*c2)
	return [9]float64{
		c0 * d, (m[2]*m[7] - m[1]*m[8]) * d, (m[1]*m[5] - m[2]*m[4]) * d,
		c1 * d, (m[0]*m[8] - m[2]*m[6]) * d, (m[2]*m[3] - m[0]*m[5]) * d,
		c2 * d, (m[1]*m[6] - m[0]*m[7]) * d, (m[0]*m[4] - m[1]*m[3]) * d,
	}
}

func apply(m *[9]float64, x, y float64) pt {
	w := 1 / (m[6]*x + m[7]*y + m[8])
	return pt{(m[0]*x + m[1]*y + m[2]) * w, (m[3]*x + m[4]*y + m[5]) * w}
}

func (p *plane) at(x, y float64) pt   { return apply(&p.m, x, y) }
func (p *plane) back(x, y float64) pt { return apply(&p.inv, x, y) }

// on carries a path of the plane onto the picture.
func (p *plane) on(q path) path {
	out := make(path, len(q))
	for i, sub := range q {
		out[i] = make([]pt, len(sub))
		for j, v := range sub {
			out[i][j] = p.at(v.x, v.y)
		}
	}
	return out
}

// scale is the length of one unit of the plane there, in pixels (along its first axis).
func (p *plane) scale(x, y float64) float64 {
	return p.at(x+0.5, y).sub(p.at(x-0.5, y)).len()
}
