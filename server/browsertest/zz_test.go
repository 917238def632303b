package browsertest

import (
	"os"
	"testing"
	"time"
)

func TestZZ(t *testing.T) {
	p := newPhone(t)
	p.open(os.Getenv("ZZ"))
	p.tap("Come in")
	p.sees("TB-2041")
	p.ready()
	time.Sleep(2 * time.Second)
	base := ask[string](p, `location.origin`)
	path := ask[string](p, `[...document.querySelectorAll("a")].find(a=>a.innerText.includes("TB-2041")).getAttribute("href")`)
	p.open(base + path)
	p.sees("Coverage and amounts")
	p.sees("Receipt for the customer")
	p.tap("Make the receipt")
	time.Sleep(3 * time.Second)
	ask[bool](p, `(() => { document.getElementById("h-office").scrollIntoView(); return true; })()`)
	p.picture("/tmp/kp/readme/office1.png")
	ask[bool](p, `(() => { document.getElementById("h-receipt").scrollIntoView(); return true; })()`)
	p.picture("/tmp/kp/readme/office2.png")
	p.sound("office")
}
