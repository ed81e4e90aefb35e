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
	form := r.post(private+"/fix", nil)
	form.is(t, 200)
	form.has(t, "is withdrawn", "Put the address right", `value="robin@example.org"`, `<option value="ME" selected>`, `value="10½"`,
		`<option value="D" selected>`, `value="18-or-over" checked`, `name="rules" aria-required="true" value="yes" checked`, `value="Robin"`)
	if form.Header.Get("Cache-Control") != "no-store" || form.Header.Get("Referrer-Policy") != "no-referrer" {
		t.Error("the filled form may be stored or named")
	}
	again, second := r.enter("boots", "robyn@example.org")
	if again == private || second == ticket {
		t.Error("the corrected address got the old ticket")
	}
	old := r.get(private)
	old.has(t, "This ticket is withdrawn.", "Enter again")
	old.lacks(t, "fix it", "/withdraw", "/size")
	// The first address is free again.
	r.enter("boots", "robin@example.org")

	r.setTime(closes)
	late := r.post(again+"/fix", nil)
	late.is(t, 410)
	late.has(t, "can’t be changed any more. Nothing has changed.", "You are in.")
	r.get(again).lacks(t, "fix it")
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
		page.lacks(t, append(addresses, "<button")...)
		r.get(private[ticket]).has(t, strings.TrimSuffix(want, ": it wins."), "Your ticket")
	}
	lastOf4 := lastTicket(t, r.db.Publication("boots"), *report.Seed)
	r.get("/g/boots/t/"+lastOf4).has(t, "This ticket did not win.", "came fourth of 4.")
	r.get(private[lastOf4]).has(t, "Your ticket did not win.", "came fourth of 4.")
	shown := r.get("/g/boots")
	shown.has(t, "The winner is drawn.", "4 tickets were in the draw", "/g/boots/t/"+report.Places[0].Ticket.String(), "next in line")
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
