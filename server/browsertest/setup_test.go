package browsertest

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
)

// A new shop is set up on one page; what is left stands on the board until it is done or set aside.
func TestSetUp(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.sees("5 steps of the set-up are left")
	p.size(1280, 800)
	setup := "http://" + s.addr + "/setup"
	p.look(setup, "Five steps", "setup")
	p.write("name", "Teasel Repairs")
	p.write("address", "7 Millrace Lane\nAshby")
	p.write("zone", "America/Chicago")
	p.tap("Keep")
	p.sees("Choose the currency that the shop bills in.")
	p.until(`document.activeElement.name === "currency"`)
	p.write("currency", "USD")
	p.write("country", "usa")
	p.tap("Keep")
	p.until(`document.querySelector("#f-country-wrong")?.innerText.includes("ISO 3166")`) // the server's own word, at the field
	p.write("country", "us")
	p.tap("Keep")
	p.sees("4 steps of the set-up are left")
	p.tap("Close this step")

	p.write("labour.perHour", "eighty")
	p.tap("Keep")
	p.until(`document.querySelector("#f-labour-perHour-wrong")?.innerText.includes("number such as")`)
	p.write("labour.perHour", "80.00")
	p.write("tax.percent", "8.25")
	p.tap("Keep")
	p.sees("3 steps of the set-up are left")
	p.tap("Close this step")

	p.write("payer", "Norrvik Care")
	p.write("labour.perHour", "72.50")
	p.tap("Add the payer")
	p.sees("72.50 USD an hour")
	p.tap("Close this step")
	p.sees("2 steps of the set-up are left")
	rates := ask[[]map[string]any](p, `fetch("/api/v1/rates").then((r) => r.json()).then((r) => r.cards)`)
	if assert.Len(t, rates, 2) {
		assert.ElementsMatch(t, []any{nil, "Norrvik Care"}, []any{rates[0]["payer"], rates[1]["payer"]})
		assert.Equal(t, "8.25", rates[0]["tax"].(map[string]any)["percent"])
		assert.Equal(t, "8.25", rates[1]["tax"].(map[string]any)["percent"], "a payer's own prices keep the shop's tax")
	}

	p.write("name", "Ida Roe")
	p.tap("Add a person")
	p.sees("Give this link to Ida Roe.")
	p.sees("1 step of the set-up is left")
	p.tap("Close this step")
	p.tap("Show the code")
	p.until(`document.querySelector("img.qr")?.complete`)
	p.sound("the code")
	p.tap("To the board")
	p.sees("1 step of the set-up is left")
	p.tap("Go on with the set-up")
	p.tap("Not needed here")
	p.sees("All steps are done or set aside.")
	p.open("http://" + s.addr + "/board")
	p.sees("There is no such job.")
	assert.NotContains(t, ask[string](p, `document.querySelector("main").innerText`), "set-up is left")

	shop := ask[map[string]any](p, `fetch("/api/v1/shop").then((r) => r.json())`)
	assert.Equal(t, "Teasel Repairs", shop["name"])
	assert.Equal(t, "US", shop["country"])

	// Figures of three jobs, counted by hand: two are owed 187.87 each (64.80 and 1.5 hours at 72.50, with 8.25 % tax on each line: 5.35 and 8.97).
	for i, days := range []int{3, 40} {
		job := p.worked("Customer", "K-2"+string(rune('1'+i)), days, nil)
		p.told(job, "leave", time.Duration(days)*day, map[string]any{"gaps": []string{"plate-photo"}, "reason": "Key was lost."})
		if i == 1 {
			p.told(job, "send", time.Duration(days)*day-time.Hour, map[string]any{"to": "Norrvik Care"})
			p.told(job, "answer", time.Hour, map[string]any{"outcome": "refused", "reason": "late"})
		}
	}
	p.told(uuid.Must(uuid.NewV7()).String(), "open", time.Hour, map[string]any{"number": "K-20", "complaint": "Noisy."})
	p.open("http://" + s.addr + "/figures")
	p.sees("3 jobs that changed since")
	text := ask[string](p, `document.querySelector("main").innerText.replaceAll("\u00a0", " ")`)
	for _, want := range []string{"Of 3 open jobs.", "The claim came late", "0 to 7 days", "$187.87"} {
		assert.Contains(t, text, want)
	}
	p.look("http://"+s.addr+"/figures", "Found missing most often", "figures")
}
