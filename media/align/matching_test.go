package align_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/media/align"
)

var update = flag.Bool("update", false, "measure the whole set and write MATCHING.md anew")

// demoPart is where the part of the page begins that the test of server/demo writes.
const demoPart = "\n## The demo's photos\n"

const matchingHead = `# How often lining up is right

The first three parts are written by TestMatching (` + "`go test ./media/align -run TestMatching -update`" + `), the last by a test of server/demo. The ordinary
run of the tests measures samples of the same sets. All pictures are compared at 640 px on the longer side.
`

const knownHead = `
## Pairs with a known transform

OpenCV (cv2.warpPerspective) makes the second picture of each pair from the whole picture that the first is the middle of: 6 drawn scenes (1200 x
900 px: label, door, compartment, kitchen front, tiles and clutter, stained liner) and 5 camera photos, a drawing and a cut-out photo of testdata/photos, each under every
condition, and of these every second pair. Off is the largest distance between where a place of the second picture is carried and where it
is known to be, over all that both show, in percent of the picture's width: median and largest of the pairs that were lined up. Wrong means off by more
than 2 % of the width. Residual is what Align itself states (median). OpenCV's columns are its own ways on the same full-size pictures: ORB and SIFT (2000
points, ratio 0.75) with a homography by RANSAC (3 px, at least 14 points), and ECC from the identity; pairs that came out within 2 %, with the median
and largest distance.

| condition | pairs | lined up: off (median, largest) | wrong | residual | with changed areas | ORB | SIFT | ECC |
|---|---|---|---|---|---|---|---|---|
`

const changesHead = `
## Changed areas

A spot is drawn into the second of two pictures of one scene, which is also turned, shifted, darker and noisier. Found means that a changed area covers its
middle; false are areas elsewhere. Spots of a contrast that the scene itself has in places are the hard ones.

| spot, % of the width | grey levels | spots | found | false areas |
|---|---|---|---|---|
`

const unrelatedHead = `
## Unrelated pictures

All pairs of different pictures: 30 drawn scenes (5 of each kind), and the samples of testdata/photos that are real pictures: 5 camera photos (fish under water,
leaves, a flower, striped shells in a tank, a beach), a drawing and a cut-out photo. No more real ones are at hand. A pair counts as false when Align lays one
over the other.
`

func TestMatching(t *testing.T) {
	if *update {
		var doc strings.Builder
		doc.WriteString(matchingHead)
		knownTable(t, &doc)
		changesTable(t, &doc)
		unrelatedTable(t, &doc)
		have, err := os.ReadFile("MATCHING.md")
		require.NoError(t, err)
		_, demo, found := strings.Cut(string(have), demoPart)
		if found {
			doc.WriteString(demoPart + demo)
		}
		require.NoError(t, os.WriteFile("MATCHING.md", []byte(doc.String()), 0o644))
	}
	have, err := os.ReadFile("MATCHING.md")
	require.NoError(t, err)
	for _, must := range []string{"## Pairs with a known transform", "## Changed areas", "## Unrelated pictures", strings.TrimSpace(demoPart)} {
		require.Contains(t, string(have), must)
	}
}

// unrelated are pictures of which no two show the same.
func unrelated(t testing.TB, drawn uint64) (out []*align.Looked) {
	for i := range drawn {
		out = append(out, align.Look(align.Picture{View: drawScene(1000+i, 800, 600)}))
	}
	for _, n := range cameraPhotos() {
		out = append(out, align.Look(align.Picture{View: readPhoto(t, n)}))
	}
	return out
}

func unrelatedTable(t *testing.T, doc *strings.Builder) {
	doc.WriteString(unrelatedHead)
	all := unrelated(t, 30)
	n, wrong, gated, most := 0, 0, 0, 0
	for i := range all {
		for j := range i {
			r := all[i].Align(all[j])
			n++
			switch {
			case r.Aligned:
				wrong++
			case r.Why == align.Disagree:
				gated++
			default:
				most = max(most, r.Points)
			}
		}
	}
	fmt.Fprintf(doc, "\nFalse matches: %d of %d pairs. Of the others, %d passed the first gate (14 places that agree) and were held back by the second (45 %% of the picture looks the\nsame); of the rest none had more than %d places that agree.\n", wrong, n, gated, most)
	assert.Zero(t, wrong)
}

func TestUnrelatedPicturesAreNotLinedUp(t *testing.T) {
	all := unrelated(t, 3)
	for i := range all {
		for j := range i {
			r := all[i].Align(all[j])
			require.False(t, r.Aligned, "%d and %d: %+v", i, j, r)
			require.NotEmpty(t, r.Why)
		}
	}
}
