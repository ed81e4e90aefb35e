package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw/beacon"
	"evenhand/internal/pgtest"
)

// The test giveaway of testdata/boots.json is drawn with the published round
// 31543812 of quicknet (testdata/vectors/drand-quicknet.json), so its event is
// at that round's time: 22 August 2026, 21:40:00 UTC.
var (
	event  = time.Date(2026, 8, 22, 21, 40, 0, 0, time.UTC)
	closes = event.Add(-100 * time.Minute)
	during = closes.Add(-24 * time.Hour)
)

const passphrase = "three wet boots in a row"

func TestMain(m *testing.M) {
	if os.Getenv(childClock) != "" {
		serveAsChild() // this process is a server that a test started
	}
	pgtest.Main(m)
}

// each runs a test on both databases.
func each(t *testing.T, test func(t *testing.T, database string)) {
	t.Run("sqlite", func(t *testing.T) { test(t, "") })
	t.Run("postgres", func(t *testing.T) { test(t, pgtest.Database(t)) })
}

// A clock is set by the test.
type clock struct {
	mu sync.Mutex // guards at
	at time.Time
}

func (c *clock) now() time.Time   { c.mu.Lock(); defer c.mu.Unlock(); return c.at }
func (c *clock) set(at time.Time) { c.mu.Lock(); defer c.mu.Unlock(); c.at = at }

// A buffer takes what the program writes.
type buffer struct {
	mu sync.Mutex // guards b
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) { b.mu.Lock(); defer b.mu.Unlock(); return b.b.Write(p) }
func (b *buffer) String() string              { b.mu.Lock(); defer b.mu.Unlock(); return b.b.String() }

// A service is the program, running in this process.
type service struct {
	*visitor
	clock *clock
	code  string // for the first start; "" where the desk is claimed
	logs  *buffer
	stop  func() error // ends it and returns run's error
}

// start runs the program on a free port. It waits until it says its address.
func start(t testing.TB, at time.Time, database string, args ...string) *service {
	t.Helper()
	s := &service{clock: &clock{at: at}, logs: &buffer{}}
	ctx, cancel := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	env := func(name string) string { return map[string]string{"DATABASE_URL": database}[name] }
	args = append([]string{"-addr", "127.0.0.1:0", "-trusted-proxy", "127.0.0.1/32"}, args...)
	w := world{now: s.clock.now, rand: rand.Reader, relays: []string{standIn(t)}}
	go func() {
		err := run(ctx, args, env, nil, in, s.logs, w)
		in.CloseWithError(io.EOF)
		ended <- err
	}()
	var once sync.Once
	var err error
	s.stop = func() error { once.Do(func() { cancel(); err = <-ended }); return err }
	t.Cleanup(func() {
		if err := s.stop(); err != nil {
			t.Errorf("the program ended with: %v", err)
		}
	})
	s.code = said(t, out)
	s.visitor = visit(t, s.listening())
	return s
}

var listens = regexp.MustCompile(`msg=serving addr=(\S+)`)

// listening is where it listens, as its log says: with -url, what it prints is
// another address.
func (s *service) listening() string {
	for {
		if m := listens.FindStringSubmatch(s.logs.String()); m != nil {
			return "http://" + m[1]
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// said reads the code from what the program prints before it is ready.
func said(t testing.TB, out io.Reader) (code string) {
	t.Helper()
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if c, ok := strings.CutPrefix(lines.Text(), "Code for the first start: "); ok {
			code = c
		}
		if strings.HasPrefix(lines.Text(), "Ready.") {
			go io.Copy(io.Discard, out)
			return code
		}
	}
	t.Fatal("the program did not say that it is ready")
	return ""
}

// standIn stands in for the public network's relays. It serves the rounds
// that were really published (testdata/vectors/drand-quicknet.json).
func standIn(t testing.TB) string {
	t.Helper()
	b, err := os.ReadFile("../../testdata/vectors/drand-quicknet.json")
	must(t, err)
	var published struct {
		Rounds []struct {
			Round     uint64 `json:"round"`
			Signature string `json:"signature"`
		} `json:"rounds"`
	}
	must(t, json.Unmarshal(b, &published))
	if len(published.Rounds) == 0 {
		t.Fatal("no published rounds")
	}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for _, one := range published.Rounds {
			if r.URL.Path == fmt.Sprintf("/%s/public/%d", beacon.Quicknet().HashHex(), one.Round) {
				json.NewEncoder(w).Encode(one)
				return
			}
		}
		http.NotFound(w, r)
	}))
	t.Cleanup(server.Close)
	return server.URL
}

// A visitor is a browser without script: it has cookies, and remembers the
// desk's pages that it saw.
type visitor struct {
	t      testing.TB
	base   string
	client *http.Client

	mu   sync.Mutex // guards seen
	seen []string   // the desk's pages, each after its method, path and status
}

func visit(t testing.TB, base string) *visitor {
	t.Helper()
	jar, err := cookiejar.New(nil)
	must(t, err)
	return &visitor{t: t, base: base, client: &http.Client{
		Jar:           jar,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport:     &http.Transport{MaxIdleConnsPerHost: 32},
	}}
}

// An answer is what came back.
type answer struct {
	status int
	to     string // Location
	body   string
	header http.Header
}

func (v *visitor) do(method, path, kind, body string, header ...string) answer {
	v.t.Helper()
	a, err := v.try(method, path, kind, body, header...)
	must(v.t, err)
	return a
}

// try is do for a server that may be killed.
func (v *visitor) try(method, path, kind, body string, header ...string) (answer, error) {
	q, err := http.NewRequestWithContext(context.Background(), method, v.base+path, strings.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	if kind != "" {
		q.Header.Set("Content-Type", kind)
	}
	for i := 0; i < len(header); i += 2 {
		q.Header.Set(header[i], header[i+1])
	}
	r, err := v.client.Do(q)
	if err != nil {
		return answer{}, err
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		return answer{}, err
	}
	if strings.HasPrefix(path, "/desk") && strings.HasPrefix(r.Header.Get("Content-Type"), "text/html") {
		v.mu.Lock()
		v.seen = append(v.seen, method+" "+path+" "+r.Status+"<body>"+string(b))
		v.mu.Unlock()
	}
	return answer{r.StatusCode, r.Header.Get("Location"), string(b), r.Header}, nil
}

func (v *visitor) get(path string) answer { v.t.Helper(); return v.do("GET", path, "", "") }

// press sends a form of names and values.
func (v *visitor) press(path string, pairs ...string) answer {
	v.t.Helper()
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return v.do("POST", path, "application/x-www-form-urlencoded", form.Encode())
}

// goes presses and expects to be led to a page.
func (v *visitor) goes(to, path string, pairs ...string) {
	v.t.Helper()
	if a := v.press(path, pairs...); a.status != 303 || a.to != to {
		v.t.Fatalf("POST %s: status %d to %q, want 303 to %q: %s", path, a.status, a.to, to, textOf(a.body))
	}
}

// shows expects words on a page.
func (v *visitor) shows(path string, words ...string) string {
	v.t.Helper()
	a := v.get(path)
	text := textOf(a.body)
	for _, w := range words {
		if a.status != 200 || !strings.Contains(text, w) {
			v.t.Errorf("GET %s: status %d, want 200 with %q: %s", path, a.status, w, text)
		}
	}
	return text
}

var (
	tags   = regexp.MustCompile(`(?s)<(script|style|svg)\b.*?</(script|style|svg)>|<[^>]*>`)
	blanks = regexp.MustCompile(`\s+`)
)

// textOf is what a page says, without its marks.
func textOf(html string) string {
	_, body, _ := strings.Cut(html, "<body>")
	text := blanks.ReplaceAllString(tags.ReplaceAllString(body, " "), " ")
	return strings.NewReplacer("&#39;", "'", "&amp;", "&", "&#34;", `"`, " .", ".").Replace(text)
}

// claim sets the passphrase at the first start.
func (s *service) claim() {
	s.t.Helper()
	s.goes("/desk", "/desk/claim", "code", s.code, "passphrase", passphrase, "again", passphrase)
}

// bring brings terms from a file of testdata, and posts them.
func (s *service) bring(id string, change ...string) {
	s.t.Helper()
	b, err := os.ReadFile("testdata/boots.json")
	must(s.t, err)
	text := strings.NewReplacer(change...).Replace(string(b))
	s.goes("/desk/g/"+id, "/desk/file", "terms", text)
	s.posts(id)
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func hexOf(b []byte) string { return fmt.Sprintf("%x", b) }
