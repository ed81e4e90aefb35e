package web_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw/beacon"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sample"
	"evenhand/sizing"
	"evenhand/store"
	"evenhand/vault"
	"evenhand/web"
)

// The test giveaways are drawn with the published round 31543812 of quicknet,
// 22 August 2026, 21:40:00 UTC (testdata/vectors/drand-quicknet.json), so
// their event is at its time.
var (
	event  = time.Date(2026, 8, 22, 21, 40, 0, 0, time.UTC)
	closes = event.Add(-2 * time.Hour)
	opens  = closes.Add(-48 * time.Hour)
	during = opens.Add(time.Hour)
)

// A rig is a site on a real database with a clock that the test sets.
type rig struct {
	t      testing.TB
	db     *store.DB
	host   giveaway.Host
	intake entries.Intake
	server *httptest.Server
	logs   *lockedBuffer
	config web.Config

	mu sync.Mutex // guards at
	at time.Time
}

// lockedBuffer takes log lines from many requests at once.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func newRig(t testing.TB, change ...func(*web.Config)) *rig {
	t.Helper()
	dir := t.TempDir()
	v, err := vault.Load(filepath.Join(dir, "master.key"), rand.Reader)
	must(t, err)
	db, err := store.Open(t.Context(), store.Config{File: filepath.Join(dir, "evenhand.db"), Vault: v})
	must(t, err)
	t.Cleanup(func() { _ = db.Close() })
	signer, err := db.Installation(t.Context(), "127.0.0.1", rand.Reader)
	must(t, err)

	r := &rig{t: t, db: db, at: during, logs: &lockedBuffer{}}
	r.host = giveaway.Host{Store: db, Desk: db, Data: db, Keys: db, Beacons: pastBeacon{}, Rand: rand.Reader}
	r.intake = entries.Intake{Store: db, Signer: signer, Rand: rand.Reader, LinkKey: v.Key("private link")}
	r.server = httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) { r.handler().ServeHTTP(w, q) }))
	r.server.Start()
	t.Cleanup(r.server.Close)
	public, err := url.Parse(r.server.URL)
	must(t, err)
	r.config = web.Config{
		Host: r.host, Intake: r.intake, PublicURL: public, Now: r.now, Rand: rand.Reader, MarkedKey: v.Key("parcel marked"),
		Log: slog.New(slog.NewJSONHandler(r.logs, &slog.HandlerOptions{Level: slog.LevelDebug})), Ready: db.Ping,
	}
	for _, c := range change {
		c(&r.config)
	}
	h := web.New(r.config)
	handlers.Store(r, h)
	t.Cleanup(func() { handlers.Delete(r) })
	return r
}

// handlers holds each rig's handler; the server's address must be known first.
var handlers sync.Map

func (r *rig) handler() http.Handler { h, _ := handlers.Load(r); return h.(http.Handler) }

func (r *rig) now() time.Time { r.mu.Lock(); defer r.mu.Unlock(); return r.at }

func (r *rig) setTime(at time.Time) { r.mu.Lock(); defer r.mu.Unlock(); r.at = at }

// pastBeacon answers with the published round.
type pastBeacon struct{}

func (pastBeacon) Fetch(_ context.Context, _ beacon.Chain, round uint64) ([]byte, string, error) {
	b, err := sample.PastRound()
	if err == nil && b.Round != round {
		err = fmt.Errorf("the tests have no round %d", round)
	}
	return b.Signature, "a published list", err
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// terms are those of an invented giveaway.
func terms(t testing.TB, id string) giveaway.Terms {
	t.Helper()
	moment := func(at time.Time) giveaway.Moment {
		m, err := giveaway.MomentAt(at, "America/New_York")
		must(t, err)
		return m
	}
	return giveaway.Terms{
		Draw: id, Channel: "Slow Miles", Host: "hello@slowmiles.example", Title: "Win a pair of hiking boots in your size.",
		Prize: "A pair of hiking boots in your size", Sponsor: "Larkspur Trail Supply", Value: "about $240",
		Opens: moment(opens), Closes: moment(closes), Event: moment(event),
		Winners: 1, Alternates: 2, AnswerDays: 7, LockMinutes: 30,
		Sizes: &giveaway.SizeTerms{Scale: sizing.Common, Run: sizing.Run{
			{System: sizing.Mens, From: 14, To: 28, Step: sizing.HalfSteps, Widths: []string{"D", "2E"}},
			{System: sizing.Womens, From: 10, To: 22, Step: sizing.HalfSteps, Widths: []string{"B", "D"}},
		}},
		Region: eligibility.Region{Live: []string{"US", "CA", "DE"}, Ship: []string{"US"}, AlaskaHawaii: true, Friend: true},
		MinAge: 18, Beacon: giveaway.BeaconQuicknet, Rules: "Rules of an invented giveaway <b>& more</b>\n\n1. Entering is free.\n",
		Steps: "Tell us under the video which trail you would walk first.", Barred: []string{"Everyone who lives with the host.", "barred-person@example.org"},
		Questions: []giveaway.Question{
			{Key: "trail", Label: "Which trail would you walk first?", Kind: giveaway.KindText},
			{Key: "season", Label: "In which season?", Kind: giveaway.KindChoice, Choices: []string{"summer", "autumn"}, Required: true},
		},
	}
}

// open opens a giveaway an hour before it takes entries.
func (r *rig) open(id string, change ...func(*giveaway.Terms)) giveaway.Giveaway {
	r.t.Helper()
	t := terms(r.t, id)
	for _, c := range change {
		c(&t)
	}
	_, err := r.host.Draft(r.t.Context(), opens.Add(-time.Hour), t)
	must(r.t, err)
	g, err := r.host.Open(r.t.Context(), opens.Add(-time.Hour), id)
	must(r.t, err)
	return g
}

func (r *rig) lock(id string) {
	r.t.Helper()
	r.setTime(closes.Add(time.Minute))
	_, err := r.host.Lock(r.t.Context(), r.now(), id)
	must(r.t, err)
}

func (r *rig) draw(id string) {
	r.t.Helper()
	r.setTime(event.Add(time.Minute))
	_, err := r.host.Draw(r.t.Context(), r.now(), id, nil)
	must(r.t, err)
}

// goodForm is a form that is accepted.
func goodForm(email string) url.Values {
	return url.Values{
		"email": {email}, "system": {"mens"}, "size": {"10.5"}, "width": {"D"}, "live": {"US"}, "state": {"ME"},
		"name": {"Robin"}, "age": {"18-or-over"}, "rules": {"yes"}, "step": {"yes"}, "answers.season": {"autumn"},
	}
}

func with(v url.Values, pairs ...string) url.Values {
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// An answer is what came back, the body read.
type answer struct {
	*http.Response
	body string
}

// do sends a request and follows no redirect.
func (r *rig) do(method, path string, body io.Reader, header ...string) answer {
	r.t.Helper()
	address := path
	if strings.HasPrefix(path, "/") {
		address = r.server.URL + path
	}
	q, err := http.NewRequestWithContext(r.t.Context(), method, address, body)
	must(r.t, err)
	for i := 0; i < len(header); i += 2 {
		q.Header.Set(header[i], header[i+1])
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	got, err := client.Do(q)
	must(r.t, err)
	defer got.Body.Close()
	b, err := io.ReadAll(got.Body)
	must(r.t, err)
	return answer{got, string(b)}
}

func (r *rig) get(path string) answer { r.t.Helper(); return r.do("GET", path, nil) }

func (r *rig) post(path string, form url.Values) answer {
	r.t.Helper()
	return r.do("POST", path, strings.NewReader(form.Encode()), "Content-Type", "application/x-www-form-urlencoded")
}

func (r *rig) postJSON(path, body string) answer {
	r.t.Helper()
	return r.do("POST", path, strings.NewReader(body), "Content-Type", "application/json")
}

// enter enters by form and returns the private page's path and the ticket.
func (r *rig) enter(id, email string) (private, ticket string) {
	r.t.Helper()
	got := r.post("/g/"+id, goodForm(email))
	if got.StatusCode != 303 {
		r.t.Fatalf("enter: status %d, want 303: %s", got.StatusCode, got.body)
	}
	private = got.Header.Get("Location")
	page := r.get(private)
	return private, ticketIn(r.t, page.body)
}

var grouped = regexp.MustCompile(`<span class="part">([0-9A-Z]{4})</span>-<span class="part">([0-9A-Z]{4})</span>-<span class="part">([0-9A-Z]{4})</span>-<span class="part(?: last)?">([0-9A-Z]{4})</span>`)

func ticketIn(t testing.TB, html string) string {
	t.Helper()
	m := grouped.FindStringSubmatch(html)
	if m == nil {
		t.Fatalf("no ticket on the page: %s", html)
	}
	return strings.Join(m[1:], "")
}

// has fails unless the page has all the texts.
func (a answer) has(t testing.TB, texts ...string) {
	t.Helper()
	for _, s := range texts {
		if !strings.Contains(a.body, s) {
			t.Errorf("%s %s: %q is missing in: %.3000s", a.Request.Method, a.Request.URL.Path, s, a.body[max(0, strings.Index(a.body, "<main")):])
		}
	}
}

// lacks fails if the page has any of the texts.
func (a answer) lacks(t testing.TB, texts ...string) {
	t.Helper()
	for _, s := range texts {
		if strings.Contains(a.body, s) {
			t.Errorf("%s %s: %q should not be there", a.Request.Method, a.Request.URL.Path, s)
		}
	}
}

// is fails unless the status is the one wanted.
func (a answer) is(t testing.TB, status int) {
	t.Helper()
	if a.StatusCode != status {
		t.Errorf("%s %s: status %d, want %d: %.600s", a.Request.Method, a.Request.URL.Path, a.StatusCode, status, a.body)
	}
}
