package web_test

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/internal/browsertest"
	"evenhand/show"
	"evenhand/web"
)

// countedLive knows whether anybody watches: the hub listens only then.
type countedLive struct {
	web.Live
	listens atomic.Int64
}

func (l *countedLive) Listen(ctx context.Context, heard func(id string)) {
	l.listens.Add(1)
	defer l.listens.Add(-1)
	l.Live.Listen(ctx, heard)
}

// soon waits until something is so.
func soon(t *testing.T, what string, so func() bool) {
	t.Helper()
	for late := time.Now().Add(browsertest.Patience); !so(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(late) {
			t.Fatalf("not in %v: %s", browsertest.Patience, what)
		}
	}
}

// A viewer's page waits for the lock by the server's clock, which here stands
// before it while the browser's is long past it; and it holds a connection only
// while it is seen.
func TestAPageFollowsWhileItIsSeen(t *testing.T) {
	r := newRig(t).withEvent()
	live := &countedLive{Live: r.db}
	r.config.Event.Live = live
	r.rebuild()
	r.open("boots")
	r.setTime(during)
	r.enter("boots", "robin@example.com")
	b := browsertest.New(t)
	if got := b.Open(r.server.URL + "/g/boots/check"); got != 200 {
		t.Fatalf("the check page has status %d", got)
	}
	time.Sleep(500 * time.Millisecond)
	if live.listens.Load() != 0 {
		t.Error("the page follows two days before there is anything")
	}
	r.lock("boots")
	r.setTime(event.Add(time.Minute))
	b.Open(r.server.URL + "/g/boots/check")
	watched := func(so bool) func() bool { return func() bool { return (live.listens.Load() > 0) == so } }
	soon(t, "the page follows", watched(true))
	hide := func(hidden string) {
		browsertest.Eval[bool](b, `(Object.defineProperty(document, "hidden", { value: `+hidden+`, configurable: true }), document.dispatchEvent(new Event("visibilitychange")))`)
	}
	hide("true")
	soon(t, "hidden, the page lets its stream go", watched(false))
	hide("false")
	soon(t, "seen again, the page follows", watched(true))
}

// What the remote said of a press goes when the stage has another picture, and
// not before.
func TestTheRemoteForgetsAnOldProblem(t *testing.T) {
	r := begun(t)
	r.setTime(event.Add(-time.Hour))
	for range 3 {
		r.forward("boots")
	}
	b := browsertest.New(t)
	b.Open(r.server.URL + "/remote/" + r.key(show.KeyRemote, "boots"))
	const problem = `document.querySelector('[data-part="problem"]').textContent`
	b.Click(`[data-part="forward"]`)
	early := func() bool { return strings.Contains(browsertest.Eval[string](b, problem), "It is not time yet") }
	soon(t, "the remote says that it is too early", early)
	time.Sleep(500 * time.Millisecond)
	if !early() {
		t.Error("the remote forgets what it just said")
	}
	st, err := r.config.Event.Show.State(t.Context(), "boots")
	must(t, err)
	must2(r.config.Event.Show.Back(t.Context(), r.now(), "boots", st.Version))(t)
	soon(t, "another hand moved the stage: the problem goes", func() bool { return browsertest.Eval[string](b, problem) == "" })
}

// The remote's large button stays where it is while the page counts down to the
// public number, and when that second comes.
func TestTheRemotesButtonStands(t *testing.T) {
	r := begun(t)
	r.setTime(event.Add(-4 * time.Second))
	for range 3 {
		r.forward("boots")
	}
	b := browsertest.New(t)
	// A page that comes in pieces moves while it comes: only what is later counts.
	const shifts = `new Promise((done) => { const all = [], whole = performance.getEntriesByType("navigation")[0].domInteractive;
		const told = (s) => [s.node?.dataset?.part ?? s.node?.className ?? s.node?.nodeName, s.previousRect.y, "to", s.currentRect.y].join(" ");
		new PerformanceObserver((list) => { for (const e of list.getEntries()) if (e.startTime >= whole) all.push(...e.sources.map(told)) }).observe({ type: "layout-shift", buffered: true });
		setTimeout(() => done(all.join("; ")), 300) })`
	for _, size := range [][2]int{{360, 640}, {1280, 800}} {
		b.SetViewport(size[0], size[1], size[0] < 500)
		r.setTime(event.Add(-4 * time.Second))
		b.Open(r.server.URL + "/remote/" + r.key(show.KeyRemote, "boots"))
		for _, words := range []string{"It appears in 0:0", "Its second has come."} {
			b.Says(`[data-part="wait"]`, words)
			if moved := browsertest.Eval[string](b, shifts); moved != "" {
				t.Errorf("%d px wide, at %q this moved: %s", size[0], words, moved)
			}
		}
	}
}

// A remote that is on hold says so on its large button. One whose key was
// revoked says that it is closed and offers no press, by itself and when it is
// pressed; and a stage whose key was revoked keeps nothing in the picture.
func TestClosedScreensSaySo(t *testing.T) {
	r := begun(t)
	b := browsertest.New(t)
	stage, idle := b.Tab(), b.Tab()
	remote := r.server.URL + "/remote/" + r.key(show.KeyRemote, "boots")
	b.SetViewport(360, 560, true)
	b.Open(remote)
	idle.Open(remote)
	stage.Open(r.server.URL + "/g/boots/stage?key=" + r.key(show.KeyStage, "boots"))
	says := func(b *browsertest.Browser, js string) func() bool {
		return func() bool { return browsertest.Eval[bool](b, js) }
	}
	const inView = `["forward", "hold", "dark"].every((name) => { const box = document.querySelector('[data-part="' + name + '"]').getBoundingClientRect(); return box.height > 0 && box.top >= 0 && box.bottom <= innerHeight; })`
	if !browsertest.Eval[bool](b, inView) {
		t.Error("not all of the buttons are in a small phone's view")
	}
	b.Click(`[data-part="hold"]`)
	soon(t, "the button says that it is on hold", says(b, `document.querySelector('[data-part="forward"]').textContent === "On hold" && document.querySelector('[data-part="forward"]').disabled`))
	must(t, r.db.RevokeKeys(t.Context(), "boots", show.KeyRemote, r.now()))
	must(t, r.db.RevokeKeys(t.Context(), "boots", show.KeyStage, r.now()))
	time.Sleep(time.Second) // after a move nothing is pressed for a moment
	b.Click(`[data-part="hold"]`)
	const closed = `document.querySelector('[data-part="problem"]').textContent.startsWith("This remote was closed on the desk.") && document.querySelector('[data-part="forward"]').getClientRects().length === 0`
	soon(t, "the pressed remote is closed", says(b, closed))
	time.Sleep(15 * time.Second) // until the streams' next heartbeat
	soon(t, "the other one is closed", says(idle, closed))
	soon(t, "the stage is dark", says(stage, `document.body.classList.contains("dark")`))
}
