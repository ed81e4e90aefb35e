package web_test

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"net/url"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A GET changes nothing: whatever is read, the entry stays as it was.
func TestReadingChangesNothing(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, ticket := r.enter("boots", "robin@example.com")
	before := r.get(private + "/entry").body
	for _, path := range []string{"", "/fix", "/size", "/withdraw", "/receipt", "?done=withdrawn", "?done=%3Cb%3E"} {
		r.get(private + path)
		r.do("HEAD", private+path, nil)
	}
	if after := r.get(private + "/entry").body; after != before {
		t.Errorf("the entry text changed from %q to %q", before, after)
	}
	r.get(private).has(t, "You are in.")
	if got := r.get(private).body; ticketIn(t, got) != ticket {
		t.Error("another ticket stands there")
	}
}

func TestDownloads(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, ticket := r.enter("boots", "Robin.Maple+x@example.com")
	receipt, entry := r.get(private+"/receipt"), r.get(private+"/entry")
	for _, a := range []answer{receipt, entry} {
		a.is(t, 200)
		if !strings.Contains(a.Header.Get("Content-Disposition"), "attachment; filename=") || !strings.Contains(a.Header.Get("Content-Disposition"), ticket) {
			t.Errorf("Content-Disposition %q", a.Header.Get("Content-Disposition"))
		}
	}
	report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{
		Receipts: []draw.Attachment{{Name: "receipt.txt", Data: []byte(receipt.body)}},
		Entries:  []draw.Attachment{{Name: "entry.txt", Data: []byte(entry.body)}},
	})
	if report.Status != draw.StatusValid {
		t.Errorf("what is handed out does not check: %v", report.Findings)
	}
	// The address is shown as typed; why it counts as another is said.
	r.get(private).has(t, "Robin.Maple&#43;x@example.com", "It counts as robin.maple@example.com", "We write to it as you typed it.")
}

func TestFix(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, ticket := r.enter("boots", "robin@example.org")
	form := r.get(private + "/fix")
	form.is(t, 200)
	form.has(t, "is then withdrawn", "Put the address right", `action="`+private+`/fix"`, `value="robin@example.org"`, `<option value="ME" selected>`, `value="10½"`,
		`<option value="D" selected>`, `value="18-or-over" checked`, `name="rules" aria-required="true" value="yes" checked`, `value="Robin"`)
	if form.Header.Get("Cache-Control") != "no-store" || form.Header.Get("Referrer-Policy") != "no-referrer" {
		t.Error("the filled form may be stored or named")
	}
	// Opening the form, and whatever is refused, leaves the ticket as it was.
	taken, _ := r.enter("boots", "kim@example.org")
	for _, c := range []struct {
		email  string
		status int
		says   string
	}{
		{"", 422, "One thing needs another look."},
		{"robyn@exmaple.com", 422, "Take "},
		{"Robin+boots@example.org", 422, "That is the address of this ticket already"},
		{"kim@example.org", 409, "This address is already in, with a ticket of its own."},
	} {
		no := r.post(private+"/fix", goodForm(c.email))
		no.is(t, c.status)
		no.has(t, c.says, `role="alert"`, `action="`+private+`/fix"`)
		r.get(private).has(t, "You are in.")
	}
	fixed := r.post(private+"/fix", goodForm("robyn@example.org"))
	fixed.is(t, 303)
	again, _, _ := strings.Cut(fixed.Header.Get("Location"), "?")
	page := r.get(fixed.Header.Get("Location"))
	page.has(t, "You are in.", "robyn@example.org", "The old ticket is withdrawn.")
	if again == private || ticketIn(t, page.body) == ticket {
		t.Error("the corrected address got the old ticket")
	}
	old := r.get(private)
	old.has(t, "This ticket is withdrawn.", "Enter again", "With both you can show what was entered.")
	old.lacks(t, "fix it", "/withdraw", "/size", "must be on the list", "kept open", "calendar", "Save its address")
	page.has(t, "The draw for your calendar", "Save its address")
	if n := strings.Count(old.body, "withdrawn"); n != 1 {
		t.Errorf("the page says %d times that the ticket is withdrawn", n)
	}
	r.post(private+"/fix", goodForm("third@example.org")).is(t, 409)
	r.get(private+"/fix").is(t, 409)
	r.get(taken).has(t, "You are in.")
	// The first address is free again.
	r.enter("boots", "robin@example.org")

	r.setTime(closes)
	late := r.post(again+"/fix", nil)
	late.is(t, 410)
	late.has(t, "can’t be changed any more. Nothing has changed.", "You are in.")
	r.get(again).lacks(t, "fix it")
}

// Corrected forms that come at the same time make one ticket: of all of one
// person, one is left.
func TestFixTwiceAtOnce(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, _ := r.enter("boots", "robin@example.org")
	got := make(chan int)
	for i := range 4 {
		go func() { got <- r.post(private+"/fix", goodForm(fmt.Sprintf("robyn%d@example.org", i))).StatusCode }()
	}
	count := map[int]int{}
	for range 4 {
		count[<-got]++
	}
	if count[303] != 1 || count[409] != 3 {
		t.Errorf("answers %v, want one 303 and three 409", count)
	}
	r.lock("boots")
	report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
	if report.Tickets != 1 || report.Excluded != 1 {
		t.Errorf("%d tickets, %d left out; want 1 and 1", report.Tickets, report.Excluded)
	}
}

func TestChangeSizeAndWithdraw(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	private, ticket := r.enter("boots", "robin@example.com")
	first := r.get(private + "/entry").body
	none := r.post(private+"/size", url.Values{"system": {"mens"}, "size": {"44"}, "width": {"D"}})
	none.is(t, 422)
	none.has(t, `role="alert"`, `href="#f-size"`, `value="44"`)
	odd := r.post(private+"/size", url.Values{"system": {"mens"}, "size": {"11"}, "width": {"B"}})
	odd.is(t, 422)
	odd.has(t, "Keep mine", "Take 11 D")
	r.setTime(during.Add(3e9))
	got := r.post(private+"/size", url.Values{"system": {"mens"}, "size": {"11"}, "width": {"B"}, "take": {"system=mens&size=11&width=D"}})
	got.is(t, 303)
	page := r.get(got.Header.Get("Location"))
	page.has(t, "men’s 11 D", "The new size is noted.")
	if ticketIn(t, page.body) != ticket {
		t.Error("the ticket changed")
	}
	if r.get(private+"/entry").body == first {
		t.Error("the entry text did not change")
	}
	r.get(r.post(private+"/size", url.Values{"system": {"mens"}, "size": {"11"}, "width": {"D"}}).Header.Get("Location")).has(t, "noted already")

	ask := r.get(private + "/withdraw")
	ask.has(t, `<h1>Withdraw <span class="mono">`+ticket[:4]+"-", ">Withdraw it</button>", `<a href="`+private+`">Keep it</a>`)
	if ask.Header.Get("Cache-Control") != "no-store" || ask.Header.Get("Referrer-Policy") != "no-referrer" {
		t.Error("the question may be stored or named")
	}
	r.get(private).has(t, "You are in.", ">Noted<", `<a href="`+private+`/withdraw">`)
	gone := r.post(private+"/withdraw", nil)
	gone.is(t, 303)
	r.get(gone.Header.Get("Location")).has(t, "This ticket is withdrawn.")
	r.post(private+"/withdraw", nil).is(t, 303)
	r.post(private+"/size", url.Values{"system": {"mens"}, "size": {"12"}, "width": {"D"}}).is(t, 409)

	kept, _ := r.enter("boots", "kim@example.com")
	r.lock("boots")
	r.get(kept).lacks(t, "/size", "withdraw this ticket", "fix it")
	r.post(kept+"/size", url.Values{"system": {"mens"}, "size": {"12"}, "width": {"D"}}).is(t, 410)
	r.post(kept+"/withdraw", nil).is(t, 410)
}

// From the lock on the public page of a ticket says where it stands and
// nothing else about anybody; before it, it says nothing of any ticket.
func TestTickets(t *testing.T) {
	r := newRig(t)
	r.open("boots")
	addresses := []string{"ada@example.com", "ben@example.org", "cy@example.net", "dee@example.com", "eve@example.org"}
	private := map[string]string{}
	var last string
	for _, a := range addresses {
		link, ticket := r.enter("boots", a)
		private[ticket], last = link, ticket
	}
	r.post(private[last]+"/withdraw", nil).is(t, 303)

	unknown, real := r.get("/g/boots/t/K7QF2M9X4RTBW8ZC"), r.get("/g/boots/t/"+last)
	for _, a := range []answer{unknown, real} {
		a.is(t, 200)
		a.has(t, "The list is not locked yet.")
	}
	typed := strings.ToLower(last[:4] + "-" + last[4:8] + " " + last[8:12] + "-" + last[12:])
	for _, path := range []string{"/g/boots/t/" + url.PathEscape(typed), "/g/boots/t/?ticket=" + url.QueryEscape(typed)} {
		got := r.get(path)
		if got.StatusCode/100 != 3 || got.Header.Get("Location") != "/g/boots/t/"+last {
			t.Errorf("%s: %d to %q", path, got.StatusCode, got.Header.Get("Location"))
		}
	}
	r.get("/g/boots/t/K7QF").is(t, 404)
	r.get("/g/boots/t/?ticket=").is(t, 404)

	r.lock("boots")
	for ticket, link := range private {
		want := "This ticket is in the draw."
		if ticket == last {
			want = "This ticket is not in the draw."
			r.get(link).has(t, "This ticket is withdrawn.")
		}
		salt := strings.Fields(r.get(link + "/entry").body)[2]
		page := r.get("/g/boots/t/" + ticket)
		page.is(t, 200)
		page.has(t, want)
		page.lacks(t, append(addresses, salt, "10½", "10.5", "Robin", "Maine", "<button", "<form", "/r/")...)
	}
	gone := r.get("/g/boots/t/K7QF2M9X4RTBW8ZC")
	gone.is(t, 404)
	gone.has(t, "This ticket is not on any list.")
	r.get("/g/boots/t/"+last).has(t, "it was withdrawn by the person who entered")

	r.draw("boots")
	report := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{})
	if report.Verdict != draw.Valid {
		t.Fatalf("the draw is %q: %v", report.Verdict, report.Findings)
	}
	for i, want := range []string{"came first of 4: it wins.", "came second of 4.", "came third of 4."} {
		ticket := report.Places[i].Ticket.String()
		page := r.get("/g/boots/t/" + ticket)
		// The score is the file's own; that the line hashes to it, the draw's tests show.
		page.has(t, want, report.Places[i].Score.String(), report.Seed.String()+ticket)
		page.lacks(t, append(addresses, "<form")...)
		r.get(private[ticket]).has(t, strings.TrimSuffix(want, ": it wins."), "Your ticket")
	}
	winner, next := r.get(private[report.Places[0].Ticket.String()]), r.get(private[report.Places[1].Ticket.String()])
	winner.has(t, "Slow Miles writes to ", "Answer within 7 days", "Questions: hello@slowmiles.example")
	next.has(t, "You are next in line, number 1: if a winner doesn’t answer", "Questions: hello@slowmiles.example")
	lastOf4 := lastTicket(t, r.db.Publication("boots"), *report.Seed)
	r.get("/g/boots/t/"+lastOf4).has(t, "This ticket did not win.", "came fourth of 4.")
	r.get(private[lastOf4]).has(t, "Your ticket did not win.", "came fourth of 4.")
	shown := r.get("/g/boots")
	shown.has(t, "The winner is drawn.", "4 tickets were in the draw", "/g/boots/t/"+report.Places[0].Ticket.String(), ">Winner<", "Next in line, number 1", "Next in line, number 2")
	shown.lacks(t, addresses...)
}

// lastTicket is the roll's ticket with the greatest score, found by the
// protocol's own words: H(seed ‖ ticket), as text.
func lastTicket(t *testing.T, pub fs.FS, seed draw.Digest) (last string) {
	t.Helper()
	roll, err := fs.ReadFile(pub, draw.RollFile)
	must(t, err)
	greatest := ""
	for line := range strings.Lines(string(roll)) {
		score := fmt.Sprintf("%x", sha256.Sum256([]byte(seed.String()+line[:16])))
		if score > greatest {
			greatest, last = score, line[:16]
		}
	}
	return last
}

// A weak draw says so, and why, on every page at every stage.
func TestWeakIsSaid(t *testing.T) {
	r := newRig(t)
	r.open("boots", func(x *giveaway.Terms) { x.Beacon = giveaway.BeaconNone })
	private, ticket := r.enter("boots", "ada@example.com")
	const why = "no public number was named beforehand"
	pages := []string{"/g/boots", "/g/boots/rules", "/g/boots/fair/", "/g/boots/t/" + ticket, private}
	all := func(stage string) {
		t.Helper()
		for _, p := range pages {
			a := r.get(p)
			if !strings.Contains(a.body, why) || !strings.Contains(a.body, "weak") {
				t.Errorf("%s: %s does not say that the draw is weak and why", stage, p)
			}
		}
	}
	all("open")
	r.setTime(closes)
	all("closed")
	r.lock("boots")
	all("locked")
	r.draw("boots")
	all("drawn")
}
