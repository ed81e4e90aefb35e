package browsertest

import (
	"bytes"
	"image/png"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const form = `<!doctype html><html lang="en"><head><title>Form</title>
<link rel="icon" href="data:,">
<meta name="viewport" content="width=device-width">
<style>body { color: #111; background: #fff } @media (prefers-color-scheme: dark) { body { color: #fff; background: #111 } }</style>
</head><body><main><h1>Form</h1>
<form method="post" action="/sent"><label for="name">Name</label> <input id="name" name="name">
<label for="size">Size</label> <select id="size" name="size"><option>8</option><option>9</option></select>
<button>Send</button></form>
<p id="script">without script</p><script>document.querySelector("#script").textContent = "with script"</script>
<p><a href="/bad">Another page</a></p></main></body></html>`

// faulty breaks rules that axe-core names in its rule list: image-alt, label,
// html-has-lang, color-contrast (1.6 to 1, where WCAG 2.2, 1.4.3 asks 4.5).
const faulty = `<!doctype html><html><head><title>Bad</title><link rel="icon" href="data:,"></head><body><main><h1>Bad</h1>
<img src="/pixel.png"><form><input id="unlabelled"></form><p style="color: #ccc; background: #fff">faint</p></main></body></html>`

// site is a small server. csp is the strictest policy that its pages work under.
func site(t *testing.T) string {
	const csp = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src 'self' data:; form-action 'self'"
	page := func(status int, html string) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.Header().Set("Content-Security-Policy", csp)
			w.WriteHeader(status)
			_, _ = w.Write([]byte(strings.ReplaceAll(html, "{name}", r.FormValue("name")+"/"+r.FormValue("size"))))
		}
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", page(200, form))
	mux.HandleFunc("GET /bad", page(200, faulty))
	mux.HandleFunc("GET /gone", page(410, form))
	mux.HandleFunc("GET /sent", page(200, `<!doctype html><html lang="en"><title>Sent</title><main><h1>Got {name}</h1></main>`))
	mux.HandleFunc("POST /sent", func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/sent?name="+r.FormValue("name")+"&size="+r.FormValue("size"), http.StatusSeeOther)
	})
	mux.HandleFunc("GET /other", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		_, _ = w.Write([]byte(`<!doctype html><link rel="icon" href="data:,"><img alt="" src="http://other.example/x.png">`))
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server.URL
}

// A click is made where the element stands, also while the page moves: here it
// scrolls smoothly, and the button slides.
func TestClickWaitsUntilTheElementStands(t *testing.T) {
	b := New(t)
	b.Open("data:text/html," + url.PathEscape(`<!doctype html><html lang="en"><title>Moving</title>
<style>html { scroll-behavior: smooth } button { margin: 3000px 0 } #top:focus + button { animation: slide 2s } @keyframes slide { from { translate: 600px } }</style>
<input id="top"> <button onclick="this.textContent = 'hit'">missed</button>`))
	b.Type("#top", "a")
	b.Click("button")
	if got := b.Text("button"); got != "hit" {
		t.Errorf("the click %s", got)
	}
}

func TestForm(t *testing.T) {
	url, b := site(t), New(t)
	for _, submit := range []string{"button", "#name"} {
		if got := b.Open(url + "/"); got != 200 {
			t.Errorf("open: status %d, want 200", got)
		}
		b.Type("#name", "Ada")
		b.Choose("#size", "9")
		if got := b.Value("#name"); got != "Ada" {
			t.Errorf("the field holds %q, want Ada", got)
		}
		if got := b.Submit(submit); got != 200 {
			t.Errorf("submit: status %d, want 200 after the redirect", got)
		}
		b.WaitVisible("h1")
		if got := b.Text("h1"); got != "Got Ada/9" {
			t.Errorf("the answer says %q, want Got Ada/9", got)
		}
		if got := b.Location(); got != url+"/sent?name=Ada&size=9" {
			t.Errorf("the address is %s", got)
		}
	}
	if got := b.Open(url + "/gone"); got != 410 {
		t.Errorf("a closed page has status %d, want 410", got)
	}
	if got := b.Follow("a"); got != 200 || b.Text("h1") != "Bad" {
		t.Errorf("the link led to status %d, %q", got, b.Text("h1"))
	}
}

func TestScript(t *testing.T) {
	url, b := site(t), New(t)
	for _, on := range []bool{true, false, true} {
		want := map[bool]string{true: "with script", false: "without script"}[on]
		b.Script(on)
		b.Open(url + "/")
		if got := b.Text("#script"); got != want {
			t.Errorf("script %v: the page is %q, want %q", on, got, want)
		}
		b.Type("#name", "Ada")
		if b.Submit("button"); b.Text("h1") != "Got Ada/8" {
			t.Errorf("script %v: the form gave %q", on, b.Text("h1"))
		}
	}
}

func TestDarkAndViewport(t *testing.T) {
	url, b := site(t), New(t)
	b.SetViewport(390, 844, true)
	b.Open(url + "/")
	if got := Eval[int](b, "innerWidth"); got != 390 {
		t.Errorf("the window is %d wide, want 390", got)
	}
	for dark, want := range map[bool]string{true: "rgb(17, 17, 17)", false: "rgb(255, 255, 255)"} {
		b.Dark(dark)
		if got := Eval[string](b, "getComputedStyle(document.body).backgroundColor"); got != want {
			t.Errorf("dark %v: the background is %s, want %s", dark, got, want)
		}
	}
	path := filepath.Join(t.TempDir(), "page.png")
	b.Screenshot(path)
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := png.DecodeConfig(bytes.NewReader(file))
	if err != nil || picture.Width != 390 {
		t.Errorf("the picture is %d wide (%v), want 390", picture.Width, err)
	}
}

// axe-core must find the faults of a faulty page, and none on a sound one;
// otherwise its silence elsewhere means nothing.
func TestAxe(t *testing.T) {
	url, b := site(t), New(t)
	for _, on := range []bool{true, false} {
		b.Script(on)
		b.Open(url + "/")
		if found, err := b.Axe(); err != nil || len(found) != 0 {
			t.Errorf("script %v: the sound page has %v (%v)", on, found, err)
		}
		b.Open(url + "/bad")
		before := len(b.Requests())
		found, err := b.Axe()
		if err != nil {
			t.Fatalf("script %v: %v", on, err)
		}
		for _, want := range []string{"image-alt", "label", "html-has-lang", "color-contrast"} {
			if !has(found, want) {
				t.Errorf("script %v: %s was not found, only %v", on, want, found)
			}
		}
		if asked := b.Requests()[before:]; len(asked) != 0 {
			t.Errorf("the check itself asked for %v", asked)
		}
	}
}

func has(found []Violation, id string) bool {
	for _, v := range found {
		if v.ID == id && len(v.Nodes) > 0 && strings.Contains(v.String(), id) {
			return true
		}
	}
	return false
}

// The list must show a request to another host, otherwise its lack proves
// nothing; and each page has its own list and cookies.
func TestRequests(t *testing.T) {
	url, b := site(t), New(t)
	b.Open(url + "/bad")
	if got, want := sent(b), url+"/bad "+url+"/pixel.png"; got != want {
		t.Errorf("the page asked for %s, want %s", got, want)
	}
	tab := b.Tab()
	tab.Open(url + "/other")
	if got, want := sent(tab), url+"/other http://other.example/x.png"; got != want {
		t.Errorf("the second page asked for %s, want %s", got, want)
	}
	Eval[string](b, `(document.cookie = "mark=1")`)
	tab.Open(url + "/")
	if got := Eval[string](tab, "document.cookie"); got != "" {
		t.Errorf("the second page has the first one's cookie %q", got)
	}
}

// sent joins the addresses asked for, without the empty icon of the test pages.
func sent(b *Browser) string {
	return strings.Join(slices.DeleteFunc(b.Requests(), func(u string) bool { return u == "data:," }), " ")
}
