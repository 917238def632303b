package browsertest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// settled puts an IndexedDB request's end into a promise, in the page.
const settled = `const settled = (r) => new Promise((done, fail) => { r.onsuccess = () => done(r.result); r.onerror = () => fail(r.error); });`

// asFirst gives the phone's database the form that the app's first version had: no stores of their own for the rule packs and for the
// answers, which stood in meta and in jobs.
const asFirst = `(async () => { ` + settled + `
	const now = await settled(indexedDB.open("kickplate")), kept = {};
	for (const name of now.objectStoreNames) { const s = now.transaction(name).objectStore(name); kept[name] = { keys: await settled(s.getAllKeys()), values: await settled(s.getAll()) }; }
	now.close();
	const last = (id) => { const a = kept.answers.values.find((x) => x.id === id); return a.text ? JSON.parse(a.text).result.job : a.state; };
	const first = async () => {
		await settled(indexedDB.deleteDatabase("kickplate"));
		const opening = indexedDB.open("kickplate", 1);
		opening.onupgradeneeded = () => {
			const d = opening.result;
			d.createObjectStore("meta");
			for (const [name, keyPath] of [["entries", "id"], ["files", "digest"], ["journal", "id"], ["jobs", "id"], ["thumbs", "digest"]]) d.createObjectStore(name, { keyPath });
			for (const name of ["entries", "journal"]) opening.transaction.objectStore(name).createIndex("job", "job");
		};
		return settled(opening);
	};
	let old; // what is left of the app may open it once more before it has ended
	for (let i = 0; !old; i++) try { old = await first(); } catch (e) { if (i === 100) throw e; await new Promise((done) => setTimeout(done, 100)); }
	const tx = old.transaction([...old.objectStoreNames], "readwrite");
	for (const name of old.objectStoreNames) for (const [i, v] of kept[name].values.entries()) {
		if (name === "meta") tx.objectStore(name).put(v, kept[name].keys[i]);
		else tx.objectStore(name).put(name === "jobs" ? { ...v, seen: 1, state: last(v.id), check: null, problem: null } : v);
	}
	tx.objectStore("meta").put(kept.packs.values, "packs");
	await new Promise((done) => { tx.oncomplete = done; });
	old.close();
	await new Promise((done) => setTimeout(done, 6000)); // the browser closes its files some two seconds after that, and is left to it
	return kept.packs.values.length;
})()`

// A phone whose database an earlier version of the app made, with an entry that was never sent: all of it is there afterwards, without a line.
func TestDatabaseOfFirstVersion(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "unit.jpg", 1600, 1200, 91, false)
	s.cut()
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	before := p.kept()
	require.NotZero(t, before.Entries)
	require.NotZero(t, before.Files)
	p.open("http://" + s.addr + "/manifest.webmanifest") // the app is closed
	packs := ask[int](p, asFirst)
	require.Greater(t, packs, 10)

	p.open("http://" + s.addr + "/job/" + job)
	p.sees("R. Ostrander")
	p.sees("Generic maker's warranty, refrigerator or freezer") // checked on the phone, by the packs it had
	assert.Equal(t, before, p.kept())
	stores := ask[map[string]int](p, `(async () => { `+settled+`
		const d = await settled(indexedDB.open("kickplate")), tx = d.transaction(["packs", "jobs", "answers", "meta"]), out = {};
		out.packs = await settled(tx.objectStore("packs").count());
		out.answers = await settled(tx.objectStore("answers").count());
		out.heavyJobs = (await settled(tx.objectStore("jobs").getAll())).filter((j) => j.state || j.check).length;
		out.packsInMeta = (await settled(tx.objectStore("meta").get("packs"))) ? 1 : 0;
		d.close();
		return out; })()`)
	assert.Equal(t, map[string]int{"packs": packs, "answers": 1, "heavyJobs": 0, "packsInMeta": 0}, stores)
	s.mend()
	p.allSent(s)
	assert.Equal(t, digest(data), p.original(digest(data)))
	p.whole(job, p.kept().Journal)
}

// A newer version of the app in another window has added to the database: this one goes on keeping and sending.
func TestDatabaseOfLaterVersion(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	require.True(t, ask[bool](p, `(async () => { `+settled+`
		const r = indexedDB.open("kickplate", 1000);
		r.onupgradeneeded = () => r.result.createObjectStore("later");
		(await settled(r)).close();
		return true; })()`))
	file, data := photo(t, t.TempDir(), "unit.jpg", 1600, 1200, 92, false)
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	p.allSent(s)
	assert.Equal(t, digest(data), p.original(digest(data)))
	p.whole(job, p.kept().Journal)
}

// Another window that does not let go of the phone's storage: the app says what to do instead of starting for ever, and starts once it can.
func TestDatabaseThatDoesNotOpen(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.newJob()
	job := ask[string](p, `location.pathname.split("/")[2]`)
	p.sees("All sent")
	p.open("http://" + s.addr + "/manifest.webmanifest")
	require.True(t, ask[bool](p, `(async () => { `+settled+`
		window.held = await settled(indexedDB.open("kickplate"));
		window.next = indexedDB.open("kickplate", 1000); // is blocked, and whoever asks after it with it
		next.onsuccess = () => next.result.close();
		return new Promise((done) => { next.onblocked = () => done(true); }); })()`))
	q := p.another()
	q.open("http://" + s.addr + "/job/" + job)
	q.sees("Close other windows of Kickplate")
	q.sees("Load again")
	q.sound("a database that does not open")
	ask[bool](p, `(() => { held.close(); return true; })()`)
	q.sees("R. Ostrander")
	assert.False(t, ask[bool](q, `document.body.innerText.includes("Load again")`))
}
