package web_test

import (
	"bufio"
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/internal/browsertest"
	"evenhand/show"
	"evenhand/web"
)

// begun is a rig with a show of "boots" that stands at its first picture.
func begun(t *testing.T) *rig {
	r := newRig(t).withEvent()
	r.open("boots")
	r.setTime(during)
	r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.setTime(event.Add(time.Minute))
	must2(r.config.Event.Show.Start(t.Context(), r.now(), "boots"))(t)
	return r
}

// waitingKeys has notes that a screen is there wait.
type waitingKeys struct {
	show.Keys
	noted chan struct{}
	block chan struct{}
}

func (k waitingKeys) KeySeen(ctx context.Context, kind, secret string, at time.Time) error {
	k.noted <- struct{}{}
	select {
	case <-k.block:
	case <-ctx.Done():
	}
	return ctx.Err()
}

// A database that is busy writing something long holds up no picture.
func TestStageGoesOnWhileTheDatabaseWrites(t *testing.T) {
	r := begun(t)
	keys := waitingKeys{r.db, make(chan struct{}, 9), make(chan struct{})}
	defer close(keys.block)
	r.config.Event.Keys = keys
	r.rebuild()
	opened := make(chan *watcher, 1)
	go func() { opened <- r.watch("/g/boots/stage/live?key=" + r.key(show.KeyStage, "boots")) }()
	select {
	case <-keys.noted: // and the note waits
	case <-time.After(browsertest.Patience):
		t.Fatal("nobody noted that a screen is there")
	}
	select {
	case w := <-opened:
		w.next("the first picture", at(show.Soon))
		r.forward("boots")
		w.next("the next picture", at(show.Tickets))
	case <-time.After(browsertest.Patience):
		t.Fatal("the stream waits for the note")
	}
}

// A stream ends when its key goes, at the latest with the next heartbeat.
func TestStreamEndsWithItsKey(t *testing.T) {
	r := begun(t)
	gone := &goneKeys{Keys: r.db}
	r.config.Event.Keys = gone
	r.rebuild()
	w := r.watch("/g/boots/stage/live?key=" + r.key(show.KeyStage, "boots"))
	late := time.After(browsertest.Patience)
	for {
		select {
		case _, open := <-w.views:
			if !open {
				return
			}
		case <-late:
			t.Fatal("the stream of a revoked key goes on")
		}
	}
}

// goneKeys finds a key until its stream has begun, which takes one read.
type goneKeys struct {
	show.Keys
	reads atomic.Int64
}

func (k *goneKeys) Key(ctx context.Context, kind, secret string) (show.Key, error) {
	if k.reads.Add(1) > 1 {
		return show.Key{}, show.ErrNoKey
	}
	return k.Keys.Key(ctx, kind, secret)
}

// badLive can't read the show of "tent": it fails at once, or waits until it is
// given up.
type badLive struct {
	web.Live
	hangs bool
	asked atomic.Int64
}

func (b *badLive) Pulse(ctx context.Context, id string) (string, error) {
	if id != "tent" {
		return b.Live.Pulse(ctx, id)
	}
	b.asked.Add(1)
	if b.hangs {
		<-ctx.Done()
	}
	return "", errors.New("a show that can't be read")
}

// wait waits until the show that can't be read was asked for n times.
func (b *badLive) wait(t *testing.T, n int64) {
	t.Helper()
	for late := time.Now().Add(browsertest.Patience); b.asked.Load() < n; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(late) {
			t.Fatalf("asked %d times in 20 seconds, want %d", b.asked.Load(), n)
		}
	}
}

// A show whose read hangs holds up no other show.
func TestOneShowHoldsUpNoOther(t *testing.T) {
	r := begun(t)
	live := &badLive{Live: r.db, hangs: true}
	r.config.Event.Live = live
	r.rebuild()
	r.open("tent")
	w := r.watch("/g/boots/stage/live?key=" + r.key(show.KeyStage, "boots"))
	w.next("the first picture", at(show.Soon))
	r.watch("/g/tent/live")
	live.wait(t, 1)
	from := time.Now()
	r.forward("boots")
	w.next("the next picture", at(show.Tickets))
	if took := time.Since(from); took > 8*time.Second {
		t.Errorf("a press reached the stage after %v", took)
	}
}

// Of a show that can't be read the log has one line a minute, and the database
// is not asked at each tick.
func TestAShowThatFailsIsLoggedOnce(t *testing.T) {
	r := begun(t)
	live := &badLive{Live: r.db}
	r.config.Event.Live = live
	r.rebuild()
	r.open("tent")
	r.watch("/g/tent/live")
	live.wait(t, 1)
	time.Sleep(time.Second)
	if n := live.asked.Load(); n > 3 {
		t.Errorf("asked %d times in a second", n)
	}
	r.setTime(r.now().Add(time.Minute))
	live.wait(t, live.asked.Load()+2)
	if n := strings.Count(r.logs.String(), "a show that can't be read"); n != 2 {
		t.Errorf("%d lines in two minutes, want 2", n)
	}
}

// laggingLive takes longer than readers stay.
type laggingLive struct{ web.Live }

func (l laggingLive) Pulse(ctx context.Context, id string) (string, error) {
	time.Sleep(5 * time.Millisecond)
	return l.Live.Pulse(ctx, id)
}

// The last reader leaves and another comes while a look is under way: with the
// race detector, no two are at one room.
func TestReadersComeAndGo(t *testing.T) {
	r := begun(t)
	r.config.Event.Live = laggingLive{r.db}
	r.rebuild()
	for range 30 {
		w := r.watch("/g/boots/live")
		time.Sleep(4 * time.Millisecond)
		w.close()
	}
	r.watch("/g/boots/live").next("a picture", at(show.Soon))
}

// One network has so many seats, and all together; who finds none is told when
// to come again. Stage and remote are not counted.
func TestSeatsOfViewers(t *testing.T) {
	for _, most := range []web.Seats{{Network: 2, All: 9}, {Network: 9, All: 2}} {
		r := begun(t)
		r.config.Event.Seats = most
		r.rebuild()
		first := r.watch("/g/boots/live")
		first.next("a picture", at(show.Soon))
		r.watch("/g/boots/live").next("a picture", at(show.Soon))
		full := r.watch("/g/boots/live").resp
		if full.StatusCode != 503 || full.Header.Get("Retry-After") != "60" {
			t.Fatalf("%+v: one more gets %d, Retry-After %q", most, full.StatusCode, full.Header.Get("Retry-After"))
		}
		r.watch("/g/boots/stage/live?key="+r.key(show.KeyStage, "boots")).next("the stage", at(show.Soon))
		r.watch("/remote/"+r.key(show.KeyRemote, "boots")+"/live").next("the remote", at(show.Soon))
		r.get("/g/boots").is(t, 200)
		first.close()
		for late := time.Now().Add(browsertest.Patience); ; time.Sleep(20 * time.Millisecond) {
			if w := r.watch("/g/boots/live"); w.resp.StatusCode == 200 {
				break
			}
			if time.Now().After(late) {
				t.Fatalf("%+v: a seat that was left is not free", most)
			}
		}
	}
}

// Streams that break at once are opened anew at different times: viewers' after
// 2 to 6 seconds, the stage's after 2.
func TestStreamsComeBackSpread(t *testing.T) {
	r := begun(t)
	wait := func(path string) string {
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		q, err := http.NewRequestWithContext(ctx, "GET", r.server.URL+path, nil)
		must(t, err)
		resp, err := http.DefaultClient.Do(q)
		must(t, err)
		defer resp.Body.Close()
		line, err := bufio.NewReader(resp.Body).ReadString('\n')
		must(t, err)
		return strings.TrimSpace(line)
	}
	var all []string
	for range 20 {
		all = append(all, wait("/g/boots/live"))
	}
	slices.Sort(all)
	// Four figures sort as text does.
	if n := len(slices.Compact(slices.Clone(all))); n < 15 || all[0] < "retry: 2000" || all[19] >= "retry: 6000" || len(all[0]) != len("retry: 2000") {
		t.Errorf("20 streams come back after %q", all)
	}
	if got := wait("/g/boots/stage/live?key=" + r.key(show.KeyStage, "boots")); got != "retry: 2000" {
		t.Errorf("the stage's stream comes back after %q", got)
	}
}

// timedStore refuses each move by the clock, and tells how long it might take.
type timedStore struct {
	show.Store
	left chan time.Duration
}

func (s timedStore) MoveShow(ctx context.Context, _ int64, _ show.State, _ time.Time) error {
	until, _ := ctx.Deadline()
	s.left <- time.Until(until)
	return context.DeadlineExceeded
}

// A press is given up before the remote's own script gives up (30 seconds), and
// the remote says so.
func TestAPressIsGivenUp(t *testing.T) {
	r := begun(t)
	store := timedStore{r.db, make(chan time.Duration, 1)}
	r.config.Event.Show.Store = store
	r.rebuild()
	remote := "/remote/" + r.key(show.KeyRemote, "boots")
	a := r.post(remote+"/forward", url.Values{"version": {"1"}})
	a.is(t, 503)
	a.has(t, "The server took too long. Press again")
	if left := <-store.left; left < 20*time.Second || left > 26*time.Second {
		t.Errorf("a press may take %v", left)
	}
}
