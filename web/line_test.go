package web_test

import (
	"encoding/binary"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/internal/browsertest"
	"evenhand/web"
)

// linePaths are what is there only once a giveaway is drawn.
var linePaths = []string{"/line", "/line.bin", "/line.svg", "/line.svg?form=wide", "/sheet"}

// Before the draw there is no line: not while entries are open, not when the
// list is locked, not for a draft, and not for a giveaway that was called off.
func TestNoLineBeforeTheDraw(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	_, err := r.host.Draft(t.Context(), during, terms(t, "draft"))
	must(t, err)
	r.open("off")
	r.open("boots")
	r.enter("boots", "robin@example.com")
	_, err = r.host.Cancel(t.Context(), during, "off", "postponed", "")
	must(t, err)
	gone := func(id string) {
		t.Helper()
		for _, path := range linePaths {
			r.get("/g/"+id+path).is(t, 404)
		}
	}
	gone("draft")
	gone("off")
	gone("boots")
	r.lock("boots")
	gone("boots")
	r.draw("boots")
	for _, path := range linePaths {
		r.get("/g/boots"+path).is(t, 200)
	}
}

// A result that is held back has no line yet.
func TestNoLineWhileHeldBack(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	r.open("boots")
	_, ticket := r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.setTime(event)
	_, err := r.host.DrawHeld(t.Context(), r.now(), "boots", nil)
	must(t, err)
	for _, path := range linePaths {
		r.get("/g/boots"+path).is(t, 404)
	}
	r.get("/t/"+ticket).is(t, 303)
	r.get("/g/boots/t/"+ticket).lacks(t, "line.bin", "first")
	must(t, ignore(r.host.Release(t.Context(), "boots", event)))
	r.get("/g/boots/line.bin").is(t, 200)
}

func ignore(_ giveaway.Giveaway, err error) error { return err }

// The data are the first 32 bits of every ticket's number, as package draw
// works it out from the list, ascending; tags and keeping follow RFC 9110,
// section 13.1.2, and RFC 8246.
func TestLineData(t *testing.T) {
	r := newRig(t)
	linedAt(r, "boots", 40)
	roll, err := fs.ReadFile(r.db.Publication("boots"), draw.RollFile)
	must(t, err)
	seed := *draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{}).Seed
	var want []uint32
	for line := range strings.Lines(string(roll)) {
		ticket, err := draw.ParseTicket(line[:16])
		must(t, err)
		score := draw.Score(seed, ticket)
		want = append(want, binary.BigEndian.Uint32(score[:4]))
	}
	slices.Sort(want)
	got := r.get("/g/boots/line.bin")
	got.is(t, 200)
	if len(got.body) != 4*40 || len(want) != 40 {
		t.Fatalf("%d bytes for %d tickets", len(got.body), len(want))
	}
	for i := range want {
		if n := binary.LittleEndian.Uint32([]byte(got.body[4*i:])); n != want[i] {
			t.Errorf("number %d: got %08x, want %08x", i, n, want[i])
		}
	}
	tag := got.Header.Get("ETag")
	if tag != `"line-`+seed.String()+`"` || got.Header.Get("Cache-Control") != "no-cache" || got.Header.Get("Content-Type") != "application/octet-stream" {
		t.Errorf("headers %v", got.Header)
	}
	r.do("GET", "/g/boots/line.bin", nil, "If-None-Match", tag).is(t, 304)
	kept := func(path string) bool { return strings.Contains(r.get(path).Header.Get("Cache-Control"), "immutable") }
	if !kept("/g/boots/line.bin?v="+seed.String()[:12]) || kept("/g/boots/line.bin?v="+strings.Repeat("0", 12)) || kept("/g/boots/line.bin?v=") {
		t.Error("what may be kept is not told by the draw number")
	}
	if wide := r.do("HEAD", "/g/boots/line.bin", nil); wide.body != "" || wide.Header.Get("Content-Length") != "160" {
		t.Errorf("HEAD: %v", wide.Header)
	}
}

// texts are the words of an SVG, which has to be well-formed.
func texts(t *testing.T, svg string) (all []string) {
	t.Helper()
	read := xml.NewDecoder(strings.NewReader(svg))
	for in := ""; ; {
		token, err := read.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		must(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			in = x.Name.Local
		case xml.EndElement:
			in = ""
		case xml.CharData:
			if in == "text" || in == "tspan" {
				all = append(all, string(x))
			}
		}
	}
}

// The stills say what they show, in every form, with and without a mark of
// one's own, and load nothing.
func TestLineStills(t *testing.T) {
	r := newRig(t)
	linedAt(r, "boots", 60)
	report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
	won, third := report.Places[0], report.Places[2]
	for _, form := range []string{"strip", "narrow", "wide", "tall"} {
		got := r.get("/g/boots/line.svg?form=" + form + "&ticket=" + third.Ticket.String())
		got.is(t, 200)
		if got.Header.Get("Content-Type") != "image/svg+xml" {
			t.Errorf("%s: headers %v", form, got.Header)
		}
		r.do("GET", "/g/boots/line.svg?form="+form+"&ticket="+third.Ticket.String(), nil, "If-None-Match", got.Header.Get("ETag")).is(t, 304)
		words := strings.Join(texts(t, got.body), "|")
		for _, want := range []string{"this ticket: third of 60", "times closer", web.ShareOf(won.Score)} {
			if !strings.Contains(words, want) {
				t.Errorf("%s: %q lacks %q", form, words, want)
			}
		}
		if whole := strings.ReplaceAll(words, "|", ""); (form == "wide" || form == "tall") != strings.Contains(whole, won.Ticket.Grouped()) {
			t.Errorf("%s: %q", form, words)
		}
		if strings.Contains(got.body, "href") || strings.Contains(got.body, "url(") {
			t.Errorf("%s: it loads something", form)
		}
	}
	if words := texts(t, r.get("/g/boots/line.svg?mine&ticket="+third.Ticket.String()).body); !slices.Contains(words, "yours: third of 60") {
		t.Errorf("of one's own: %q", words)
	}
	r.get("/g/boots/line.svg?form=round").is(t, 404)
	r.get("/g/boots/line.svg?ticket=K7QF2M9X4RTBW8ZC").is(t, 404)
	r.get("/g/boots/line.svg?ticket=no").is(t, 404)
}

// What would be markup in the channel's name stays text.
func TestLineStillsEscape(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	r.open("boots", func(x *giveaway.Terms) { x.Channel = `Slow "Miles" & <b>Co</b>` })
	r.enter("boots", "robin@example.com")
	r.lock("boots")
	r.draw("boots")
	if words := texts(t, r.get("/g/boots/line.svg?form=wide").body); !slices.Contains(words, `Slow "Miles" & <b>Co</b> · 1 ticket`) {
		t.Errorf("the still says %q", words)
	}
}

// A ticket alone leads to its page, however it is typed, once its list is
// published. One that was withdrawn is on the list of those not in the draw.
func TestPlaceOfATicket(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	r.open("first")
	r.open("boots")
	link, out := r.enter("boots", "kim@example.com")
	_, in := r.enter("boots", "robin@example.com")
	r.post(link+"/withdraw", nil).is(t, 303)
	r.get("/t/"+in).is(t, 404)
	r.lock("boots")
	for _, typed := range []string{in, strings.ToLower(in), in[:4] + "-" + in[4:8] + "-" + in[8:12] + "-" + in[12:], "?ticket=" + in} {
		got := r.get("/t/" + typed)
		if got.StatusCode != 303 || got.Header.Get("Location") != "/g/boots/t/"+in || got.Header.Get("X-Robots-Tag") != "noindex" {
			t.Errorf("%s: status %d, headers %v", typed, got.StatusCode, got.Header)
		}
	}
	r.draw("boots")
	r.get("/t/"+in).is(t, 303)
	r.get("/t/"+out).is(t, 303)
	r.get("/g/boots/t/"+out).has(t, "This ticket is not in the draw.", "withdrawn")
	r.get("/g/boots/t/"+out).lacks(t, "line.bin")
	r.get("/g/boots/t/"+in).has(t, "line.bin", "of 1")
	r.get("/t/K7QF2M9X4RTBW8ZC").has(t, "This ticket is on no list here.")
	r.get("/t/K7QF2M9X4RTBW8ZC").is(t, 404)
	r.get("/t/nonsense").is(t, 404)
	r.get("/t/").is(t, 404)
}

// Looking tickets up is slowed like private links are.
func TestPlaceIsSlowed(t *testing.T) {
	r := newRig(t, func(c *web.Config) {
		c.Limits.Private = web.Limit{Every: time.Hour, Burst: 3}
		c.Limits.Posts = web.DefaultLimits.Posts
	})
	r.get("/t/K7QF2M9X4RTBW8ZC").is(t, 404)
	for range 5 {
		r.get("/t/K7QF2M9X4RTBW8ZC")
	}
	r.get("/t/K7QF2M9X4RTBW8ZC").is(t, 429)
}

// The sheet has every number that the draw is made of, and no personal data.
func TestResultSheet(t *testing.T) {
	r := newRig(t)
	linedAt(r, "boots", 12)
	report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
	page := r.get("/g/boots/sheet")
	for _, p := range report.Places {
		page.has(t, p.Score.String())
	}
	page.has(t, report.Seed.String(), report.FreezeAt.String(), fmt.Sprintf("%x", report.Record.Secrets[0].Value), "12 tickets",
		report.Seed.String()+report.Places[0].Ticket.String(), "What this proves", r.server.URL+"/g/boots/fair/")
	page.lacks(t, "@", "Robin", "10½")
}

// The sheet prints on both papers (Letter: 612 by 792 points; A4, ISO 216: 210
// by 297 mm) on a few pages.
func TestResultSheetOnPaper(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	r.open("boots", func(x *giveaway.Terms) { x.Winners, x.Alternates = 5, 20 })
	for i := range 40 {
		r.enter("boots", fmt.Sprintf("person%d@example.com", i))
	}
	r.lock("boots")
	r.draw("boots")
	dir := os.Getenv("EVENHAND_PICTURES")
	if dir == "" {
		dir = t.TempDir()
	}
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots/sheet")
	b.PDF(filepath.Join(dir, "sheet-letter.pdf"))
	b.A4(filepath.Join(dir, "sheet-a4.pdf"))
	if os.Getenv("EVENHAND_PICTURES") != "" {
		b.SetViewport(1920, 1080, false)
		b.Open(r.server.URL + "/g/boots/line.svg?form=wide")
		b.Screenshot(filepath.Join(dir, "still-five.png"))
	}
	for name, want := range map[string][2]float64{"sheet-letter.pdf": {612, 792}, "sheet-a4.pdf": {210 / 25.4 * 72, 297 / 25.4 * 72}} {
		pdf, err := os.ReadFile(filepath.Join(dir, name))
		must(t, err)
		var wide, high float64
		_, box, _ := strings.Cut(string(pdf), "/MediaBox")
		if _, err := fmt.Sscanf(box, " [0 0 %f %f]", &wide, &high); err != nil || math.Abs(wide-want[0]) > 1 || math.Abs(high-want[1]) > 1 {
			t.Errorf("%s is %v by %v points, want %v: %v", name, wide, high, want, err)
		}
		if pages := strings.Count(string(pdf), "/Type /Page\n"); pages < 2 || pages > 5 {
			t.Errorf("%s has %d pages", name, pages)
		}
	}
}

// The phone that entered remembers its ticket, and that alone; the giveaway's
// page then leads to its place, until it is told to forget.
func TestRememberedTicket(t *testing.T) {
	r := newRig(t)
	r.setTime(during)
	r.open("boots")
	link, ticket := r.enter("boots", "robin@example.com")
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots/t/" + ticket)
	if kept := browsertest.Eval[int](b, "localStorage.length"); kept != 0 {
		t.Errorf("a ticket's public page remembers %d things", kept)
	}
	b.Open(r.server.URL + link)
	stored := func() string { return browsertest.Eval[string](b, "JSON.stringify({...localStorage})") }
	if got, want := stored(), `{"evenhand ticket boots":"`+ticket+`"}`; got != want {
		t.Fatalf("the browser keeps %s, want %s", got, want)
	}
	r.lock("boots")
	r.draw("boots")
	b.Open(r.server.URL + "/g/boots")
	if got := b.Text(".mine"); !strings.HasPrefix(got, "My place: ") {
		t.Errorf("the giveaway's page says %q", got)
	}
	if got := b.Follow(".mine a"); got != 200 || !strings.HasSuffix(b.Location(), "/g/boots/t/"+ticket) {
		t.Errorf("my place: status %d, %s", got, b.Location())
	}
	b.Click(".mine button")
	b.Open(r.server.URL + "/g/boots")
	if got := browsertest.Eval[bool](b, `document.querySelector(".mine").hidden`); !got || strings.Contains(stored(), ticket) {
		t.Errorf("it is not forgotten: %s", stored())
	}
	b.Open(r.server.URL + link)
	if strings.Contains(stored(), ticket) || !strings.Contains(b.Text(".mine"), "does not remember") {
		t.Errorf("the private page remembers it anew: %s, %q", stored(), b.Text(".mine"))
	}
	b.Click(".mine button")
	if !strings.Contains(stored(), ticket) {
		t.Errorf("it is not remembered again: %s", stored())
	}
	if strings.Contains(stored(), link[strings.LastIndex(link, "/")+1:]) {
		t.Error("the private link is kept")
	}
}

// The line moves when it is asked to, can be stopped, and the still comes back;
// who asked for few movements gets the still alone.
func TestLineMoves(t *testing.T) {
	r := newRig(t)
	linedAt(r, "boots", 60)
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots/line")
	const picture = `document.querySelector(".line picture").hidden`
	if browsertest.Eval[bool](b, picture) {
		t.Error("it moves before anybody asked")
	}
	for _, asked := range b.Requests() {
		if strings.Contains(asked, "line.bin") {
			t.Error("the numbers are fetched before anybody asked")
		}
	}
	b.Click("[data-watch] button")
	b.WaitVisible(".line canvas")
	if got := b.Text("[data-watch] button"); got != "Stop" || !browsertest.Eval[bool](b, picture) {
		t.Errorf("while it moves the button says %q", got)
	}
	if found, err := b.Axe(); err != nil || len(found) > 0 {
		t.Errorf("while it moves: %v %v", found, err)
	}
	b.Click("[data-watch] button")
	b.WaitVisible(".line img")
	if browsertest.Eval[int](b, `document.querySelectorAll("canvas").length`) != 0 || b.Text("[data-watch] button") != "Watch it close in" {
		t.Error("it does not stop")
	}
	b.Still(true)
	b.Open(r.server.URL + "/g/boots/line")
	if !browsertest.Eval[bool](b, `document.querySelector("[data-watch]").hidden`) {
		t.Error("the movement is offered to those who asked for few")
	}
}

// A still becomes a PNG of its full size in the browser.
func TestLinePNG(t *testing.T) {
	r := newRig(t)
	linedAt(r, "boots", 60)
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots/line")
	for form, want := range map[string]string{"wide": "1920x1080 image/png", "tall": "1080x1920 image/png"} {
		got := browsertest.Eval[string](b, `(async () => { const blob = await evenhandLinePage.pngOf("/g/boots/line.svg?form=`+form+`"), image = await createImageBitmap(blob);
			return image.width + "x" + image.height + " " + blob.type; })()`)
		if got != want {
			t.Errorf("%s: got %s, want %s", form, got, want)
		}
	}
	if pictures := os.Getenv("EVENHAND_PICTURES"); pictures != "" {
		for form, size := range map[string][2]int{"wide": {1920, 1080}, "tall": {1080, 1920}, "strip": {648, 196}, "narrow": {328, 190}} {
			b.SetViewport(size[0], size[1], false)
			b.Open(r.server.URL + "/g/boots/line.svg?form=" + form)
			b.Screenshot(filepath.Join(pictures, "still-"+form+".png"))
		}
	}
}

// The check page draws what it worked out itself: it never asks for the
// server's numbers. A screen reader meets a sentence, not the picture.
func TestCheckPageDrawsTheLine(t *testing.T) {
	r, _ := checkRig(t)
	private, _ := r.drawnAt("boots")
	b := browsertest.New(t)
	for ticket := range private {
		b.Open(r.server.URL + "/g/boots/check#ticket=" + ticket)
		break
	}
	answered(b)
	b.WaitVisible("#check-line canvas")
	if got := b.Text("#check-line figcaption"); !strings.Contains(got, "The 9 numbers that your device worked out") {
		t.Errorf("beside the line stands %q", got)
	}
	if got := browsertest.Eval[string](b, `document.querySelector("#check-line canvas").getAttribute("aria-hidden")`); got != "true" {
		t.Errorf("the picture's aria-hidden is %q", got)
	}
	drawn := browsertest.Eval[int](b, `(() => { const c = document.querySelector("#check-line canvas"); const d = c.getContext("2d").getImageData(0, 0, c.width, c.height).data;
		let red = 0; for (let i = 0; i < d.length; i += 4) if (d[i] === 0xa8 && d[i + 1] === 0x34 && d[i + 2] === 0x1a && d[i + 3] === 255) red++; return red; })()`)
	if drawn < 100 {
		t.Errorf("%d pixels of the first mark are red", drawn)
	}
	for _, asked := range b.Requests() {
		if strings.Contains(asked, "line.bin") || strings.Contains(asked, "line.svg") {
			t.Errorf("it asked for %s", asked)
		}
	}
	b.Open(r.server.URL + "/g/boots/fair/check.html")
	answered(b)
	b.WaitVisible("#check-line canvas")
}

// An ordinary draw, of one winner and two next in line, is told on one sheet of
// either paper.
func TestResultSheetOnOnePage(t *testing.T) {
	r := newRig(t)
	linedAt(r, "boots", 12)
	dir := os.Getenv("EVENHAND_PICTURES")
	if dir == "" {
		dir = t.TempDir()
	}
	b := browsertest.New(t)
	b.Open(r.server.URL + "/g/boots/sheet")
	for name, print := range map[string]func(path string){"one-letter.pdf": b.PDF, "one-a4.pdf": b.A4} {
		print(filepath.Join(dir, name))
		pdf, err := os.ReadFile(filepath.Join(dir, name))
		must(t, err)
		if pages := strings.Count(string(pdf), "/Type /Page\n"); pages != 1 {
			t.Errorf("%s has %d pages", name, pages)
		}
	}
}
