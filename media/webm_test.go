package media

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// soundDir has what a browser recorded; see its SOURCES.md.
const soundDir = "../testdata/sound"

func recorded(t testing.TB) []string {
	t.Helper()
	paths, err := filepath.Glob(soundDir + "/*.mp4")
	require.NoError(t, err)
	more, err := filepath.Glob(soundDir + "/*.webm")
	require.NoError(t, err)
	require.Len(t, append(paths, more...), 6)
	return append(paths, more...)
}

func recordings(t testing.TB) (out [][]byte) {
	for _, path := range recorded(t) {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		out = append(out, data)
	}
	return out
}

// What a browser records is what ExifTool (Debian libimage-exiftool-perl) says it is: its tracks, and whether it says how long it is.
func TestRecordingsAsExifToolReadsThem(t *testing.T) {
	args := []string{"-j", "-n", "-G1", "-a", "-q", "-Duration", "-TrackType", "-HandlerType"}
	var list []map[string]any
	require.NoError(t, json.Unmarshal(tool(t, "libimage-exiftool-perl", "exiftool", append(args, recorded(t)...)...), &list))
	require.Len(t, list, 6)
	for _, m := range list {
		path := m["SourceFile"].(string)
		t.Run(filepath.Base(path), func(t *testing.T) {
			webm := strings.HasSuffix(path, ".webm")
			film := false
			for name, v := range m {
				film = film || strings.HasSuffix(name, ":HandlerType") && v == "vide" || strings.HasSuffix(name, ":TrackType") && v == 1.0
			}
			data := readFile(t, path)
			f, made, err := examine(t, patient(), data)
			if webm && film {
				require.Equal(t, claims.Unsupported, claims.CodeOf(err), "%v", err)
				require.Contains(t, err.Error(), "WebM film")
				return
			}
			require.NoError(t, err)
			require.Equal(t, claims.DigestOf(data), f.Digest)
			require.Nil(t, made.View)
			require.Equal(t, map[bool]string{true: "video", false: "audio"}[film]+"/"+map[bool]string{true: "webm", false: "mp4"}[webm], f.Type)
			if webm {
				d, _ := m["Matroska:Duration"].(float64)
				require.Equal(t, d > 0, len(f.Notes) == 0, "%v %v", m, f.Notes)
			}
		})
	}
}

// part is an EBML element with its size in eight bytes, as browsers write it; a nil body leaves the size open.
func part(id string, bodies ...[]byte) []byte {
	if bodies == nil {
		return append([]byte(id), 0x01, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff)
	}
	body := bytes.Join(bodies, nil)
	n := len(body)
	return append(append([]byte(id), 0x01, 0, 0, byte(n>>32), byte(n>>24), byte(n>>16), byte(n>>8), byte(n)), body...)
}

const (
	partHead, partType, partSegment, partInfo, partDuration = "\x1a\x45\xdf\xa3", "\x42\x82", "\x18\x53\x80\x67", "\x15\x49\xa9\x66", "\x44\x89"
	partTracks, partTrack, partKind, partCluster, partBlock = "\x16\x54\xae\x6b", "\xae", "\x83", "\x1f\x43\xb6\x75", "\xa3"
)

func TestWebM(t *testing.T) {
	head := part(partHead, part(partType, []byte("webm")))
	sound := part(partTracks, part(partTrack, part(partKind, []byte{2})))
	lasts := func(p ...byte) []byte { return part(partInfo, part(partDuration, p)) }
	block := part(partBlock, []byte("\x81\x00\x00\x80sound"))
	whole := func(parts ...[]byte) []byte { return append(slices.Clone(head), part(partSegment, parts...)...) }
	open := func(parts ...[]byte) []byte {
		return slices.Concat(head, part(partSegment), bytes.Join(parts, nil))
	}
	one := []byte{0x3f, 0x80, 0, 0} // 1.0 as a float of four bytes
	for name, c := range map[string]struct {
		data  []byte
		timed bool
	}{
		"with its length":               {whole(lasts(one...), sound, part(partCluster, block)), true},
		"with its length in 8 bytes":    {whole(lasts(0x40, 0, 0, 0, 0, 0, 0, 0), sound, part(partCluster, block, block), part(partCluster, block)), true},
		"length of nothing":             {whole(part(partInfo, part(partDuration, []byte{})), sound, part(partCluster, block)), false},
		"length that is no number":      {whole(lasts(0x7f, 0xc0, 0, 1), sound, part(partCluster, block)), false},
		"length without end":            {whole(lasts(0x7f, 0x80, 0, 0), sound, part(partCluster, block)), false},
		"live, sizes left open":         {open(sound, part(partCluster), block, block, part(partCluster), block), false},
		"live, what is unknown between": {open(part("\xec", make([]byte, 30)), sound, part(partCluster), block, part("\x1c\x53\xbb\x6b", []byte("cues"))), false},
		"a closed cluster after":        {open(sound, part(partCluster, block), part(partCluster), block), false},
	} {
		f, _, err := examine(t, patient(), c.data)
		require.NoError(t, err, name)
		require.Equal(t, mimeWebM, f.Type, name)
		require.Equal(t, c.timed, len(f.Notes) == 0, "%s: %v", name, f.Notes)
		require.Equal(t, ".webm", f.Extension())
	}
	good := whole(lasts(one...), sound, part(partCluster, block))
	for name, c := range map[string]struct {
		data  []byte
		code  claims.ErrorCode
		words string
	}{
		"cut off":                     {good[:len(good)-3], claims.Invalid, "cut off"},
		"cut off within a size":       {good[:len(head)+6], claims.Invalid, "cut off"},
		"live, cut off":               {open(sound, part(partCluster), block)[:90:90], claims.Invalid, "cut off"},
		"no sound in it":              {whole(lasts(one...), sound), claims.Invalid, "cut off"},
		"no tracks":                   {whole(part(partCluster, block)), claims.Invalid, "cut off"},
		"more after its end":          {append(slices.Clone(good), 0xec, 0x80), claims.Invalid, "no sense"},
		"a track that says no kind":   {whole(part(partTracks, part(partTrack)), part(partCluster, block)), claims.Invalid, ""},
		"a track of two kinds":        {whole(part(partTracks, part(partTrack, part(partKind, []byte{2}), part(partKind, []byte{1}))), part(partCluster, block)), claims.Invalid, "no sense"},
		"a film":                      {whole(part(partTracks, part(partTrack, part(partKind, []byte{2})), part(partTrack, part(partKind, []byte{1}))), part(partCluster, block)), claims.Unsupported, "WebM film"},
		"subtitles":                   {whole(part(partTracks, part(partTrack, part(partKind, []byte{0x11}))), part(partCluster, block)), claims.Unsupported, "WebM film"},
		"a length of three bytes":     {whole(lasts(1, 2, 3), sound, part(partCluster, block)), claims.Invalid, "no sense"},
		"a block larger than it all":  {whole(sound, part(partCluster, slices.Concat([]byte(partBlock), []byte{0x08, 0xff, 0xff, 0xff, 0xff}))), claims.Invalid, "cut off"},
		"a cluster within a cluster":  {whole(sound, part(partCluster, part(partCluster, block))), claims.Invalid, "no sense"},
		"ids of nothing":              {open(sound, part(partCluster), block, make([]byte, 50)), claims.Invalid, "no sense"},
		"endless empty parts":         {open(bytes.Repeat([]byte{0xec, 0x80}, mostElements+10)), claims.Invalid, "too many parts"},
		"Matroska":                    {append(part(partHead, part(partType, []byte("matroska"))), part(partSegment, sound, part(partCluster, block))...), claims.Unsupported, "Matroska"},
		"a header that never ends":    {append([]byte(partHead), 0x01, 0, 0, 0, 0x7f, 0, 0, 0), claims.Unsupported, "Matroska"},
		"no segment after the header": {append(slices.Clone(head), sound...), claims.Invalid, "no sense"},
	} {
		f, _, err := examine(t, patient(), c.data)
		require.Error(t, err, name)
		require.Equal(t, c.code, claims.CodeOf(err), "%s: %v", name, err)
		require.Contains(t, err.Error(), c.words, name)
		require.Zero(t, f)
	}
}

// A sound alone in MP4 bears the brands of a film; its tracks tell. What can't be read in there leaves it what its brand says.
func TestSoundInMP4(t *testing.T) {
	track := func(kind string) []byte {
		return box("trak", box("mdia", box("hdlr", slices.Concat(make([]byte, 8), []byte(kind), make([]byte, 13)))))
	}
	file := func(brand string, in ...[]byte) []byte {
		return slices.Concat(box("ftyp", append([]byte(brand), "\x00\x00\x00\x00isom"...)), box("moov", bytes.Join(in, nil)), box("mdat", []byte("sound")))
	}
	for name, c := range map[string]struct {
		data []byte
		mime string
	}{
		"sound":                    {file("isom", track("soun")), "audio/mp4"},
		"two sounds":               {file("mp42", track("soun"), track("soun")), "audio/mp4"},
		"film":                     {file("isom", track("vide"), track("soun")), "video/mp4"},
		"sound with something":     {file("isom", track("soun"), track("meta")), "video/mp4"},
		"sound, the rest damaged":  {file("isom", track("soun"), []byte("\x00\x00\x00\x03trak")), "video/mp4"},
		"sound, a handler too low": {file("isom", track("soun"), box("trak", box("mdia", box("hdlr", make([]byte, 4))))), "video/mp4"},
		"handler of something else": {file("isom", box("trak", box("meta", box("hdlr", slices.Concat(make([]byte, 8), []byte("soun"))))),
			box("hdlr", slices.Concat(make([]byte, 8), []byte("soun")))), "video/mp4"},
		"sound in a MOV": {file("qt  ", track("soun")), "video/quicktime"},
	} {
		f, _, err := examine(t, patient(), c.data)
		require.NoError(t, err, name)
		require.Equal(t, c.mime, f.Type, name)
	}
	deep := box("trak", nil)
	for range 2000 {
		deep = box("trak", deep)
	}
	f, _, err := examine(t, patient(), file("isom", deep))
	require.NoError(t, err)
	require.Equal(t, "video/mp4", f.Type)
}

// Any bytes as a WebM: no panic, bounded; what is taken is recognised by its start, and refused with a byte less; no element reaches beyond
// the file.
func FuzzWebM(f *testing.F) {
	for _, data := range recordings(f) {
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		check := func(data []byte) (bool, error) {
			return checkWebM(&upload{ctx: t.Context(), src: bytes.NewReader(data), size: int64(len(data))})
		}
		bounded(t, 30, 64<<20, func() {
			_, err := check(data)
			require.True(t, err != nil || isWebM(data[:min(len(data), sniffBytes)]), "what is taken is recognised by its start")
			b := ebml{r: bytes.NewReader(data), left: 1000, cut: io.ErrUnexpectedEOF, wrong: io.ErrNoProgress}
			for at, end := int64(0), int64(len(data)); at < end; {
				e, err := b.element(at, end)
				if err != nil {
					break
				}
				require.True(t, at < e.at && e.at <= e.end && e.end <= end, "%+v of %d", e, end)
				at = e.end
			}
			if err != nil {
				require.NotEmpty(t, claims.CodeOf(err), "%v", err)
				return
			}
			_, err = check(data[:len(data)-1])
			require.Error(t, err, "a byte less is cut off")
		})
	})
}

// A number that tells its own length (RFC 8794 §4.3, table of widths; the example of appendix "0x1A45DFA3").
func TestVint(t *testing.T) {
	for _, c := range []struct {
		p      string
		most   int
		marked bool
		v      uint64
		n      int
	}{
		{"\x81", 8, false, 1, 1}, {"\x40\x01", 8, false, 1, 2}, {"\x20\x00\x01", 8, false, 1, 3}, {"\x10\x00\x00\x01", 8, false, 1, 4},
		{"\x01\x00\x00\x00\x00\x00\x00\x01", 8, false, 1, 8}, {"\x01\xff\xff\xff\xff\xff\xff\xff", 8, false, 1<<56 - 1, 8},
		{"\x1a\x45\xdf\xa3", 4, true, idHeader, 4}, {"\x08\x00\x00\x00\x01", 4, true, 0, 0}, {"\x00\xff", 8, false, 0, 0}, {"\x40", 8, false, 0, 0}, {"", 8, false, 0, 0},
	} {
		v, n := vint([]byte(c.p), c.most, c.marked)
		require.Equal(t, c.v, v, "%x", c.p)
		require.Equal(t, c.n, n, "%x", c.p)
	}
	require.Equal(t, 1.0, float64(math.Float32frombits(uint32(number([]byte{0x3f, 0x80, 0, 0})))))
}
