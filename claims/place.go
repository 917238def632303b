package claims

import (
	"fmt"
	"math"
)

// Place says whether a photo was taken at the site.
type Place struct {
	// Where is at-site, elsewhere or cannot-tell; empty = no position, which is normal and means nothing.
	Where string `json:"where,omitempty"`
	// Metres is the great-circle distance from the site.
	Metres float64 `json:"metres,omitempty"`
	Says   string  `json:"says"`
}

// earthRadius is the mean radius R1 of the earth in metres (IUGG). A sphere differs from the WGS 84 geodesic by at
// most 0.56 %: half a metre in a hundred, far below the accuracy of a phone.
const earthRadius = 6_371_008.8

// defaultRadius is how far around the site's position still counts as the site, in metres (common practice, no
// source): a house lot, plus what a looked-up address is off.
const defaultRadius = 150

// Distance is the great-circle distance of two positions in metres (haversine formula).
func Distance(a, b Position) float64 {
	const rad = math.Pi / 180
	sinLat := math.Sin((b.Lat - a.Lat) * rad / 2)
	sinLon := math.Sin((b.Lon - a.Lon) * rad / 2)
	h := sinLat*sinLat + math.Cos(a.Lat*rad)*math.Cos(b.Lat*rad)*sinLon*sinLon
	return 2 * earthRadius * math.Asin(math.Sqrt(min(1, h)))
}

// PlaceOf compares a photo's position with the site, with the accuracy of both taken into account: at the site when it lies
// within the radius and is known well enough to say so; elsewhere when even the accuracy does not bring it near.
func PlaceOf(site Site, p *Position) Place {
	switch {
	case p == nil:
		return Place{Says: "The photo carries no position. That is normal, indoors above all."}
	case site.Position == nil:
		return Place{Says: "The position of the site is not known, so there is nothing to compare with."}
	}
	radius := site.Radius
	if radius == 0 {
		radius = defaultRadius
	}
	d := Distance(*site.Position, *p)
	blur := p.Accuracy + site.Position.Accuracy
	out := Place{Metres: math.Round(d*10) / 10}
	known := fmt.Sprintf("%.0f m from the site, known to ±%.0f m", d, blur)
	if blur == 0 {
		known = fmt.Sprintf("%.0f m from the site, accuracy not stated", d)
	}
	switch {
	case d-blur > radius:
		out.Where, out.Says = "elsewhere", fmt.Sprintf("Taken elsewhere: %s; the site reaches to %.0f m.", known, radius)
	case d+blur <= radius || d <= radius && blur <= radius:
		out.Where, out.Says = "at-site", fmt.Sprintf("Taken at the site: %s.", known)
	default:
		out.Where, out.Says = "cannot-tell", fmt.Sprintf("Cannot tell whether it was taken at the site: %s; the site reaches to %.0f m.", known, radius)
	}
	return out
}
