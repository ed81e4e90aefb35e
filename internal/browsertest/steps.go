package browsertest

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// Open goes to an address, waits until the page has loaded, and returns the
// HTTP status of the last answer, after redirects.
func (b *Browser) Open(url string) int {
	b.t.Helper()
	return b.load("open a page", chromedp.Navigate(url))
}

// Follow clicks a link or button that leads to another page, waits until that
// has loaded, and returns its HTTP status.
func (b *Browser) Follow(selector string) int {
	b.t.Helper()
	b.stand(selector)
	return b.load("follow "+selector, chromedp.Click(chromedp.CSS(selector)))
}

// Back goes to the page before and waits until that is there, be it loaded
// anew or kept by the browser as it was left.
func (b *Browser) Back() {
	b.t.Helper()
	Eval[bool](b, `(window.browsertestLeft = true, history.back(), true)`)
	const there = `window.browsertestLeft === undefined && document.readyState === "complete"`
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	for {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](there)) // fails while the page changes
		switch {
		case err == nil && ok:
			return
		case ctx.Err() != nil:
			b.t.Fatal("browser: go back: the page before did not come")
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// Says waits until the text of an element holds words, across any loading of the
// page meanwhile.
func (b *Browser) Says(selector, want string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	read, got := fmt.Sprintf(`document.querySelector(%q)?.textContent ?? ""`, selector), ""
	for ctx.Err() == nil {
		text, err := chromedp.Run(ctx, chromedp.Evaluate[string](read)) // fails while the page changes
		if err == nil {
			if got = text; strings.Contains(got, want) {
				return
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("browser: %s says %q, want %q", selector, got, want)
}

// Reload loads the page again and returns its HTTP status.
func (b *Browser) Reload() int {
	b.t.Helper()
	return b.load("load the page again", chromedp.Reload())
}

// Submit sends the form that the selected field or button is in by pressing
// its submit button, waits for the next page, and returns its HTTP status. It
// presses the selected element itself if that is a button.
func (b *Browser) Submit(selector string) int {
	b.t.Helper()
	const press = `(() => { const e = document.querySelector(%q); const f = e && (e.form || e.closest("form"));
		if (!f) return false;
		const submits = e.matches("button, input[type=submit], input[type=image]");
		f.requestSubmit(submits ? e : f.querySelector("button:not([type]), [type=submit]")); return true })()`
	return b.load("submit "+selector, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		found, err := chromedp.Evaluate[bool](quote(press, selector))(ctx, t)
		if err == nil && !found {
			b.t.Fatalf("submit %s: no form there", selector)
		}
		return err
	}))
}

// Click clicks an element that leads to no other page. See Follow for one that does.
func (b *Browser) Click(selector string) {
	b.t.Helper()
	b.stand(selector)
	b.do("click "+selector, chromedp.Click(chromedp.CSS(selector)))
}

// stand brings an element into view and waits until it stands still, as a person
// does: a page that scrolls smoothly moves on between the look and the press.
// Without script no page counts frames; then it is in view at once.
func (b *Browser) stand(selector string) {
	b.t.Helper()
	b.WaitVisible(selector)
	const seen = `(document.querySelector(%q).scrollIntoView({ block: "center", behavior: "instant" }), true)`
	const still = `(async () => {
		const frame = () => new Promise((go) => { requestAnimationFrame(go); setTimeout(go, 250) });
		const at = () => { const box = document.querySelector(%q)?.getBoundingClientRect(); return [box?.x, box?.y, box?.width, box?.height].join(" ") };
		for (let same = 0, last = at(); same < 3; last = at()) { await frame(); same = at() === last ? same + 1 : 0 }
		return true })()`
	Eval[bool](b, quote(seen, selector))
	if !b.scriptOff {
		Eval[bool](b, quote(still, selector))
	}
}

// Type types text into a field, after what stands there, key by key.
func (b *Browser) Type(selector, text string) {
	b.t.Helper()
	b.do("type into "+selector, chromedp.SendKeys(chromedp.CSS(selector), text))
}

// Clear empties a field.
func (b *Browser) Clear(selector string) {
	b.t.Helper()
	b.do("clear "+selector, chromedp.Clear(chromedp.CSS(selector)))
}

// Choose picks the option with this value in a list.
func (b *Browser) Choose(selector, value string) {
	b.t.Helper()
	b.do("choose in "+selector, chromedp.SetValue(chromedp.CSS(selector), value))
}

// Value returns what stands in a field.
func (b *Browser) Value(selector string) string {
	b.t.Helper()
	return run(b, "read the field "+selector, chromedp.Value(chromedp.CSS(selector)))
}

// Text returns the visible text of an element.
func (b *Browser) Text(selector string) string {
	b.t.Helper()
	return run(b, "read "+selector, chromedp.Text(chromedp.CSS(selector)))
}

// WaitVisible waits until an element is there and visible.
func (b *Browser) WaitVisible(selector string) {
	b.t.Helper()
	b.do("wait for "+selector, chromedp.WaitVisible(chromedp.CSS(selector)))
}

// Location returns the page's address.
func (b *Browser) Location() string {
	b.t.Helper()
	return run(b, "read the address", chromedp.Location())
}

// Eval returns the value of a JavaScript expression in the page, through JSON.
// A promise is waited for.
func Eval[T any](b *Browser, expression string) T {
	b.t.Helper()
	return run(b, "evaluate a script", chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
}

// load runs a step that leads to another page and returns that page's status.
func (b *Browser) load(what string, step chromedp.Action[chromedp.Void]) int {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	response, err := chromedp.RunResponse(ctx, step)
	b.check(what, err)
	return status(response)
}

// status is 0 for a page that came from no server, as about:blank.
func status(r *network.Response) int {
	if r == nil {
		return 0
	}
	return int(r.Status)
}

// do runs a step that yields nothing.
func (b *Browser) do(what string, step chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	run(b, what, step)
}

// run runs one step and returns its value, or ends the test.
func run[T any](b *Browser, what string, step chromedp.Action[T]) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	value, err := chromedp.Run(ctx, step)
	b.check(what, err)
	return value
}

// call sends one protocol command and returns its result, or ends the test.
func call[P, R any](b *Browser, what string, command cdp.Command[P, R], params P) R {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	result, err := chromedp.Call(ctx, command, params)
	b.check(what, err)
	return result
}

func (b *Browser) check(what string, err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatalf("browser: %s: %v", what, err)
	}
}
