//go:build linux

package deploy_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/web"
)

// echo answers with what it was sent, so that a test sees what the proxy passed on.
func echo(w http.ResponseWriter, r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	fmt.Fprintf(w, "%s %s %s %s %s %q %s", r.Method, r.RequestURI, r.Host,
		r.Header.Get("X-Forwarded-Proto"), r.Header.Get("X-Forwarded-For"), r.Header.Values("Range"), body)
}

func TestConfigurationTest(t *testing.T) {
	p := prepare(t, "127.0.0.1:9")
	if out, err := p.nginx("-t").CombinedOutput(); err != nil || !strings.Contains(string(out), "test is successful") {
		t.Errorf("nginx -t: %v: %s", err, out)
	}
	// The same check must see a mistake.
	write(t, p.site, replace(t, read(t, p.site), "proxy_buffering off;", "proxy_bufering off;"))
	if out, err := p.nginx("-t").CombinedOutput(); err == nil {
		t.Errorf("a misspelt directive was not noticed: %s", out)
	}
}

func TestPassesOn(t *testing.T) {
	p := start(t, http.HandlerFunc(echo))
	const form = "email=mia%40example.com&size=8"
	for _, c := range []struct{ method, path, body, asked, passed string }{
		{"GET", "/g/trail-boots?from=video", "", "", `[]`},
		{"POST", "/g/trail-boots", form, "", `[]`},
		{"GET", "/g/trail-boots/r/W9secretW9", "", "", `[]`},
		// Forms of Range: RFC 9110, section 14.1.2.
		{"GET", "/g/trail-boots/fair/roll.txt", "", "bytes=0-81", `["bytes=0-81"]`},
		{"GET", "/g/trail-boots/fair/roll.txt", "", "bytes=-82", `["bytes=-82"]`},
		{"GET", "/g/trail-boots/fair/roll.txt", "", "bytes=0-0,2-2,4-4", `[]`},
		{"POST", "/desk/new", strings.Repeat("x", 1<<20), "", `[]`},
	} {
		want := fmt.Sprintf("%s %s %s https 127.0.0.1 %s %s", c.method, c.path, host, c.passed, c.body)
		// A claim of the client about its own address must not come through.
		headers := []string{"X-Forwarded-For", "198.51.100.7"}
		if c.asked != "" {
			headers = append(headers, "Range", c.asked)
		}
		status, got := p.send(t, c.method, c.path, c.body, headers...)
		if status != 200 || got != want {
			t.Errorf("%s %s: %d %.200q, want 200 %.200q", c.method, c.path, status, got, want)
		}
	}
}

// Browsers get HTTP/2 (RFC 9113), where any number of live pages share one
// connection: here ten streams are open and the next request is answered. For
// each viewer whom the service lets in there are two connections.
func TestLivePages(t *testing.T) {
	p := start(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/now" {
			_, _ = io.WriteString(w, ":\n\n")
			_ = http.NewResponseController(w).Flush()
			<-r.Context().Done()
		}
	}))
	browser := p.tls.Clone()
	browser.ForceAttemptHTTP2, browser.MaxConnsPerHost = true, 1
	defer browser.CloseIdleConnections()
	ctx, leave := context.WithTimeout(t.Context(), 20*time.Second)
	defer leave()
	for i := range 11 {
		path := map[bool]string{true: "/now", false: "/g/trail-boots/live"}[i == 10]
		request, err := http.NewRequestWithContext(ctx, "GET", "https://"+host+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		response, err := browser.RoundTrip(request)
		if err != nil || response.ProtoMajor != 2 {
			t.Fatalf("request %d: %v, %+v", i+1, err, response)
		}
		defer response.Body.Close()
	}
	var files, connections int
	if _, err := fmt.Sscanf(room(t), "worker_rlimit_nofile %d;\nevents { worker_connections %d; }", &files, &connections); err != nil {
		t.Fatal(err)
	}
	if want := 2 * web.DefaultSeats.All; connections < want || files < connections {
		t.Errorf("%d connections and %d files, want %d and more", connections, files, want)
	}
}

// The limits are the service's own: 64 KiB for a form, 4 MiB for terms.
func TestBodyLimits(t *testing.T) {
	p := start(t, http.HandlerFunc(echo))
	for path, most := range map[string]int{"/g/trail-boots": 64 << 10, "/desk/new": 4 << 20} {
		for over, want := range []int{200, http.StatusRequestEntityTooLarge} {
			if status, _ := p.send(t, "POST", path, strings.Repeat("x", most+over)); status != want {
				t.Errorf("POST %s with %d bytes: status %d, want %d", path, most+over, status, want)
			}
		}
	}
}

// secrets are what no file of the proxy may hold: parts of private paths,
// tickets, queries, form values, header values, the client's address.
var secrets = []string{"W9secretW9", "K7QF", "marker", "mia", "198.51.100.7", "127.0.0.1", "referring", "Agent/7"}

var private = []string{
	"/g/trail-boots/r/W9secretW9", "/g/trail-boots/r/W9secretW9/receipt.txt", "/g/trail-boots/r/W9secretW9?marker=1",
	"/g/trail-boots/c/W9secretW9", "/s/W9secretW9", "/g/trail-boots/t/K7QF2M9X4RTBW8ZC",
	"/g/trail-boots/%72/W9secretW9", "/g/trail-boots//r//W9secretW9", "/g/trail-boots/fair/../r/W9secretW9",
	"/G/trail-boots/r/W9secretW9", "/g/trail-boots/r%2FW9secretW9", "/g/trail-boots/fair/W9secretW9", "/W9secretW9",
	"/g/trail-boots?marker=mia", "/now?marker=mia",
}

// The log has one line for each request, public paths in clear, and nothing of
// what is private; also when the backend fails, which nginx reports elsewhere.
func TestLogsHoldNothingPrivate(t *testing.T) {
	var broken atomic.Bool
	p := start(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if broken.Load() {
			panic(http.ErrAbortHandler) // the connection breaks: nginx answers 502
		}
		echo(w, r)
	}))
	var sent int
	for _, fail := range []bool{false, true} {
		broken.Store(fail)
		for _, path := range private {
			for _, method := range []string{"GET", "POST"} {
				body := map[string]string{"POST": "email=mia@example.com&marker=1"}[method]
				status, _ := p.send(t, method, path, body, "Referer", "https://referring.example/", "User-Agent", "Agent/7")
				if want := map[bool]int{false: 200, true: 502}[fail]; status != want {
					t.Errorf("%s %s: status %d, want %d", method, path, status, want)
				}
				sent++
			}
		}
	}
	p.send(t, "GET", "/g/trail-boots/fair/roll.txt", "")
	p.stop(t)

	log := read(t, p.log)
	if got := strings.Count(log, "\n"); got != sent+1 {
		t.Errorf("the log has %d lines, want %d", got, sent+1)
	}
	for _, want := range []string{
		"GET /g/trail-boots/r/- 200", "POST /g/trail-boots/r/- 502", "GET /g/trail-boots/c/- 200", "GET /s/- 200",
		"GET /g/trail-boots/t/- 200", "GET /- 200", "POST /g/trail-boots 200", "GET /now 200", "GET /g/trail-boots/fair/roll.txt 502",
	} {
		if !strings.Contains(log, want) {
			t.Errorf("the log has no %q:\n%s", want, log)
		}
	}
	p.searchFiles(t, secrets)
}

// Browsers are told to come by TLS alone (RFC 6797, section 6.1), also with an
// error, and only on the port that has it (section 7.2).
func TestStrictTransport(t *testing.T) {
	p := start(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(503) }))
	for transport, want := range map[*http.Transport]string{p.tls: "max-age=31536000", p.plain: ""} {
		request := httptest.NewRequest("GET", map[bool]string{true: "https", false: "http"}[transport == p.tls]+"://"+host+"/now", nil)
		response, err := transport.RoundTrip(request)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if got := response.Header.Get("Strict-Transport-Security"); got != want {
			t.Errorf("status %d bears Strict-Transport-Security %q, want %q", response.StatusCode, got, want)
		}
	}
}

// The port without TLS passes people on to the other, and keeps no log.
func TestRedirects(t *testing.T) {
	p := start(t, http.HandlerFunc(echo))
	request := httptest.NewRequest("GET", "http://"+host+"/g/trail-boots/r/W9secretW9", nil)
	response, err := p.plain.RoundTrip(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if got, want := response.Header.Get("Location"), "https://"+host+"/g/trail-boots/r/W9secretW9"; response.StatusCode != 301 || got != want {
		t.Errorf("status %d to %s, want 301 to %s", response.StatusCode, got, want)
	}
	p.stop(t)
	p.searchFiles(t, secrets)
}

// searchFiles looks for words in every file that nginx wrote.
func (p *proxy) searchFiles(t *testing.T, words []string) {
	t.Helper()
	files := 0
	err := filepath.Walk(p.written, func(path string, info os.FileInfo, err error) error {
		if err != nil || !info.Mode().IsRegular() {
			return err
		}
		files++
		text := read(t, path)
		for _, word := range words {
			if strings.Contains(text, word) {
				t.Errorf("%s holds %q:\n%s", filepath.Base(path), word, text)
			}
		}
		return nil
	})
	if err != nil || files < 2 {
		t.Errorf("%d files searched, want the log and the error log (%v)", files, err)
	}
}

// send makes one request through the proxy. The path goes out as it is written.
func (p *proxy) send(t *testing.T, method, path, body string, headers ...string) (status int, answer string) {
	t.Helper()
	request, err := http.NewRequest(method, "https://"+host+"/", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	request.URL.Opaque = "//" + host + path
	for i := 0; i < len(headers); i += 2 {
		request.Header.Set(headers[i], headers[i+1])
	}
	response, err := p.tls.RoundTrip(request)
	if err != nil {
		t.Fatalf("%s %s: %v", method, path, err)
	}
	defer response.Body.Close()
	b, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatalf("%s %s: %v", method, path, err)
	}
	return response.StatusCode, string(b)
}
