package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/packs"
	"kickplate/rules/readings"
)

// question is one line of what main.go and testdata/answer.mjs read.
type question struct {
	Question string          `json:"question"`
	In       json.RawMessage `json:"in"`
	Pixels   []uint8         `json:"pixels,omitempty"`
}

func q(t testing.TB, name string, in any, pixels ...uint8) question {
	t.Helper()
	raw, err := json.Marshal(in)
	require.NoError(t, err)
	return question{Question: name, In: raw, Pixels: pixels}
}

func defaultPacks(t testing.TB) *packs.Set {
	t.Helper()
	set, err := packs.Default()
	require.NoError(t, err)
	require.NotEmpty(t, set.All())
	return set
}

// packQuestions give the core the packs as the phone gives it them.
func packQuestions(t testing.TB, set *packs.Set) []question {
	t.Helper()
	var heads []map[string]any
	var whole []question
	for _, p := range set.All() {
		raw, err := packs.JSON(p)
		require.NoError(t, err)
		heads = append(heads, map[string]any{"id": p.Pack().ID, "units": p.Pack().Units, "coverage": p.Pack().Coverage, "abstract": p.Pack().Abstract})
		whole = append(whole, question{Question: "pack:" + p.Pack().ID, In: raw})
	}
	return append([]question{q(t, "packs", heads)}, whole...)
}

// give hands the packs over.
func give(t testing.TB, c *Core, set *packs.Set) {
	t.Helper()
	for _, x := range packQuestions(t, set) {
		require.NotContains(t, string(c.Answer(x.Question, x.In, nil)), `"error":`)
	}
}

type journal struct {
	t       testing.TB
	n       int
	at      time.Time
	entries []map[string]any
	ids     map[string]string
}

// id gives an entry of a case its UUID; cases call entries of several kinds by one name, so the kind is part of it.
func (j *journal) id(name string) string {
	if name == "" {
		return ""
	}
	if _, ok := j.ids[name]; !ok {
		j.ids[name] = fmt.Sprintf("01900000-0000-7000-8000-%012x", len(j.ids)+1)
	}
	return j.ids[name]
}

func (j *journal) photo(name string) string {
	if name == "" {
		return ""
	}
	return j.id("photo " + name)
}

func (j *journal) photos(names []string) (out []string) {
	for _, n := range names {
		out = append(out, j.photo(n))
	}
	return out
}

func (j *journal) add(kind, name string, at time.Time, body map[string]any) {
	if at.IsZero() {
		at = j.at
	}
	j.n++
	if name == "" {
		name = fmt.Sprintf("entry-%d", j.n)
	}
	for k, v := range body {
		if s, ok := v.(string); ok && s == "" {
			delete(body, k)
		}
	}
	raw, err := json.Marshal(map[string]any{"id": j.id(name), "shop": "demo", "job": "01900000-0000-7000-9000-000000000001", "kind": kind,
		"at": at.Format(time.RFC3339Nano), "by": "T. Marlowe", "device": "phone", "seq": j.n, "prev": strings.Repeat("ab", 32), "body": body})
	require.NoError(j.t, err)
	j.entries = append(j.entries, map[string]any{"raw": string(raw), "received": at.Add(time.Minute), "leaf": j.n})
}

// journalOf writes the facts of an example case down as a phone would have.
func journalOf(t testing.TB, f *rules.Facts) map[string]any {
	j := &journal{t: t, at: f.Now.Add(-time.Hour), ids: map[string]string{}}
	field := func(name string) string { return f.Fields[name] }
	j.add("open", "", f.Now.Add(-2*time.Hour), map[string]any{"number": "J-1", "complaint": field("narrative.complaint")})
	j.add("customer", "", j.at, map[string]any{"name": field("customer.name")})
	j.add("site", "", j.at, map[string]any{"address": field("site.address"), "zone": f.Zone})
	j.add("unit", "", j.at, map[string]any{"kind": field("unit.kind"), "model": field("unit.model"), "serial": field("unit.serial"), "usage": field("unit.usage")})
	j.add("coverage", "", j.at, map[string]any{"kind": field("coverage.kind"), "payer": field("coverage.payer"), "serial": field("coverage.serial"),
		"startEvent": field("coverage.start-event"), "purchased": f.Dates["coverage.purchased"]})
	for event, kind := range map[string]string{"arrived": "arrive", "work-started": "work-start", "work-finished": "work-finish", "left": "leave"} {
		for _, m := range f.Events[event] {
			j.add(kind, kind+m.Entry, m.At, map[string]any{})
		}
	}
	seen := map[string]any{}
	for i, p := range f.Photos {
		digest := fmt.Sprintf("%064x", i+1)
		if p.Digest != "" {
			digest = p.Digest
		}
		j.add("photo", "photo "+p.Entry, p.At, map[string]any{"digest": digest, "bytes": 1000 + i, "subject": p.Subject, "component": p.Component, "source": "camera", "pairedWith": j.photo(p.PairedWith)})
		seen[digest] = claims.PhotoFacts{Digest: claims.Digest(digest), Bytes: int64(1000 + i), Type: "image/jpeg", Width: p.Width, Height: p.Height, Sharp: p.Sharp, Dark: p.Dark, Bright: p.Bright, Examiner: "phone"}
	}
	for _, r := range f.Readings {
		j.add("reading", "reading "+r.Entry, r.At, map[string]any{"component": r.Component, "quantity": r.Quantity, "value": r.Value, "unit": r.Unit, "state": r.State, "moment": r.Moment, "photo": j.photo(r.DisplayPhoto)})
	}
	for _, p := range f.Parts {
		j.add("part", "part "+p.Entry, p.At, map[string]any{"component": p.Component, "action": p.Action, "number": p.Number, "invoice": p.Invoice, "original": p.Original, "held": p.Held})
	}
	for _, d := range f.Damages {
		j.add("damage", "damage "+d.Entry, d.At, map[string]any{"area": d.Area, "kind": d.Kind, "seen": d.Seen, "photos": j.photos(d.Photos), "bears": d.Bears})
	}
	for _, a := range f.Acks {
		j.add("acknowledge", "acknowledge "+a.Entry, a.At, map[string]any{"about": a.About, "outcome": a.Outcome, "name": "R. Ostrander", "reason": "as told", "strokes": [][]int{{1, 1, 2, 2}}, "shown": j.photos(a.Shown)})
	}
	for id, shown := range f.Cautions {
		for _, m := range shown {
			j.add("caution-shown", "caution "+id+m.Entry, m.At, map[string]any{"caution": id})
		}
	}
	for kind, text := range map[string]string{"cause": field("narrative.cause"), "correction": field("narrative.correction")} {
		if text != "" {
			j.add(kind, "", j.at, map[string]any{"text": text})
		}
	}
	return map[string]any{"now": f.Now, "entries": j.entries, "seen": seen, "suspect": "defrost-heater"}
}

// questions asks everything the phone asks: every example case of every pack as a journal, every profile of the catalogue with readings
// good, bad and mistyped, pictures, and what is no question at all.
func questions(t testing.TB) []question {
	t.Helper()
	set := defaultPacks(t)
	all := append(packQuestions(t, set), q(t, "catalogue", nil), q(t, "words", nil))
	cases := 0
	for _, p := range set.All() {
		for i := range p.Cases {
			all = append(all, q(t, "look", journalOf(t, &p.Cases[i].Facts)))
			cases++
		}
	}
	require.Greater(t, cases, 50, "the example cases of the packs")
	list := readings.List()
	for _, p := range list.Profiles {
		for _, m := range list.Models {
			if m.Model != p.Model {
				continue
			}
			for _, quantity := range m.Reads {
				for _, text := range []string{"32.1", "OL", "4k7", "0", "-2,5", "1,2,3", "12 furlongs"} {
					all = append(all, q(t, "judge", map[string]any{"text": text, "reading": map[string]any{"component": p.Component, "quantity": quantity,
						"profile": map[string]any{"name": p.Name}, "conditions": map[string]any{"circuit": "isolated", "partTemperature": map[string]any{"quantity": "temperature", "value": "25", "unit": "Cel"}, "load": "under-load"}}}))
				}
			}
		}
	}
	all = append(all, q(t, "measure", map[string]any{"width": 320, "height": 240, "others": map[string]string{"a": "0000000000000000", "b": "zz"}}, pattern(320, 240)...),
		q(t, "measure", map[string]any{"width": 2, "height": 2}, make([]uint8, 16)...), q(t, "measure", map[string]any{"width": 3, "height": 2}, 1, 2, 3), q(t, "sing", nil), q(t, "look", "x"))
	return all
}

// pattern is a picture with edges of every size.
func pattern(w, h int) []uint8 {
	pix := make([]uint8, 4*w*h)
	for y := range h {
		for x := range w {
			v := uint8((x*x/97 + y*y/53 + x*y/31) % 256)
			copy(pix[4*(y*w+x):], []uint8{v, v ^ 0x55, 255 - v, 255})
		}
	}
	return pix
}

// The same questions get the same bytes from the shipped WebAssembly as from the native code.
func TestTheSameAnswersInWebAssembly(t *testing.T) {
	_, err := exec.LookPath("node")
	require.NoError(t, err, "install the Debian package nodejs")
	all := questions(t)
	var in, want bytes.Buffer
	var c Core
	for _, x := range all {
		line, err := json.Marshal(x)
		require.NoError(t, err)
		in.Write(append(line, '\n'))
		want.Write(append(c.Answer(x.Question, x.In, x.Pixels), '\n'))
	}
	cmd := exec.Command("node", "testdata/answer.mjs", "../built")
	cmd.Stdin = &in
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	got, err := cmd.Output()
	require.NoError(t, err, complaints.String())
	a, b := bytes.Split(want.Bytes(), []byte("\n")), bytes.Split(got, []byte("\n"))
	require.Len(t, b, len(a))
	for i := range a {
		if !bytes.Equal(a[i], b[i]) {
			require.Equal(t, string(a[i]), string(b[i]), "answer %d, to %s", i, all[i].Question)
		}
	}
	t.Logf("%d questions\n%s", len(all), complaints.String())
}

// What the packs say of an example case, the phone says of the same case as a journal: the look is a real check and not an empty one.
func TestLook(t *testing.T) {
	var c Core
	set := defaultPacks(t)
	give(t, &c, set)
	for _, p := range set.All() {
		for i := range p.Cases {
			k := &p.Cases[i]
			if k.Facts.Fields["unit.kind"] == "" || k.Facts.Fields["coverage.kind"] == "" {
				continue
			}
			t.Run(p.Pack().ID+"/"+k.Name, func(t *testing.T) {
				x := q(t, "look", journalOf(t, &k.Facts))
				var out struct {
					Result lookAnswer
					Error  string
				}
				require.NoError(t, json.Unmarshal(c.Answer("look", x.In, nil), &out))
				require.Empty(t, out.Error)
				best, ok := set.Pick(k.Facts.Fields["unit.kind"], k.Facts.Fields["coverage.kind"])
				if !ok {
					assert.Nil(t, out.Result.Report)
					assert.NotEmpty(t, out.Result.Problem)
					return
				}
				require.NotNil(t, out.Result.Report, out.Result.Problem)
				assert.Equal(t, best.Pack().ID, out.Result.Report.Pack)
				assert.Len(t, out.Result.Job.Photos, len(k.Facts.Photos))
				assert.Len(t, out.Result.Views, len(k.Facts.Photos))
				assert.Len(t, out.Result.Job.Readings, len(k.Facts.Readings), "%v", out.Result.Job.Problems)
				assert.Len(t, out.Result.Verdicts, len(k.Facts.Readings))
				open := 0
				for i := range out.Result.Report.Findings {
					if out.Result.Report.Findings[i].Open() {
						open++
					}
				}
				assert.Len(t, out.Result.Wanted, open, "each open finding is wanted")
			})
		}
	}
}

// The phone picks the pack that the server picks, for every kind of coverage and of unit.
func TestPick(t *testing.T) {
	var c Core
	set := defaultPacks(t)
	give(t, &c, set)
	for _, unit := range append(rules.UnitKinds(), rules.Term{ID: ""}, rules.Term{ID: "toaster"}) {
		for _, coverage := range append(rules.CoverageKinds(), rules.Term{ID: ""}) {
			want, ok := set.Pick(unit.ID, coverage.ID)
			got, found := c.Pick(coverage.ID, unit.ID)
			require.Equal(t, ok, found, "%s, %s", unit.ID, coverage.ID)
			if ok {
				assert.Equal(t, want.Pack().ID, got.Pack().ID, "%s, %s", unit.ID, coverage.ID)
			}
		}
	}
}

// A list that can't be read changes nothing; a pack that can't be used is said in the look's problem, and is no crash.
func TestBadPacks(t *testing.T) {
	var c Core
	give(t, &c, defaultPacks(t))
	before := len(c.heads)
	for _, bad := range []string{`{}`, `[`, ``, `[{"id":3}]`} {
		assert.Contains(t, string(c.Answer("packs", []byte(bad), nil)), `"error":`, bad)
		assert.Len(t, c.heads, before)
	}
	assert.Contains(t, string(c.Answer("pack:nobody-named-it", []byte(`{}`), nil)), `"error":`)
	c.Answer("packs", []byte(`[{"id":"bad"}]`), nil)
	for _, bad := range []string{`{`, `[]`, `{"id":"bad","requirements":[{"id":"a"}]}`} {
		c.Answer("pack:bad", []byte(bad), nil)
		var out struct{ Result lookAnswer }
		require.NoError(t, json.Unmarshal(c.Answer("look", []byte(`{"now":"2026-03-04T09:00:00Z"}`), nil), &out))
		assert.Nil(t, out.Result.Report)
		assert.Contains(t, out.Result.Problem, "bad", bad)
	}
}

func TestJudge(t *testing.T) {
	var c Core
	x := q(t, "judge", map[string]any{"text": "OL", "reading": map[string]any{"component": "defrost-heater", "quantity": "resistance",
		"profile": map[string]any{"model": "resistive-heater", "ratedWatts": 450, "ratedVolts": 115, "tolerancePercent": 7}, "conditions": map[string]any{"circuit": "isolated"}}})
	var out struct{ Result judgeAnswer }
	require.NoError(t, json.Unmarshal(c.Answer("judge", x.In, nil), &out))
	require.NotNil(t, out.Result.Verdict)
	// 115 V × 115 V / 450 W = 29.39 Ω (Joule's law); an open heater is out of any tolerance and supports replacing it.
	assert.Equal(t, "out-of-tolerance", string(out.Result.Verdict.Outcome))
	assert.Equal(t, "yes", string(out.Result.Verdict.Supports))
	assert.Contains(t, out.Result.Verdict.Expected, "29.39")
	assert.Contains(t, out.Result.Plot, "<svg")
	bad := q(t, "judge", map[string]any{"text": "1,2,3", "reading": map[string]any{"quantity": "resistance"}})
	require.NoError(t, json.Unmarshal(c.Answer("judge", bad.In, nil), &out))
	assert.NotEmpty(t, out.Result.Problem)
}

func FuzzAnswer(f *testing.F) {
	set := packQuestions(f, defaultPacks(f))
	for _, x := range questions(f) {
		if len(x.In) < 20000 {
			f.Add(x.Question, []byte(x.In))
		}
	}
	f.Fuzz(func(t *testing.T, question string, in []byte) {
		var c Core
		for _, x := range set {
			c.Answer(x.Question, x.In, nil)
		}
		start := time.Now()
		out := c.Answer(question, in, nil)
		if took := time.Since(start); took > 3*time.Second {
			t.Fatalf("the answer took %v", took)
		}
		var answer struct {
			Result json.RawMessage
			Error  *string
		}
		if err := json.Unmarshal(out, &answer); err != nil {
			t.Fatalf("the answer is no JSON: %s", out)
		}
		if (answer.Result == nil) == (answer.Error == nil) {
			t.Fatalf("neither a result nor an error, or both: %s", out)
		}
		if again := c.Answer(question, in, nil); !bytes.Equal(out, again) {
			t.Fatalf("two answers to one question:\n%s\n%s", out, again)
		}
	})
}

func BenchmarkLook(b *testing.B) {
	var c Core
	set := defaultPacks(b)
	give(b, &c, set)
	p := set.All()[len(set.All())-1]
	for _, x := range set.All() {
		if len(x.Cases) > len(p.Cases) {
			p = x
		}
	}
	x := q(b, "look", journalOf(b, &p.Cases[0].Facts))
	for b.Loop() {
		c.Answer("look", x.In, nil)
	}
}
