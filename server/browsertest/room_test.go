package browsertest

import (
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Before room runs out the app says so with numbers, it asks the browser to keep what is there once there is something to lose, and it says when
// the browser may throw it away: on an iPhone after seven days, and what to do about it.
func TestRoomAndEviction(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	_, err := chromedp.Call(p.tab, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `(() => {
		window.asked = 0;
		navigator.storage.estimate = async () => ({ quota: 500e6, usage: 300e6 });
		navigator.storage.persisted = async () => false;
		navigator.storage.persist = async () => { window.asked++; return false; };
		Object.defineProperty(navigator, "userAgent", { get: () => "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X)" });
	})();`})
	require.NoError(t, err)
	p.onSite(s)
	file, _ := photo(t, t.TempDir(), "unit.jpg", 1600, 1200, 95, false)
	assert.Zero(t, ask[int](p, `window.asked`), "nothing is asked before there is something to lose")
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	p.until(`window.asked === 1`)
	p.open("http://" + s.addr + "/")
	p.sees("Only 200 MB are left for photos on this phone")
	p.sees("after seven days without use")
	p.tap("Show me how")
	p.sees("Free for Kickplate: about 200 MB, or some 50 photos")
	p.sees("The browser may delete what is kept here")
}
