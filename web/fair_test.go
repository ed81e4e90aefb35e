package web_test

import (
	"io/fs"
	"net/url"
	"strings"
	"testing"

	"evenhand/draw"
)

// What is served is what was published, byte for byte, with its hash as tag.
func TestFilesAreServedAsPublished(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	for _, a := range []string{"ada@example.com", "ben@example.com", "cy@example.com"} {
		r.enter("boots", a)
	}
	r.get("/g/boots/fair/").has(t, "So far everything fits.", "The posted terms", "The rules")
	r.get("/g/boots/fair/").lacks(t, "roll.txt")
	r.lock("boots")
	r.get("/g/boots/fair/").has(t, "So far everything fits.", "The list of tickets")
	r.draw("boots")
	list, err := fs.ReadDir(r.db.Publication("boots"), ".")
	must(t, err)
	if len(list) != 6 {
		t.Fatalf("%d files are published, want 6", len(list))
	}
	page := r.get("/g/boots/fair/")
	page.has(t, "The draw checks out.", "draw verify "+r.server.URL+"/g/boots/fair/", "these would have had to work together")
	for _, f := range list {
		want, err := fs.ReadFile(r.db.Publication("boots"), f.Name())
		must(t, err)
		got := r.get("/g/boots/fair/" + f.Name())
		got.is(t, 200)
		if got.body != string(want) {
			t.Errorf("%s: other bytes are served", f.Name())
		}
		tag := `"` + draw.Hash(want).String() + `"`
		if h := got.Header; h.Get("ETag") != tag || h.Get("Content-Type") != "text/plain; charset=utf-8" || h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", f.Name(), h)
		}
		page.has(t, `href="/g/boots/fair/`+f.Name()+`"`)
		// RFC 9110, sections 13.1.2 and 14.2.
		r.do("GET", "/g/boots/fair/"+f.Name(), nil, "If-None-Match", tag).is(t, 304)
		if len(want) > 9 {
			part := r.do("GET", "/g/boots/fair/"+f.Name(), nil, "Range", "bytes=2-8")
			part.is(t, 206)
			if part.body != string(want[2:9]) {
				t.Errorf("%s: the range is %q", f.Name(), part.body)
			}
			// Many parts at once are answered with the whole.
			many := r.do("GET", "/g/boots/fair/"+f.Name(), nil, "Range", "bytes=0-0,2-2,4-4")
			many.is(t, 200)
			if many.body != string(want) {
				t.Errorf("%s: three ranges gave %q", f.Name(), many.body)
			}
		}
	}
	if got := r.get("/g/boots/fair"); got.StatusCode != 301 || got.Header.Get("Location") != "/g/boots/fair/" {
		t.Errorf("without a slash: %d to %q", got.StatusCode, got.Header.Get("Location"))
	}
	rules := r.get("/g/boots/rules")
	rules.has(t, "&lt;b&gt;&amp; more&lt;/b&gt;")
	rules.lacks(t, "<b>& more")
}

// The verdict follows the files: a later file means a new check.
func TestRevisedTermsAreChecked(t *testing.T) {
	r := newRig(t)
	g := r.open("boots")
	r.get("/g/boots/fair/").has(t, "So far everything fits.")
	text := "Other rules.\n"
	_, err := r.host.Revise(t.Context(), during, g.ID, changeRules(text))
	must(t, err)
	page := r.get("/g/boots/fair/")
	page.has(t, "opening.1.txt", "rules.1.txt", "The posted terms, before the first change", "To know", "The posted terms were changed")
	r.get("/g/boots/rules").has(t, "Other rules.", "Rules that stood before")
	r.get("/g/boots/fair/rules.1.txt").has(t, "Rules of an invented giveaway")
}

// A publication whose bytes are not what was signed is called faulty.
func TestFaultIsShown(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.enter("boots", "ada@example.com")
	r.lock("boots")
	r.draw("boots")
	r.config.Host.Store = tampered{r.db}
	r.rebuild()
	r.get("/g/boots/fair/").has(t, "The check finds a fault.", "→ Wrong", "roll.txt")
	r.get("/g/boots").has(t, "The check of this draw finds a fault.")
}

func TestHeaders(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, ticket := r.enter("boots", "ada@example.com")
	asset := strings.Split(strings.Split(r.get("/g/boots").body, `href="/static/style.css`)[1], `"`)[0]
	for _, path := range []string{"/g/boots", private, private + "/entry", "/g/boots/t/" + ticket, "/g/boots/fair/", "/g/boots/fair/opening.txt", "/nothing", "/static/style.css" + asset} {
		h := r.get(path).Header
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy lacks %s", path, want)
			}
		}
		if strings.Contains(csp, "unsafe") || strings.Contains(csp, "http") || h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: %v", path, h)
		}
	}
	for _, path := range []string{private, private + "/entry", private + "/receipt", "/g/boots/r/nonsense"} {
		if h := r.get(path).Header; h.Get("Referrer-Policy") != "no-referrer" || h.Get("Cache-Control") != "no-store" || h.Get("X-Robots-Tag") != "noindex" {
			t.Errorf("%s: %v", path, h)
		}
	}
	if h := r.get("/static/style.css" + asset).Header; !strings.Contains(h.Get("Cache-Control"), "immutable") || h.Get("Content-Type") != "text/css; charset=utf-8" {
		t.Errorf("style: %v", h)
	}
	for _, path := range []string{"/g/boots", private, "/g/boots/fair/"} {
		r.get(path).lacks(t, "<style", " style=", "<script>", " onclick", " onload", "http-equiv")
	}
}

// Requests that a page of another origin made are refused, without a token
// (the headers are those of Fetch Metadata and of RFC 6454, section 7).
func TestOtherOrigins(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, _ := r.enter("boots", "ada@example.com")
	body := func() *strings.Reader { return strings.NewReader(goodForm("ben@example.com").Encode()) }
	const kind = "application/x-www-form-urlencoded"
	for _, c := range []struct {
		path   string
		header []string
		status int
	}{
		{"/g/boots", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"/g/boots", []string{"Sec-Fetch-Site", "same-site"}, 403},
		{"/g/boots", []string{"Origin", "https://other.example"}, 403},
		{private + "/withdraw", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{private + "/fix", []string{"Origin", "null"}, 403},
		{"/g/boots", []string{"Sec-Fetch-Site", "same-origin", "Origin", "null"}, 303},
	} {
		r.do("POST", c.path, body(), append(c.header, "Content-Type", kind)...).is(t, c.status)
	}
	r.get(private).has(t, "You are in.")
}

func TestLimits(t *testing.T) {
	r := newRig(t, tight)
	r.open("boots")
	private, _ := r.enter("boots", "ada@example.com")
	for i, want := range []int{409, 409, 429, 429} {
		got := r.post("/g/boots", goodForm("ada@example.com"))
		if got.StatusCode != want {
			t.Errorf("post %d: status %d, want %d", i, got.StatusCode, want)
		}
		if want == 429 && got.Header.Get("Retry-After") == "" {
			t.Error("it does not say when to try again")
		}
	}
	r.postJSON("/g/boots", "{}").is(t, 429)
	for i, want := range []int{200, 404, 429} {
		path := private
		if i > 0 {
			path = "/g/boots/r/" + strings.Repeat("A", 24)
		}
		r.get(path).is(t, want)
	}
	r.get("/g/boots").is(t, 200)
	r.setTime(during.Add(61e9))
	r.post("/g/boots", goodForm("ben@example.com")).is(t, 303)
	// A client that names another address for itself is not believed.
	for range 3 {
		r.do("POST", "/g/boots", strings.NewReader(""), "Content-Type", "application/x-www-form-urlencoded", "X-Forwarded-For", "192.0.2.7")
	}
	r.do("POST", "/g/boots", strings.NewReader(""), "Content-Type", "application/x-www-form-urlencoded", "X-Forwarded-For", "192.0.2.9").is(t, 429)
}

// No log line holds what was typed, where from, or a private path.
func TestLogs(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	const email, name, agent, secretQuery = "planted-person@example.com", "Planted Name", "planted-agent/1.0", "planted-query"
	private, _ := r.enter("boots", email)
	r.post("/g/boots", with(goodForm(email), "name", name, "age", "", "answers.trail", "planted answer"))
	r.postJSON("/g/boots", `{"email":"`+email+`","planted":1}`)
	r.do("GET", private+"?q="+secretQuery, nil, "User-Agent", agent, "Referer", r.server.URL+private, "X-Request-Id", "planted-id", "X-Forwarded-For", "203.0.113.99")
	r.do("GET", "/g/"+url.PathEscape(email), nil)
	r.do("GET", "/planted-path/"+url.PathEscape(email), nil)
	r.do("PLANTED", "/g/boots", nil)
	r.get(private + "/receipt")
	r.post(private+"/fix", nil)
	r.config.Intake = broken{r.intake}
	r.rebuild()
	failed := r.post("/g/boots", goodForm("other-planted@example.com"))
	failed.is(t, 503)
	failed.has(t, "It’s our fault", "name the code")
	r.postJSON("/g/boots", `{"email":"a@example.com"}`).is(t, 503)
	crashed := r.get(private)
	crashed.is(t, 500)

	logs := r.logs.String()
	for _, want := range []string{`"draw":"boots"`, `"route":"/g/:id/r/:secret"`, `"request":"` + failed.Header.Get("X-Request-Id") + `"`, `"status":503`, "the disk is full"} {
		if !strings.Contains(logs, want) {
			t.Errorf("the log lacks %s:\n%s", want, logs)
		}
	}
	secret := strings.TrimPrefix(private, "/g/boots/r/")
	for _, planted := range []string{"planted", "Planted", "PLANTED", "example.com", secret, "203.0.113.99", "127.0.0.1", "Robin", "autumn", "10.5"} {
		if strings.Contains(logs, planted) {
			t.Errorf("the log holds %q", planted)
		}
	}
}

func TestHealth(t *testing.T) {
	r := newRig(t)
	r.get("/healthz").is(t, 200)
	r.get("/readyz").is(t, 200)
	must(t, r.db.Close())
	r.get("/healthz").is(t, 200)
	r.get("/readyz").is(t, 503)
	r.get("/g/boots").is(t, 503)
}

// A page and all that it brings weigh less than 60 KB, uncompressed (the
// issue's bound, as 60,000 bytes), and all of it comes from this host.
func TestFirstViewIsSmall(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	page := r.get("/g/boots")
	sum := len(page.body)
	for _, part := range strings.Split(page.body, `"`) {
		if strings.HasPrefix(part, "/static/") {
			asset := r.get(part)
			asset.is(t, 200)
			if strings.Contains(strings.ReplaceAll(asset.body, `xmlns="http://www.w3.org/2000/svg"`, ""), "://") { // a name space is no request
				t.Errorf("%s names another host", part)
			}
			asset.lacks(t, "@import", "url(")
			sum += len(asset.body)
		}
	}
	t.Logf("the first view has %d bytes", sum)
	if sum >= 60_000 {
		t.Errorf("the first view has %d bytes", sum)
	}
	if sum < 20_000 {
		t.Errorf("only %d bytes were found", sum)
	}
	page.lacks(t, "http://", "https://", `src="//`)
}
