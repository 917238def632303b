// Package draw makes the demo's photographs: scenes of an appliance visit, drawn with vector paths through a pinhole
// camera, lit, given lens and sensor flaws, and written as JPEG with the EXIF block a phone would write. The same scene
// with the same shot gives the same bytes.
//
// Start with NewStudio, then Studio.Photo.
//
// It must never import anything of ours: it knows pictures, not jobs.
package draw
