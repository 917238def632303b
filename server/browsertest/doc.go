// Package browsertest holds the tests that drive the real program with a real browser: Chromium, headless, at phone and desk
// size. "Offline" is a closed listener, because the browser's own emulation of it does not reach the service worker.
//
// It has tests only; nothing may import it.
package browsertest
