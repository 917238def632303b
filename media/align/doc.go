// Package align lays one photo of a scene over another one: it finds the points that both show, the transform that carries
// one picture onto the other, says how far it is off, and where the two still differ. Call Align.
//
// It prefers to say no. Two gates stand before an overlay: enough points must agree on one transform, and after lining up
// enough of the picture must look the same, block by block. MATCHING.md says how often that goes wrong on a measured set.
// What has changed is marked as a help for the eye, never as a verdict.
//
// Everything is pure: no clock, no files, no decoding; the random choices have a fixed seed, so the same pixels give the same
// answer. It imports the standard library and media/measure, and must never import claims, a decoder or a store.
package align

import "kickplate/media/measure"

// Version names the steps and thresholds. It changes whenever an answer for the same pixels can change.
const Version = "1"

// side is the longer side, in pixels, of the grey pictures that are compared. Everything else is measured in its pixels unless
// it says otherwise.
const side = 640

// Picture is one photo, upright: a view of it (any size), and the size of the photo itself.
type Picture struct {
	View measure.Grey
	// Width and Height are the photo's own, in pixels; 0 = the view's. Transform and Residual are in these pixels.
	Width, Height int
}

// Why says why two pictures could not be lined up.
type Why string

// The reasons. Empty = they were.
const (
	TooSmall  Why = "too-small"  // a picture has too few pixels
	TooDark   Why = "too-dark"   // few points were found, and a picture is too dark
	Blurred   Why = "blurred"    // few points were found, and a picture is blurred
	TooPlain  Why = "too-plain"  // a picture has hardly anything that could be found again
	FewPoints Why = "few-points" // too few points that both pictures show and that agree on one transform
	Disagree  Why = "disagree"   // a transform was found, but lined up by it the pictures do not look alike
)

// Result is what Align finds.
type Result struct {
	// Aligned says whether the pictures are lined up; everything below but Why, Which and Points then holds.
	Aligned bool
	Why     Why
	// Which picture the reason is about: "before", "after", or empty for both.
	Which string
	// Model is "similarity" (shift, turn, one scale) or "perspective".
	Model string
	// Transform carries a place of the after photo to the before photo, both in pixels of the photos from the upper left
	// corner: (x', y', w') = Transform · (x, y, 1), row by row; the place is (x'/w', y'/w').
	Transform [9]float64
	// Residual is how far places that both pictures show are off after lining up: root of the mean square, in pixels of the
	// before photo.
	Residual float64
	// Points is how many points agree on the transform, Agreement the share (0..1) of what both pictures show that looks the
	// same after lining up, Overlap the share of the before picture that the after picture covers.
	Points             int
	Agreement, Overlap float64
	// Outline is where the corners of the after photo come to lie, in thousandths of the before photo's width and height.
	Outline [4]Place
	// Changed are areas that differ beyond light, noise and the residual, largest first, at most mostAreas.
	Changed []Area
}

// Place is a place in thousandths of a photo's width and height.
type Place struct{ X, Y int }

// Area is a rectangle in thousandths of the before photo's width and height.
type Area struct{ X, Y, W, H int }
