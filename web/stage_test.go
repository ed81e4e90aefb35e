package web_test

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
	"evenhand/sample"
	"evenhand/show"
)

// key makes a key of a show.
func (r *rig) key(kind, draw string) string {
	r.t.Helper()
	k, err := show.NewKey(kind, draw, r.now(), rand.Reader)
	must(r.t, err)
	must(r.t, r.db.AddKey(r.t.Context(), k))
	return k.Secret
}

// pressed presses on the remote as a page without script does.
func (r *rig) pressed(remote, move string) answer {
	r.t.Helper()
	st, err := r.config.Event.Show.State(r.t.Context(), "boots")
	must(r.t, err)
	return r.post(remote+"/"+move, url.Values{"version": {strconv.FormatInt(st.Version, 10)}})
}

// A show by the remote alone, without script: each press leads to the next
// picture, and neither stage nor remote has the result or a person before the
// picture that shows it. Whoever has only the stage's key moves nothing.
func TestStageAndRemote(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	r.setTime(during)
	private := map[string]string{}
	for i := range 5 {
		page, ticket := r.enter("boots", fmt.Sprintf("robin%d@example.com", i))
		private[ticket] = page
	}
	r.lock("boots")
	r.setTime(event.Add(time.Minute))
	must2(r.config.Event.Show.Start(t.Context(), event, "boots"))(t)
	stage, remote := "/g/boots/stage?key="+r.key(show.KeyStage, "boots"), "/remote/"+r.key(show.KeyRemote, "boots")
	var winner draw.Ticket
	for _, step := range []show.Step{show.Soon, show.Tickets, show.Locked, show.Number, show.Opened, show.Line, show.First, show.Next} {
		if step > show.Soon {
			if a := r.pressed(remote, "forward"); a.StatusCode != 303 || a.Header.Get("Location") != remote {
				t.Fatalf("forward to %v: status %d to %q: %s", step, a.StatusCode, a.Header.Get("Location"), a.body)
			}
		}
		if step == show.Opened {
			winner = draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{}).Places[0].Ticket
		}
		for _, page := range []string{stage, remote, stage + "&overlay=1&tall=1"} {
			a := r.get(page)
			a.is(t, 200)
			if page != remote && !strings.Contains(a.body, fmt.Sprintf("data-step=%q", step)) {
				t.Errorf("at %v the stage shows another step: %s", step, a.body)
			}
			if strings.Contains(a.body, "example.com") {
				t.Errorf("%s at %v holds an address", page, step)
			}
			end := winner.String()[12:]
			if knows := strings.Contains(a.body, end); winner != (draw.Ticket{}) && knows != (step == show.First) {
				t.Errorf("%s at %v has the winner: %t", page, step, knows)
			}
		}
	}
	words := show.Words([32]byte{}, "boots", winner)
	r.get(remote).has(t, words)
	r.get(stage).lacks(t, words)
	won := 0
	for ticket, page := range private {
		wins := ticket == winner.String()
		if strings.Contains(r.get(page).body, words) != wins {
			t.Errorf("the private page of a ticket that wins, %t: %s", wins, r.get(page).body)
		}
		if wins {
			won++
		}
	}
	if a := r.pressed(remote, "alternates"); a.StatusCode != 303 || won != 1 {
		t.Errorf("those next in line: status %d; %d won", a.StatusCode, won)
	}
	r.get(stage).has(t, "Next in line, number 2")
	r.get("/g/boots/stage?key="+strings.Repeat("0", 32)).is(t, 404)
	r.get("/remote/"+stage[len("/g/boots/stage?key="):]).is(t, 404)
	must2(r.host.Pass(t.Context(), event.Add(2*time.Hour), "boots", giveaway.Passing{Place: 1, Reason: draw.Declined, GivenBack: true}))(t)
	r.setTime(event.Add(3 * time.Hour))
	r.get(private[winner.String()]).lacks(t, words, "You won") // the prize goes to another
	must(t, r.db.RevokeKeys(t.Context(), "boots", show.KeyRemote, event))
	r.get(remote).is(t, 404)
}

// The evening's stage goes to whichever show was moved last.
func TestEveningStage(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	r.open("tent")
	r.setTime(event.Add(-time.Hour))
	stage := "/stage?key=" + r.key(show.KeyStage, "boots")
	r.get(stage).is(t, 200)
	w := r.watch(strings.Replace(stage, "?", "/live?", 1))
	sh := r.config.Event.Show
	for i, id := range []string{"boots", "tent"} {
		must2(sh.Start(t.Context(), during.Add(time.Duration(i)*time.Minute), id))(t)
		w.next("the show of "+id, func(v show.View) bool { return v.Draw == id })
		r.get(stage).has(t, `data-draw="`+id+`"`)
	}
	st, err := sh.State(t.Context(), "boots")
	must(t, err)
	must2(sh.Back(t.Context(), during.Add(time.Hour), "boots", st.Version))(t) // nothing is before the first picture
	r.get(stage).has(t, `data-draw="tent"`)
}

// A key opens the evening's stage until 36 hours after its own event or its
// making, whichever is later, and a stream that it opened ends then; that of a
// rehearsal never does. Our own rule, no outside source.
func TestEveningKeys(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	r.open("tent")
	practice := terms(t, "rehearsal-abc")
	must2(r.host.DraftRehearsal(t.Context(), opens.Add(-time.Hour), practice))(t)
	must2(r.host.Open(t.Context(), opens.Add(-time.Hour), practice.Draw))(t)
	for i, id := range []string{"boots", "tent", practice.Draw} { // the rehearsal moves last
		must2(r.config.Event.Show.Start(t.Context(), event.Add(time.Duration(i)*time.Minute), id))(t)
	}
	r.setTime(event)
	stage, rehearsal := r.key(show.KeyStage, "boots"), r.key(show.KeyStage, practice.Draw)
	closed := func(key string) {
		t.Helper()
		for _, path := range []string{"/stage", "/stage/live", "/stage/code.svg", "/stage/line.bin"} {
			if w := r.watch(path + "?key=" + key); w.resp.StatusCode != 404 {
				t.Errorf("%s has status %d", path, w.resp.StatusCode)
			}
		}
	}
	closed(rehearsal)
	r.get("/g/rehearsal-abc/stage?key="+rehearsal).is(t, 200)
	r.setTime(event.Add(36*time.Hour - time.Second))
	r.get("/stage?key="+stage).has(t, `data-draw="tent"`)
	w := r.watch("/stage/live?key=" + stage)
	w.next("the picture", at(show.Soon))
	late := time.After(browsertest.Patience)
	for open := true; open; {
		select {
		case _, open = <-w.views:
		case <-late:
			t.Fatal("the stream goes on when the evening is over")
		}
	}
	r.setTime(event.Add(36 * time.Hour))
	closed(stage)
	r.get("/g/boots/stage?key="+stage).is(t, 200)
	r.get("/stage?key="+r.key(show.KeyStage, "boots")).is(t, 200) // made now
}

// Until 12 hours before its own show a key shows that alone at the evening's
// address, also made today; a show whose event is further away than that takes
// no evening's stage, whoever moves it. A stream goes over to the evening by
// itself. Our own rule, no outside source.
func TestEveningKeysOfAnotherDay(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	far := func(x *giveaway.Terms) {
		var err error
		x.Event, err = giveaway.MomentAt(event.AddDate(0, 0, 21), "America/New_York")
		must(t, err)
	}
	r.open("tent", far)
	sh := r.config.Event.Show
	r.setTime(event.Add(-time.Hour))
	today, later := "/stage?key="+r.key(show.KeyStage, "boots"), "/stage?key="+r.key(show.KeyStage, "tent")
	must2(sh.Start(t.Context(), event.Add(-time.Hour), "boots"))(t)
	r.get(later).has(t, `data-draw="tent"`) // its show has not even begun
	must2(sh.Start(t.Context(), event.Add(-time.Minute), "tent"))(t)
	r.get(later).has(t, `data-draw="tent"`)
	r.get(today).has(t, `data-draw="boots"`)
	w := r.watch(strings.Replace(today, "?", "/live?", 1))
	w.next("today's show", func(v show.View) bool { return v.Draw == "boots" })
	begins := event.AddDate(0, 0, 21).Add(-12 * time.Hour)
	r.setTime(begins.Add(-time.Second))
	r.get(later).has(t, `data-draw="tent"`)
	w = r.watch(strings.Replace(later, "?", "/live?", 1))
	w.next("its own show", func(v show.View) bool { return v.Draw == "tent" })
	late := time.After(browsertest.Patience)
	for open := true; open; {
		select {
		case _, open = <-w.views:
		case <-late:
			t.Fatal("the stream of its own show goes on when the evening begins")
		}
	}
	r.setTime(begins)
	r.get(later).has(t, `data-draw="tent"`) // now by whichever was moved last
	r.open("tarp", far)
	must2(sh.Start(t.Context(), begins, "tarp"))(t)
	r.get(later).has(t, `data-draw="tarp"`)
	r.get(today).is(t, 404)
}

// The line that says that a giveaway is invented comes and goes with the show
// on the evening's stage, without a new load.
func TestEveningSample(t *testing.T) {
	r := newRig(t).withEvent()
	r.open("boots")
	x := terms(t, "tent")
	must2(r.host.DraftSample(t.Context(), opens.Add(-time.Hour), x))(t)
	must2(r.host.Open(t.Context(), opens.Add(-time.Hour), "tent"))(t)
	r.setTime(event.Add(-time.Hour))
	stage := "/stage?key=" + r.key(show.KeyStage, "boots")
	sh := r.config.Event.Show
	must2(sh.Start(t.Context(), during, "boots"))(t)
	b := browsertest.New(t)
	b.Open(r.server.URL + stage)
	seen := func(draw string, want bool) {
		t.Helper()
		js := `document.querySelector("main").dataset.draw + " " + (document.querySelector('[data-part="sample"]').getClientRects().length > 0)`
		for late := time.Now().Add(browsertest.Patience); browsertest.Eval[string](b, js) != fmt.Sprint(draw, " ", want); time.Sleep(50 * time.Millisecond) {
			if time.Now().After(late) {
				t.Fatalf("the stage shows %s, want %s %t", browsertest.Eval[string](b, js), draw, want)
			}
		}
	}
	seen("boots", false)
	must2(sh.Start(t.Context(), during.Add(time.Minute), "tent"))(t)
	seen("tent", true)
	r.get(stage).has(t, `<p class="small" data-part="sample">`)
	r.open("tarp")
	must2(sh.Start(t.Context(), during.Add(2*time.Minute), "tarp"))(t)
	seen("tarp", false)
}

// noBeacon stands in for relays none of which answers.
type noBeacon struct{}

func (noBeacon) Fetch(context.Context, beacon.Chain, uint64) ([]byte, string, error) {
	return nil, "", errors.New("no relay answers")
}

// While no relay answers nothing is drawn, and the remote takes a pasted value,
// which is checked: the right one is the published round 31543812, the wrong
// one has another last byte.
func TestRemotePaste(t *testing.T) {
	r := newRig(t)
	r.host.Beacons = noBeacon{}
	r.withEvent()
	r.open("boots")
	r.setTime(during)
	r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.setTime(event.Add(time.Minute))
	must2(r.config.Event.Show.Start(t.Context(), event, "boots"))(t)
	remote := "/remote/" + r.key(show.KeyRemote, "boots")
	for range 3 {
		r.pressed(remote, "forward").is(t, 303)
	}
	a := r.pressed(remote, "forward")
	a.is(t, 503)
	a.has(t, "The public number is not at hand. Nothing was drawn, and nothing is lost", `name="value"`, "31,543,812")
	st, err := r.config.Event.Show.State(t.Context(), "boots")
	must(t, err)
	version := strconv.FormatInt(st.Version, 10)
	a = r.do("POST", remote+"/forward", strings.NewReader("version="+version), "Accept", "application/json", "Content-Type", "application/x-www-form-urlencoded")
	a.is(t, 503)
	a.has(t, `"paste":true`, `"step":"number"`)
	right, err := sample.PastRound()
	must(t, err)
	wrong := slices.Clone(right.Signature)
	wrong[len(wrong)-1] ^= 1
	paste := func(signature []byte) answer {
		return r.post(remote+"/paste", url.Values{"version": {version}, "value": {fmt.Sprintf(`{"round":%d,"signature":"%x"}`, right.Round, signature)}})
	}
	paste(nil).is(t, 422)
	paste(wrong).is(t, 503)
	if g, err := r.db.Giveaway(t.Context(), "boots"); err != nil || g.State != giveaway.StateFrozen {
		t.Errorf("a wrong value: %v, %v", g.State, err)
	}
	paste(right.Signature).is(t, 303)
	r.get(remote).has(t, "the draw is made")
	paste(right.Signature).is(t, 303) // sent twice; the version that it saw is over
	if st, err := r.config.Event.Show.State(t.Context(), "boots"); err != nil || st.Step != show.Opened {
		t.Errorf("the show stands at %v: %v", st.Step, err)
	}
}
