package bundle

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/dispute"
	"kickplate/rules"
)

const liner = "freezer liner, left wall"

// disputeScene is a job with damage that was pictured and signed for before work, and an allegation a week later. It returns the allegation.
func disputeScene(t testing.TB, w, h int) (*scene, claims.EntryID) {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "2026-0420", Complaint: "Water under the drawers.", Technician: "R. Vance", Currency: "USD"})
	s.add(claims.KindCustomer, claims.Customer{Name: "Ines Corrado", Phone: "+1 555 010 7781", Email: "ines.corrado@example.net"})
	s.add(claims.KindSite, claims.Site{Address: "31 Sawmill Row\nMillbrook", Country: "US", Zone: "America/New_York"})
	s.add(claims.KindUnit, claims.Unit{Kind: "refrigerator", Maker: "Brightholm", Model: "BH-FF220", Serial: "K7 41 0101"})
	s.add(claims.KindCoverage, claims.Coverage{Kind: "maker-warranty", Payer: "Brightholm Care", Number: "BC-77-3003"})
	s.add(claims.KindArrive, claims.Step{})
	s.photo("proof-of-purchase", "", drawn(w, h, 11), nil)
	wide := s.photo("damage-wide", "liner", drawn(w, h, 12), func(p *claims.Photo, _ *claims.PhotoFacts) { p.Area = liner })
	near := s.photo("damage-close", "liner", drawn(w, h, 13), func(p *claims.Photo, _ *claims.PhotoFacts) { p.Area, p.PairedWith, p.Pair = liner, wide, "wide-close" })
	found := s.add(claims.KindDamage, claims.Damage{Area: "freezer-liner-left-wall", Kind: "melted", Seen: "on-arrival", WidthMM: "120", HeightMM: "90", Scale: "ruler",
		Words: "Browned, burnt through.", Photos: []claims.EntryID{wide, near}, SaidBy: "Ines Corrado", Said: "That was the hair dryer.", Bears: "no"})
	s.add(claims.KindDamage, claims.Damage{Area: "floor", Kind: "none", Seen: "on-arrival"})
	s.add(claims.KindAcknowledge, claims.Acknowledge{About: "damage-on-arrival", Outcome: "signed", Name: "Ines Corrado", Role: "customer", Shown: []claims.EntryID{wide, near, found},
		Statement: "The damage was there before work.", Strokes: [][]int{{100, 200, 140, 120, 190, 230, 240, 110, 300, 220}}})
	s.add(claims.KindWorkStart, claims.Step{})
	s.add(claims.KindNote, claims.Note{Text: "Gate code 4471."})
	s.add(claims.KindReading, claims.Reading{Component: "freezer-compartment", Quantity: "temperature", Value: "1.4", Unit: "[degF]", Moment: "as-found"})
	s.add(claims.KindLabour, claims.Labour{Minutes: 55, Amount: &claims.Money{Minor: 9400, Currency: "USD"}})
	s.photo("work-area", "", drawn(w, h, 14), func(p *claims.Photo, _ *claims.PhotoFacts) {
		p.Area, p.PairedWith, p.Pair = liner, wide, "before-after"
	})
	s.photo("other", "", drawn(w, h, 16), func(p *claims.Photo, _ *claims.PhotoFacts) { p.Area, p.Source = liner, "gallery" })
	s.add(claims.KindWorkFinish, claims.Step{})
	s.add(claims.KindLeave, claims.Leave{})
	s.at = s.at.AddDate(0, 0, 7)
	theirs := s.photo("damage-close", "", drawn(w, h, 15), func(p *claims.Photo, _ *claims.PhotoFacts) { p.From, p.Source = "customer", "file" })
	a := s.add(claims.KindAllege, claims.Allege{Area: liner, Kind: "melted", Words: "Your man melted my freezer.", By: "Ines Corrado", How: "e-mail", Since: "2026-03-04", ReplyBy: "2026-03-20",
		Amount: &claims.Money{Minor: 78000, Currency: "USD"}, Photos: []claims.EntryID{theirs}})
	s.add(claims.KindAllege, claims.Allege{Area: "kitchen floor", Words: "And the floor is scratched.", By: "Ines Corrado"})
	s.add(claims.KindStatement, claims.Statement{About: a, From: "technician", Name: "R. Vance", Text: "I used steam, no heat gun."})
	s.add(claims.KindOffer, claims.Offer{Allegations: []claims.EntryID{a}, From: "shop", What: "discount", Amount: &claims.Money{Minor: 2000, Currency: "USD"}})
	s.add(claims.KindRespond, claims.Respond{Allegations: []claims.EntryID{a}, Letter: "Dear Ines Corrado,\n\nThank you for writing. Exhibits 1 and 2 show the wall before work.\n\nKind regards", Leans: []claims.EntryID{wide, near}})
	return s, a
}

func disputeParcel(t testing.TB, w, h int, include ...string) claims.Parcel {
	s, a := disputeScene(t, w, h)
	p := s.parcel()
	p.Dispute = &claims.DisputeParcel{Allegations: []claims.EntryID{a}, Include: include}
	return p
}

func evidenceOf(t testing.TB, data []byte) Evidence {
	var e Evidence
	require.NoError(t, json.Unmarshal(open(t, data).data["data/evidence.json"], &e))
	return e
}

func TestDisputeFile(t *testing.T) {
	data, packed := pack(t, disputeParcel(t, 320, 240))
	require.Equal(t, "dispute-2026-0420-v1.zip", packed.Name)
	again, _ := pack(t, disputeParcel(t, 320, 240))
	require.True(t, bytes.Equal(data, again), "equal parcels give equal bytes")

	r := verify(t, data)
	require.True(t, r.Holds, r.Text())
	assert.Contains(t, r.Text(), "the findings, the condition record and the order of events come out the same")
	assert.Contains(t, r.Text(), "A dispute file holds what concerns its allegations")

	e := evidenceOf(t, data)
	require.NotNil(t, e.Dispute)
	require.Len(t, e.Dispute.View.Allegations, 1)
	f := e.Dispute.View.Allegations[0].Finding
	assert.Equal(t, dispute.ShownBefore, f.Outcome, "%+v", f)
	require.Len(t, e.Photos, 5, "the receipt stays out")
	for i, x := range e.Dispute.View.Exhibits {
		assert.Equal(t, x.Entry, e.Photos[i].Entry)
		assert.Equal(t, x.No, e.Photos[i].No)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(open(t, data).data["data/evidence.json"]))
	require.NoError(t, err)
	require.NoError(t, compileSchema(t).Validate(doc))

	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "b.zip"), data, 0o600))
	tool(t, "unzip", dir, "unzip", "-q", "b.zip")
	root := filepath.Join(dir, "dispute-2026-0420")
	tool(t, "coreutils", root, "sha256sum", "--strict", "-c", "manifest-sha256.txt")
	tool(t, "coreutils", root, "sha256sum", "--strict", "-c", "tagmanifest-sha256.txt")
	tool(t, "qpdf", root, "qpdf", "--check", "data/report.pdf")
	tool(t, "poppler-utils", root, "pdftotext", "-layout", "data/report.pdf", "report.txt")
	raw, err := os.ReadFile(filepath.Join(root, "report.txt"))
	require.NoError(t, err)
	text := squeeze(string(raw))

	t.Run("says what it is for", func(t *testing.T) {
		for _, want := range []string{"Dear Ines Corrado,", "Shown before work", "What leads to it", "What speaks against the shop", "work begins 09:", "Condition record", "looked at, no damage seen",
			"server's receipt", "Ruler in the picture", "hair dryer", "I used steam, no heat gun.", "Exhibits", "Records certification (template)", "Taken before work?"} {
			assert.Contains(t, strings.ToLower(text), strings.ToLower(want))
		}
	})
	t.Run("the customer's other data stays out", func(t *testing.T) {
		var all bytes.Buffer
		for name, data := range open(t, data).data {
			if !strings.HasSuffix(name, ".jpg") && !strings.HasSuffix(name, ".pdf") {
				all.Write(data)
			}
		}
		all.WriteString(text)
		for _, secret := range []string{"555 010 7781", "ines.corrado@example", "Sawmill", "BC-77-3003", "Brightholm Care", "Gate code", "9400", "94.00", "kitchen floor", "20.00", "[degF]"} {
			assert.NotContains(t, all.String(), secret)
		}
	})
	t.Run("each extra adds what it names", func(t *testing.T) {
		for include, want := range map[string]string{dispute.IncludeContact: "555 010 7781", dispute.IncludeNotes: "Gate code", dispute.IncludeClaim: "BC-77-3003", dispute.IncludeReadings: "[degF]",
			dispute.IncludeSettlement: "discount", dispute.IncludePapers: "proof-of-purchase"} {
			data, _ := pack(t, disputeParcel(t, 64, 48, include))
			assert.Contains(t, string(open(t, data).data["data/evidence.json"]), want, include)
			r := verify(t, data)
			assert.True(t, r.Holds, r.Text())
		}
		assert.Len(t, rules.FileExtras(), 6, "a case for each")
	})
	t.Run("held back as well", func(t *testing.T) {
		p := disputeParcel(t, 64, 48)
		p.Hold = claims.Hold{Customer: true}
		data, _ := pack(t, p)
		r := verify(t, data)
		assert.True(t, r.Holds, r.Text())
		assert.NotContains(t, string(open(t, data).data["data/evidence.json"]), "Corrado")
	})
}

// squeeze makes runs of white space one space: pdftotext keeps the lines of the page.
func squeeze(s string) string { return strings.Join(strings.Fields(s), " ") }

// The elements that the published rule texts name, each with the words of the rule and where they were read. The texts of FRE 803(6), 902(11),
// (13), (14) and of 28 U.S.C. § 1746 are published by the U.S. Government; they were compared with the copies of Cornell's
// Legal Information Institute (803(6)), uscode.elaws.us (1746) and of two law firms that print 902(13) and (14) as of December 1, 2017.
// The sheet that a reader gets (report.pdf) must have each, found by pdftotext.
func TestCertificationHasEachElement(t *testing.T) {
	data, _ := pack(t, disputeParcel(t, 320, 240))
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "r.pdf"), open(t, data).data["data/report.pdf"], 0o600))
	tool(t, "poppler-utils", dir, "pdftotext", "r.pdf", "r.txt")
	raw, err := os.ReadFile(filepath.Join(dir, "r.txt"))
	require.NoError(t, err)
	text := squeeze(string(raw))
	i := strings.LastIndex(text, "Records certification (template)")
	require.Positive(t, i)
	sheet := text[i:]
	for _, c := range []struct{ source, words string }{
		{"FRE 902(11): “a certification of the custodian or another qualified person”", "custodian of the records"},
		{"FRE 902(11), (13), (14): the person is qualified", "another qualified person"},
		{"FRE 803(6)(A): “made at or near the time by — or from information transmitted by — someone with knowledge”", "made at or near the time of what they report by, or from information transmitted by, someone with knowledge"},
		{"FRE 803(6)(B): “kept in the course of a regularly conducted activity of a business”", "kept in the course of a regularly conducted activity of the business"},
		{"FRE 803(6)(C): “making the record was a regular practice of that activity”", "Making such records was a regular practice of that activity"},
		{"FRE 902(13): “generated by an electronic process or system that produces an accurate result”", "generated by an electronic process or system that produces an accurate result"},
		{"FRE 902(14): “data copied from an electronic device, storage medium, or file”", "data copied from electronic devices, storage media or files"},
		{"FRE 902(14): “authenticated by a process of digital identification”", "authenticated by a process of digital identification"},
		{"Committee note to FRE 902(14) (2017): identical hash values attest to exact duplicates", "SHA-256 hash value"},
		{"FRE 902(11): “reasonable written notice of the intent to offer the record”", "reasonable written notice of the intent to offer the records"},
		{"FRE 902(11): record and certification “available for inspection — so that the party has a fair opportunity to challenge them”", "available for inspection, so that the party has a fair opportunity to challenge them"},
		{"28 U.S.C. § 1746(2): “I declare (or certify, verify, or state) under penalty of perjury that the foregoing is true and correct.”", "I declare under penalty of perjury that the foregoing is true and correct"},
		{"28 U.S.C. § 1746(1): without the United States, “under the laws of the United States of America”", "under penalty of perjury under the laws of the United States of America"},
		{"28 U.S.C. § 1746: “Executed on (date).”", "Executed on ____________"},
		{"28 U.S.C. § 1746: “(Signature)”", "Signature ____________"},
		{"house rule: a template, no advice, local rules prevail", "This is not legal advice. Local rules prevail"},
		{"house rule: a template", "Template."},
		{"commentary to FRE 902(14): authenticity alone, hearsay and relevance stay open", "Such a certification speaks to authenticity alone"},
	} {
		assert.Contains(t, sheet, c.words, c.source)
	}
	for _, p := range evidenceOf(t, data).Photos { // the hash list; a sum may be broken over two lines
		assert.Contains(t, strings.ReplaceAll(sheet, " ", ""), string(p.SHA256))
	}
}

// disputeTampers spoil a dispute file in the ways that only it has; the manifests are made to fit again.
func disputeTampers() []tamper {
	edit := func(change func(e map[string]any)) func(testing.TB, []byte) []byte {
		return repack(true, func(t testing.TB, c *contents) { c.edit(t, change) })
	}
	view := func(e map[string]any) map[string]any { return e["dispute"].(map[string]any)["view"].(map[string]any) }
	first := func(v any) map[string]any { return v.([]any)[0].(map[string]any) }
	return []tamper{
		{"changed finding", edit(func(e map[string]any) {
			first(view(e)["allegations"])["finding"].(map[string]any)["outcome"] = "shown-after"
		}), "entries", "evidence.json", "about the allegations"},
		{"what speaks against removed", edit(func(e map[string]any) { first(view(e)["allegations"])["finding"].(map[string]any)["against"] = []any{} }), "entries", "evidence.json", "about the allegations"},
		{"changed condition", edit(func(e map[string]any) { first(view(e)["condition"])["kind"] = "scratched" }), "entries", "evidence.json", "about the allegations"},
		{"changed order of events", edit(func(e map[string]any) { view(e)["timeline"] = view(e)["timeline"].([]any)[1:] }), "entries", "evidence.json", "about the allegations"},
		{"another exhibit first", edit(func(e map[string]any) {
			x := view(e)["exhibits"].([]any)
			x[0], x[1] = x[1], x[0]
		}), "entries", "evidence.json", "about the allegations"},
		{"answers another allegation", edit(func(e map[string]any) {
			e["dispute"].(map[string]any)["allegations"] = []any{"0195aa00-0000-7000-8000-0000000000ee"}
		}), "entries", "evidence.json", "not among the entries"},
		{"changed allegation", edit(func(e map[string]any) { first(e["allegations"])["body"].(map[string]any)["words"] = "All is well." }), "entries", "evidence.json", "allegations"},
		{"changed statement", edit(func(e map[string]any) { first(e["statements"])["body"].(map[string]any)["text"] = "I did it." }), "entries", "evidence.json", "statements"},
		{"changed letter", edit(func(e map[string]any) { first(e["responses"])["body"].(map[string]any)["letter"] = "No." }), "entries", "evidence.json", "letters"},
		{"left out without a word", edit(func(e map[string]any) { e["withheld"] = e["withheld"].([]any)[1:] }), "entries", "entries.txt", "left out, but"},
		{"made a claim", edit(func(e map[string]any) { delete(e, "dispute") }), "entries", "entries.txt", "does not say that anything is held back"},
		{"entry left out afterwards", repack(true, func(t testing.TB, c *contents) {
			lines := strings.SplitAfter(string(c.data[entriesPath]), "\n")
			for i, l := range lines {
				if strings.Contains(l, `"kind":"allege"`) {
					lines = append(lines[:i], lines[i+1:]...)
					break
				}
			}
			c.data[entriesPath] = []byte(strings.Join(lines, ""))
		}), "entries", "", ""},
	}
}

func TestVerifyNamesEachDisputeTamper(t *testing.T) {
	good, _ := pack(t, disputeParcel(t, 64, 48))
	for _, c := range disputeTampers() {
		t.Run(c.name, func(t *testing.T) {
			r := verify(t, c.spoil(t, good))
			assert.False(t, r.Holds)
			named := false
			for _, k := range r.Checks {
				named = named || k.Result == Broken && k.Area == c.area && strings.Contains(k.File, c.file) && strings.Contains(k.Says, c.says)
			}
			assert.True(t, named, "want [%s] %s %q in:\n%s", c.area, c.file, c.says, r.Text())
		})
	}
}
