package web_test

import (
	"encoding/json"
	"net/url"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
)

func TestEnterByForm(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	page := r.get("/g/boots")
	page.is(t, 200)
	page.has(t, "Win a pair of hiking boots", "Saturday 22 August 2026, 3:40 pm New York time", `name="email"`, `name="system"`, `name="ship_state"`,
		`name="friend"`, `name="answers.trail"`, "We can’t check this; it doesn’t change your chance.", "Everyone who lives with the host.")
	page.lacks(t, "barred-person@example.org", "weak")

	got := r.post("/g/boots", goodForm("robin@example.com"))
	got.is(t, 303)
	private := got.Header.Get("Location")
	if !strings.HasPrefix(private, "/g/boots/r/") {
		t.Fatalf("it leads to %q, want the private page", private)
	}
	mine := r.get(private)
	mine.is(t, 200)
	mine.has(t, "You are in.", "robin@example.com", "men’s 10½ D", "Maine, United States", "Robin",
		"Show your ticket to anyone; keep this page to yourself.", "fix it", "withdraw this ticket")

	again := r.post("/g/boots", goodForm("Robin+2@example.com"))
	again.is(t, 409)
	again.has(t, "This address is already in.", "Nothing has changed")
	again.lacks(t, "/r/", "fix it")
	if h := again.Header.Get("Location"); h != "" {
		t.Errorf("a repeat is led to %q", h)
	}
}

// Each of them: status, and what the page or problem must say.
func TestEnterRefused(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	for _, c := range []struct {
		name   string
		change []string
		want   []string
	}{
		{"no address", []string{"email", ""}, []string{"One thing needs another look.", `href="#f-email"`, `aria-invalid="true"`}},
		{"two fields", []string{"email", "", "rules", ""}, []string{"Two things need another look.", `href="#f-rules"`}},
		{"no age", []string{"age", ""}, []string{"Please choose your age range.", `href="#f-age"`, `id="f-age-fault"`}},
		{"no answer", []string{"answers.season", ""}, []string{`href="#f-answers-season"`, "Please answer this."}},
		{"no state", []string{"state", ""}, []string{`href="#f-state"`}},
		{"near miss", []string{"email", "robin@exmaple.com"}, []string{"Did you mean robin@example.com?", "Take robin@example.com", `value="email=robin%40example.com"`}},
		{"size not made", []string{"width", "B"}, []string{"doesn’t make a men’s 10½ B", "Take 10½ D", `value="size=10.5&amp;system=mens&amp;width=D"`, "Keep mine"}},
		{"name with a link", []string{"name", "see robin.example"}, []string{`href="#f-name"`}},
		{"too young", []string{"age", "under-18"}, []string{"This giveaway is for people who are 18 or over."}},
		{"not there", []string{"live", "FR"}, []string{"France"}},
		{"abroad without friend", []string{"live", "DE", "state", "", "ship", "US", "ship_state", "ME"}, []string{"can receive it for you"}},
		{"barred", []string{"email", "barred-person@example.org"}, []string{"this address can’t win"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := r.post("/g/boots", with(goodForm("kim@example.org"), c.change...))
			got.is(t, 422)
			got.has(t, c.want...)
			got.has(t, `role="alert"`, "autofocus", `value="10.5"`)
			if cache := got.Header.Get("Cache-Control"); cache != "no-store" {
				t.Errorf("a page with what was typed says Cache-Control: %s", cache)
			}
		})
	}
	count, err := r.db.EntryCounts(t.Context(), "boots")
	must(t, err)
	if count.Issued != 0 {
		t.Errorf("%d tickets were handed out, want none", count.Issued)
	}
}

// Everything that was typed stands in the form again, escaped.
func TestTypedIsKept(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	evil := `<script>alert(1)</script>" onfocus="x`
	got := r.post("/g/boots", with(goodForm(evil), "name", evil, "answers.trail", evil, "ship", "US", "ship_state", "AK", "friend", "yes"))
	got.is(t, 422)
	got.lacks(t, "<script>alert", `" onfocus="x`)
	got.has(t, `value="&lt;script&gt;alert(1)&lt;/script&gt;&#34; onfocus=&#34;x"`, `<option value="AK" selected>`, `<option value="ME" selected>`,
		`<option value="mens" selected>`, `<option value="D" selected>`, `<option value="autumn" selected>`, `value="18-or-over" checked`,
		`name="friend" aria-describedby="f-friend-hint" value="yes" checked`)
}

func TestOffersAreTaken(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	t.Run("the address", func(t *testing.T) {
		got := r.post("/g/boots", with(goodForm("ada@exmaple.com"), "take", "email=ada%40example.com"))
		got.is(t, 303)
		r.get(got.Header.Get("Location")).has(t, "ada@example.com")
	})
	t.Run("the size", func(t *testing.T) {
		got := r.post("/g/boots", with(goodForm("ben@example.com"), "width", "B", "take", "size=10.5&system=mens&width=2E"))
		got.is(t, 303)
		r.get(got.Header.Get("Location")).has(t, "men’s 10½ 2E")
	})
	t.Run("one's own, sent again", func(t *testing.T) {
		got := r.post("/g/boots", with(goodForm("cy@exmaple.com"), "width", "B", "email_seen", "cy@exmaple.com", "size_seen", "mens 10.5 b"))
		got.is(t, 303)
		r.get(got.Header.Get("Location")).has(t, "cy@exmaple.com", "men’s 10½ B", "to be settled if you win")
	})
	t.Run("no other field", func(t *testing.T) {
		got := r.post("/g/boots", with(goodForm("dee@example.com"), "rules", "", "take", "rules=yes"))
		got.is(t, 422)
	})
}

func TestEnterByJSON(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	const good = `{"email":"robin@exmaple.com","system":"mens","size":10.5,"width":"B","live":"US","state":"ME","age":30,"rules":true,"answers":{"season":"summer"}}`
	got := r.postJSON("/g/boots", good)
	got.is(t, 201)
	var in struct {
		Ticket, Entered, Receipt, Entry, Private string
		Hints                                    []struct{ Field string }
	}
	must(t, json.Unmarshal([]byte(got.body), &in))
	receipt, err := draw.ParseReceipt("receipt.txt", []byte(strings.SplitAfter(in.Receipt, "\n\n")[0][:strings.Index(in.Receipt, "\n\n")+1]))
	must(t, err)
	entry, err := draw.ParseEntry("entry.txt", []byte(in.Entry))
	must(t, err)
	if receipt.Ticket.String() != in.Ticket || receipt.Commitment != entry.Commitment() || entry.Email != "robin@exmaple.com" {
		t.Errorf("receipt and entry text don't belong together: %+v %+v", receipt, entry)
	}
	if len(in.Hints) != 2 || got.Header.Get("Location") != in.Private {
		t.Errorf("hints %v, location %q, private %q", in.Hints, got.Header.Get("Location"), in.Private)
	}
	r.get(in.Private).is(t, 200)

	for _, c := range []struct {
		name, body string
		status     int
		code       string
	}{
		{"repeat", good, 409, "already-in"},
		{"fields", `{"email":"x"}`, 422, "fields"},
		{"refused", strings.Replace(good, `"age":30`, `"age":"under-18"`, 1), 422, "too-young"},
		{"unknown name", `{"mail":"x"}`, 400, "malformed"},
		{"no JSON", `{"email":`, 400, "malformed"},
		{"two values", `{} {}`, 400, "malformed"},
		{"a list for text", `{"email":["x"]}`, 400, "malformed"},
		{"too long", `{"email":"` + strings.Repeat("x", 70_000) + `"}`, 413, "too-long"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := r.postJSON("/g/boots", c.body)
			got.is(t, c.status)
			// RFC 9457, section 3: the media type, and status as a number.
			if kind := got.Header.Get("Content-Type"); kind != "application/problem+json" {
				t.Errorf("content type %q", kind)
			}
			var p struct {
				Title, Code, Reason, Detail string
				Status                      int
				Errors                      []struct{ Field, Detail string }
			}
			must(t, json.Unmarshal([]byte(got.body), &p))
			if p.Status != c.status || p.Code != c.code || p.Title == "" || p.Reason == "" {
				t.Errorf("problem %s", got.body)
			}
			if c.code == "fields" && (len(p.Errors) == 0 || p.Errors[0].Field != "email") {
				t.Errorf("no field is named: %s", got.body)
			}
		})
	}
}

func TestWindow(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	const body = `{"email":"robin@example.com","system":"mens","size":"10","width":"D","live":"US","state":"ME","age":"18","rules":"yes","answers":{"season":"summer"}}`

	// [opens, closes): eligibility rules of the issue; testdata/facts/abuse.md, 5, case 10.
	r.setTime(opens.Add(-time.Second))
	r.get("/g/boots").has(t, "Entries are not open yet.")
	early := r.post("/g/boots", goodForm("robin@example.com"))
	early.is(t, 425)
	early.has(t, "came in before entries opened")
	r.postJSON("/g/boots", body).is(t, 425)

	r.setTime(closes.Add(-time.Second))
	r.post("/g/boots", goodForm("last@example.com")).is(t, 303)

	r.setTime(closes)
	late := r.post("/g/boots", goodForm("robin@example.com"))
	late.is(t, 410)
	late.has(t, "Entries are closed.", "came in after entries had closed", "none of what you typed was stored")
	r.postJSON("/g/boots", body).is(t, 410)
	closed := r.get("/g/boots")
	closed.is(t, 200)
	closed.has(t, "Entries are closed.", "The list locks, at the latest")
	closed.lacks(t, `name="email"`)
}

// A list that nobody locked before the event is not called "about to be locked".
func TestLate(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.setTime(event)
	page := r.get("/g/boots")
	page.has(t, "The draw is late.", "A later time has to be posted first")
	page.lacks(t, "about to be locked")
}

// What the terms don't need is not asked.
func TestOnlyWhatIsNeeded(t *testing.T) {
	r := newRig(t)
	r.open("mug", func(x *giveaway.Terms) {
		x.Sizes, x.Region, x.MinAge, x.Steps, x.Questions, x.Host, x.Value = nil, eligibility.Region{}, 0, "", nil, "", ""
	})
	page := r.get("/g/mug")
	page.has(t, `name="email"`, `name="live"`, `name="ship"`, `name="name"`, `name="rules"`)
	page.lacks(t, `name="size"`, `name="state"`, `name="ship_state"`, `name="friend"`, `name="age"`, `name="step"`, `name="answers`)
	got := r.post("/g/mug", url.Values{"email": {"ada@example.com"}, "live": {"NZ"}, "rules": {"yes"}})
	got.is(t, 303)
	mine := r.get(got.Header.Get("Location"))
	mine.has(t, "New Zealand")
	mine.lacks(t, "Another size", "<b></b>")
	r.open("home", func(x *giveaway.Terms) {
		x.Region = eligibility.Region{Live: []string{"CA"}, Ship: []string{"CA"}, NotLive: []string{"CA-QC"}, NotShip: []string{"CA-QC"}}
	})
	page = r.get("/g/home")
	page.has(t, `name="state"`, "not in Canada", "Ontario")
	page.lacks(t, `name="ship"`, `name="friend"`, "Alabama")
}

func TestNotThere(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	draft := terms(t, "draft")
	_, err := r.host.Draft(t.Context(), during, draft)
	must(t, err)
	for _, path := range []string{"/g/none", "/g/NONE", "/g/draft", "/g/draft/fair/", "/g/none/rules", "/g/none/t/K7QF2M9X4RTBW8ZC", "/nothing",
		"/g/boots/fair/secret.txt", "/g/boots/fair/roll.txt", "/g/boots/fair/opening.1.txt", "/g/boots/fair/..%2fopening.txt", "/g/boots/r/x", "/g/none/r/x", "/static/none.css"} {
		r.get(path).is(t, 404)
	}
	r.post("/g/none", goodForm("robin@example.com")).is(t, 404)
	r.do("DELETE", "/g/boots", nil).is(t, 405)
	r.do("POST", "/g/boots", strings.NewReader("x"), "Content-Type", "text/plain").is(t, 415)
	r.do("POST", "/g/boots", strings.NewReader("x"), "Content-Type", "application/x-www-form-urlencoded; charset=latin1").is(t, 415)
	r.post("/g/boots", with(goodForm("x"), "name", strings.Repeat("x", 70_000))).is(t, 413)
	r.do("POST", "/g/boots", struct{ *strings.Reader }{strings.NewReader("name=" + strings.Repeat("x", 70_000))}, "Content-Type", "application/x-www-form-urlencoded").is(t, 413)
}

func TestNow(t *testing.T) {
	r := newRig(t)
	none := r.get("/now")
	none.is(t, 404)
	none.has(t, "There is no giveaway here yet.")
	r.open("first")
	r.open("second", func(x *giveaway.Terms) {
		later, err := giveaway.MomentAt(opens.Add(30*time.Minute), "UTC")
		must(t, err)
		x.Opens = later
	})
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{opens.Add(time.Minute), "/g/first"}, // the only one that is open
		{during, "/g/second"},                // the newer of two
		{closes, "/g/second"},                // none is open: the last
	} {
		r.setTime(c.at)
		if got := r.get("/now"); got.StatusCode != 303 || got.Header.Get("Location") != c.want {
			t.Errorf("at %s: %d to %q, want %s", c.at, got.StatusCode, got.Header.Get("Location"), c.want)
		}
	}
}

// The first page lists what goes on, where that is more than one giveaway; a
// giveaway that was called off never stands before one that goes on, and a
// result that is held back shows nothing (the desk's issue, "Call off").
func TestFirstPage(t *testing.T) {
	r := newRig(t)
	opensAt := func(late time.Duration) func(*giveaway.Terms) {
		return func(x *giveaway.Terms) {
			m, err := giveaway.MomentAt(opens.Add(late), "UTC")
			must(t, err)
			x.Opens, x.Title = m, "Win boots, "+x.Draw+"."
		}
	}
	leads := func(path, want string) {
		t.Helper()
		if got := r.get(path); got.StatusCode != 303 || got.Header.Get("Location") != want {
			t.Errorf("%s: %d to %q, want %s", path, got.StatusCode, got.Header.Get("Location"), want)
		}
	}
	r.open("first", opensAt(0))
	r.open("off", opensAt(20*time.Minute))
	r.setTime(during)
	page := r.get("/")
	page.is(t, 200)
	page.has(t, "Two giveaways go on here.", `<a href="/g/first">Win boots, first.</a>`, `<a href="/g/off">Win boots, off.</a>`, "Taking entries")
	_, err := r.host.Cancel(t.Context(), during, "off", "postponed", "")
	must(t, err)
	leads("/", "/g/first")
	leads("/now", "/g/first")
	r.get("/g/off").has(t, "What goes on here", `<a href="/g/first">Win boots, first.</a>`)
	r.setTime(closes.Add(time.Minute)) // it only waits for its lock: still before the one that was called off
	leads("/", "/g/first")
	r.lock("first")
	leads("/now", "/g/first")
	r.draw("first")
	leads("/", "/g/first")
	r.get("/g/off").lacks(t, "What goes on here")

	alone := newRig(t)
	alone.open("off", opensAt(0))
	_, err = alone.host.Cancel(t.Context(), during, "off", "postponed", "")
	must(t, err)
	if got := alone.get("/"); got.Header.Get("Location") != "/g/off" {
		t.Errorf("with nothing else: to %q", got.Header.Get("Location"))
	}
}

// What takes the place of a giveaway that was called off may be called off too:
// viewers come to the one that goes on, whether it is named or names the old one.
func TestOffLeadsOn(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	named := func(x *giveaway.Terms) { x.Title = "Win boots, " + x.Draw + "." }
	off := func(id, successor string) {
		t.Helper()
		_, err := r.host.Cancel(t.Context(), during, id, "postponed", successor)
		must(t, err)
	}
	draft := terms(t, "two")
	named(&draft)
	_, err := r.host.Draft(t.Context(), during, draft)
	must(t, err)
	r.open("one", named)
	mine, _ := r.enter("one", "robin@example.com")
	off("one", "two")
	r.get("/g/one").has(t, "Its terms are not posted yet; this page leads to it once they are.")
	r.get("/g/one").lacks(t, "/g/two")
	_, err = r.host.Open(t.Context(), during, "two")
	must(t, err)
	r.get("/g/one").has(t, `<a href="/g/two">Win boots, two.</a>`)
	off("two", "")
	r.get("/g/one").has(t, "“Win boots, two.” was to take its place, and was called off too.")
	r.get("/g/one").lacks(t, `href="/g/two"`)
	r.open("three", named, func(x *giveaway.Terms) { x.Follows = "two" })
	r.get("/g/one").has(t, `<a href="/g/three">Win boots, three.</a>`)
	r.get(mine).has(t, "What comes instead", `<a href="/g/three">Win boots, three.</a>`)
	r.get("/g/two").has(t, `<a href="/g/three">Win boots, three.</a>`)
}

// An address with a slash too many leads to the page; folders keep theirs, and
// nothing leads to another host (RFC 3986, section 4.2: a reference that begins
// with two slashes names a host).
func TestSlashAtTheEnd(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.setTime(during)
	for path, want := range map[string]string{
		"/g/boots/": "/g/boots", "/g/boots/rules/?a=b": "/g/boots/rules?a=b", "/g/boots/t/K7QF2M9X4RTBW8ZC/": "/g/boots/t/K7QF2M9X4RTBW8ZC",
		"/g/boots/fair/opening.txt/": "/g/boots/fair/opening.txt", "/now/": "/now", "/g/boots/r/x/": "/g/boots/r/x",
	} {
		if got := r.get(path); got.StatusCode != 301 || got.Header.Get("Location") != want {
			t.Errorf("%s: %d to %q, want 301 to %s", path, got.StatusCode, got.Header.Get("Location"), want)
		}
	}
	for path, status := range map[string]int{"/g/boots/fair/": 200, "//elsewhere.example/": 404, "/%2felsewhere.example/": 404, "/g/boots//": 404} {
		r.get(r.server.URL+path).is(t, status)
	}
	r.post("/g/boots/", goodForm("robin@example.com")).is(t, 404)
}
