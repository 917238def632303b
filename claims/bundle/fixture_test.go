package bundle

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/note"

	"kickplate/claims"
	"kickplate/claims/custody"
	"kickplate/claims/memstore"
	"kickplate/media/memblobs"
	"kickplate/rules"
)

const testShop = claims.ShopID("north-end")

// scene makes a parcel step by step: an invented job at an invented shop.
type scene struct {
	t      testing.TB
	shop   claims.Shop
	store  claims.Store
	blobs  claims.Blobs
	at     time.Time
	seq    uint64
	prev   claims.Digest
	kept   []claims.Kept
	photos []claims.EntryID
}

func newScene(t testing.TB) *scene {
	ctx := context.Background()
	stores := memstore.Open()
	t.Cleanup(func() { stores.Close() })
	store, err := stores.Shop(ctx, testShop)
	require.NoError(t, err)
	blobs, err := memblobs.New().Shop(ctx, testShop)
	require.NoError(t, err)
	return &scene{t: t, store: store, blobs: blobs, at: time.Date(2026, 3, 4, 9, 12, 0, 0, time.FixedZone("", -5*3600)),
		shop: claims.Shop{ID: testShop, Name: "North End Appliance Repair", Address: "4 Quarry Lane, Millbrook", Contact: "office@northend.example", Zone: "America/New_York", Country: "US", Currency: "USD"}}
}

const testJob = claims.JobID("0195aa00-0000-7000-8000-000000000001")

func (s *scene) id() claims.EntryID {
	return claims.EntryID(fmt.Sprintf("0195aa00-0000-7000-8000-%012x", 0x100+len(s.kept)))
}

// add makes an entry of a device, as a phone would, and returns its id.
func (s *scene) add(kind claims.Kind, body any) claims.EntryID { return s.entry(kind, body, "", "") }

func (s *scene) entry(kind claims.Kind, body any, supersedes claims.EntryID, why string) claims.EntryID {
	s.at = s.at.Add(90 * time.Second)
	raw, err := json.Marshal(body)
	require.NoError(s.t, err)
	s.seq++
	e := claims.Entry{ID: s.id(), Shop: testShop, Job: testJob, Kind: kind, At: s.at, By: "R. Vance", Device: "phone-2", Seq: s.seq, Prev: s.prev,
		Clock: &claims.Clock{OffsetMs: 350, UncertaintyMs: 40}, Supersedes: supersedes, Why: why, Body: raw}
	if slices.Contains([]claims.Kind{claims.KindExamined, claims.KindCodes, claims.KindBilled, claims.KindReply}, kind) {
		e.By, e.Device, e.Seq, e.Prev, e.Clock = "server", "server", 0, "", nil
		s.seq--
	}
	line, err := json.Marshal(e)
	require.NoError(s.t, err)
	if _, err := claims.ParseEntry(line); err != nil {
		require.NoError(s.t, err, "%s", line)
	}
	if e.Seq != 0 {
		s.prev = claims.DigestOf(line)
	}
	s.kept = append(s.kept, claims.Kept{Entry: e, Raw: line, Received: s.at.Add(4 * time.Second)})
	return e.ID
}

// photo keeps a drawn picture and enters it.
func (s *scene) photo(subject, component string, data []byte, change func(*claims.Photo, *claims.PhotoFacts)) claims.EntryID {
	ctx := context.Background()
	d := claims.DigestOf(data)
	require.NoError(s.t, s.blobs.Put(ctx, d, bytes.NewReader(data)))
	p := claims.Photo{Digest: d, Bytes: int64(len(data)), Name: "../../etc/IMG 0001.JPG", Subject: subject, Component: component, Source: "camera"}
	f := claims.PhotoFacts{Digest: d, Bytes: int64(len(data)), Type: "image/jpeg", Sharp: "yes", Dark: "no", Bright: "no", Examiner: "test"}
	if img, err := jpeg.Decode(bytes.NewReader(data)); err == nil {
		f.Width, f.Height = img.Bounds().Dx(), img.Bounds().Dy()
		for name, side := range map[string]int{claims.DerivedView: 1600, claims.DerivedThumb: 320} {
			require.NoError(s.t, s.blobs.PutDerived(ctx, d, name, jpegBytes(imaging.Fit(img, side, side, imaging.Linear), 80)))
		}
	} else {
		f.Type, f.Sharp, f.Dark, f.Bright = "application/pdf", "", "", ""
	}
	if change != nil {
		change(&p, &f)
	}
	id := s.add(claims.KindPhoto, p)
	s.photos = append(s.photos, id)
	f.Taken = &claims.ExifTime{Local: s.at.Format("2006-01-02T15:04:05"), Offset: "-05:00"}
	s.add(claims.KindExamined, f)
	return id
}

// drawn is a picture with something in it; seed makes it differ. The same one is drawn once.
func drawn(w, h int, seed float64) []byte {
	key := fmt.Sprint(w, h, seed)
	if have, ok := pictures.Load(key); ok {
		return bytes.Clone(have.([]byte))
	}
	data := paint(w, h, seed)
	pictures.Store(key, data)
	return bytes.Clone(data)
}

var pictures sync.Map

func paint(w, h int, seed float64) []byte {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			u, v := float64(x)/float64(w), float64(y)/float64(h)
			r := 120 + 90*math.Sin(6*u+seed) + 30*math.Sin(40*v)
			g := 120 + 80*math.Cos(5*v+seed*1.7)
			b := 130 + 70*math.Sin(7*(u+v)+seed*0.3)
			if math.Hypot(u-0.3-0.02*seed, v-0.5) < 0.12 {
				r, g, b = 235, 235, 225
			}
			img.SetRGBA(x, y, color.RGBA{uint8(min(max(r, 0), 255)), uint8(min(max(g, 0), 255)), uint8(min(max(b, 0), 255)), 255})
		}
	}
	return jpegBytes(img, 88)
}

func jpegBytes(img image.Image, quality int) []byte {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: quality}); err != nil {
		panic(err)
	}
	return out.Bytes()
}

func testPack() *rules.Pack {
	return &rules.Pack{ID: "test-refrigerator", Version: "1", Title: "Refrigerator, test pack", Requirements: []rules.Requirement{
		{ID: "plate", Stage: "look", Title: "Photo of the rating plate", Why: "It identifies the unit.", Cure: "Take a sharp photo of the plate.", Photo: &rules.PhotoRule{Subject: []string{"rating-plate"}, Sharp: true}},
		{ID: "proof", Stage: "book", Title: "Proof of purchase", Why: "It starts the term.", Cure: "Photograph the receipt.", Photo: &rules.PhotoRule{Subject: []string{"proof-of-purchase"}, Documents: true}},
		{ID: "symptom", Stage: "look", Title: "Photo of the symptom", Why: "It shows the complaint.", Cure: "Photograph what the customer complains of.", Photo: &rules.PhotoRule{Subject: []string{"symptom"}}},
		{ID: "cause", Stage: "measure", Title: "Cause in words", Why: "The payer decides by it.", Cure: "Say what was at fault.", Field: &rules.FieldRule{Name: "narrative.cause"}},
		{ID: "as-left", Stage: "prove", Title: "Display as left", Why: "It shows the result.", Cure: "Photograph the display before leaving.", Photo: &rules.PhotoRule{Subject: []string{"as-left-display"}}},
		{ID: "trip", Stage: "claim", Title: "Distance travelled", Why: "Trips are paid by distance.", Cure: "Enter the distance.", Number: &rules.NumberRule{Name: "trip.distance-km", AtMost: "80"}},
	}}
}

// visit plays a whole visit: photos, readings, a part, damage, a signature, a correction, a strike, a waiver, an
// entry of a kind that nobody knows.
func (s *scene) visit(w, h int) {
	s.add(claims.KindOpen, claims.Open{Number: "2026-0417", Complaint: "Food in the fresh-food side gets warm, frost on the back wall.", Technician: "R. Vance", Currency: "USD", Dispatched: "2026-03-02"})
	s.add(claims.KindCustomer, claims.Customer{Name: "Maria Kowalczyk", Phone: "+1 555 010 4477", Email: "m.kowalczyk@example.net"})
	s.add(claims.KindSite, claims.Site{Address: "18 Alder Street\nMillbrook", Country: "US", Zone: "America/New_York", Position: &claims.Position{Lat: 41.785, Lon: -73.694, Accuracy: 12}})
	s.add(claims.KindUnit, claims.Unit{Kind: "refrigerator", Maker: "Brightholm", Model: "BH-FF220", Serial: "K7 41 0093", Manufactured: "2024-11", SupplyVolts: "115"})
	s.add(claims.KindCoverage, claims.Coverage{Kind: "maker-warranty", Payer: "Brightholm Care", Number: "BC/88-1021", StartEvent: "purchase", Start: "2025-01-18", Purchased: "2025-01-18", TermMonths: 24})
	s.add(claims.KindArrive, claims.Step{Position: &claims.Position{Lat: 41.7851, Lon: -73.6941, Accuracy: 9}})
	plate := s.photo("rating-plate", "", drawn(w, h, 1), nil)
	s.photo("whole-unit", "", drawn(h, w, 2), func(p *claims.Photo, f *claims.PhotoFacts) {
		p.Position = &claims.Position{Lat: 41.7851, Lon: -73.6942, Accuracy: 15}
		f.GPS = &claims.Position{Lat: 41.78512, Lon: -73.69421, Accuracy: 15}
	})
	scratch := s.photo("damage-close", "door", drawn(w, h, 3), func(p *claims.Photo, _ *claims.PhotoFacts) {
		p.Area, p.Caption = "door, lower left", "scratch of a hand's width, found on arrival"
	})
	s.add(claims.KindDamage, claims.Damage{Area: "door, lower left", Kind: "scratched", Seen: "on-arrival", WidthMM: "80", HeightMM: "2", Words: "Old scratch, dirt in it.", Photos: []claims.EntryID{scratch}, SaidBy: "customer", Said: "That was there when we moved in."})
	s.add(claims.KindDamage, claims.Damage{Area: "kitchen floor", Kind: "none", Seen: "on-arrival"})
	s.add(claims.KindAcknowledge, claims.Acknowledge{About: "damage-on-arrival", Outcome: "signed", Name: "Maria Kowalczyk", Role: "customer", Shown: []claims.EntryID{scratch}, Statement: "The scratch was there before work began.",
		Strokes: [][]int{{100, 200, 140, 120, 190, 230, 240, 110, 300, 220}, {330, 160, 380, 150, 420, 210, 350, 230, 400, 240, 520, 180}, {560, 140}}})
	s.add(claims.KindWorkStart, claims.Step{})
	s.photo("symptom", "evaporator-coil", drawn(w, h, 4), func(_ *claims.Photo, f *claims.PhotoFacts) { f.Sharp = "doubt" })
	display := s.photo("meter-display", "defrost-heater", drawn(w, h, 5), nil)
	s.add(claims.KindReading, claims.Reading{Component: "defrost-heater", Quantity: "resistance", State: "over-range", Moment: "as-found", Where: "at the heater's plug, part disconnected",
		Profile: json.RawMessage(`{"name":"heater-450w-120v"}`), Conditions: json.RawMessage(`{"circuit":"isolated"}`), Photo: display})
	wrong := s.add(claims.KindReading, claims.Reading{Component: "defrost-heater", Quantity: "resistance", Value: "331", Unit: "Ohm", Moment: "as-left", Profile: json.RawMessage(`{"name":"heater-450w-120v"}`)})
	s.entry(claims.KindReading, claims.Reading{Component: "defrost-heater", Quantity: "resistance", Value: "33.1", Unit: "Ohm", Moment: "as-left", Profile: json.RawMessage(`{"name":"heater-450w-120v"}`), Conditions: json.RawMessage(`{"circuit":"isolated"}`)}, wrong, "the point was missing")
	failed := s.photo("failed-part", "defrost-heater", drawn(w, h, 6), nil)
	label := s.photo("part-label", "defrost-heater", drawn(w, h, 7), nil)
	s.add(claims.KindCause, claims.Narrative{Component: "defrost-heater", Text: "Defrost heater open, evaporator iced over.", Evidence: []claims.EntryID{failed}})
	s.add(claims.KindPart, claims.Part{Component: "defrost-heater", Action: "replaced", Number: "BH-20-771", Description: "heater, defrost", Serial: "H-5512", Invoice: "INV-3391", InvoiceDate: "2026-03-01", Price: &claims.Money{Minor: 4895, Currency: "USD"}, Original: "yes", Held: "held", Photos: []claims.EntryID{failed, label}})
	s.add(claims.KindCorrection, claims.Narrative{Component: "defrost-heater", Text: "Heater replaced, coil thawed, drain cleared, defrost run once."})
	blurred := s.photo("other", "", drawn(w, h, 8), nil)
	s.add(claims.KindStrike, claims.Strike{Entry: blurred, Reason: "taken of the wrong unit"})
	s.add(claims.KindMarkup, claims.Markup{Photo: failed, Marks: []claims.Mark{{Shape: "arrow", X1: 700, Y1: 200, X2: 420, Y2: 480, Text: "burnt through"}, {Shape: "ring", X1: 300, Y1: 500}}})
	s.add(claims.KindLabour, claims.Labour{Minutes: 75, Says: "thaw, replace, test", Amount: &claims.Money{Minor: 11250, Currency: "USD"}})
	s.add(claims.KindTrip, claims.Trip{Distance: "23", Unit: "km", Amount: &claims.Money{Minor: 3500, Currency: "USD"}})
	s.add(claims.KindNote, claims.Note{Text: "=HYPERLINK(\"x\") is what the old label says. Grüße, Ελλάδα, Москва, 修理 " + string(rune(0x1F9CA)), Photos: []claims.EntryID{plate}})
	s.add(claims.KindWaive, claims.Waive{Requirement: "as-left", Reason: "the display is dead on this model"})
	s.add(claims.Kind("sniffed"), map[string]any{"smell": "none"})
	s.photo("proof-of-purchase", "", []byte("%PDF-1.4\n% an invented receipt\n%%EOF\n"), nil)
	s.add(claims.KindLeave, claims.Leave{Gaps: []string{"as-left"}, Reason: "display dead"})
}

// parcel commits the scene to a store, seals it with a fixed key and returns what a packager gets.
func (s *scene) parcel() claims.Parcel {
	ctx := context.Background()
	var recs []claims.Record
	for _, k := range s.kept {
		recs = append(recs, claims.Record{Entry: k.ID, Job: k.Job, Line: claims.Seal(k.Received, k.Raw)})
	}
	other := claims.Record{Entry: "0195aa00-0000-7000-8000-00000000ffff", Job: "0195aa00-0000-7000-8000-000000000002", Line: []byte(`{"received":"2026-03-01T00:00:00.000000Z","entry":{}}`)}
	_, err := s.store.Commit(ctx, claims.Batch{Job: other.Job, Records: []claims.Record{other}})
	require.NoError(s.t, err)
	_, err = s.store.Commit(ctx, claims.Batch{Job: testJob, Records: recs})
	require.NoError(s.t, err)
	recs, _, err = s.store.Records(ctx, testJob, 0, 0)
	require.NoError(s.t, err)
	var kept []claims.Kept
	var leaves []uint64
	for _, r := range recs {
		k, err := claims.KeptOf(r)
		require.NoError(s.t, err)
		kept, leaves = append(kept, k), append(leaves, r.Leaf)
	}
	job := claims.Fold(kept)
	pack := testPack()
	compiled, err := rules.Compile(pack)
	require.NoError(s.t, err)
	built := time.Date(2026, 3, 5, 16, 0, 0, 0, time.UTC)
	facts := claims.FactsOf(&job, pack, built)
	return claims.Parcel{Shop: s.shop, Job: job, Facts: facts, Report: rules.Check(compiled, &facts), Pack: pack, Records: recs, Built: built, BuiltBy: "J. Okafor", Version: 1,
		Custody: s.seal(leaves), Blobs: s.blobs}
}

// steady is a source of bytes that are always the same: keys of test vectors must not change.
type steady struct{ n byte }

func (r *steady) Read(p []byte) (int, error) {
	for i := range p {
		r.n++
		p[i] = r.n
	}
	return len(p), nil
}

var _ io.Reader = (*steady)(nil)

func (s *scene) seal(leaves []uint64) claims.CustodyParcel {
	ctx := context.Background()
	size, err := s.store.LogSize(ctx)
	require.NoError(s.t, err)
	c, err := custody.At(ctx, s.store, size)
	require.NoError(s.t, err)
	secret, public := steadyKey(s.t, c.Origin)
	signer, err := note.NewSigner(secret)
	require.NoError(s.t, err)
	signed, err := note.Sign(&note.Note{Text: c.Text()}, signer)
	require.NoError(s.t, err)
	proofs, err := custody.Prove(ctx, s.store, c, leaves)
	require.NoError(s.t, err)
	raw, err := proofs.JSON()
	require.NoError(s.t, err)
	return claims.CustodyParcel{Checkpoint: signed, Key: public, Proofs: raw}
}

func steadyKey(t testing.TB, name string) (secret, public string) {
	secret, public, err := note.GenerateKey(&steady{n: sha256.Size}, name)
	require.NoError(t, err)
	return secret, public
}

// pack packs a parcel and checks that what it says about the file is so.
func pack(t testing.TB, p claims.Parcel) ([]byte, claims.Packed) {
	var out bytes.Buffer
	packed, err := New().Pack(context.Background(), &out, p)
	require.NoError(t, err)
	require.Equal(t, int64(out.Len()), packed.Bytes)
	require.Equal(t, claims.DigestOf(out.Bytes()), packed.Digest)
	return out.Bytes(), packed
}

// goodParcel is the whole invented visit with small pictures.
func goodParcel(t testing.TB) claims.Parcel {
	s := newScene(t)
	s.visit(320, 240)
	return s.parcel()
}
