package demo

import "math"

// sign draws a name as a pen would leave it on the screen: loops that differ from name to name. The box is 1000 units
// wide; each stroke is a list of x, y.
func sign(name string) [][]int {
	var strokes [][]int
	x, h := 90.0, uint32(2166136261)
	var line []int
	put := func(px, py float64) { line = append(line, int(math.Round(px)), int(math.Round(py))) }
	lift := func() {
		if len(line) >= 4 {
			strokes = append(strokes, line)
		}
		line = nil
	}
	for i, r := range name {
		h = (h ^ uint32(r)) * 16777619
		if r == ' ' || r == '.' {
			lift()
			x += 34
			continue
		}
		tall := 26 + float64(h>>8%40)
		if i == 0 {
			tall = 120
		}
		wide := 22 + float64(h>>16%18)
		turn := 1.4 + float64(h>>24%5)*0.22
		for k := range 12 {
			t := float64(k) / 11
			put(x+wide*t*1.25-wide*0.28*math.Sin(2*math.Pi*t*turn), 190-tall*math.Sin(math.Pi*t)*(0.62+0.38*math.Cos(2*math.Pi*t*turn)))
		}
		x += wide * 1.1
	}
	lift()
	// the flourish below
	for k := range 16 {
		t := float64(k) / 15
		put(120+t*(x-60), 232-26*math.Sin(math.Pi*t)+6*math.Sin(9*t))
	}
	lift()
	return strokes
}
