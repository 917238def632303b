package browsertest

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A person may read the app in Spanish: the choice holds, also without signal, and can be taken back.
func TestSpanish(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	at := "http://" + s.addr
	p.open(at + "/phone")
	p.sees("Language of the texts")
	assert.Equal(t, "en", ask[string](p, `document.documentElement.lang`))
	p.tap("Español")
	p.until(`document.documentElement.lang === "es"`)
	p.sees("Ajustes")
	p.sound("the settings in Spanish")
	p.fits("the settings in Spanish")
	// Kept for flight mode, though it is in nobody's first load.
	p.until(`caches.keys().then(async (shelves) => { for (const s of shelves) for (const r of await (await caches.open(s)).keys()) if (r.url.endsWith("/js/words-es.js")) return true; return false; })`)
	s.cut()
	for i, c := range []struct{ path, text string }{
		{"/job/" + job + "/visit?stage=measure", "Antes de irse"},
		{"/job/" + job + "/missing", "Lo que falta"},
		{"/job/" + job + "/damage", "Daño"},
		{"/outbox", "Por enviar"},
	} {
		p.open(at + c.path)
		p.sees(c.text)
		p.sound(c.path + " in Spanish")
		p.fits(c.path + " in Spanish")
		p.picture(filepath.Join(shotsDir(t), fmt.Sprintf("spanish-%d-390.png", i)))
	}
	s.mend()
	p.open(at + "/phone")
	p.tap("English")
	p.until(`document.documentElement.lang === "en"`)
	p.sees("Settings")
}
