package web_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/draw/relay"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
	"evenhand/web"
)

// standIn answers like a public relay, with the published rounds of quicknet
// (testdata/vectors/drand-quicknet.json names where each was published).
func standIn(t testing.TB) string {
	t.Helper()
	b, err := os.ReadFile("../testdata/vectors/drand-quicknet.json")
	must(t, err)
	var v struct {
		Rounds []struct {
			Round     uint64
			Signature string
		}
	}
	must(t, json.Unmarshal(b, &v))
	mux := http.NewServeMux()
	for _, r := range v.Rounds {
		mux.HandleFunc(fmt.Sprintf("GET /%s/public/%d", beacon.Quicknet().HashHex(), r.Round), func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Access-Control-Allow-Origin", "*")
			fmt.Fprintf(w, `{"round":%d,"signature":"%s"}`, r.Round, r.Signature)
		})
	}
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server.URL
}

func checkRig(t testing.TB) (r *rig, relays string) {
	relays = standIn(t)
	return newRig(t, func(c *web.Config) { c.CheckRelays = []string{relays} }), relays
}

// answered waits until the check page has its answer.
func answered(b *browsertest.Browser) (head, said string) {
	b.WaitVisible("#check-said .lead")
	return b.Text("#check-said h1"), b.Text("#check-said .lead")
}

// drawnAt makes a giveaway with nine tickets and draws it.
func (r *rig) drawnAt(id string, change ...func(*giveaway.Terms)) (private map[string]string, report draw.Report) {
	r.t.Helper()
	r.setTime(during)
	r.open(id, change...)
	private = map[string]string{}
	for i := range 9 {
		link, ticket := r.enter(id, fmt.Sprintf("person%d@example.com", i))
		private[ticket] = link
	}
	r.lock(id)
	r.draw(id)
	r.setTime(closes.Add(2 * time.Hour))
	return private, draw.Check(r.t.Context(), r.db.Publication(id), draw.Options{})
}

// The page redoes a draw and says so; at every width, dark and light, axe-core
// finds nothing and nothing is wider than the window. Nobody is asked but the
// site and the relays.
func TestCheckPage(t *testing.T) {
	r, relays := checkRig(t)
	_, report := r.drawnAt("boots")
	winner := report.Places[0].Ticket
	r.drawnAt("weak", func(x *giveaway.Terms) { x.Beacon = giveaway.BeaconNone })
	r.setTime(during)
	r.open("fresh")
	b := browsertest.New(t)
	for id, want := range map[string]string{
		"boots": "Your own device just redid the draw from the public files: same winner.",
		"weak":  "Your own device just redid the draw from the public files: same winner.",
		"fresh": "So far everything fits.",
	} {
		for _, width := range widths {
			for _, dark := range []bool{false, true} {
				b.SetViewport(width, 900, width < 700)
				b.Dark(dark)
				b.Open(r.server.URL + "/g/" + id + "/check")
				where := fmt.Sprintf("check-%s-%d-dark=%v", id, width, dark)
				head, said := answered(b)
				if head != want {
					t.Errorf("%s: the page says %q, %q: %s", where, head, said, b.Text("#check-body"))
				}
				if id == "boots" && (!strings.Contains(said, winner.Grouped()) || strings.Contains(said, "to know")) {
					t.Errorf("%s: %q does not name %s alone", where, said, winner.Grouped())
				}
				if id == "weak" && !strings.Contains(said, "There is one thing to know.") {
					t.Errorf("%s: %q does not say that it is weak", where, said)
				}
				fits(t, b, where, width)
			}
		}
	}
	for _, asked := range b.Requests() {
		if !strings.HasPrefix(asked, r.server.URL+"/") && !strings.HasPrefix(asked, relays+"/") {
			t.Errorf("the page asked for %s", asked)
		}
	}
}

// fits looks at a page as it stands.
func fits(t *testing.T, b *browsertest.Browser, where string, width int) {
	t.Helper()
	found, err := b.Axe()
	must(t, err)
	for _, f := range found {
		t.Errorf("%s: %s", where, f)
	}
	if wide := browsertest.Eval[int](b, "document.documentElement.scrollWidth"); wide > width {
		t.Errorf("%s: the page is %d wide", where, wide)
	}
	if pictures := os.Getenv("EVENHAND_PICTURES"); pictures != "" {
		b.Screenshot(filepath.Join(pictures, where+".png"))
	}
}

// Without script the page says where to go instead.
func TestCheckPageWithoutScript(t *testing.T) {
	r, _ := checkRig(t)
	r.open("boots")
	b := browsertest.New(t)
	b.Script(false)
	b.Open(r.server.URL + "/g/boots/check")
	text := b.Text("main")
	for _, want := range []string{"the files and the check in words", "draw verify " + r.server.URL + "/g/boots/fair/"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in %q", want, text)
		}
	}
	if got := b.Follow("#check-without a"); got != 200 {
		t.Errorf("the link has status %d", got)
	}
}

// Only the check page, its worker's script and its copy may ask the relays.
func TestOnlyTheCheckPageMayAskRelays(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	for path, may := range map[string]bool{
		"/g/boots/check": true, "/static/check.js": true, "/g/boots/fair/check.html": true,
		"/g/boots": false, "/g/boots/fair/": false, "/static/page.js": false, "/g/boots/fair/opening.txt": false,
	} {
		got := r.get(path)
		got.is(t, 200)
		for _, one := range relay.Default() {
			if strings.Contains(got.Header.Get("Content-Security-Policy"), one) != may {
				t.Errorf("%s: the policy is %s", path, got.Header.Get("Content-Security-Policy"))
			}
		}
	}
	r.get("/g/nothing/check").is(t, 404)
	r.get("/g/nothing/fair/check.html").is(t, 404)
}

// Every sample publication, served in place of the real one: the page shows
// each fault with its file and line as package draw finds them.
func TestCheckPageCatchesFaultyCopies(t *testing.T) {
	var want map[string]struct{ Status int }
	text, err := os.ReadFile(filepath.Join(vectors, "expected.json"))
	must(t, err)
	must(t, json.Unmarshal(text, &want))
	r, _ := checkRig(t)
	b := browsertest.New(t)
	caught := 0
	looked := map[string]bool{"bad-roll-line-changed": true, "revised": true, "withheld": true, "cancelled": true, "three-winners": true, "odd-chain-frozen": true, "full": true}
	for name, w := range want {
		dir := filepath.Join(vectors, name)
		report := draw.Check(t.Context(), plainFS{os.DirFS(dir)}, draw.Options{})
		g := giveaway.Giveaway{ID: "sample", Terms: terms(t, "sample"), State: stateOf(dir), Frozen: closes, Drawn: event}
		r.config.Host.Store = sampleStore{r.db, g, dir}
		r.rebuild()
		b.Open(r.server.URL + "/g/sample/check")
		head, lead := answered(b)
		if faulty := head == "The check finds a fault."; faulty != (report.Status == draw.StatusFault) {
			t.Errorf("%s: the page says %q, package draw %d (expected.json, for a folder: %d)", name, head, report.Status, w.Status)
		}
		if looked[name] {
			b.SetViewport(360, 900, true)
			fits(t, b, "check-"+name, 360)
			b.SetViewport(1280, 900, false)
		}
		if report.Status != draw.StatusFault {
			continue
		}
		caught++
		var faults []string
		for _, f := range report.Findings {
			if f.Level == draw.Fault {
				where := f.File
				if f.Line > 0 {
					where += fmt.Sprintf(", line %d", f.Line)
				}
				faults = append(faults, strings.TrimPrefix(where+": ", ": ")+strings.ReplaceAll(f.Text, "'", "’")+".")
			}
		}
		got := browsertest.Eval[[]string](b, `[...document.querySelectorAll(".faults li")].map((e) => { e.querySelector(".note")?.remove(); return e.textContent; })`)
		for i := range got {
			got[i] = strings.ReplaceAll(got[i], "'", "’")
		}
		if len(faults) == 1 {
			file, line := cutFault(faults[0])
			if !strings.Contains(lead, "("+file+"). What is wrong stands below.") || line != "" && !strings.Contains(lead, " "+line+" of ") {
				t.Errorf("%s: %q does not say where the fault is: %s", name, lead, faults[0])
			}
		}
		if !slices.Equal(got, faults) {
			t.Errorf("%s: the page says %q, want %q", name, got, faults)
		}
	}
	if caught < 15 {
		t.Errorf("only %d faulty samples were tried", caught)
	}
}

// cutFault parts "roll.txt, line 31: want…" into the file and "line 31".
func cutFault(said string) (file, line string) {
	where, _, _ := strings.Cut(said, ": ")
	file, line, _ = strings.Cut(where, ", ")
	return file, line
}

// plainFS hides that a folder can be listed, as an address can't.
type plainFS struct{ fs.FS }

// The private page leads to the check with the proof of entry: the page finds
// the ticket's own line in roll.txt and its place among all, without sending
// the proof anywhere. A ticket can also be typed.
func TestCheckPageFindsMyTicket(t *testing.T) {
	r, relays := checkRig(t)
	private, report := r.drawnAt("boots")
	roll, err := fs.ReadFile(r.db.Publication("boots"), draw.RollFile)
	must(t, err)
	lines := strings.Split(strings.TrimSuffix(string(roll), "\n"), "\n")
	b := browsertest.New(t)
	b.SetViewport(360, 900, true)
	ranks := map[int]bool{}
	for i, line := range lines {
		ticket, _, _ := strings.Cut(line, " ")
		b.Open(r.server.URL + private[ticket])
		if got := b.Follow(`a[href*="/check#receipt="]`); got != 200 {
			t.Fatalf("the link to the check has status %d", got)
		}
		answered(b)
		said := b.Text("#own-said")
		parsed, err := draw.ParseTicket(ticket)
		must(t, err)
		rank := 1
		for _, other := range lines {
			o, err := draw.ParseTicket(other[:16])
			must(t, err)
			if draw.Score(*report.Seed, o).String() < draw.Score(*report.Seed, parsed).String() {
				rank++
			}
		}
		ranks[rank] = true
		for _, want := range []string{line, parsed.Grouped(), fmt.Sprintf("in line %d of roll.txt", i+1), fmt.Sprintf("It came %s of %d.", nth(rank), len(lines)),
			"Your proof of entry: ticket " + parsed.Grouped() + " stands in roll.txt, line " + fmt.Sprint(i+1) + ", with this commitment."} {
			if !strings.Contains(strings.ReplaceAll(said, "\n", " "), want) {
				t.Errorf("%q is missing in %q", want, said)
			}
		}
		if at := b.Location(); at != r.server.URL+"/g/boots/check" {
			t.Errorf("the proof stays in the address: %s", at)
		}
	}
	if len(ranks) != len(lines) {
		t.Errorf("the tickets have the ranks %v", ranks)
	}
	fits(t, b, "check-mine-360", 360)
	score := draw.Score(*report.Seed, report.Places[0].Ticket).String()
	text := b.Text("#check-body")
	byHand(t, text)
	if !strings.Contains(text, report.Seed.String()+report.Places[0].Ticket.String()) || !strings.Contains(text, score) {
		t.Errorf("the line to try by hand is missing: %s", text)
	}
	for _, asked := range b.Requests() {
		if strings.Contains(asked, "receipt=") && !strings.Contains(asked, "#") {
			t.Errorf("the proof was sent: %s", asked)
		}
		if !strings.HasPrefix(asked, r.server.URL+"/") && !strings.HasPrefix(asked, relays+"/") {
			t.Errorf("the page asked for %s", asked)
		}
	}

	b.Open(r.server.URL + "/g/boots/check")
	answered(b)
	b.Type("#own-ticket", "u")
	b.Click("#own-ticket ~ button")
	b.WaitVisible(".val > form .fault")
	b.Open(r.server.URL + "/g/boots/check")
	answered(b)
	b.Type("#own-ticket", strings.ToLower(report.Places[0].Ticket.Grouped()))
	b.Click("#own-ticket ~ button")
	b.WaitVisible("#own-said")
	if said := b.Text("#own-said"); !strings.Contains(said, "It came 1st of 9.") {
		t.Errorf("a typed ticket: %q", said)
	}
}

// pasted are the lines to paste into any SHA-256 page (FIPS 180-4), each with
// the number that must come out.
var pasted = regexp.MustCompile(`followed by the ticket:\s+([0-9a-f]{64}[0-9A-Z]{16})\s+This must come out:\s+([0-9a-f]{64})`)

// byHand does what the page says: the winner's line, and the viewer's own.
func byHand(t *testing.T, text string) {
	t.Helper()
	lines := pasted.FindAllStringSubmatch(text, -1)
	if len(lines) != 2 {
		t.Errorf("%d lines to try by hand, want 2: %s", len(lines), text)
	}
	for _, l := range lines {
		if sum := sha256.Sum256([]byte(l[1])); hex.EncodeToString(sum[:]) != l[2] {
			t.Errorf("SHA-256 of %s is %x, not %s", l[1], sum, l[2])
		}
	}
}

func nth(n int) string {
	if n > 3 {
		return fmt.Sprintf("%dth", n)
	}
	return []string{"", "1st", "2nd", "3rd"}[n]
}

// The answer is read out once: the page has one status region for it, empty of
// news until the check is done, then changed in one step. Chromium's own tree
// for screen readers has the region with the answer in it.
func TestCheckPageAnnouncesOnce(t *testing.T) {
	r, _ := checkRig(t)
	r.drawnAt("boots")
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots")
	b.Open(r.server.URL + "/g/boots/check")
	answered(b)
	again := `(async () => {
		const said = document.getElementById("check-said"), out = [];
		%s
		const watch = new MutationObserver(() => out.push(said.textContent));
		watch.observe(said, {childList: true, subtree: true, characterData: true, attributes: true});
		[...document.querySelectorAll("button")].find((b) => b.textContent === "Check again").click();
		await new Promise((done) => document.addEventListener("evenhand:checked", () => setTimeout(done, 100), {once: true}));
		watch.disconnect();
		return out; })()`
	want := browsertest.Eval[string](b, `document.getElementById("check-said").textContent`)
	if got := browsertest.Eval[[]string](b, fmt.Sprintf(again, `said.replaceChildren(el("h1", null, "As it was before."));`)); !slices.Equal(got, []string{want}) {
		t.Errorf("the answer was announced as %q, want %q once", got, want)
	}
	if got := browsertest.Eval[[]string](b, fmt.Sprintf(again, "")); len(got) != 0 {
		t.Errorf("the same answer was announced again: %q", got)
	}
	if got := b.Announced(); !slices.Equal(got, []browsertest.Heard{{Role: "status", Text: want}}) {
		t.Errorf("Chromium's tree announces %q, want %q once, as a status", got, want)
	}
	head := b.Text("#check-said h1")
	if got := b.Headings(); len(got) < 5 || got[0].Text != head || slices.ContainsFunc(got[1:], func(h browsertest.Heard) bool { return h.Text == head }) {
		t.Errorf("the headings of Chromium's tree are %q", got)
	}
}

// Where no relay answers the page says that the public number was not checked,
// and where they say something else it is a fault.
func TestCheckPageWithoutRelays(t *testing.T) {
	lying := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		w.Header().Set("Access-Control-Allow-Origin", "*")
		fmt.Fprintf(w, `{"round":%s,"signature":"%s"}`, q.URL.Path[strings.LastIndex(q.URL.Path, "/")+1:], strings.Repeat("ab", 48))
	}))
	t.Cleanup(lying.Close)
	silent := httptest.NewServer(http.NotFoundHandler())
	t.Cleanup(silent.Close)
	honest := standIn(t)
	b := browsertest.New(t)
	for name, c := range map[string]struct {
		relays     []string
		head, body string
	}{
		"silent":         {[]string{silent.URL}, "The check could not be finished.", "none answered"},
		"lying":          {[]string{lying.URL}, "The check finds a fault.", "the beacon’s relays have another signature for round 31543812"},
		"not one voice":  {[]string{lying.URL, honest}, "The check could not be finished.", "its relays do not agree with each other"},
		"one that works": {[]string{silent.URL, honest}, "Your own device just redid the draw from the public files: same winner.", "the one that answered has the same"},
	} {
		r := newRig(t, func(cfg *web.Config) { cfg.CheckRelays = c.relays })
		r.drawnAt("boots")
		b.Open(r.server.URL + "/g/boots/check")
		if head, _ := answered(b); head != c.head {
			t.Errorf("%s: the page says %q, want %q", name, head, c.head)
		}
		if body := strings.ReplaceAll(b.Text("#check-body"), "\n", " "); !strings.Contains(body, c.body) {
			t.Errorf("%s: %q is missing in %q", name, c.body, body)
		}
	}
}

// The copy that stands beside the files runs under its own policy, and finds
// the files without being told where they are.
func TestCheckCopyBesideTheFiles(t *testing.T) {
	r, _ := checkRig(t)
	r.drawnAt("weak", func(x *giveaway.Terms) { x.Beacon = giveaway.BeaconNone })
	b := browsertest.New(t)
	b.SetViewport(360, 900, true)
	b.Open(r.server.URL + "/g/weak/fair/check.html")
	if head, _ := answered(b); head != "Your own device just redid the draw from the public files: same winner." {
		t.Errorf("the copy says %q: %s", head, b.Text("#check-body"))
	}
	fits(t, b, "check-copy-360", 360)
}

// Both papers of an entry are chosen as files: the proof of entry and the
// entry's own text fit the list, another entry's text does not.
func TestCheckPageTakesPapers(t *testing.T) {
	r, _ := checkRig(t)
	private, report := r.drawnAt("boots")
	mine, other := report.Places[1].Ticket.String(), report.Places[2].Ticket.String()
	receipt, entry, foreign := r.get(private[mine]+"/receipt").body, r.get(private[mine]+"/entry").body, r.get(private[other]+"/entry").body
	b := browsertest.New(t)
	for name, c := range map[string]struct {
		files []string
		want  []string
	}{
		"both": {[]string{receipt, entry}, []string{"It came 2nd of 9.", "with this commitment.", "its hash is the commitment of the receipt and the list."}},
		"an entry text that was changed": {[]string{receipt, strings.Replace(foreign, "size mens", "size womens", 1)},
			[]string{"It came 2nd of 9.", "This entry’s own text does not fit.", "fits neither a receipt given here nor the list"}},
		"a proof that was changed": {[]string{strings.Replace(receipt, "ticket "+mine, "ticket "+other, 1), entry},
			[]string{"It came 2nd of 9.", "is the commitment of the list.", "This is not a proof of entry of this giveaway.", "the one here does not verify."}},
		"an entry text alone": {[]string{entry}, []string{"It came 2nd of 9.", "is the commitment of the list."}},
		"no paper at all":     {[]string{"Dear viewer"}, []string{"This is not a proof of entry of this giveaway.", "want a signed note", "keep it and ask"}},
	} {
		b.Open(r.server.URL + "/g/boots/check")
		head, _ := answered(b)
		script := `(() => { const all = new DataTransfer(), input = document.getElementById("own-papers");`
		for i, text := range c.files {
			quoted, err := json.Marshal(text)
			must(t, err)
			script += fmt.Sprintf("all.items.add(new File([%s], %q));", quoted, fmt.Sprintf("paper-%d.txt", i+1))
		}
		browsertest.Eval[bool](b, script+` input.files = all.files; return input.dispatchEvent(new Event("change")); })()`)
		b.WaitVisible("#own-said, #own-apart *")
		said := strings.Join(strings.Fields(b.Text("#check-body")), " ")
		for _, want := range c.want {
			if !strings.Contains(said, want) {
				t.Errorf("%s: %q is missing in %q", name, want, said)
			}
		}
		if got := b.Text("#check-said h1"); got != head {
			t.Errorf("%s: the answer becomes %q", name, got)
		}
		if names := b.Text("#own-none"); names != "Check without them" || !strings.Contains(said, "Chosen: paper-1.txt") {
			t.Errorf("%s: the chosen files are not named, with a way to let go of them: %q", name, said)
		}
		b.Click("#own-none")
		soon(t, name+": the files are let go of", func() bool {
			return browsertest.Eval[bool](b, `document.querySelector("#check-said h1") !== null && !document.querySelector("#own-none, #own-said, #own-apart *")`)
		})
	}
	// Go's own calendar is the other source; the browser's zone is asked for.
	zone, err := time.LoadLocation(browsertest.Eval[string](b, `Intl.DateTimeFormat().resolvedOptions().timeZone`))
	must(t, err)
	for _, at := range []time.Time{event, event.Add(14 * time.Hour), event.AddDate(0, 3, 9)} {
		want := at.In(zone).Format("Monday 2 January 2006, 3:04 pm MST")
		if got := browsertest.Eval[string](b, fmt.Sprintf("clock(%d)", at.Unix())); got != want {
			t.Errorf("a time is written %q, want %q", got, want)
		}
	}
}

// A link that a stranger made brings the check page a paper: it can be anything
// but a signed proof of this draw. The page says so beside "Your proof of
// entry", says that a link brought it, and its answer stays what it was. A
// button checks without it.
func TestCheckPageIsNotFooledByALink(t *testing.T) {
	r, _ := checkRig(t)
	private, report := r.drawnAt("boots")
	others, _ := r.drawnAt("socks")
	mine := r.get(private[report.Places[1].Ticket.String()] + "/receipt").body
	var foreign string
	for _, link := range others {
		foreign = r.get(link + "/receipt").body
	}
	b := browsertest.New(t)
	b.SetViewport(360, 900, true)
	b.Open(r.server.URL + "/g/boots/check")
	head, lead := answered(b)
	if head != "Your own device just redid the draw from the public files: same winner." {
		t.Fatalf("the page says %q", head)
	}
	link := func(paper string) string {
		return r.server.URL + "/g/boots/check#receipt=" + base64.URLEncoding.EncodeToString([]byte(paper))
	}
	for name, c := range map[string]struct{ paper, want string }{
		"a first line":     {"evenhand/receipt/v1\ndraw boots\n", "want a signed note"},
		"another giveaway": {foreign, "want a receipt of draw boots"},
		"a changed proof":  {strings.Replace(mine, "\nentered 2", "\nentered 3", 1), "does not verify"},
		"an entry's text":  {r.get(private[report.Places[1].Ticket.String()] + "/entry").body, "want a signed note"},
	} {
		b.Open("about:blank")
		b.Open(link(c.paper))
		gotHead, gotLead := answered(b)
		if gotHead != head || gotLead != lead {
			t.Errorf("%s: the page says %q, %q", name, gotHead, gotLead)
		}
		body := strings.Join(strings.Fields(b.Text("#check-body")), " ")
		for _, want := range []string{"This is not a proof of entry of this giveaway.", "A link brought this paper", c.want} {
			if !strings.Contains(body, want) {
				t.Errorf("%s: %q is missing in %q", name, want, body)
			}
		}
		if n := browsertest.Eval[int](b, `document.querySelectorAll(".fault:not([hidden]), .faults").length`); n != 0 {
			t.Errorf("%s: the page shows %d faults", name, n)
		}
		if name == "another giveaway" {
			fits(t, b, "check-foreign-360", 360)
		}
		browsertest.Eval[bool](b, `new Promise((done) => { document.addEventListener("evenhand:checked", () => done(true), {once: true}); document.getElementById("own-without").click(); })`)
		if body := b.Text("#check-body"); strings.Contains(body, "A link brought this paper") || strings.Contains(body, "not a proof of entry") {
			t.Errorf("%s: the paper is still there: %s", name, body)
		}
	}
	b.Open("about:blank")
	b.Open(link(mine))
	answered(b)
	if said := b.Text("#own-said"); !strings.Contains(said, "It came 2nd of 9.") || !strings.Contains(b.Text("#check-body"), "A link brought this paper") {
		t.Errorf("a true proof: %q", said)
	}
}

// The copy is one document for all giveaways, with a tag: who has it is told
// so (RFC 9110, sections 13.1.2 and 15.4.5).
func TestCheckCopyIsNotSentTwice(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	r.open("socks")
	first, second := r.get("/g/boots/fair/check.html"), r.get("/g/socks/fair/check.html")
	tag := first.Header.Get("ETag")
	if tag == "" || tag != second.Header.Get("ETag") || first.body != second.body {
		t.Errorf("tags %q and %q", tag, second.Header.Get("ETag"))
	}
	again := r.do("GET", "/g/boots/fair/check.html", nil, "If-None-Match", tag)
	again.is(t, 304)
	if again.body != "" || again.Header.Get("ETag") != tag {
		t.Errorf("304 with the tag %q and %d bytes", again.Header.Get("ETag"), len(again.body))
	}
	r.do("GET", "/g/boots/fair/check.html", nil, "If-None-Match", `"another"`).is(t, 200)
	r.do("GET", "/g/nothing/fair/check.html", nil, "If-None-Match", tag).is(t, 404)
}

// From the lock on, the giveaway's own page leads to the check.
func TestGiveawayLeadsToTheCheck(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	r.open("boots")
	r.enter("boots", "mira@example.com")
	const link = `href="/g/boots/check"`
	r.get("/g/boots").lacks(t, link)
	r.lock("boots")
	r.get("/g/boots").has(t, link)
	r.draw("boots")
	r.get("/g/boots").has(t, link)
}

// Who opens the check before the draw is told so; when the result is out the
// page offers the check again, and that finds the winner.
func TestCheckPageHearsOfTheResult(t *testing.T) {
	r, _ := checkRig(t)
	r.withEvent()
	r.setTime(during)
	r.open("boots")
	for i := range 3 {
		r.enter("boots", fmt.Sprintf("person%d@example.com", i))
	}
	r.lock("boots")
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots/check")
	if head, said := answered(b); head != "So far everything fits." || !strings.Contains(said, "The draw is not made yet.") {
		t.Errorf("before the draw the page says %q, %q", head, said)
	}
	const offered = `document.querySelector("[data-live] a") !== null`
	if browsertest.Eval[bool](b, offered) {
		t.Error("a result is offered before the draw")
	}
	r.setTime(event.Add(time.Minute))
	r.draw("boots")
	b.WaitVisible("[data-live] a")
	if got := b.Announced(); len(got) != 2 || !strings.Contains(got[0].Text, "The draw is made.") {
		t.Errorf("announced is %q", got)
	}
	if got := b.Follow("[data-live] a"); got != 200 {
		t.Fatalf("the link has status %d", got)
	}
	if head, _ := answered(b); head != "Your own device just redid the draw from the public files: same winner." {
		t.Errorf("after the draw the page says %q", head)
	}
	if browsertest.Eval[int](b, `document.querySelectorAll("[data-live]").length`) != 0 {
		t.Error("the page goes on listening")
	}
}
