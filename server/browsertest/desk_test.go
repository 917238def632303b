package browsertest

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// told sends an entry as another device of the same person would, so long ago.
func (p *phone) told(job, kind string, ago time.Duration, body any) string {
	p.t.Helper()
	id := uuid.Must(uuid.NewV7()).String()
	raw, err := json.Marshal(map[string]any{"id": id, "shop": "shop", "job": job, "kind": kind, "at": time.Now().Add(-ago).Format(time.RFC3339), "device": "van-2", "body": body})
	require.NoError(p.t, err)
	said := ask[string](p, `fetch("/api/v1/session").then((r) => r.json()).then((s) => { const e = `+string(raw)+`; e.shop = s.actor.shop;
		e.by = s.actor.person;
		
		return fetch("/api/v1/entries", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ entries: [e] }) }); }).then(async (r) => r.ok ? "" : r.text())`)
	require.Empty(p.t, said, "%s", kind)
	return id
}

// put replaces a setting.
func (p *phone) put(path string, body any) {
	p.t.Helper()
	raw, err := json.Marshal(body)
	require.NoError(p.t, err)
	said := ask[string](p, `fetch("/api/v1`+path+`", { method: "PUT", headers: { "Content-Type": "application/json" }, body: JSON.stringify(`+string(raw)+`) }).then(async (r) => r.ok ? "" : r.text())`)
	require.Empty(p.t, said, path)
}

const day = 24 * time.Hour

// dayIn is the calendar day so many days from now where the phone is, which may be another than that of UTC.
func (p *phone) dayIn(days int) string {
	p.t.Helper()
	return ask[string](p, fmt.Sprintf(`(() => { const d = new Date(), two = (n) => String(n).padStart(2, "0"); d.setDate(d.getDate() + %d); return d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()); })()`, days))
}

// worked makes a job that was done so many days ago: a heater replaced at 64.80, and 90 minutes.
func (p *phone) worked(customer, number string, days int, more map[string]any) string {
	p.t.Helper()
	job, ago := uuid.Must(uuid.NewV7()).String(), time.Duration(days)*day
	p.told(job, "open", ago+3*time.Hour, map[string]any{"number": number, "complaint": "Fresh-food side is warm."})
	p.told(job, "customer", ago+3*time.Hour, map[string]any{"name": customer})
	p.told(job, "site", ago+3*time.Hour, map[string]any{"address": "4 Teasel Row", "zone": "America/Chicago"})
	p.told(job, "unit", ago+3*time.Hour, map[string]any{"kind": "refrigerator", "maker": "Norrvik", "model": "NV-418", "serial": "S" + number})
	cover := map[string]any{"kind": "maker-warranty", "payer": "Norrvik Care", "startEvent": "purchase", "purchased": "2026-01-10", "termMonths": 60, "endRule": "exclusive"}
	for k, v := range more {
		cover[k] = v
	}
	p.told(job, "coverage", ago+3*time.Hour, cover)
	p.told(job, "arrive", ago+2*time.Hour, map[string]any{})
	p.told(job, "cause", ago+100*time.Minute, map[string]any{"text": "Defrost heater open.", "component": "defrost-heater"})
	p.told(job, "reading", ago+100*time.Minute, map[string]any{"component": "defrost-heater", "quantity": "resistance", "state": "over-range", "moment": "as-found"})
	p.told(job, "part", ago+90*time.Minute, map[string]any{"component": "defrost-heater", "action": "replaced", "number": "NV-H220", "original": "yes", "held": "held", "price": map[string]any{"minor": 6480, "currency": "USD"}})
	p.told(job, "labour", ago+80*time.Minute, map[string]any{"minutes": 90})
	p.told(job, "leave", ago+time.Hour, map[string]any{})
	return job
}

func rateCards() map[string]any {
	return map[string]any{"cards": []any{map[string]any{"name": "2026", "from": "2026-01-01", "currency": "USD", "rounding": "half-up", "labour": map[string]any{"perHour": "80.00"},
		"trip": map[string]any{}, "parts": map[string]any{}, "tax": map[string]any{}}}}
}

// look holds a screen of the desk against axe-core and a narrow screen: wide in light, narrow in dark, and with large text.
func (p *phone) look(url, sees, name string) {
	p.t.Helper()
	dir := shotsDir(p.t)
	for _, c := range []struct {
		scheme string
		w, h   int64
		text   int64
	}{{"light", 1280, 800, 16}, {"dark", 390, 844, 16}, {"light", 390, 844, 32}} {
		p.scheme(c.scheme)
		p.size(c.w, c.h)
		p.text(c.text)
		p.open(url)
		p.sees(sees)
		p.settled()
		at := fmt.Sprintf("%s-%s-%d-text-%d", name, c.scheme, c.w, c.text)
		p.sound(at)
		if c.w == 390 {
			p.fits(at)
		}
		p.picture(filepath.Join(dir, "desk-"+at+".png"))
	}
	p.text(16)
	p.size(1280, 800)
	p.open(url)
	p.sees(sees)
}

func (p *phone) keys(keys string) {
	p.t.Helper()
	p.do(chromedp.KeyEvent(keys))
}

// focused is the text of what has the focus.
func (p *phone) focused() string {
	return ask[string](p, `document.activeElement.innerText || document.activeElement.value || ""`)
}

// The board shows what runs out first, what it is worth and what is missing; it is worked by keyboard alone.
func TestBoard(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.put("/rates", rateCards())
	p.worked("A. Late", "K-1", 40, map[string]any{"submitDays": 30})
	p.worked("B. Soon", "K-2", 27, map[string]any{"submitDays": 30, "returnDays": 60})
	sent := p.worked("C. Sent", "K-3", 5, nil)
	p.told(sent, "send", time.Hour, map[string]any{"to": "Norrvik Care"})
	done := p.worked("D. Settled", "K-4", 9, nil)
	p.told(done, "settle", time.Hour, map[string]any{"outcome": "written-off", "reason": "Small amount."})
	for i := range 60 {
		p.told(uuid.Must(uuid.NewV7()).String(), "open", time.Duration(100+i)*day, map[string]any{"number": fmt.Sprintf("OLD-%02d", i), "complaint": "Noisy."})
	}
	board := "http://" + s.addr + "/board"
	p.size(1280, 800)
	p.open(board)
	p.sees("Overdue")
	// By hand: 64.80 and 1.5 hours at 80.00 make 184.80 each, on three open jobs.
	p.sees("$554.40")
	text := ask[string](p, `document.querySelector("main").innerText`)
	for _, want := range []string{"A. Late", "10 days late", "send the claim", "B. Soon", "3 days left", "return the old part", "C. Sent", "$184.80", "Without a last day"} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, "D. Settled")
	assert.Equal(t, []string{"A. Late", "B. Soon"}, ask[[]string](p, `[...document.querySelectorAll(".board-row .who b")].slice(0, 2).map((b) => b.innerText)`), "what is overdue comes first")

	// Only the keyboard from here.
	p.keys("/")
	p.until(`document.activeElement.type === "search"`)
	p.keys("norrvik soon")
	p.until(`document.querySelectorAll(".board-row").length === 1`)
	p.keys(kb.ArrowDown)
	p.until(`document.activeElement.classList.contains("board-row")`)
	assert.Contains(t, p.focused(), "B. Soon")
	p.keys(kb.Enter)
	p.until(`location.pathname.startsWith("/job/")`)
	p.sees("Checklist")
	p.tap("Back")
	p.until(`location.pathname === "/board"`)
	p.until(`document.querySelectorAll(".board-row").length === 1`) // the search stands
	p.keys("/")
	p.until(`document.activeElement.type === "search"`)
	p.keys(kb.Escape)
	p.sees("A. Late")
	p.keys(kb.Escape) // leaves the search for the list
	p.until(`document.activeElement.classList.contains("board-row")`)
	p.keys("?")
	p.sees("Working by keyboard")
	p.sound("keys")

	p.open(board + "?show=settled")
	p.sees("D. Settled")
	p.open(board + "?show=return")
	p.sees("B. Soon")
	assert.NotContains(t, ask[string](p, `document.querySelector("main").innerText`), "A. Late")
	p.open(board)
	p.sees("OLD-00")
	p.tap("Show more")
	p.until(`document.querySelectorAll(".board-row").length === 63`)
	p.look(board, "A. Late", "board")
	p.look("http://"+s.addr+"/keys", "Working by keyboard", "keys")
}
