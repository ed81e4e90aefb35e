package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
	"evenhand/show"
	"evenhand/web"
)

// withEvent gives a rig the live event.
func (r *rig) withEvent() *rig {
	r.host.Outcomes = r.db
	r.config.Host = r.host
	r.config.Event = &web.Event{Show: show.Show{Store: r.db, Host: r.host}, Live: r.db, Keys: r.db, Ends: r.t.Context().Done()}
	r.rebuild()
	return r
}

// A watcher reads a stream.
type watcher struct {
	t     testing.TB
	views chan show.View
	close func()
	resp  *http.Response
}

// watch opens a stream.
func (r *rig) watch(path string) *watcher {
	r.t.Helper()
	ctx, cancel := context.WithCancel(r.t.Context())
	q, err := http.NewRequestWithContext(ctx, "GET", r.server.URL+path, nil)
	must(r.t, err)
	resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(q)
	must(r.t, err)
	w := &watcher{t: r.t, views: make(chan show.View, 1000), close: func() { cancel(); resp.Body.Close() }, resp: resp}
	r.t.Cleanup(w.close)
	go w.read()
	return w
}

func (w *watcher) read() {
	defer close(w.views)
	lines := bufio.NewScanner(w.resp.Body)
	for lines.Scan() {
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
			var v show.View
			if err := json.Unmarshal([]byte(data), &v); err != nil {
				w.t.Errorf("a stream carries %q: %v", data, err)
				return
			}
			w.views <- v
		}
	}
}

// next waits for a view that fits.
func (w *watcher) next(what string, fits func(show.View) bool) show.View {
	w.t.Helper()
	late := time.After(browsertest.Patience)
	for {
		select {
		case v, ok := <-w.views:
			if !ok {
				w.t.Fatalf("the stream ended before %s", what)
			}
			if fits(v) {
				return v
			}
		case <-late:
			w.t.Fatalf("no %s in time", what)
		}
	}
}

func at(step show.Step) func(show.View) bool { return func(v show.View) bool { return v.Step == step } }

// quiet fails if anything comes within a second.
func (w *watcher) quiet() {
	w.t.Helper()
	select {
	case v, ok := <-w.views:
		w.t.Fatalf("the stream says %+v, %t", v, ok)
	case <-time.After(time.Second):
	}
}

// forward presses for the one who holds the remote.
func (r *rig) forward(id string) show.State {
	r.t.Helper()
	st, err := r.config.Event.Show.State(r.t.Context(), id)
	must(r.t, err)
	st, err = r.config.Event.Show.Forward(r.t.Context(), r.now(), id, st.Version, nil)
	must(r.t, err)
	return st
}

// Viewers' pages follow the stage when the delay is over and never know the
// winner before that, nor a name at all.
func TestViewersFollowByTheDelay(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	r.setTime(during)
	for i := range 5 {
		r.enter("boots", fmt.Sprintf("robin%d@example.com", i))
	}
	r.lock("boots")
	begin := event.Add(time.Minute)
	r.setTime(begin)
	sh := r.config.Event.Show
	st, err := sh.Start(t.Context(), begin, "boots")
	must(t, err)
	_, err = sh.SetDelay(t.Context(), "boots", st.Version, 20)
	must(t, err)
	w := r.watch("/g/boots/live")
	if kind := w.resp.Header.Get("Content-Type"); kind != "text/event-stream" {
		t.Errorf("Content-Type %q", kind)
	}
	w.next("the first picture", at(show.Soon))
	for st.Step != show.First {
		st = r.forward("boots")
	}
	report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
	winner := report.Places[0].Ticket
	if kept, err := r.db.See(t.Context(), "boots", []show.Saying{{Ticket: winner, Name: "Robin", Say: show.SayName}}, begin); err != nil || kept != 1 {
		t.Fatalf("%d names seen: %v", kept, err)
	}
	r.setTime(begin.Add(19 * time.Second))
	w.quiet()
	r.setTime(begin.Add(20 * time.Second))
	v := w.next("the first place", at(show.First))
	if v.Ticket != winner.Grouped() || v.Name != "" || strings.Contains(v.Sentence, "Robin") || !v.Released {
		t.Errorf("viewers see %+v", v)
	}
	r.get("/g/boots/fair/record.txt").is(t, 200)
}

// Of a show that nobody moves on, viewers hear when the clock releases the
// result.
func TestViewersHearOfTheRelease(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	r.setTime(during)
	r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.setTime(event)
	_, err := r.host.DrawHeld(t.Context(), event, "boots", nil)
	must(t, err)
	w := r.watch("/g/boots/live")
	if v := w.next("a picture", at(show.Soon)); v.Released {
		t.Errorf("released: %+v", v)
	}
	r.setTime(event.Add(giveaway.HoldAtMost))
	w.next("the release", func(v show.View) bool { return v.Released })
	r.get("/g/nothing/live").is(t, 404)
}

// 500 watch, one of whom reads nothing: the others see each picture, and at the
// end everybody is let go.
func TestManyWatch(t *testing.T) {
	r := newRig(t).withEvent()
	ends := make(chan struct{})
	r.config.Event.Ends, r.config.Event.Seats = ends, web.Seats{Network: 600, All: 600}
	r.rebuild()
	r.open("boots")
	r.setTime(during)
	r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.setTime(event)
	must2(r.config.Event.Show.Start(t.Context(), event, "boots"))(t)
	slow, err := net.Dial("tcp", strings.TrimPrefix(r.server.URL, "http://"))
	must(t, err)
	defer slow.Close()
	_, err = fmt.Fprintf(slow, "GET /g/boots/live HTTP/1.1\r\nHost: x\r\n\r\n")
	must(t, err)
	all := make([]*watcher, 500)
	var open sync.WaitGroup
	for i := range all {
		all[i] = r.watch("/g/boots/live")
	}
	for _, step := range []show.Step{show.Tickets, show.Locked, show.Number, show.Opened, show.Line, show.First} {
		r.forward("boots")
		for _, w := range all {
			open.Go(func() {
				late := time.After(browsertest.Patience)
				for {
					select {
					case v := <-w.views:
						if v.Step == step {
							return
						}
					case <-late:
						t.Errorf("no %v in time", step)
						return
					}
				}
			})
		}
		open.Wait()
		if t.Failed() {
			return
		}
	}
	close(ends)
	for _, w := range all {
		open.Go(func() {
			late := time.After(browsertest.Patience)
			for {
				select {
				case _, ok := <-w.views:
					if !ok {
						return
					}
				case <-late:
					t.Error("a stream did not end with the server")
					return
				}
			}
		})
	}
	open.Wait()
}

func must2[T any](_ T, err error) func(testing.TB) {
	return func(t testing.TB) { t.Helper(); must(t, err) }
}
