package demo

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/media/align"
	"kickplate/media/measure"
	"kickplate/server/demo/draw"
)

var update = flag.Bool("update", false, "measure all pairs and write the demo's part of media/align/MATCHING.md anew")

const (
	matchingPage = "../../media/align/MATCHING.md"
	demoPart     = "\n## The demo's photos\n"
)

const demoHead = demoPart + `
Written by TestDemoMatching (` + "`go test ./server/demo -run TestDemoMatching -update`" + `). Every second pair of the day's photos of two different jobs. A pair counts as
false when Align lays one over the other. Photos of one subject are drawn alike (two plates are one printed form with other numbers, two meters are the same meter, two
kitchens have the same tiles and cupboards), so they are counted apart: lining such things up is right as far as pixels go, and it's why only photos of one job are ever
laid over each other.

| pairs | number | lined up | held back by the second gate | most places that agree in the rest |
|---|---|---|---|---|
`

const againHead = `
Scenes photographed twice by the studio (another hand, light and noise; rooms are seen from up to 38 cm to either side, so that near and far things move
against each other):

| scene | pairs | lined up | agreement | residual, ‰ of the width |
|---|---|---|---|---|
`

// small decodes a photo to the grey picture that is compared; a photo on its side stays so.
func small(t testing.TB, data []byte) align.Picture {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	y := img.(*image.YCbCr)
	g := measure.FromLuma(y.Y, y.YStride, y.Rect.Dx(), y.Rect.Dy())
	return align.Picture{View: g.Reduce(g.W*2/5, g.H*2/5), Width: g.W, Height: g.H}
}

// againScenes are scenes to photograph twice; same means that the picture hardly changes with the hand.
func againScenes() []struct {
	name  string
	scene draw.Scene
} {
	return []struct {
		name  string
		scene draw.Scene
	}{
		{"rating plate", draw.Plate{Maker: "PELLWORROW", Kind: "REFRIGERATOR-FREEZER", Model: "PW-RF2214S", Serial: "PW4418A07265", Made: "2025-02", Lines: []string{"120 V ~  60 Hz  6.5 A"}}},
		{"part label", draw.Label{Maker: "PELLWORROW", Number: "PW-DH-30214", Title: "DEFROST HEATER ASSY", Lines: []string{"120 V  450 W"}}},
		{"freezer compartment", draw.Compartment{Freezer: true, Empty: true, Melted: true}},
		{"fresh food compartment", draw.Compartment{Look: 1}},
		{"coil", draw.Coil{Frost: 0.7}},
		{"damage close", draw.DamageClose{Kind: "melted"}},
		{"chipped trough close", draw.DamageClose{Kind: "chipped"}},
		{"tub", draw.Tub{}},
		{"oven", draw.Oven{}},
		{"kitchen", draw.Room{Unit: "refrigerator", Place: "kitchen", Maker: "M"}},
		{"kitchen floor", draw.Room{Unit: "dishwasher", Place: "kitchen", Maker: "M", Look: 2, Low: true}},
		{"laundry", draw.Room{Unit: "washer", Place: "laundry", Maker: "M"}},
	}
}

// twice photographs every scene n times with another hand each and lines the first up with the others.
func twice(t *testing.T, scenes []struct {
	name  string
	scene draw.Scene
}, n uint64, say func(name string, r []align.Result, width int)) {
	s, err := draw.NewStudio(7)
	require.NoError(t, err)
	for _, c := range scenes {
		var list []align.Picture
		for seed := range n {
			data, err := s.Photo(c.scene, draw.Shot{Seed: 40 + seed, Gain: 1 - 0.08*float64(seed)})
			require.NoError(t, err)
			list = append(list, small(t, data))
		}
		var got []align.Result
		for _, second := range list[1:] {
			got = append(got, align.Align(list[0], second))
		}
		say(c.name, got, list[0].Width)
	}
}

func TestDemoMatching(t *testing.T) {
	if *update {
		var doc strings.Builder
		doc.WriteString(demoHead)
		apart, like := unrelatedPairs(t, 2)
		for _, r := range []struct {
			name string
			c    pairCounts
		}{{"of different subjects", apart}, {"of one subject, drawn alike", like}} {
			fmt.Fprintf(&doc, "| %s | %d | %d | %d | %d |\n", r.name, r.c.n, r.c.aligned, r.c.gated, r.c.most)
		}
		fmt.Fprintf(&doc, "\nFalse matches: %d of %d pairs of different subjects.\n", apart.aligned, apart.n)
		assert.Zero(t, apart.aligned)
		doc.WriteString(againHead)
		twice(t, againScenes(), 4, func(name string, list []align.Result, width int) {
			found := 0
			var agree, residual []string
			for _, r := range list {
				if r.Aligned {
					found++
					agree, residual = append(agree, fmt.Sprintf("%.2f", r.Agreement)), append(residual, fmt.Sprintf("%.1f", 1000*r.Residual/float64(width)))
				}
			}
			fmt.Fprintf(&doc, "| %s | %d | %d | %s | %s |\n", name, len(list), found, strings.Join(agree, ", "), strings.Join(residual, ", "))
		})
		have, err := os.ReadFile(matchingPage)
		require.NoError(t, err)
		own, _, found := strings.Cut(string(have), demoPart)
		require.True(t, found)
		require.NoError(t, os.WriteFile(matchingPage, []byte(own+doc.String()), 0o644))
	}
	have, err := os.ReadFile(matchingPage)
	require.NoError(t, err)
	assert.Contains(t, string(have), "False matches: 0 of")
	assert.Contains(t, string(have), strings.TrimSpace(againHead))
}

type pairCounts struct{ n, aligned, gated, most int }

// unrelatedPairs lines up photos of different jobs, each step-th pair: of different subjects, and of one.
func unrelatedPairs(t *testing.T, step int) (apart, alike pairCounts) {
	all := photos(t)
	pictures := make([]*align.Looked, len(all))
	look := func(i int) *align.Looked {
		if pictures[i] == nil {
			pictures[i] = align.Look(small(t, all[i].bytes))
		}
		return pictures[i]
	}
	k := 0
	for i := range all {
		for j := range i {
			if all[i].job == all[j].job {
				continue
			}
			if k++; k%step != 0 {
				continue
			}
			c := &apart
			if drawnAlike(all[i].body.Subject) == drawnAlike(all[j].body.Subject) {
				c = &alike
			}
			c.n++
			r := look(i).Align(look(j))
			switch {
			case r.Aligned:
				c.aligned++
				t.Logf("%s (%s) lies over %s (%s): %d places, agreement %.2f", all[i].body.Name, all[i].body.Subject, all[j].body.Name, all[j].body.Subject, r.Points, r.Agreement)
			case r.Why == align.Disagree:
				c.gated++
			default:
				c.most = max(c.most, r.Points)
			}
		}
	}
	return apart, alike
}

// drawnAlike names what a subject's scenes have in common.
func drawnAlike(subject string) string {
	switch subject {
	case "rating-plate", "part-label":
		return "printed form"
	case "meter-display", "as-left-display":
		return "meter"
	case "floor", "whole-unit", "work-area":
		return "room"
	case "proof-of-purchase", "customer-document":
		return "paper"
	}
	return subject
}

// Photos of different subjects of two jobs are never laid over each other; the whole set is in MATCHING.md.
func TestOtherJobsAreNotLinedUp(t *testing.T) {
	apart, _ := unrelatedPairs(t, 61)
	require.GreaterOrEqual(t, apart.n, 10)
	assert.Zero(t, apart.aligned)
}

// What is photographed twice is lined up.
func TestSceneTwiceIsLinedUp(t *testing.T) {
	list := againScenes()
	twice(t, append(list[:1:1], list[2], list[6]), 2, func(name string, r []align.Result, width int) {
		for _, r := range r {
			assert.True(t, r.Aligned, "%s: %+v", name, r)
			assert.Less(t, r.Residual, 0.01*float64(width), name)
		}
	})
}
