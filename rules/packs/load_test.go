package packs

import (
	"errors"
	"io/fs"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const goodHead = "id: a\nversion: \"1\"\ntitle: A\n"

func req(extra string) string {
	return goodHead + "requirements:\n  - id: r\n    stage: look\n    title: T\n    why: W\n    cure: C\n" + extra
}

// Each mistake is named with file and line, and with what to write instead.
func TestLoadRefuses(t *testing.T) {
	for _, x := range []struct{ name, yaml, want string }{
		{"empty", "", "a.yaml: is empty"},
		{"only a comment", "# nothing\n", "a.yaml: is empty"},
		{"not YAML", "id: [a\nversion: 1\n", "is not YAML"},
		{"a list", "- id: a\n", "a.yaml:1: a pack is a list of keys with values"},
		{"two documents", goodHead + "---\nid: b\n", "a second document starts here"},
		{"unknown key", goodHead + "requirments: []\n", "a.yaml:4: unknown key \"requirments\" in the pack; did you mean requirements?"},
		{"unknown key, nothing near", goodHead + "zzzzzzzzzzzz: 1\n", "a.yaml:4: unknown key \"zzzzzzzzzzzz\" in the pack; the keys are id, version"},
		{"unknown key deep down", req("    photo:\n      subject: floor\n      shrap: true\n"), "a.yaml:12: unknown key \"shrap\" in photo; did you mean sharp?"},
		{"key twice", goodHead + "title: B\n", "a.yaml:4: the key \"title\" is here twice (first in line 3); keep one"},
		{"text where a list belongs", goodHead + "requirements: none\n", "a.yaml:4: requirements must be a list, not the text \"none\""},
		{"list where a text belongs", "id: a\nversion: \"1\"\ntitle: [A]\n", "a.yaml:3: title must be a text, not a list"},
		{"yes where true belongs", req("    photo: {subject: floor, sharp: yes}\n"), "a.yaml:10: sharp must be true or false, not the text \"yes\""},
		{"text where a number belongs", req("    photo: {subject: floor, at-least: two}\n"), "a.yaml:10: at-least must be a whole number, not the text \"two\""},
		{"number too large", req("    photo: {subject: floor, at-least: 99999999999999999999}\n"), "at-least must be a whole number"},
		{"true where a text belongs", req("    field: {name: true}\n"), "a.yaml:10: name must be a text; put \"true\" in quotes"},
		{"nothing where a text belongs", "id: a\nversion:\ntitle: A\n", "a.yaml:2: version must be a text"},
		{"origin is not for writing", req("    origin: here\n    photo: {subject: floor}\n"), "a.yaml:10: unknown key \"origin\""},
		{"unknown subject", req("    photo: {subject: flor}\n"), "a.yaml:10: requirements › r › photo › subject: \"flor\" is no known photo subject; did you mean floor?"},
		{"unknown component", req("    photo: {subject: floor, component: evaporator-fun}\n"), "did you mean evaporator-fan?"},
		{"unknown stage", strings.Replace(req("    photo: {subject: floor}\n"), "stage: look", "stage: lok", 1), "a.yaml:6: requirements › r › stage: \"lok\" is no known stage; did you mean look?"},
		{"no why", strings.Replace(req("    photo: {subject: floor}\n"), "    why: W\n", "", 1), "a.yaml:5: requirements › r › why: is missing"},
		{"condition on a component nobody knows", req("    when:\n      any:\n        - {unit: washer}\n        - {replaced: [belt, flux-capacitor]}\n    photo: {subject: floor}\n"), "a.yaml:13: requirements › r › when › any › 1 › replaced: \"flux-capacitor\" is no known component"},
		{"id twice", req("    photo: {subject: floor}\n") + "  - id: r\n    stage: look\n    title: T\n    why: W\n    cure: C\n    photo: {subject: floor}\n", "the id \"r\" is used twice under requirements"},
		{"extends nothing", goodHead + "extends: b\n", "a.yaml:4: there is no pack \"b\" to extend"},
		{"extends itself", goodHead + "extends: a\n", "a.yaml:4: the pack extends itself"},
		{"drop without a reason", goodHead + "drop:\n  - {id: x}\n", "a.yaml:5: drop \"x\": say why"},
		{"drop of nothing", goodHead + "drop:\n  - {id: x, why: y}\n", "a.yaml:5: there is no inherited \"x\" to drop"},
		{"anchor", goodHead + "note: &n text\n", "a.yaml:4: has the anchor &n; leave it out"},
		{"alias", "id: &x a\nversion: *x\ntitle: A\n", "a.yaml:2: refers to *x; write the text out"},
		{"tag", goodHead + "note: !!binary aGk=\n", "a.yaml:4: has the tag !!binary; leave it out"},
		{"own tag", goodHead + "note: !run x\n", "a.yaml:4: has the tag !run; leave it out"},
		{"merge key", goodHead + "requirements:\n  - <<: {id: r}\n", "has the tag !!merge; leave it out"},
		{"key that is a list", goodHead + "[a, b]: c\n", "a key must be a plain word"},
		{"too deep", goodHead + "note: " + strings.Repeat("[", 40) + strings.Repeat("]", 40) + "\n", "nested deeper than 24"},
		{"number in a profile that JSON can't write", goodHead + "readings:\n  - {id: x, title: T, component: igniter, quantity: resistance, profile: {high: 0x1F}}\n", "a.yaml:5: write the number \"0x1F\" in plain decimal digits"},
		{"cases no list", goodHead + "cases: {a: b}\n", "a.yaml:4: cases must be a list"},
		{"case without a name", goodHead + "cases:\n  - {day: 2025-06-12}\n", "a.yaml:5: the case has no name"},
		{"case without a day", goodHead + "cases:\n  - {case: x}\n", "a.yaml:5: the case needs its day"},
		{"case with an unknown key", goodHead + "cases:\n  - {case: x, day: 2025-06-12, foto: {}}\n", "a.yaml:5: unknown key \"foto\""},
		{"case with an unknown subject", goodHead + "cases:\n  - case: x\n    day: 2025-06-12\n    photos:\n      p: {subject: flor}\n", "a.yaml:8: \"flor\" is no known photo subject; did you mean floor?"},
		{"case with an unknown field", goodHead + "cases:\n  - case: x\n    day: 2025-06-12\n    fields: {unit.serail: A}\n", "a.yaml:7: \"unit.serail\" is no known name; did you mean unit.serial?"},
		{"case with a bad time", goodHead + "cases:\n  - case: x\n    day: 2025-06-12\n    now: noon\n", "a.yaml:7: \"noon\" is no time; write 09:05"},
		{"case with a bad zone", goodHead + "cases:\n  - case: x\n    day: 2025-06-12\n    zone: Mars/Olympus\n", "a.yaml:7: \"Mars/Olympus\" is no time zone"},
		{"case on a base that is not there", goodHead + "cases:\n  - {case: x, base: y}\n", "a.yaml:5: there is no case \"y\" to build on"},
		{"cases in a circle", goodHead + "cases:\n  - {case: x, base: y}\n  - {case: y, base: x}\n", "in a circle"},
		{"case twice", goodHead + "cases:\n  - {case: x, day: 2025-06-12}\n  - {case: x, day: 2025-06-12}\n", "a.yaml:6: the case \"x\" is here twice"},
		{"case expects an unknown requirement", req("    photo: {subject: floor}\n") + "cases:\n  - case: x\n    day: 2025-06-12\n    expect: {rr: met}\n", "a.yaml:14: the pack has no requirement \"rr\"; did you mean r?"},
		{"case expects an unknown outcome", req("    photo: {subject: floor}\n") + "cases:\n  - case: x\n    day: 2025-06-12\n    expect: {r: good}\n", "a.yaml:14: \"good\" is no outcome; write one of met"},
	} {
		t.Run(x.name, func(t *testing.T) {
			set, err := Load(fstest.MapFS{"a.yaml": {Data: []byte(x.yaml)}})
			require.Error(t, err)
			assert.Nil(t, set, "a broken pack gives nothing at all")
			var problems Problems
			require.ErrorAs(t, err, &problems)
			assert.Contains(t, err.Error(), x.want)
		})
	}
}

func TestLoadRefusesAcrossFiles(t *testing.T) {
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	_, err := Load(fstest.MapFS{"a.yaml": file(goodHead), "b.yaml": file(goodHead)})
	require.ErrorContains(t, err, `b.yaml:1: the id "a" is already used by a.yaml`)

	_, err = Load(fstest.MapFS{
		"a.yaml": file(goodHead + "extends: b\n"), "b.yaml": file("id: b\nversion: \"1\"\ntitle: B\nextends: c\n"), "c.yaml": file("id: c\nversion: \"1\"\ntitle: C\nextends: a\n"),
	})
	require.ErrorContains(t, err, "the packs extend each other in a circle")

	// A mistake in a pack that two others extend is named once, where it stands.
	_, err = Load(fstest.MapFS{
		"a.yaml": file(req("    photo: {subject: flor}\n")), "b.yaml": file("id: b\nversion: \"1\"\ntitle: B\nextends: a\n"), "c.yaml": file("id: c\nversion: \"1\"\ntitle: C\nextends: a\n"),
	})
	var problems Problems
	require.ErrorAs(t, err, &problems)
	require.Len(t, problems, 1)
	assert.Equal(t, "a.yaml", problems[0].File)
	assert.Equal(t, 10, problems[0].Line)
}

func TestLoadIsBounded(t *testing.T) {
	_, err := Load(fstest.MapFS{"a.yaml": {Data: []byte(goodHead + "note: " + strings.Repeat("x", maxBytes))}})
	require.ErrorContains(t, err, "larger than 1 MiB")

	_, err = Load(fstest.MapFS{"a.yaml": {Data: []byte(goodHead + "extends: [" + strings.Repeat("x,", maxNodes+10) + "]\n")}})
	require.ErrorContains(t, err, "more than 100000 values")

	// A "billion laughs" of aliases is refused at its first alias.
	bomb := "a: &a [x,x,x,x,x,x,x,x,x]\n"
	for c := 'b'; c < 'l'; c++ {
		bomb += string(c) + ": &" + string(c) + " [" + strings.Repeat("*"+string(c-1)+",", 9) + "]\n"
	}
	_, err = Load(fstest.MapFS{"a.yaml": {Data: []byte(bomb)}})
	require.ErrorContains(t, err, "aliases are not allowed")

	large := goodHead + "cases:\n  - case: x\n    day: 2025-06-12\n    photos:\n"
	for i := range 2000 {
		large += "      p" + strconv.Itoa(i) + ": {subject: floor}\n"
	}
	_, err = Load(fstest.MapFS{"a.yaml": {Data: []byte(large + "  - {case: y, base: x}\n")}})
	require.ErrorContains(t, err, "a.yaml:5: the case has more than 5000 values")

	many := fstest.MapFS{}
	for i := range maxFiles + 1 {
		many[strings.Repeat("a", i/26+1)+string(rune('a'+i%26))+".yaml"] = &fstest.MapFile{Data: []byte(goodHead)}
	}
	_, err = Load(many)
	require.ErrorContains(t, err, "more than 200 files")
}

func TestLoadMissingFolder(t *testing.T) {
	_, err := Load(fstest.MapFS{"x/y": {}}, badFS{})
	require.ErrorIs(t, err, fs.ErrPermission)
	var problems Problems
	assert.False(t, errors.As(err, &problems), "a folder that can't be read is no mistake in a pack")
}

type badFS struct{}

func (badFS) Open(string) (fs.File, error) { return nil, fs.ErrPermission }
