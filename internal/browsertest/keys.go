package browsertest

import (
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Keys presses keys one after another, on whatever has the focus: a tab goes
// to the next control, a blank ticks a box. See Enter for one that leads to
// another page.
func (b *Browser) Keys(keys string) {
	b.t.Helper()
	b.do("press keys", chromedp.KeyEvent(keys))
}

// Enter presses Enter on whatever has the focus, waits for the next page, and
// returns its HTTP status.
func (b *Browser) Enter() int {
	b.t.Helper()
	return b.load("press Enter", chromedp.KeyEvent(kb.Enter))
}

// Focus names what has the focus: its id, or its name and value, or its text.
func (b *Browser) Focus() string {
	b.t.Helper()
	return Eval[string](b, `(() => { const e = document.activeElement;
		return e.id || (e.name ? e.name + "=" + e.value : "") || e.textContent.trim() })()`)
}
