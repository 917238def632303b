package main

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"kickplate/claims"
	"kickplate/media/measure"
)

// alikeBits is how many of a fingerprint's 64 bits may differ for two pictures to count as "the same again"; the number
// comes from the table in media/measure/CALIBRATION.md.
const alikeBits = 6

type measureQuestion struct {
	Width  int `json:"width"`
	Height int `json:"height"`
	// Others are the fingerprints of the pictures that this one may repeat, by any name.
	Others map[string]string `json:"others"`
}

type measureAnswer struct {
	Sharpness   float64 `json:"sharpness"`
	DarkShare   float64 `json:"darkShare"`
	BrightShare float64 `json:"brightShare"`
	Mean        float64 `json:"mean"`
	Sharp       string  `json:"sharp"`
	Dark        string  `json:"dark"`
	Bright      string  `json:"bright"`
	Fingerprint string  `json:"fingerprint,omitempty"`
	// Alike are the names of the others that look the same.
	Alike []string `json:"alike,omitempty"`
}

func measurePicture(q measureQuestion, pixels []uint8) (any, error) {
	if q.Width < 1 || q.Height < 1 || q.Width > 20000 || q.Height > 20000 || len(pixels) != 4*q.Width*q.Height {
		return nil, claims.Errorf(claims.Invalid, "The picture has %d bytes, which does not fit %d × %d pixels.", len(pixels), q.Width, q.Height)
	}
	grey := measure.FromRGBA(pixels, 4*q.Width, q.Width, q.Height)
	m := measure.Measure(grey)
	out := measureAnswer{Sharpness: m.Sharpness, DarkShare: m.DarkShare, BrightShare: m.BrightShare, Mean: m.Mean}
	out.Sharp, out.Dark, out.Bright = m.Judge()
	print, ok := measure.Print(grey)
	if !ok {
		return out, nil
	}
	out.Fingerprint = fmt.Sprintf("%016x", print)
	for _, name := range slices.Sorted(maps.Keys(q.Others)) {
		if other, err := strconv.ParseUint(q.Others[name], 16, 64); err == nil && measure.Nearest(print, other) <= alikeBits {
			out.Alike = append(out.Alike, name)
		}
	}
	return out, nil
}
