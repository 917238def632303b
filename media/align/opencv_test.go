package align_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/media/align"
)

// known is a pair that OpenCV made with a known transform, and how far off OpenCV's own ways of lining up are: the largest
// distance in pixels, over what both pictures show; nil = not lined up.
type known struct {
	Condition      string
	Known          [9]float64
	W, H           float64
	Orb, Sift, Ecc *float64
}

// The pictures are made by OpenCV (cv2.warpPerspective) with a transform that is known, and what Align finds is compared with
// it, and with what OpenCV's ORB and SIFT with RANSAC, and ECC, find on the same pictures.
func knownPairs(t *testing.T, step int) (list []known, ours []align.Result) {
	dir := t.TempDir()
	for i := range uint64(len(kinds)) {
		writePNG(t, filepath.Join(dir, fmt.Sprintf("base-d%d.png", i)), drawScene(i, 1200, 900))
	}
	for i, n := range cameraPhotos() {
		writePNG(t, filepath.Join(dir, fmt.Sprintf("base-r%d.png", i)), readPhoto(t, n))
	}
	// Not the first python3 of the path: python3-opencv belongs to the system's.
	cmd := exec.Command("/usr/bin/python3", "testdata/pairs.py", dir, fmt.Sprint(step))
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoError(t, cmd.Run(), "this test needs OpenCV: apt-get install python3-opencv\n%s", &errs)
	require.NoError(t, json.Unmarshal(out.Bytes(), &list))
	require.NotEmpty(t, list)
	for i := range list {
		var p [2]align.Picture
		for j, s := range []string{"a", "b"} {
			data, err := os.ReadFile(filepath.Join(dir, fmt.Sprintf("pair-%d-%s.png", i, s)))
			require.NoError(t, err)
			img, err := png.Decode(bytes.NewReader(data))
			require.NoError(t, err)
			p[j].View = greyOf(img)
		}
		ours = append(ours, align.Align(p[0], p[1]))
	}
	return list, ours
}

// off is how far the result is from the known transform at most, over what both pictures show, in pixels.
func off(k known, r align.Result) float64 {
	var worst float64
	for y := range 9 {
		for x := range 9 {
			px, py := float64(x)*k.W/8, float64(y)*k.H/8
			qx, qy := carry(k.Known, px, py)
			if qx < 0 || qy < 0 || qx > k.W || qy > k.H {
				continue
			}
			bx, by := carry(r.Transform, qx, qy)
			worst = max(worst, math.Hypot(bx-px, by-py))
		}
	}
	return worst
}

func carry(m [9]float64, x, y float64) (float64, float64) {
	w := m[6]*x + m[7]*y + m[8]
	return (m[0]*x + m[1]*y + m[2]) / w, (m[3]*x + m[4]*y + m[5]) / w
}

// mostOff is the promise for pairs like these: places are at most so far off, as a share of the picture's width.
const mostOff = 0.004

func TestKnownTransforms(t *testing.T) {
	list, ours := knownPairs(t, 19)
	for i, k := range list {
		t.Run(fmt.Sprint(i, " ", k.Condition), func(t *testing.T) {
			r := ours[i]
			require.True(t, r.Aligned, "%+v", r)
			assert.Less(t, off(k, r), mostOff*k.W, "px off")
			assert.Less(t, r.Residual, 0.01*k.W)
			switch k.Condition {
			case "a quarter covered":
				assert.NotEmpty(t, r.Changed)
			case "nothing":
				assert.Empty(t, r.Changed)
			}
		})
	}
}

type counts struct {
	n, found, wrong  int
	ours, residual   []float64
	orb, sift, ecc   []float64
	orbN, siftN, ecN int
	changed          int
}

// knownTable writes the part of MATCHING.md about pairs whose transform is known.
func knownTable(t *testing.T, doc *strings.Builder) {
	list, ours := knownPairs(t, 2)
	rows := map[string]*counts{}
	var order []string
	all := &counts{}
	theirs := func(e *float64, k known, n *int, d *[]float64) {
		if e != nil && *e < 0.02*k.W {
			*n++
			*d = append(*d, 100**e/k.W)
		}
	}
	for i, k := range list {
		if rows[k.Condition] == nil {
			rows[k.Condition] = &counts{}
			order = append(order, k.Condition)
		}
		for _, c := range []*counts{rows[k.Condition], all} {
			c.n++
			theirs(k.Orb, k, &c.orbN, &c.orb)
			theirs(k.Sift, k, &c.siftN, &c.sift)
			theirs(k.Ecc, k, &c.ecN, &c.ecc)
			if r := ours[i]; r.Aligned {
				e := off(k, r)
				c.found++
				if e > 0.02*k.W {
					c.wrong++
				}
				c.ours, c.residual = append(c.ours, 100*e/k.W), append(c.residual, 100*r.Residual/k.W)
				if len(r.Changed) > 0 {
					c.changed++
				}
			}
		}
	}
	row := func(name string, c *counts) {
		cell := func(n int, d []float64) string {
			if n == 0 {
				return "0"
			}
			return fmt.Sprintf("%d: %.2f, %.2f", n, percentile(d, 0.5), percentile(d, 1))
		}
		fmt.Fprintf(doc, "| %s | %d | %s | %d | %.2f | %d | %s | %s | %s |\n", name, c.n, cell(c.found, c.ours), c.wrong, percentile(c.residual, 0.5), c.changed,
			cell(c.orbN, c.orb), cell(c.siftN, c.sift), cell(c.ecN, c.ecc))
	}
	doc.WriteString(knownHead)
	for _, name := range order {
		row(name, rows[name])
	}
	row("**all**", all)
	fmt.Fprintf(doc, "\nTrue matches: %d of %d pairs of one scene are lined up, %d of them wrongly.\n", all.found, all.n, all.wrong)
	assert.Zero(t, all.wrong)
	assert.GreaterOrEqual(t, float64(all.found), 0.95*float64(all.n))
}

func percentile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[int(p*float64(len(s)-1)+0.5)]
}
