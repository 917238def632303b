package bundle

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// tamper is one way to spoil a bundle, and what Verify must say about it.
type tamper struct {
	name string
	// spoil gets the good bundle's bytes and returns the spoilt ones.
	spoil func(t testing.TB, good []byte) []byte
	area  string // where the report must name it
	file  string // a part of the file's name; "" = any
	says  string // a part of the sentence
}

const first = "data/originals/0001-rating-plate.jpg"

// contents unpacks a bundle into a list that can be changed and packed again.
type contents struct {
	root  string
	names []string
	data  map[string][]byte
	mode  map[string]fs.FileMode
}

func open(t testing.TB, raw []byte) *contents {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	c := &contents{data: map[string][]byte{}, mode: map[string]fs.FileMode{}}
	for _, f := range z.File {
		root, name, ok := strings.Cut(f.Name, "/")
		require.True(t, ok)
		c.root = root
		rc, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(rc)
		require.NoError(t, err)
		c.names = append(c.names, name)
		c.data[name] = data
	}
	return c
}

// zip packs the files as any tool would. With fix the manifests and the Oxum are made to fit again: a tamperer can do that.
func (c *contents) zip(t testing.TB, fix bool) []byte {
	if fix {
		var all, tags []listed
		var octets int64
		for name, data := range c.data {
			if strings.HasPrefix(name, "data/") {
				all = append(all, listed{name, hexSum(data), int64(len(data))})
				octets += int64(len(data))
			}
		}
		info, err := parseInfo(string(c.data["bag-info.txt"]), false)
		require.NoError(t, err)
		for i := range info {
			if info[i].label == "Payload-Oxum" {
				info[i].value = fmt.Sprintf("%d.%d", octets, len(all))
			}
		}
		c.data["bag-info.txt"], c.data["manifest-sha256.txt"] = tagFile(info), manifest(all)
		for _, name := range []string{"bagit.txt", "bag-info.txt", "manifest-sha256.txt"} {
			tags = append(tags, listed{name, hexSum(c.data[name]), 0})
		}
		c.data["tagmanifest-sha256.txt"] = manifest(tags)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, name := range c.names {
		data, ok := c.data[name]
		if !ok {
			continue
		}
		h := &zip.FileHeader{Name: c.root + "/" + name, Method: zip.Deflate}
		if mode, ok := c.mode[name]; ok {
			h.SetMode(mode)
		}
		if strings.HasPrefix(name, "!") { // outside the folder, as it is
			h.Name = name[1:]
		}
		f, err := w.CreateHeader(h)
		require.NoError(t, err)
		_, err = f.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

func (c *contents) add(name string, data []byte) {
	c.names = append(c.names, name)
	c.data[name] = data
}

// edit changes evidence.json as a tree.
func (c *contents) edit(t testing.TB, change func(e map[string]any)) {
	dec := json.NewDecoder(bytes.NewReader(c.data["data/evidence.json"]))
	dec.UseNumber()
	var tree map[string]any
	require.NoError(t, dec.Decode(&tree))
	change(tree)
	out, err := json.Marshal(tree)
	require.NoError(t, err)
	c.data["data/evidence.json"] = out
}

// repack is a tamper that changes files; fix makes the manifests fit again.
func repack(fix bool, change func(t testing.TB, c *contents)) func(testing.TB, []byte) []byte {
	return func(t testing.TB, good []byte) []byte {
		c := open(t, good)
		change(t, c)
		return c.zip(t, fix)
	}
}

func flipAt(raw []byte, i int) []byte {
	out := bytes.Clone(raw)
	out[i] ^= 1
	return out
}

func photo(e map[string]any, i int) map[string]any { return e["photos"].([]any)[i].(map[string]any) }

// tampers are all the kinds; each must be named.
func tampers() []tamper {
	return append(zipTampers(), append(bagTampers(), evidenceTampers()...)...)
}

func zipTampers() []tamper {
	return []tamper{
		{"flipped byte in an original", func(t testing.TB, g []byte) []byte {
			c := open(t, g)
			return flipAt(g, bytes.Index(g, c.data[first])+500)
		}, "bag", first, "damaged"},
		{"cut off", func(_ testing.TB, g []byte) []byte { return g[:len(g)*2/3] }, "zip", "", "not a ZIP"},
		{"empty file", func(testing.TB, []byte) []byte { return nil }, "zip", "", "not a ZIP"},
		{"text instead", func(testing.TB, []byte) []byte { return []byte(strings.Repeat("no zip ", 100)) }, "zip", "", "not a ZIP"},
		{"path out of the bag", repack(false, func(_ testing.TB, c *contents) { c.add("../../evil.txt", []byte("x")) }), "zip", "evil", "leads out of the bag"},
		{"absolute path", repack(false, func(_ testing.TB, c *contents) { c.add("!/etc/evil", []byte("x")) }), "zip", "evil", "root of the file system"},
		{"backslash", repack(false, func(_ testing.TB, c *contents) { c.add(`data\..\evil`, []byte("x")) }), "zip", "evil", "backslash"},
		{"drive", repack(false, func(_ testing.TB, c *contents) { c.add("!C:/evil", []byte("x")) }), "zip", "evil", "drive"},
		{"outside the folder", repack(false, func(_ testing.TB, c *contents) { c.add("!elsewhere/evil", []byte("x")) }), "zip", "evil", "outside the bundle's folder"},
		{"name twice", repack(false, func(_ testing.TB, c *contents) { c.names = append(c.names, first) }), "zip", first, "two files of this name"},
		{"name that differs in case", repack(false, func(_ testing.TB, c *contents) { c.add(strings.Replace(first, "rating", "RATING", 1), []byte("x")) }), "zip", "RATING", "overwrite"},
		{"symbolic link", repack(false, func(_ testing.TB, c *contents) {
			c.add("data/link", []byte("/etc/passwd"))
			c.mode["data/link"] = fs.ModeSymlink | 0o777
		}), "zip", "link", "link or a device"},
		{"bomb by ratio", repack(false, func(_ testing.TB, c *contents) { c.add("data/zeros", make([]byte, 8<<20)) }), "zip", "", "times its size"},
		{"bomb by size", func(t testing.TB, g []byte) []byte {
			out := bytes.Clone(g)
			i := bytes.Index(out, []byte("PK\x01\x02"))
			require.Positive(t, i)
			for k := range 40 { // sizes of four GiB each in forty entries need no data to be claimed
				if i >= 0 && binary.LittleEndian.Uint32(out[i:]) == 0x02014b50 && k < 40 {
					binary.LittleEndian.PutUint32(out[i+24:], 0xfffffff0)
					binary.LittleEndian.PutUint32(out[i+20:], 0xfffffff0)
					next := bytes.Index(out[i+4:], []byte("PK\x01\x02"))
					if next < 0 {
						break
					}
					i += 4 + next
				}
			}
			return out
		}, "zip", "", "unpack to more than"},
		{"too many files", func(t testing.TB, _ []byte) []byte {
			var out bytes.Buffer
			w := zip.NewWriter(&out)
			for i := range defaultMaxFiles + 1 {
				_, err := w.Create(fmt.Sprintf("claim/%d", i))
				require.NoError(t, err)
			}
			require.NoError(t, w.Close())
			return out.Bytes()
		}, "zip", "", "files"},
		{"overlapping files", overlapping, "zip", "", "overlap"},
		{"another name in the local header", func(t testing.TB, g []byte) []byte {
			i := bytes.Index(g, []byte("data/originals/0001"))
			out := bytes.Clone(g)
			copy(out[i:], "data/originals/9991")
			return out
		}, "zip", first, "another place"},
		{"another time in the local header", local(10, 1), "zip", first, "something else of it"},
		{"another checksum in the local header", local(14, 1), "zip", first, "something else of it"},
		{"another size in the local header", local(22, 1), "zip", first, "something else of it"},
		{"sizes after the data in the local header alone", local(6, 8), "zip", first, "something else of it"},
		{"packed data that end early", func(t testing.TB, g []byte) []byte {
			name := []byte("/data/evidence.json")
			i := bytes.Index(g, name) // the local header comes before the directory
			require.Positive(t, i)
			return flipAt(g, i+len(name)) // the bit that says "this block is the last" (RFC 1951, 3.2.3)
		}, "bag", "data/evidence.json", "damaged"},
		{"encrypted flag", func(t testing.TB, g []byte) []byte {
			out := bytes.Clone(g)
			i := bytes.Index(out, []byte("PK\x01\x02"))
			out[i+8] |= 1
			return out
		}, "zip", "", "encrypted"},
	}
}

// local changes bits of a byte in the local header of the first original.
func local(at int, bits byte) func(testing.TB, []byte) []byte {
	return func(t testing.TB, g []byte) []byte {
		out := bytes.Clone(g)
		i := bytes.LastIndex(out[:bytes.Index(out, []byte(first))], []byte("PK\x03\x04"))
		require.Positive(t, i)
		out[i+at] ^= bits
		return out
	}
}

// overlapping points the second file of the directory at the data of the first.
func overlapping(t testing.TB, g []byte) []byte {
	out := bytes.Clone(g)
	var at []int
	for i := 0; ; {
		next := bytes.Index(out[i:], []byte("PK\x01\x02"))
		if next < 0 {
			break
		}
		at = append(at, i+next)
		i += next + 4
	}
	require.Greater(t, len(at), 5)
	copy(out[at[4]+42:at[4]+46], out[at[3]+42:at[3]+46])
	return out
}

func bagTampers() []tamper {
	return []tamper{
		{"changed original", repack(false, func(_ testing.TB, c *contents) { c.data[first] = flipAt(c.data[first], 700) }), "bag", first, "was changed"},
		{"missing original", repack(false, func(_ testing.TB, c *contents) { delete(c.data, first) }), "bag", first, "missing"},
		{"extra file", repack(false, func(_ testing.TB, c *contents) { c.add("data/originals/0099-extra.jpg", []byte("x")) }), "bag", "0099", "does not list it"},
		{"changed manifest", repack(false, func(_ testing.TB, c *contents) {
			c.data["manifest-sha256.txt"] = bytes.Replace(c.data["manifest-sha256.txt"], []byte("0001"), []byte("0009"), 1)
		}), "bag", "manifest-sha256.txt", "was changed"},
		{"changed tag manifest", repack(false, func(_ testing.TB, c *contents) {
			c.data["tagmanifest-sha256.txt"] = flipAt(c.data["tagmanifest-sha256.txt"], 3)
		}), "bag", "", ""},
		{"missing tag manifest", repack(false, func(_ testing.TB, c *contents) { delete(c.data, "tagmanifest-sha256.txt") }), "bag", "tagmanifest-sha256.txt", "missing"},
		{"missing bagit.txt", repack(false, func(_ testing.TB, c *contents) { delete(c.data, "bagit.txt") }), "bag", "bagit.txt", "missing"},
		{"older version of BagIt", repack(true, func(_ testing.TB, c *contents) {
			c.data["bagit.txt"] = []byte("BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n")
		}), "bag", "bagit.txt", "version 0.97"},
		{"wrong Oxum", repack(false, func(_ testing.TB, c *contents) {
			c.data["bag-info.txt"] = bytes.Replace(c.data["bag-info.txt"], []byte("Payload-Oxum: "), []byte("Payload-Oxum: 1"), 1)
		}), "bag", "bag-info.txt", "Payload-Oxum says"},
		{"extra tag file", repack(true, func(_ testing.TB, c *contents) { c.add("fetch.txt", []byte("https://example.net/x 1 data/x\n")) }), "bag", "fetch.txt", "no such file"},
		{"manifest with another sum beside it", repack(true, func(_ testing.TB, c *contents) { c.add("manifest-md5.txt", nil) }), "bag", "", ""},
	}
}

// evidenceTampers come from somebody who makes all manifests fit again.
func evidenceTampers() []tamper {
	return []tamper{
		{"exchanged original", repack(true, func(_ testing.TB, c *contents) { c.data[first] = drawn(320, 240, 9) }), "originals", first, "not the original that was received"},
		{"exchanged original and its sum in the index", repack(true, func(t testing.TB, c *contents) {
			c.data[first] = drawn(320, 240, 9)
			sum := hexSum(c.data[first])
			c.edit(t, func(e map[string]any) {
				p := photo(e, 0)
				p["sha256"], p["fileSha256"], p["body"].(map[string]any)["digest"] = sum, sum, sum
				p["body"].(map[string]any)["bytes"] = len(c.data[first])
			})
		}), "entries", "evidence.json", "under photos"},
		{"exchanged thumbnail", repack(true, func(_ testing.TB, c *contents) {
			c.data["data/thumbnails/0001-rating-plate.jpg"] = drawn(320, 240, 30)
		}), "pictures", "0001", "does not show its original"},
		{"thumbnail that is none", repack(true, func(_ testing.TB, c *contents) {
			c.data["data/thumbnails/0001-rating-plate.jpg"] = []byte("\xff\xd8\xff\xe0 no picture")
		}), "pictures", "0001", "can't be read"},
		{"removed original", repack(true, func(_ testing.TB, c *contents) { delete(c.data, first) }), "originals", first, "missing"},
		{"file that nobody speaks of", repack(true, func(_ testing.TB, c *contents) { c.add("data/originals/0099-extra.jpg", []byte("x")) }), "index", "0099", "does not speak of it"},
		{"changed reading", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) {
				e["readings"].([]any)[1].(map[string]any)["body"].(map[string]any)["value"] = "12.5"
			})
		}), "entries", "evidence.json", "under readings"},
		{"changed serial", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { e["unit"].(map[string]any)["serial"] = "K7 41 0094" })
		}), "entries", "evidence.json", "under unit"},
		{"changed bill", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { e["bill"].(map[string]any)["payer"] = 99999 })
		}), "entries", "evidence.json", "under bill"},
		{"bill left out", repack(true, func(t testing.TB, c *contents) { c.edit(t, func(e map[string]any) { delete(e, "bill") }) }), "entries", "evidence.json", "under bill"},
		{"invented payment", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) {
				e["balance"] = map[string]any{"payer": map[string]any{"owed": 19645, "paid": 19645, "left": 0}, "customer": map[string]any{"owed": 0, "paid": 0, "left": 0}}
			})
		}), "entries", "evidence.json", "under balance"},
		{"strike left out", repack(true, func(t testing.TB, c *contents) { c.edit(t, func(e map[string]any) { delete(e, "struck") }) }), "entries", "evidence.json", "under strikes"},
		{"another digest for a struck photo", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) {
				e["struckPhotos"].([]any)[0].(map[string]any)["sha256"] = strings.Repeat("0", 64)
			})
		}), "entries", "evidence.json", "under struck photos"},
		{"better time basis", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { photo(e, 0)["taken"] = "2026-03-04T08:00:00-05:00" })
		}), "time", "evidence.json", "time is not the one"},
		{"index with an unknown field", repack(true, func(t testing.TB, c *contents) { c.edit(t, func(e map[string]any) { e["extra"] = 1 }) }), "index", "evidence.json", "can't be read"},
		{"index of another claim", repack(true, func(t testing.TB, c *contents) { c.edit(t, func(e map[string]any) { e["claim"] = "X-1" }) }), "index", "bag-info.txt", "is for claim"},
		{"hidden hold", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { photo(e, 0)["kept"] = "withheld" })
		}), "originals", "", "not listed so"},
		{"changed entry", repack(true, func(_ testing.TB, c *contents) {
			c.data[entriesPath] = bytes.Replace(c.data[entriesPath], []byte("Old scratch"), []byte("New scratch"), 1)
		}), "custody", "", "was changed"},
		{"removed entry", repack(true, func(_ testing.TB, c *contents) {
			lines := bytes.SplitAfter(c.data[entriesPath], []byte("\n"))
			c.data[entriesPath] = bytes.Join(slices.Delete(lines, 8, 9), nil)
		}), "custody", "", "missing from entries.txt"},
		{"hidden entry", repack(true, func(_ testing.TB, c *contents) {
			lines := bytes.SplitAfter(c.data[entriesPath], []byte("\n"))
			number, line, _ := bytes.Cut(bytes.TrimRight(lines[8], "\n"), []byte(" "))
			lines[8] = fmt.Appendf(nil, "%s held-back %s\n", number, hexSum(append([]byte{0}, line...)))
			c.data[entriesPath] = bytes.Join(lines, nil)
		}), "entries", entriesPath, "held back"},
		{"entries in another order", repack(true, func(_ testing.TB, c *contents) {
			lines := bytes.SplitAfter(c.data[entriesPath], []byte("\n"))
			lines[3], lines[4] = lines[4], lines[3]
			c.data[entriesPath] = bytes.Join(lines, nil)
		}), "entries", entriesPath, "comes after"},
		{"changed checkpoint", repack(true, func(_ testing.TB, c *contents) {
			c.data[checkpointPath] = bytes.Replace(c.data[checkpointPath], []byte("\n43\n"), []byte("\n44\n"), 1)
			if !bytes.Contains(c.data[checkpointPath], []byte("\n44\n")) {
				panic("the fixture's log has another size")
			}
		}), "custody", "", "checkpoint does not hold"},
		{"another key", repack(true, func(_ testing.TB, c *contents) {
			c.data[keyPath] = append([]byte("kickplate/0000000000000000+00000000+"), c.data[keyPath]...)
		}), "custody", "", "checkpoint does not hold"},
		{"changed proof", repack(true, func(_ testing.TB, c *contents) {
			i := bytes.Index(c.data[proofsPath], []byte(`"path": [`)) + 20
			b := c.data[proofsPath]
			if b[i] == 'A' {
				b[i] = 'B'
			} else {
				b[i] = 'A'
			}
		}), "custody", "", "not the one in the log"},
		{"missing proofs", repack(true, func(_ testing.TB, c *contents) { delete(c.data, proofsPath) }), "custody", proofsPath, "missing"},
	}
}
