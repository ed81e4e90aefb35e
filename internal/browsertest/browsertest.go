// Package browsertest drives a headless Chromium through pages under test.
//
// [New] starts a browser that the test's end closes. Its methods do what a
// person does (open, type, click, read) and end the test when that can't be
// done within [Patience]. [Browser.Axe] asks the accessibility checker axe-core
// about the page as it stands; [Browser.Requests] lists every address that
// pages asked for, to show that no other host is among them.
//
// Selectors are CSS and mean the first match. The browser resolves no host but
// localhost and loopback addresses, so no test reaches the outside. Where there
// is no Chromium the test is skipped, and failed under CI=true.
package browsertest

import (
	"context"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"evenhand/internal/testneed"
)

// Patience is how long one step may take before the test fails.
const Patience = time.Minute

// Browser is one page of a running browser. It belongs to one test and is not
// for use by several goroutines; [Browser.Tab] gives each its own.
type Browser struct {
	t   testing.TB
	ctx context.Context

	scriptOff bool

	mu       sync.Mutex // guards requests, which the browser's reader appends to
	requests []string
}

// New starts a browser with a fresh profile, showing an empty page of 1280 by
// 800 pixels.
func New(t testing.TB) *Browser {
	t.Helper()
	path := testneed.Command(t, "chromium", "chromium-browser", "google-chrome")
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options(path)...)
	t.Cleanup(cancel)
	return open(t, ctx)
}

// options are the browser's flags. A fresh profile folder is made, and removed
// at the end, because none is named.
func options(path string) []chromedp.ExecAllocatorOption {
	return append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]),
		chromedp.ExecPath(path),
		chromedp.NoSandbox, // it needs rights that containers and root lack
		chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1, EXCLUDE [::1]"),
	)
}

// open makes a page in ctx and starts to note its requests.
func open(t testing.TB, parent context.Context, opts ...chromedp.ContextOption) *Browser {
	t.Helper()
	ctx, cancel := chromedp.NewContext(parent, opts...)
	b := &Browser{t: t, ctx: ctx}
	t.Cleanup(func() { b.close(cancel) })
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start Chromium: %v", err)
	}
	if err := chromedp.Listen(ctx, b.note); err != nil {
		t.Fatalf("listen to Chromium: %v", err)
	}
	b.SetViewport(1280, 800, false)
	return b
}

// close ends the page, and with the first one the browser.
func (b *Browser) close(cancel context.CancelFunc) {
	defer cancel()
	ctx, stop := context.WithTimeout(b.ctx, Patience)
	defer stop()
	if err := chromedp.Cancel(ctx); err != nil {
		b.t.Logf("close Chromium: %v", err)
	}
}

// Tab opens another page in the same browser, with cookies of its own, as a
// second person would have.
func (b *Browser) Tab() *Browser {
	b.t.Helper()
	return open(b.t, b.ctx, chromedp.WithNewBrowserContext())
}

// note records the address of a request. It runs inside the browser's reader.
func (b *Browser) note(ev any) {
	if sent, ok := ev.(*network.EventRequestWillBeSent); ok {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.requests = append(b.requests, sent.Request.URL)
	}
}

// Requests returns every address this page has asked for since it was made, in
// order, redirects and repeats included. data: addresses and the icon that the
// browser asks for by itself (/favicon.ico) stand among them.
func (b *Browser) Requests() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.requests)
}

// SetViewport sets the window's size in CSS pixels. mobile makes it a phone:
// touch, and the page's viewport tag counts.
func (b *Browser) SetViewport(width, height int, mobile bool) {
	b.t.Helper()
	var opts []chromedp.EmulateViewportOption
	if mobile {
		opts = append(opts, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulatePortrait)
	}
	b.do("set the viewport", chromedp.EmulateViewport(int64(width), int64(height), opts...))
}

// Dark sets what the page is told of the person's wish: dark or light colours.
func (b *Browser) Dark(dark bool) {
	b.t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	call(b, "set the colour scheme", emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
}

// Zone sets the time zone that pages see, by its name in the IANA database, as
// that of the device.
func (b *Browser) Zone(name string) {
	b.t.Helper()
	call(b, "set the time zone", emulation.SetTimezoneOverride, emulation.SetTimezoneOverrideParams{TimezoneID: name})
}

// Still sets what the page is told of the person's wish: few movements.
func (b *Browser) Still(still bool) {
	b.t.Helper()
	motion := "no-preference"
	if still {
		motion = "reduce"
	}
	call(b, "set the wish for few movements", emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: motion}},
	})
}

// Paper lays the page out as for print, or as on a screen again.
func (b *Browser) Paper(on bool) {
	b.t.Helper()
	media := ""
	if on {
		media = "print"
	}
	call(b, "set the kind of medium", emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media})
}

// Script allows (the default) or forbids the scripts of pages opened from now on.
func (b *Browser) Script(on bool) {
	b.t.Helper()
	b.scriptOff = !on
	call(b, "switch scripts", emulation.SetScriptExecutionDisabled,
		emulation.SetScriptExecutionDisabledParams{Value: !on})
}

// Screenshot writes the whole page, as high as it is, to path as PNG.
func (b *Browser) Screenshot(path string) {
	b.t.Helper()
	png := run(b, "take a screenshot", chromedp.FullScreenshot(100))
	if err := os.WriteFile(path, png, 0o644); err != nil {
		b.t.Fatalf("write a screenshot: %v", err)
	}
}

// PDF writes the page as it prints, on US Letter paper, to path.
func (b *Browser) PDF(path string) {
	b.t.Helper()
	b.print(path, page.PrintToPDFParams{})
}

// A4 writes the page as it prints on A4 paper (ISO 216) to path.
func (b *Browser) A4(path string) {
	b.t.Helper()
	wide, high := 210/25.4, 297/25.4 // inches
	b.print(path, page.PrintToPDFParams{PaperWidth: wide, PaperHeight: high})
}

func (b *Browser) print(path string, params page.PrintToPDFParams) {
	b.t.Helper()
	printed := call(b, "print", page.PrintToPDF, params)
	if err := os.WriteFile(path, printed.Data, 0o644); err != nil {
		b.t.Fatalf("write a PDF: %v", err)
	}
}
