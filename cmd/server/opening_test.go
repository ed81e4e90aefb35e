package main

import (
	"bytes"
	"fmt"
	"image/png"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/sample"
)

var (
	markInput = regexp.MustCompile(`name="mark" value="([0-9a-f]{64})"`)
	sureInput = regexp.MustCompile(`name="sure" value="([0-9a-f]+)"`)
)

// reads marks all cautions of a draft as read, each by its own button.
func (v *visitor) reads(id string) {
	v.t.Helper()
	path := "/desk/g/" + id + "/cautions"
	for _, m := range markInput.FindAllStringSubmatch(v.get(path).body, -1) {
		v.readsOn(path, "mark", m[1], "why", "A lawyer looked at it.")
	}
}

// readsOn marks what was read and expects to be led on: to the place of what is
// still unread, or to what is posted.
func (v *visitor) readsOn(path string, pairs ...string) {
	v.t.Helper()
	a := v.press(path, pairs...)
	if place := strings.HasPrefix(a.to, path+"#c-"); a.status != http.StatusSeeOther || !place && a.to != strings.TrimSuffix(path, "cautions")+"post" {
		v.t.Fatalf("reading: status %d to %q: %.300s", a.status, a.to, textOf(a.body))
	}
}

// finishes finishes a form and expects to be led on: to what there is to look
// at, or, where there is nothing, to what is posted.
func (v *visitor) finishes(id, path string, pairs ...string) {
	v.t.Helper()
	a := v.press(path, pairs...)
	if at := "/desk/g/" + id; a.status != http.StatusSeeOther || a.to != at+"/cautions" && a.to != at+"/post" {
		v.t.Fatalf("finishing: status %d to %q: %.600s", a.status, a.to, textOf(a.body))
	}
}

// posts reads what there is to look at and posts a draft.
func (v *visitor) posts(id string) {
	v.t.Helper()
	v.reads(id)
	v.shows("/desk/g/"+id+"/post", "Once posted, these terms bind you.")
	v.goes("/desk/g/"+id+"/spread", v.postAddress(id))
}

// postAddress is where a draft is posted as its page shows it now.
func (v *visitor) postAddress(id string) string {
	v.t.Helper()
	path := "/desk/g/" + id + "/post"
	name, was := asShown(v.t, v, path)
	return path + "?" + name + "=" + was
}

// changes sends the form of “Change something”, and confirms what is shown
// then. The answer is that of the form where nothing is to be confirmed.
func (v *visitor) changes(path string, pairs ...string) answer {
	v.t.Helper()
	a := v.press(path, pairs...)
	m := sureInput.FindStringSubmatch(a.body)
	if a.status != 200 || m == nil {
		return a
	}
	return v.press(path, append(pairs, "sure", m[1], "why", "Our lawyer looked at the change.")...)
}

// changed changes and expects to be led to the day-book.
func (v *visitor) changed(id string, pairs ...string) {
	v.t.Helper()
	if a := v.changes("/desk/g/"+id+"/later", pairs...); a.status != 303 || a.to != "/desk/g/"+id {
		v.t.Fatalf("the change: status %d to %q: %s", a.status, a.to, textOf(a.body))
	}
}

// draft brings the test's terms, and posts nothing.
func (s *service) draft(change ...string) {
	s.t.Helper()
	b, err := os.ReadFile("testdata/boots.json")
	must(s.t, err)
	s.goes("/desk/g/boots", "/desk/file", "terms", strings.NewReplacer(change...).Replace(string(b)))
}

// What there is to look at stands before the post page: stops one by one and
// with a reason, the others at once; what was read counts for that text only.
// People in Canada without a skill question are a stop (testdata/facts/law.md,
// table H, L-C2); the issue wants a sentence of why one goes on, kept.
func TestCautions(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.draft()
		const path = "/desk/g/boots/cautions"
		s.shows("/desk/g/boots", "Read what to look at")
		for _, a := range []answer{s.get("/desk/g/boots/post"), s.press("/desk/g/boots/post")} {
			if a.status != http.StatusConflict || !strings.Contains(a.body, `href="`+path+`"`) || strings.Contains(a.body, "Post these terms") {
				t.Errorf("posting unread: status %d, want 409 with a link back: %s", a.status, textOf(a.body))
			}
		}
		if got := s.get("/g/boots").status; got != http.StatusNotFound {
			t.Fatalf("it was posted: status %d", got)
		}
		page := s.get(path).body
		all, stops := markInput.FindAllStringSubmatch(page, -1), strings.Count(page, "Stop here first</span>")
		if stops == 0 || len(all) <= stops+1 {
			t.Fatalf("%d cautions, %d stops: the test needs both, two of them no stops: %s", len(all), stops, textOf(page))
		}
		if first := textOf(page); strings.Index(first, "Stop here first") > strings.Index(first, "Something is missing") {
			t.Error("stops don't come first")
		}
		if n := strings.Count(textOf(page), "Ask a lawyer where you live."); n < len(all) {
			t.Errorf("“Ask a lawyer where you live.” stands %d times beside %d cautions", n, len(all))
		}
		stop := all[0][1]
		for why, want := range map[string]string{"": "Write in a sentence why you go on.", "  ok  ": "Write in a sentence why you go on.", strings.Repeat("x", 401): "these are 401"} {
			if a := s.press(path, "mark", stop, "why", why); a.status != 422 || !strings.Contains(textOf(a.body), want) || !strings.Contains(a.body, `aria-invalid="true"`) {
				t.Errorf("going on with %.10q: status %d, want 422 with %q", why, a.status, want)
			}
		}
		if a := s.press(path, "mark", strings.Repeat("0", 64), "why", "A reason that is long enough."); a.status != http.StatusConflict {
			t.Errorf("a mark of another text: status %d, want 409", a.status)
		}
		if a := s.press(path, "mark", "x"); a.status != http.StatusBadRequest {
			t.Errorf("no mark: status %d, want 400", a.status)
		}
		rest := url.Values{}
		for _, m := range all[stops:] {
			rest.Add("mark", m[1])
		}
		press := func(form url.Values, more ...string) answer {
			form = url.Values{"mark": append(slices.Clone(form["mark"]), more...), "host": form["host"]}
			return s.do("POST", path, "application/x-www-form-urlencoded", form.Encode())
		}
		if a := press(rest, stop); a.status != 422 || !strings.Contains(textOf(a.body), "This one is read alone.") {
			t.Errorf("a stop among the others: status %d, want 422", a.status)
		}
		if a := press(rest, strings.Repeat("0", 64)); a.status != http.StatusConflict || len(markInput.FindAllString(s.get(path).body, -1)) != len(all) {
			t.Errorf("one of another text among them: status %d, want 409 and nothing marked", a.status)
		}
		for range 2 {
			if a := press(rest); a.status != 303 || a.to != path+"#c-"+stop {
				t.Fatalf("all the others at once: status %d to %q, want 303 to the first stop", a.status, a.to)
			}
		}
		if left := markInput.FindAllString(s.get(path).body, -1); len(left) != stops {
			t.Errorf("after all were read at once %d are left, want the %d stops", len(left), stops)
		}
		for range 2 { // reload of the button
			for _, m := range all[:stops] {
				s.readsOn(path, "mark", m[1], "why", "Our lawyer <b>looked</b> at it.")
			}
		}
		day := s.shows("/desk/g/boots", "Read it and post it", "You went on: “Our lawyer &lt;b&gt;looked&lt;/b&gt; at it.”", "Looked at")
		if n := strings.Count(day, "You went on:"); n != stops {
			t.Errorf("the day-book says %d times that you went on, want %d", n, stops)
		}
		s.shows("/desk/g/boots/post", "Once posted, these terms bind you.", "Can’t be changed afterwards")

		// other terms raise other texts, and those are unread
		name, was := asShown(t, s.visitor, "/desk/g/boots/terms")
		s.finishes("boots", "/desk/g/boots/terms", good(name, was, "live", "US, Canada, France, Australia")...)
		if a := s.get("/desk/g/boots/post"); a.status != http.StatusConflict || strings.Contains(a.body, "Post these terms") {
			t.Errorf("changed terms can be posted unread: status %d", a.status)
		}

		s.posts("boots")
		s.goes("/desk/g/boots", path, "mark", "all")
		s.shows(path, "This is what there was to look at.")
		onlyPlainWords(t, s)
	})
}

// What a caution says is missing can be filled in beside it: it goes into the
// terms, the caution is gone, and the others that stood there are read with the
// same press. What can't be taken is said there. E-1 rests on our own
// experience, L-A3a on general practice (testdata/facts/law.md).
func TestCautionsAreFilledIn(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.finishes("boots", "/desk/new", good("rules", "", "host", "", "sponsor_address", "", "live", "US", "ship", "US")...)
	const path = "/desk/g/boots/cautions"
	page := s.get(path).body
	if !strings.Contains(page, `name="host"`) || !strings.Contains(page, `name="sponsor_address"`) {
		t.Fatalf("nothing can be filled in: %.900s", textOf(page))
	}
	form := url.Values{"host": {strings.Repeat("x", 201)}}
	for _, m := range markInput.FindAllStringSubmatch(page, -1) {
		form.Add("mark", m[1])
	}
	press := func() answer { return s.do("POST", path, "application/x-www-form-urlencoded", form.Encode()) }
	if a := press(); a.status != 422 || !strings.Contains(textOf(a.body), "Shorten this to 200 characters.") || !strings.Contains(a.body, form.Get("host")) {
		t.Errorf("too long: status %d: %.600s", a.status, textOf(a.body))
	}
	form.Set("host", "hello@slowmiles.example")
	if a := press(); a.status != 303 || a.to != "/desk/g/boots/post" {
		t.Fatalf("filled in: status %d to %q", a.status, a.to)
	}
	s.shows("/desk/g/boots/post", "Once posted, these terms bind you.", "hello@slowmiles.example")
	if terms := s.get("/desk/g/boots/terms").body; !strings.Contains(terms, `name="host" value="hello@slowmiles.example"`) {
		t.Error("the form lacks what was filled in")
	}
	if left := s.get(path).body; strings.Contains(left, "nobody to write to") || !strings.Contains(left, "No postal address") {
		t.Errorf("what is left: %.600s", textOf(left))
	}
}

func draftText(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("testdata/boots.json")
	must(t, err)
	return string(b)
}

// What is put under the video holds what viewers need, and the QR code is the
// entry link's.
func TestSpread(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir(), "-url", "https://win.example.org")
		s.claim()
		s.draft(`"min_age": 18`, `"min_age": 18, "disclosure": "Larkspur Trail Supply gave me the boots."`)
		for _, early := range []string{"/desk/g/boots/qr.svg", "/desk/g/boots/qr.png", "/desk/g/boots/sheet", "/desk/g/boots/sheet.txt"} {
			if a := s.get(early); a.status != http.StatusNotFound {
				t.Errorf("GET %s of a draft: status %d, want 404", early, a.status)
			}
		}
		if a := s.get("/desk/g/boots/spread"); a.status != http.StatusSeeOther {
			t.Errorf("the page after posting, of a draft: status %d", a.status)
		}
		s.posts("boots")
		s.goes("/desk/g/boots/spread", "/desk/g/boots/post") // pressed twice
		page := s.get("/desk/g/boots/spread").body
		if strings.Contains(page, "open these links") || strings.Contains(page, "This is a trial") {
			t.Error("a real address is warned of")
		}
		s.shows("/g/boots", "Larkspur Trail Supply gave me the boots.")
		_, block, _ := strings.Cut(page, `id="spread" readonly>`)
		block, _, _ = strings.Cut(block, "</textarea>")
		hash := draw.Hash(textIn(s.get("/g/boots/fair/" + draw.OpeningFile).body)).String()
		for _, want := range []string{"https://win.example.org/g/boots\n", "Saturday 22 August 2026, 4:00 pm New York time", "Saturday 22 August 2026, 5:40 pm New York time",
			"1 winner, with 3 next in line", "win.example.org&#43;", hash, "Larkspur Trail Supply gave me the boots.", "hello@slowmiles.example and never asks for money"} {
			if !strings.Contains(block, want) {
				t.Errorf("the text lacks %q: %s", want, block)
			}
		}
		svg := s.get("/desk/g/boots/qr.svg?download")
		if svg.status != 200 || svg.header.Get("Content-Type") != "image/svg+xml" || !strings.Contains(svg.header.Get("Content-Disposition"), "boots-entry-code.svg") {
			t.Errorf("the SVG: status %d, %v", svg.status, svg.header)
		}
		picture, err := png.Decode(strings.NewReader(s.get("/desk/g/boots/qr.png").body))
		must(t, err)
		if got := readQR(t, picture); got != "https://win.example.org/g/boots" {
			t.Errorf("the code says %q", got)
		}
		onlyPlainWords(t, s)
	})
}

// textIn is the text of a note, without its signatures.
func textIn(note string) []byte {
	text, _, _ := strings.Cut(note, "\n\n")
	return []byte(text + "\n")
}

// The recovery sheet is shown for a quarter of an hour after the passphrase was
// typed, to sign in or for the sheet; then it asks for it, and wrong ones slow
// down.
func TestSheet(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		const path = "/desk/g/boots/sheet"
		s.shows("/desk/g/boots", "Have you kept it?", "Keep the recovery sheet")
		s.shows(path, "Who must not see it", "Keep it as a text file")
		shortAboveTheButton(t, s.get(path).body)
		signedIn := during.Add(15 * time.Minute)
		s.clock.set(signedIn.Add(-time.Second))
		s.shows(path, "Who must not see it")
		s.clock.set(signedIn)
		if a := s.get(path + ".txt"); a.status != http.StatusSeeOther || a.to != path {
			t.Errorf("the file without the passphrase: status %d to %q", a.status, a.to)
		}
		hidden := func(when string) {
			t.Helper()
			if page := s.get(path).body; strings.Contains(page, "PRIVATE+KEY") || strings.Contains(page, "secret ") && strings.Contains(page, "evenhand/") {
				t.Errorf("%s the sheet is shown", when)
			}
		}
		hidden("a quarter of an hour after signing in")
		if a := s.press(path, "passphrase", "wrong one, this"); a.status != 422 || !strings.Contains(a.body, `aria-invalid="true"`) {
			t.Errorf("a wrong passphrase: status %d", a.status)
		}
		if a := s.press(path, "passphrase", passphrase); a.status != http.StatusTooManyRequests || a.header.Get("Retry-After") != "1" {
			t.Errorf("the next try at once: status %d, Retry-After %q, want 429, 1", a.status, a.header.Get("Retry-After"))
		}
		hidden("after a wrong passphrase")
		s.clock.set(signedIn.Add(time.Second))
		s.goes(path, path, "passphrase", passphrase)
		a := s.get(path + ".txt")
		if a.status != 200 || !strings.HasPrefix(a.header.Get("Content-Disposition"), "attachment") || a.header.Get("Cache-Control") != "no-store" {
			t.Errorf("the file: status %d, %v", a.status, a.header)
		}
		s.shows(path, "Who must not see it", "I have kept it", "draw recover "+s.publicURL()+"/g/boots/fair/ boots boots-recovery-sheet.txt")
		s.clock.set(signedIn.Add(15*time.Minute + time.Second))
		hidden("a quarter of an hour later")
		for range 2 {
			s.goes("/desk/g/boots", "/desk/g/boots/kept")
			s.shows("/desk/g/boots", "The recovery sheet is kept, as you say.")
		}
		day := s.shows("/desk/g/boots", "Sheet kept")
		if strings.Contains(day, "as you say") {
			t.Errorf("later the day-book still says: %s", day)
		}
		if strings.Contains(day, "Have you kept it?") || strings.Count(day, "Sheet kept") != 1 {
			t.Errorf("after it was kept the day-book says: %s", day)
		}
		for _, secret := range []string{passphrase, "PRIVATE+KEY"} {
			if strings.Contains(s.logs.String(), secret) {
				t.Errorf("the log holds %q", secret)
			}
		}
		stranger := visit(t, s.base)
		if a := stranger.get(path + ".txt"); a.status != http.StatusUnauthorized || strings.Contains(a.body, "PRIVATE+KEY") {
			t.Errorf("a stranger gets the file: status %d", a.status)
		}
		onlyPlainWords(t, s)
	})
}

// shortAboveTheButton: at most three sentences stand between the sheet's
// heading and its button (a newcomer's trial: nine cost 27 seconds), and they
// say where it is kept and who must not see it.
func shortAboveTheButton(t *testing.T, page string) {
	t.Helper()
	_, above, _ := strings.Cut(page, "Recovery sheet</h1>")
	above, rest, found := strings.Cut(above, "Keep it as a text file")
	above = textOf("<body>" + above)
	if n := strings.Count(above, "."); !found || n == 0 || n > 3 {
		t.Errorf("%d sentences stand above the button: %s", n, above)
	}
	for _, want := range []string{"not in Downloads", "password manager or on paper", "Nobody but you"} {
		if !strings.Contains(above, want) {
			t.Errorf("above the button nothing says %q: %s", want, above)
		}
	}
	if next, _, _ := strings.Cut(textOf("<body>"+rest), "."); !strings.Contains(next, "I have kept it") {
		t.Errorf("under the button comes %q", next)
	}
}

// publicURL is the address that links carry.
func (s *service) publicURL() string {
	m := regexp.MustCompile(`(http\S+)/g/boots`).FindStringSubmatch(textOf(s.get("/desk/g/boots").body))
	if m == nil {
		s.t.Fatal("the day-book shows no address")
	}
	return m[1]
}

// The sheet's text file and the served files alone, in a fresh folder, finish
// a locked draw with the command line, to the places that the service itself
// comes to. The command's clock is the real one, which is past the event.
func TestRecovered(t *testing.T) {
	if time.Now().Before(event) {
		t.Skip("this computer's clock is before the test's event")
	}
	dir := t.TempDir()
	command := filepath.Join(dir, "draw")
	if out, err := exec.Command("go", "build", "-o", command, "evenhand/cmd/draw").CombinedOutput(); err != nil {
		t.Fatalf("build the command: %v: %s", err, out)
	}
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		s.bring("boots")
		enterSome(t, s, 40)
		s.goes("/desk/g/boots/sheet", "/desk/g/boots/sheet", "passphrase", passphrase)
		sheet := s.get("/desk/g/boots/sheet.txt").body
		s.clock.set(closes.Add(time.Minute))
		s.goes("/desk/g/boots", "/desk/g/boots/lock")

		home := t.TempDir()
		must(t, os.WriteFile(filepath.Join(home, "sheet.txt"), []byte(sheet), 0o600))
		run := func(args ...string) string {
			t.Helper()
			c := exec.Command(command, args...)
			c.Dir = home
			var out, words bytes.Buffer
			c.Stdout, c.Stderr = &out, &words
			if err := c.Run(); err != nil {
				t.Fatalf("draw %v: %v: %s", args, err, words.String())
			}
			return out.String()
		}
		run("recover", s.base+"/g/boots/fair/", "boots", "sheet.txt")
		past, err := sample.PastRound()
		must(t, err)
		elsewhere := run("run", "boots", "--beacon", hexOf(past.Signature))
		if said := run("verify", "boots"); !strings.Contains(said, "verdict    valid\n") {
			t.Errorf("the check of the draw made elsewhere: %s", said)
		}

		s.clock.set(event.Add(10 * time.Second))
		s.goes("/desk/g/boots/result", "/desk/g/boots/draw")
		report := check(t, s, "boots")
		var here strings.Builder
		fmt.Fprintf(&here, "seed %s\n", report.Seed)
		for _, p := range report.Places {
			fmt.Fprintf(&here, "place %d %s %s\n", p.N, p.Ticket, p.Score)
		}
		if len(report.Places) != 4 || here.String() != elsewhere {
			t.Errorf("places elsewhere:\n%s\nand here:\n%s", elsewhere, here.String())
		}
	})
}

// A change is shown before it is posted, with what the check will say of it
// (draw protocol, "opening.txt": its remarks); nothing is posted before, and
// the check then says just that.
func TestChangeSomething(t *testing.T) {
	rules := boots + "Boots only.\n"
	for name, c := range map[string]struct {
		at                   time.Time
		closes, event, rules string
		costs                []string
	}{
		"moved": {during, "2026-08-22T16:30", "2026-08-22T18:40", boots, []string{
			"The end of entries was moved from Saturday 22 August 2026, 4:00 pm New York time to Saturday 22 August 2026, 4:30 pm New York time.",
			"The draw was moved from Saturday 22 August 2026, 5:40 pm New York time to Saturday 22 August 2026, 6:40 pm New York time."}},
		"moved at the event": {event, "2026-08-22T16:00", "2026-08-22T18:40", boots, []string{
			"The draw was moved from", "That was after the hour set for the draw before: a result may have been tried and dropped."}},
		"rules":               {during, "2026-08-22T16:00", "2026-08-22T17:40", rules, []string{"The rules were changed; those before are kept."}},
		"rules after closing": {closes, "2026-08-22T16:00", "2026-08-22T17:40", rules, []string{"The rules were changed; those before are kept.", "That was after entries had closed."}},
	} {
		t.Run(name, func(t *testing.T) {
			each(t, func(t *testing.T, database string) {
				s := start(t, during, database, "-data", t.TempDir())
				s.claim()
				s.bring("boots", `"winners": 1`, `"winners": 1, "lock_minutes": 10`)
				s.clock.set(c.at)
				form := []string{"revision", "1", "closes", c.closes, "event", c.event, "rules", c.rules}
				asked := s.press("/desk/g/boots/later", form...)
				sure := sureInput.FindStringSubmatch(asked.body)
				if asked.status != 200 || sure == nil {
					t.Fatalf("no question: status %d: %s", asked.status, textOf(asked.body))
				}
				for _, cost := range c.costs {
					if !strings.Contains(textOf(asked.body), cost) {
						t.Errorf("the question lacks %q: %s", cost, textOf(asked.body))
					}
				}
				if s.get("/g/boots/fair/opening.1.txt").status != http.StatusNotFound {
					t.Fatal("it was posted before it was confirmed")
				}
				if a := s.press("/desk/g/boots/later", append(form, "back", "yes")...); a.status != 200 || !strings.Contains(a.body, c.event) {
					t.Errorf("back to the form: status %d, or what was typed is gone", a.status)
				}
				if a := s.press("/desk/g/boots/later", append(form, "sure", "0123456789abcdef")...); a.status != http.StatusConflict {
					t.Errorf("the mark of other costs: status %d, want 409", a.status)
				}
				// rules or a closing that change after entries began are a stop (testdata/facts/law.md, table H, L-A3b, L-D2)
				stop := c.rules != boots || c.closes != "2026-08-22T16:00"
				if a := s.press("/desk/g/boots/later", append(form, "sure", sure[1])...); stop && (a.status != 422 || !strings.Contains(textOf(a.body), "Write in a sentence why you go on.")) {
					t.Errorf("past a stop without a reason: status %d, want 422: %s", a.status, textOf(a.body))
				}
				for range 2 { // reload
					s.goes("/desk/g/boots", "/desk/g/boots/later", append(form, "sure", sure[1], "why", "A word was missing.")...)
				}
				if n := strings.Count(textOf(s.get("/desk/g/boots").body), "You went on: “A word was missing.”"); stop && n != 1 || !stop && n != 0 {
					t.Errorf("the day-book says %d times why you went on, a stop %v", n, stop)
				}
				if s.get("/g/boots/fair/opening.2.txt").status != http.StatusNotFound {
					t.Error("reload made a second change")
				}
				fair := textOf(s.get("/g/boots/fair/").body)
				for _, cost := range c.costs {
					if !strings.Contains(fair, cost) {
						t.Errorf("the check lacks %q: %s", cost, fair)
					}
				}
				s.shows("/g/boots", "The terms were changed on")
				s.shows("/desk/g/boots", "Terms changed")
				onlyPlainWords(t, s)
			})
		})
	}
}

// A time that comes while the question is read makes the change dearer, and it
// is asked again.
func TestChangeGetsDearer(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.bring("boots", `"winners": 1`, `"winners": 1, "lock_minutes": 10`)
	s.clock.set(closes.Add(-time.Second))
	form := []string{"revision", "1", "closes", "2026-08-22T16:00", "event", "2026-08-22T17:40", "rules", boots + "Boots only.\n"}
	sure := sureInput.FindStringSubmatch(s.press("/desk/g/boots/later", form...).body)
	s.clock.set(closes)
	a := s.press("/desk/g/boots/later", append(form, "sure", sure[1])...)
	if a.status != http.StatusConflict || !strings.Contains(textOf(a.body), "That was after entries had closed.") {
		t.Errorf("status %d, want 409 with the new cost: %s", a.status, textOf(a.body))
	}
}

// Rules that are written from the terms: only paragraphs are typed later; a
// time alone leaves the text as it is, and the page says that it moved.
func TestWrittenRules(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.claim()
		text := draftText(t)
		s.goes("/desk/g/boots", "/desk/file", "terms", text[:strings.Index(text, `,
  "rules"`)]+"\n}\n")
		s.shows("/desk/g/boots/rules", "So the rules will read.", "Larkspur Trail Supply")
		s.posts("boots")
		first := s.get("/g/boots/fair/" + draw.RulesFile).body
		s.changed("boots", "revision", "1", "closes", "2026-08-22T16:00", "event", "2026-08-22T18:40", "rules", "")
		s.shows("/g/boots/rules", "These are the rules.", "The times were moved since:", "the draw is on Saturday 22 August 2026, 6:40 pm New York time.", draw.Hash([]byte(first)).String())
		s.clock.set(during.Add(time.Hour))
		s.changed("boots", "revision", "2", "closes", "2026-08-22T16:00", "event", "2026-08-22T18:40", "rules", "Bring **socks**.")
		if after := s.get("/g/boots/fair/" + draw.RulesFile).body; !strings.Contains(after, "Bring **socks**.") || s.get("/g/boots/fair/rules.2.txt").body != first {
			t.Errorf("the rules now: %s", after)
		}
		page := s.get("/g/boots/rules")
		if !strings.Contains(page.body, "Bring <strong>socks</strong>.") || strings.Contains(textOf(page.body), "The times were moved since:") {
			t.Errorf("the page: %s", textOf(page.body))
		}
		for _, public := range []string{"/g/boots", "/g/boots/rules", "/g/boots/fair/"} {
			if found := claimWord.FindString(addressOnPage.ReplaceAllString(textOf(s.get(public).body), "")); found != "" {
				t.Errorf("GET %s says %q", public, found)
			}
		}
		s.shows("/g/boots/rules", "Posted on Friday 21 August 2026, 5:00 pm New York time", "Rules that stood before")
		onlyPlainWords(t, s)
	})
}
