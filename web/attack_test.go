package web_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/web"
)

// drip sends a form in two halves; between them, once the site has read its
// clock, the time is set to later.
func (r *rig) drip(path, body string, later time.Time) int {
	r.t.Helper()
	began := make(chan struct{}, 100)
	clock := r.config.Now
	r.config.Now = func() time.Time { began <- struct{}{}; return clock() }
	r.rebuild()
	defer func() { r.config.Now = clock; r.rebuild() }()
	out, in := io.Pipe()
	go func() {
		io.WriteString(in, body[:len(body)/2])
		<-began
		r.setTime(later)
		io.WriteString(in, body[len(body)/2:])
		in.Close()
	}()
	q, err := http.NewRequestWithContext(r.t.Context(), "POST", r.server.URL+path, out)
	must(r.t, err)
	q.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	got, err := http.DefaultTransport.RoundTrip(q)
	must(r.t, err)
	defer got.Body.Close()
	return got.StatusCode
}

// The issue: the server's time counts. A form begins before closing and ends
// after it: it is late, as 410 says (RFC 9110, section 15.5.11).
func TestBodyDripsInAfterClosing(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.setTime(closes.Add(-time.Second))
	private, _ := r.enter("boots", "kim@example.org")
	if got := r.drip("/g/boots", goodForm("robin@example.com").Encode(), closes); got != 410 {
		t.Errorf("an entry: status %d, want 410", got)
	}
	count, err := r.db.EntryCounts(t.Context(), "boots")
	must(t, err)
	if count.Issued != 1 {
		t.Errorf("%d tickets, want 1", count.Issued)
	}
	r.setTime(closes.Add(-time.Second))
	later := closes.Add(5 * time.Second)
	if got := r.drip(private+"/size", "system=mens&size=9&width=D", later); got != 303 {
		t.Fatalf("a size: status %d, want 303", got)
	}
	mine, err := r.intake.Mine(t.Context(), "boots", private[strings.LastIndex(private, "/")+1:])
	must(t, err)
	if !mine.Stamp.Entered.Equal(later) {
		t.Errorf("the change bears %v, want %v", mine.Stamp.Entered, later)
	}
}

// gone answers only when the client has gone.
type gone struct {
	web.Intake
	asked chan struct{}
}

func (g gone) Mine(ctx context.Context, _, _ string) (entries.Private, error) {
	close(g.asked)
	<-ctx.Done()
	return entries.Private{}, fmt.Errorf("read private page: %w", ctx.Err())
}

// A client that hangs up is nobody's fault: no error in the log. 499 is common
// practice, no source.
func TestHangingUp(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	g := gone{r.config.Intake, make(chan struct{})}
	r.config.Intake = g
	r.rebuild()
	ctx, hangUp := context.WithCancel(t.Context())
	go func() { <-g.asked; hangUp() }()
	q, err := http.NewRequestWithContext(ctx, "GET", r.server.URL+"/g/boots/r/AAAAAAAAAAAAAAAAAAAAAAAA", nil)
	must(t, err)
	if _, err := http.DefaultTransport.RoundTrip(q); err == nil {
		t.Fatal("there was an answer")
	}
	r.server.Close() // waits for the request's end
	if log := r.logs.String(); !strings.Contains(log, `"status":499`) || strings.Contains(log, "ERROR") {
		t.Errorf("the log says: %s", log)
	}
}

// hasty has just changed what is to be changed.
type hasty struct{ web.Intake }

func (hasty) ChangeSize(context.Context, time.Time, giveaway.Giveaway, string, entries.Form) (entries.Private, error) {
	return entries.Private{}, fmt.Errorf("change size: %w", entries.ErrTooSoon)
}

// Too soon is 429 with Retry-After (RFC 6585, section 4), and no fault of ours.
func TestTooSoon(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, _ := r.enter("boots", "kim@example.org")
	r.config.Intake = hasty{r.config.Intake}
	r.rebuild()
	got := r.post(private+"/size", goodForm("kim@example.org"))
	got.is(t, 429)
	got.has(t, "Wait a second")
	if h := got.Header.Get("Retry-After"); h != "1" {
		t.Errorf("Retry-After %q, want 1", h)
	}
}

// Everything that is served as a file answers a list of many ranges with the
// whole of it (RFC 9110, section 14.2: a server may ignore Range), and one
// range with that part.
func TestOneRangeEverywhere(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, _ := r.enter("boots", "kim@example.org")
	r.lock("boots")
	many := "bytes=" + strings.Repeat("0-0,2-2,", 50) + "4-4"
	for path, part := range map[string]int{
		"/static/page.js": 206, "/static/style.css": 206, "/static/mark.svg": 206,
		"/g/boots/fair/opening.txt": 206, "/g/boots/fair/roll.txt": 206,
		private + "/receipt": 200, private + "/entry": 200, "/g/boots/rules": 200,
	} {
		whole := r.get(path)
		whole.is(t, 200)
		got := r.do("GET", path, nil, "Range", many)
		got.is(t, 200)
		if len(got.body) != len(whole.body) {
			t.Errorf("%s: %d bytes, want %d", path, len(got.body), len(whole.body))
		}
		r.do("GET", path, nil, "Range", "bytes=0-3").is(t, part)
	}
}

var onceField = `name="once" value="`

// once reads the form's own value from the page.
func (r *rig) once(path string) string {
	r.t.Helper()
	page := r.get(path)
	_, rest, found := strings.Cut(page.body, onceField)
	once, _, _ := strings.Cut(rest, `"`)
	// 128 bits are 22 characters of base64url (RFC 4648, section 5).
	if !found || len(once) != 22 || page.Header.Get("Cache-Control") != "no-store" {
		r.t.Fatalf("the form's own value is %q, Cache-Control %q", once, page.Header.Get("Cache-Control"))
	}
	return once
}

// A double tap, or an answer that got lost: the same form many times brings
// the same private page each time and one ticket. Another form of that address
// brings 409 and no link.
func TestSameFormAtOnce(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	once := r.once("/g/boots")
	if once == r.once("/g/boots") {
		t.Error("two forms have one value")
	}
	form := with(goodForm("robin@example.com"), "once", once)
	found := make([]string, 20)
	var all sync.WaitGroup
	for i := range found {
		all.Go(func() {
			got := r.post("/g/boots", form)
			got.is(t, 303)
			found[i] = got.Header.Get("Location")
		})
	}
	all.Wait()
	for _, l := range found {
		if l != found[0] || !strings.HasPrefix(l, "/g/boots/r/") {
			t.Errorf("led to %q and %q", found[0], l)
		}
	}
	r.get(found[0]).is(t, 200)
	count, err := r.db.EntryCounts(t.Context(), "boots")
	must(t, err)
	if count.Issued != 1 {
		t.Errorf("%d tickets, want 1", count.Issued)
	}
	for _, other := range []string{r.once("/g/boots"), "", once + "A"} {
		got := r.post("/g/boots", with(goodForm("robin@example.com"), "once", other))
		got.is(t, 409)
		got.lacks(t, "/r/")
	}
}

// Programs send Idempotency-Key: a string in quotes, or bare.
func TestSameJSONTwice(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	body := `{"email":"robin@example.com","system":"mens","size":10.5,"width":"D","live":"US","state":"ME","age":"18-or-over","rules":true,"answers":{"season":"autumn"}}`
	send := func(key string) answer {
		return r.do("POST", "/g/boots", strings.NewReader(body), "Content-Type", "application/json", "Idempotency-Key", key)
	}
	first := send(`"MTIzNDU2Nzg5MDEyMzQ1Ng"`)
	first.is(t, 201)
	again := send("MTIzNDU2Nzg5MDEyMzQ1Ng")
	again.is(t, 201)
	if first.body != again.body || first.Header.Get("Location") != again.Header.Get("Location") {
		t.Errorf("first %s, again %s", first.body, again.body)
	}
	send("MTIzNDU2Nzg5MDEyMzQ1Nw").is(t, 409)
	send("").is(t, 409)
}

// cut is an intake that notes what a hung-up client would cut off.
type cut struct {
	web.Intake
	did, cut []string
}

func (i *cut) note(ctx context.Context, what string) {
	i.did = append(i.did, what)
	if ctx.Done() != nil {
		i.cut = append(i.cut, what)
	}
}

func (i *cut) Enter(ctx context.Context, now time.Time, g giveaway.Giveaway, f entries.Form) (entries.Entered, error) {
	i.note(ctx, "enter")
	return i.Intake.Enter(ctx, now, g, f)
}

func (i *cut) ChangeSize(ctx context.Context, now time.Time, g giveaway.Giveaway, link string, f entries.Form) (entries.Private, error) {
	i.note(ctx, "size")
	return i.Intake.ChangeSize(ctx, now, g, link, f)
}

func (i *cut) Withdraw(ctx context.Context, now time.Time, id, link string) error {
	i.note(ctx, "withdraw")
	return i.Intake.Withdraw(ctx, now, id, link)
}

func (i *cut) Replace(ctx context.Context, now time.Time, g giveaway.Giveaway, link string, f entries.Form) (entries.Entered, error) {
	i.note(ctx, "replace")
	return i.Intake.Replace(ctx, now, g, link, f)
}

// context.Context: "Done may return nil if this context can never be canceled".
func TestWritesAreFinished(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	i := &cut{Intake: r.config.Intake}
	r.config.Intake = i
	r.rebuild()
	private, _ := r.enter("boots", "kim@example.org")
	r.setTime(during.Add(time.Minute))
	r.post(private+"/size", url.Values{"system": {"mens"}, "size": {"9"}, "width": {"D"}}).is(t, 303)
	fixed := r.post(private+"/fix", goodForm("kim@example.com"))
	fixed.is(t, 303)
	again, _, _ := strings.Cut(fixed.Header.Get("Location"), "?")
	r.post(again+"/withdraw", url.Values{}).is(t, 303)
	if want := []string{"enter", "size", "replace", "withdraw"}; !slices.Equal(i.did, want) || len(i.cut) > 0 {
		t.Errorf("done %v, want %v; a client that hangs up cuts off %v", i.did, want, i.cut)
	}
}
