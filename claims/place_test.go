package claims

import (
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b      Position
		haversine float64 // R = 6371008.8 m, computed from the formula by hand; marked so in the table they come from
		geodesic  float64 // WGS 84, published by GeographicLib's GeodSolve 2.1.2
	}{
		{Position{Lat: 40, Lon: -75}, Position{Lat: 40.001, Lon: -75}, 111.1951, 111.0346},
		{Position{Lat: 40, Lon: -75}, Position{Lat: 40, Lon: -74.999}, 85.1804, 85.3939},
		{Position{Lat: 0, Lon: 179.9995}, Position{Lat: 0, Lon: -179.9995}, 111.1951, 111.3195},
		{Position{Lat: 89.999, Lon: 0}, Position{Lat: 89.999, Lon: 180}, 222.3902, 223.3880},
		{Position{Lat: 36.12, Lon: -86.67}, Position{Lat: 33.94, Lon: -118.40}, 2886448.43, 2892776.957},
	} {
		got := Distance(c.a, c.b)
		assert.InEpsilon(t, c.haversine, got, 1e-6)
		assert.InEpsilon(t, c.geodesic, got, 0.0056, "the sphere is within 0.56 % of the WGS 84 geodesic")
	}
}

// The judge is GeodSolve of Debian's geographiclib-tools, run now: pairs around the globe at the scale of a job.
func TestDistanceAgainstGeodSolve(t *testing.T) {
	tool, err := exec.LookPath("GeodSolve")
	require.NoError(t, err, "install it: apt-get install geographiclib-tools")
	var in strings.Builder
	var pairs [][2]Position
	for lat := -80.0; lat <= 80; lat += 20 {
		for _, d := range []float64{0.0003, 0.002, 0.05} {
			a, b := Position{Lat: lat, Lon: 10}, Position{Lat: lat + d, Lon: 10 - d*1.3}
			pairs = append(pairs, [2]Position{a, b})
			for _, v := range []float64{a.Lat, a.Lon, b.Lat, b.Lon} {
				in.WriteString(strconv.FormatFloat(v, 'f', 9, 64) + " ")
			}
			in.WriteString("\n")
		}
	}
	cmd := exec.Command(tool, "-i", "-p", "6")
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	require.Len(t, lines, len(pairs))
	worst := 0.0
	for i, l := range lines {
		f := strings.Fields(l)
		want, err := strconv.ParseFloat(f[len(f)-1], 64)
		require.NoError(t, err)
		worst = max(worst, math.Abs(Distance(pairs[i][0], pairs[i][1])/want-1))
	}
	assert.Less(t, worst, 0.0056)
}

func TestPlaceOf(t *testing.T) {
	site := Site{Position: &Position{Lat: 40, Lon: -75}}
	at := func(north, accuracy float64) *Position {
		return &Position{Lat: 40 + north/111195, Lon: -75, Accuracy: accuracy}
	}
	for _, c := range []struct {
		name string
		p    *Position
		want string
	}{
		{"NoPosition", nil, ""},
		{"AtTheDoor", at(12, 8), "at-site"},
		{"FarButStillWithin", at(140, 30), "at-site"},
		{"IndoorsVague", at(50, 300), "cannot-tell"},
		{"VagueAndFar", at(400, 300), "cannot-tell"},
		{"ElsewhereForSure", at(900, 165), "elsewhere"},
		{"JustOutside", at(160, 5), "elsewhere"},
		{"AccuracyNotStated", at(100, 0), "at-site"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := PlaceOf(site, c.p)
			assert.Equal(t, c.want, got.Where, got.Says)
			assert.NotEmpty(t, got.Says)
		})
	}
	assert.Empty(t, PlaceOf(Site{}, at(0, 5)).Where)
}
