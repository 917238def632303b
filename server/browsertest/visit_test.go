package browsertest

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// signIn lets the phone in by the owner's link and waits until the app works without a line.
func (p *phone) signIn(s *shop) {
	p.t.Helper()
	p.open(s.enter)
	p.tap("Come in")
	p.sees("There are no jobs yet")
	p.ready()
}

// ready waits until the service worker has the app, the rules have loaded and the rule packs are on the phone.
func (p *phone) ready() {
	p.t.Helper()
	p.until(`navigator.serviceWorker.ready.then(() => caches.keys()).then((k) => k.length >= 2)`)
	p.until(`caches.open("kickplate-core").then((c) => c.keys()).then((k) => k.length === 2)`)
	p.until(`new Promise((done) => { const q = indexedDB.open("kickplate"); q.onsuccess = () => { const d = q.result; const r = d.transaction("packs").objectStore("packs").count(); r.onsuccess = () => { d.close(); done(r.result > 0); }; }; })`)
	p.until(`performance.getEntriesByName("core-ready").length > 0`)
}

// newJob begins a job on the phone and leaves the browser on its visit.
func (p *phone) newJob() {
	p.t.Helper()
	p.tap("New job")
	p.fill("What the customer says is wrong", "Fresh-food side is warm, freezer is fine.")
	p.fill("Kind of unit", "refrigerator")
	p.fill("Maker", "Norrvik")
	p.fill("Payer", "Norrvik Care")
	p.fill("Customer", "R. Ostrander")
	p.fill("Address", "12 Millrace Lane, Ashby")
	p.tap("Begin the job")
	p.sees("I have arrived")
}

// counts are the rows of the phone's stores.
type counts struct{ Entries, Files, Journal int }

func (p *phone) kept() counts {
	p.t.Helper()
	return ask[counts](p, `new Promise((done, fail) => { const q = indexedDB.open("kickplate"); q.onerror = fail; q.onsuccess = () => {
		const d = q.result, tx = d.transaction(["entries", "files", "journal"]), out = {};
		for (const [name, store] of [["Entries", "entries"], ["Files", "files"], ["Journal", "journal"]]) tx.objectStore(store).count().onsuccess = (e) => { out[name] = e.target.result; };
		tx.oncomplete = () => { d.close(); done(out); };
	}; })`)
}

// keeps waits until the phone's stores have so many rows.
func (p *phone) keeps(want counts) {
	p.t.Helper()
	var got counts
	if !assert.Eventually(p.t, func() bool { got = p.kept(); return got == want }, patience, 50*time.Millisecond) {
		require.Equal(p.t, want, got)
	}
}

func digest(b []byte) string { s := sha256.Sum256(b); return hex.EncodeToString(s[:]) }

// original downloads a photo as the signed-in browser would and returns its bytes as the server has them.
func (p *phone) original(d string) string {
	p.t.Helper()
	p.until(`fetch("/api/v1/session").then((r) => r.ok)`)
	return ask[string](p, `fetch("/api/v1/originals/`+d+`").then((r) => r.ok ? r.arrayBuffer() : Promise.reject(new Error("status " + r.status))).then((b) => crypto.subtle.digest("SHA-256", b)).then((h) => [...new Uint8Array(h)].map((x) => x.toString(16).padStart(2, "0")).join(""))`)
}

// A whole visit without a line: nothing is lost, and when the line is back everything is on the server, byte for byte.
func TestVisitWithoutSignal(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	p.signIn(s)
	s.cut()
	p.open("http://" + s.addr + "/") // opens from the phone's own copy
	p.sees("No connection")
	p.newJob()
	p.tap("I have arrived")
	p.sees("here since")

	unit, unitBytes := photo(t, dir, "unit.jpg", 1600, 1200, 1, false)
	floor, floorBytes := photo(t, dir, "floor.jpg", 1600, 1200, 2, false)
	plate, plateBytes := photo(t, dir, "plate.jpg", 2000, 1500, 3, false)
	p.tap("Arrive")
	p.shoot("Photograph: Whole unit", unit)
	p.sees("Sharp and well lit")
	p.tap("Back")
	p.tap("Arrive")
	p.shoot("Photograph: Surroundings", floor)
	p.sees("Sharp and well lit")
	p.tap("Back")
	p.tap("Look before touching")
	p.shoot("Photograph: Rating plate", plate)
	p.sees("Sharp and well lit")
	p.shoot("One more", plate)
	p.sees("This very file is already in this job.")
	p.tap("Withdraw it")

	p.tap("Back")
	p.tap("Look before touching")
	p.tap("Type the plate")
	p.fill("Model number", "NV-418")
	p.fill("Serial number", "AB1234567")
	p.tap("Keep")
	p.sees("Look before touching")

	job := ask[string](p, `location.pathname.split("/")[2]`)
	p.open("http://" + s.addr + "/job/" + job + "/read?component=defrost-heater&quantity=resistance")
	p.until(`document.querySelectorAll(".caution").length === 2`) // mains, and a hot heater
	p.tap("I have read this")
	p.until(`document.querySelectorAll(".caution").length === 1`)
	p.tap("I have read this")
	p.tap("OL (over range)")
	p.sees("OL")
	p.tap("Keep the reading")
	p.until(`!location.pathname.endsWith("/read")`)

	p.open("http://" + s.addr + "/job/" + job + "/sign?about=damage-on-arrival")
	p.tap("Customer not present")
	p.fill("Why there is no signature", "The caretaker let me in.")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/sign")`)

	p.open("http://" + s.addr + "/job/" + job + "/leave")
	p.sees("still missing")
	p.tap("Leave all the same")
	p.says("Say why you leave")
	p.fill("Why it stays open", "Part on order.")
	p.tap("Leave all the same")
	p.sees("waiting")
	before := p.kept()
	assert.Zero(t, before.Journal)
	assert.Equal(t, 3, before.Files, "the same bytes are one file")

	s.mend()
	p.tap("waiting")
	p.tap("Send now")
	p.sees("All is sent")
	after := p.kept()
	assert.Equal(t, counts{Entries: 0, Files: 0, Journal: before.Entries}, after)
	for name, b := range map[string][]byte{"unit": unitBytes, "floor": floorBytes, "plate": plateBytes} {
		assert.Equal(t, digest(b), p.original(digest(b)), "the %s is byte for byte on the server", name)
	}
	p.open("http://" + s.addr + "/job/" + job)
	p.sees("Left with")
	p.sees("Part on order.")
	p.until(`document.querySelectorAll(".shot .mark").length >= 3`) // the support of each photo's time
	p.whole(job, before.Entries)
}

// whole checks the phone's chain on the server: every number once, each with the hash of the exact bytes of the one before.
func (p *phone) whole(job string, entries int) {
	p.t.Helper()
	type link struct {
		Seq        int
		Prev, Hash string
	}
	got := ask[[]link](p, `fetch("/api/v1/jobs/`+job+`/entries?limit=1000").then((r) => r.text()).then(async (text) => {
		const hex = (b) => [...new Uint8Array(b)].map((x) => x.toString(16).padStart(2, "0")).join("");
		const list = JSON.parse(text).entries.map((e) => e.entry).filter((e) => e.seq);
		return Promise.all(list.map(async (e) => {
			const raw = JSON.stringify(e);
			if (!text.includes(raw)) throw new Error("the entry's bytes are not in the answer");
			return { Seq: e.seq, Prev: e.prev || "", Hash: hex(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(raw))) };
		}));
	})`)
	require.Len(p.t, got, entries)
	by := map[int]link{}
	for _, l := range got {
		require.NotContains(p.t, by, l.Seq, "number %d came twice", l.Seq)
		by[l.Seq] = l
	}
	for seq := 1; seq <= entries; seq++ {
		require.Contains(p.t, by, seq)
		assert.Equal(p.t, by[seq-1].Hash, by[seq].Prev, "the link of number %d", seq)
	}
}

// Nobody who is not signed in learns whether a photo is here.
func TestStrangersLearnNothing(t *testing.T) {
	s := openShop(t)
	res, err := http.Head("http://" + s.addr + "/api/v1/originals/" + digest([]byte("x")))
	require.NoError(t, err)
	io.Copy(io.Discard, res.Body)
	res.Body.Close()
	assert.Equal(t, http.StatusUnauthorized, res.StatusCode)
}
