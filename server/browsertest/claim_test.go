package browsertest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// write types into the field of that name, as far as the app can tell.
func (p *phone) write(name, value string) {
	p.t.Helper()
	field := fmt.Sprintf(`document.querySelector('main [name=%s]')`, quote(name))
	p.until(field)
	ask[bool](p, fmt.Sprintf(`(() => { const i = %s; i.value = %s; i.dispatchEvent(new Event("input", { bubbles: true })); i.dispatchEvent(new Event("change", { bubbles: true })); return true; })()`, field, quote(value)))
}

// kept presses Keep and waits until the form is left for the job's page with all of it sent.
func (p *phone) keptForm() {
	p.t.Helper()
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/claim")`)
	p.sees("All sent")
}

// From a job with a complete visit to paid, and from a refusal to the second payment, all through the screens.
func TestClaimToPaid(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	p.signIn(s)
	p.put("/rates", rateCards())
	p.size(1280, 800)

	t.Run("FromTheVisitToPaid", func(t *testing.T) {
		job := p.worked("E. Paid", "K-11", 3, map[string]any{"submitDays": 30, "returnDays": 30})
		page := "http://" + s.addr + "/job/" + job
		p.open(page)
		p.sees("Build the bundle")
		p.tap("Build the bundle")
		p.sees("Bundle 1")
		p.tap("Record that it was sent")
		p.until(`document.querySelector("main [name=to]")?.value === "Norrvik Care"`)
		// By hand: 64.80 and 1.5 hours at 80.00.
		assert.Equal(t, "184.80", ask[string](p, `document.querySelector("main [name=asked]").value`))
		p.write("number", "NC-5521")
		p.write("how", "The payer's portal")
		p.keptForm()
		p.sees("Version 1, sent to Norrvik Care")
		require.Len(t, p.bodies(job, "send"), 1)
		assert.EqualValues(t, 1, p.bodies(job, "send")[0]["version"])
		p.sees("NC-5521")

		p.tap("The old part")
		p.write("held", "requested")
		p.tap("Requested back")
		p.keptForm()
		p.tap("The old part")
		p.tap("Shipped back")
		p.tap("Keep")
		p.sees("Write the tracking number")
		assert.Equal(t, "true", ask[string](p, `document.querySelector("[name=tracking]").getAttribute("aria-invalid")`))
		p.write("tracking", "TRK 00418")
		label, _ := photo(t, dir, "label.jpg", 1200, 900, 51, false)
		p.shoot("Photograph the label of the parcel", label)
		p.sees("Photo kept; again")
		p.sound("the old part")
		p.keptForm()
		p.sees("TRK 00418")
		p.tap("The old part")
		p.tap("Received by the payer")
		p.keptForm()
		held := []any{}
		for _, b := range p.bodies(job, "part-return") {
			held = append(held, b["held"])
		}
		assert.Equal(t, []any{"requested", "shipped", "received"}, held)

		p.tap("Record the payer's answer")
		p.tap("Paid")
		p.write("reference", "REM-9")
		p.sound("the payer's answer")
		p.keptForm()
		p.until(`document.querySelector(".owing .left")?.innerText === "$0.00"`)
		p.tap("Close the claim")
		p.sees("Nothing of the payer's part is open.")
		p.keptForm()
		p.sees("Settled")
		p.open("http://" + s.addr + "/board?show=settled")
		p.sees("E. Paid")

		// What was recorded by mistake is withdrawn, with a reason.
		p.open(page)
		p.tap("Withdraw Claim closed")
		p.sees("It is taken out of the account")
		p.tap("Keep")
		p.until(`document.querySelector("#f-reason-wrong")?.innerText.includes("left empty")`)
		p.write("reason", "Closed too early.")
		p.keptForm()
		p.sees("Close the claim")
		p.sees("Closed too early.")
	})

	t.Run("FromARefusalToTheSecondPayment", func(t *testing.T) {
		job := p.worked("F. Short", "K-12", 3, map[string]any{"submitDays": 30})
		page := "http://" + s.addr + "/job/" + job
		p.open(page)
		p.sees("Build the bundle")
		p.tap("Build the bundle")
		p.sees("Bundle 1")
		p.tap("Record that it was sent")
		p.write("to", "Norrvik Care")
		p.keptForm()
		p.tap("Record the payer's answer")
		p.tap("Keep")
		p.sees("Choose what the payer says.")
		p.tap("Paid short")
		p.tap("The payer says what was paid for each line")
		p.write("line-labour", "ninety")
		p.sees("One of the amounts is not a number.")
		p.write("line-labour", "90.00")
		p.write("why-labour", "labour-over")
		p.sees("Together $154.80")
		p.write("reason", "labour-over")
		p.write("words", "Allowance is 60 minutes.")
		p.keptForm()
		// By hand: 184.80 asked, 64.80 and 90.00 paid, 30.00 left.
		p.until(`document.querySelector(".owing .left")?.innerText === "$30.00"`)
		p.sees("The labour is above the allowance")
		require.Len(t, p.bodies(job, "payment"), 1)
		assert.Equal(t, map[string]any{"minor": 15480.0, "currency": "USD"}, p.bodies(job, "payment")[0]["amount"])

		p.tap("Answer the refusal")
		p.sees("What answers it")
		p.until(`document.querySelector("main [name=letter]")?.value.includes("Allowance is 60 minutes.")`)
		p.write("letter", "We ask you to look at the labour again: the evaporator had to be thawed.")
		p.sound("the reply")
		p.tap("Write the reply and build its bundle")
		p.sees("begins with your letter")
		p.tap("Record that it was sent")
		p.until(`document.querySelector("main [name=version]")?.value === "2"`)
		p.keptForm()
		assert.Equal(t, "We ask you to look at the labour again: the evaporator had to be thawed.", p.bodies(job, "reply")[0]["letter"])
		p.sees("Version 2, sent to Norrvik Care")

		p.tap("Record the payer's answer")
		p.tap("Paid")
		p.until(`document.querySelector("main [name=amount]").value === "30.00"`)
		p.keptForm()
		p.until(`document.querySelector(".owing .left")?.innerText === "$0.00"`)
		require.Len(t, p.bodies(job, "payment"), 2)
		p.look(page, "Course of the claim", "job")
	})

	t.Run("BadInputStaysAtItsField", func(t *testing.T) {
		job := p.worked("G. Papers", "K-13", 2, nil)
		p.open("http://" + s.addr + "/job/" + job + "/write?what=papers&field=unit.serial")
		p.fill("Made (year, month or day)", "last spring")
		p.tap("Keep")
		p.until(`document.querySelector(".field.bad .wrong-here")?.innerText.includes("A date looks like")`)
		assert.Equal(t, "true", ask[string](p, `document.querySelector(".field.bad input").getAttribute("aria-invalid")`))
		p.sound("a bad date")
		assert.Len(t, p.bodies(job, "unit"), 1, "nothing was kept")
		form := "http://" + s.addr + "/job/" + job + "/claim?what=coverage"
		p.open(form)
		p.write("submitDays", "soon")
		p.tap("Keep")
		p.until(`document.querySelector("#f-submitDays-wrong")?.innerText.includes("whole number")`)
		p.write("submitDays", "30")
		p.write("returnDays", "9999") // the server's own limit
		p.tap("Keep")
		p.until(`document.querySelector("#f-returnDays-wrong")?.innerText.includes("from 0 to 3660")`)
		p.until(`document.activeElement.name === "returnDays"`)
		assert.Len(t, p.bodies(job, "coverage"), 1, "nothing was kept")
		p.write("returnDays", "45")
		p.tap("Add a term")
		p.write("terms", "sealed-system")
		p.write("terms-0-parts", "60")
		p.keptForm()
		assert.Equal(t, map[string]any{"submitDays": 30.0, "returnDays": 45.0, "terms": []any{map[string]any{"for": "sealed-system", "parts": 60.0}}}, p.bodies(job, "coverage")[1], "only what was changed")
		p.look(form, "What proves it", "coverage")
		draft := "http://" + s.addr + "/job/" + job + "/claim?what=draft"
		p.open(draft)
		p.until(`document.querySelector("main [name=correction]")`)
		p.write("correction", "Replaced the defrost heater; cooling again.")
		p.look(draft, "What stands behind each part", "draft")
		p.open(draft)
		p.until(`document.querySelector("main [name=correction]")`)
		p.write("correction", "Replaced the defrost heater; cooling again.")
		p.keptForm()
		assert.Equal(t, "Replaced the defrost heater; cooling again.", p.bodies(job, "correction")[0]["text"])
	})

	t.Run("TwoPeopleAtOneForm", func(t *testing.T) {
		job := p.worked("H. Two", "K-14", 2, nil)
		form := "http://" + s.addr + "/job/" + job + "/claim?what=coverage"
		p.open(form)
		p.until(`document.querySelector("main [name=authorisation]")`)
		// Meanwhile somebody else changes two of the fields.
		p.told(job, "coverage", 0, map[string]any{"authorisation": "A-77", "submitDays": 45})
		p.write("authorisation", "A-88")
		p.write("returnDays", "20")
		p.tap("Keep")
		p.sees("Somebody else has changed this")
		p.sees("A-77")
		p.sound("two people at one form")
		assert.Len(t, p.bodies(job, "coverage"), 2, "nothing is kept until somebody has chosen")
		p.tap("Theirs")
		p.tap("Keep what I chose")
		p.until(`!location.pathname.endsWith("/claim")`)
		p.sees("All sent")
		assert.Equal(t, map[string]any{"returnDays": 20.0}, p.bodies(job, "coverage")[2], "the other's window for the claim stays, and the other's number")

		// The payer's reference stands in the form for sending as well: one that was not touched is not sent.
		p.open("http://" + s.addr + "/job/" + job + "/claim?what=send")
		p.until(`document.querySelector("main [name=number]")`)
		p.told(job, "coverage", 0, map[string]any{"number": "NC-7"})
		p.keptForm()
		assert.Len(t, p.bodies(job, "coverage"), 4)
		// A narrative that somebody else wrote meanwhile is shown before it is corrected.
		p.open("http://" + s.addr + "/job/" + job + "/claim?what=draft")
		p.until(`document.querySelector("main [name=cause]")`)
		p.told(job, "cause", 0, map[string]any{"text": "Heater open, harness burnt.", "component": "defrost-heater"})
		p.write("cause", "Heater open.")
		p.tap("Keep")
		p.until(`document.querySelector("#f-cause-wrong")?.innerText.includes("Heater open, harness burnt.")`)
		assert.Len(t, p.bodies(job, "cause"), 2, "nothing was kept")
		p.write("cause", "Heater open, its harness burnt.")
		p.keptForm()
		assert.Equal(t, 0, p.clashes(job))
	})
}
