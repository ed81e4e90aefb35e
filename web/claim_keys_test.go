package web_test

import (
	"slices"
	"strings"
	"testing"

	"evenhand/internal/browsertest"
)

// The winner's and the sponsor's pages are worked with the keyboard alone: Tab
// goes through the fields in the order in which they stand (WCAG 2.2, 2.4.3),
// a blank ticks, Enter sends.
func TestClaimWithTheKeyboard(t *testing.T) {
	r := newClaimRig(t)
	b := browsertest.New(t)
	link := r.letter(1)
	b.Open(r.server.URL + link)
	var order []string
	for range 40 {
		b.Keys("\t")
		at := b.Focus()
		if strings.HasPrefix(at, "f-") {
			order = append(order, at)
		}
		switch at {
		case "f-name":
			b.Keys("Rowena Quillfeather")
		case "f-line1":
			b.Keys("12 Thistledown Lane")
		case "f-city":
			b.Keys("Portland")
		case "f-state":
			b.Keys("Maine")
		case "f-postal":
			b.Keys("04101")
		case "f-phone":
			b.Keys("(201) 555-0123")
		case "f-adult", "f-eligible":
			b.Keys(" ")
		}
		if at == "Look it over" {
			break
		}
	}
	want := []string{"f-system", "f-size", "f-width", "f-name", "f-care_of", "f-line1", "f-line2", "f-line3", "f-city", "f-state", "f-postal",
		"f-country", "f-phone", "f-adult", "f-eligible"}
	if !slices.Equal(order, want) {
		t.Errorf("Tab goes through %q, want %q", order, want)
	}
	if got := b.Enter(); got != 200 || b.Text("h1") != "Is all of this right?" {
		t.Fatalf("Enter leads to %q, status %d: %s", b.Text("h1"), got, b.Text("main"))
	}
	tabTo(t, b, "sure=yes")
	if got := b.Enter(); got != 200 || b.Text("h1") != "Thank you. Your answer is here." {
		t.Fatalf("Enter leads to %q, status %d", b.Text("h1"), got)
	}

	_, err := r.clerk.Confirm(t.Context(), r.now(), "boots", 1)
	must(t, err)
	sponsor := r.sponsor()
	b.Open(r.server.URL + sponsor)
	tabTo(t, b, "mark=in-stock")
	b.Enter()
	if page := b.Text("main"); !strings.Contains(page, "has it in stock") {
		t.Errorf("in stock: %s", page)
	}
	tabTo(t, b, "This size can’t be had")
	b.Keys(" ") // opens it
	tabTo(t, b, "offer-1-0")
	b.Keys(" ")
	tabTo(t, b, "mark=cant-have")
	b.Enter()
	if page := b.Text("main"); !strings.Contains(page, "Wait: a question to the winner is open.") {
		t.Errorf("a size that can't be had: %s", page)
	}
	l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, 1)
	must(t, err)
	b.Open(l.Link)
	tabTo(t, b, "pick-0")
	b.Keys(" ")
	if got := b.Enter(); got != 200 || b.Text("h1") != "Is this right?" {
		t.Fatalf("Enter leads to %q, status %d", b.Text("h1"), got)
	}
	tabTo(t, b, "sure=yes")
	b.Enter()
	b.Open(r.server.URL + sponsor)
	tabTo(t, b, "f-carrier-1")
	b.Keys("Larkspur Post\t")
	b.Keys("LP 1")
	b.Enter()
	tabTo(t, b, "mark=delivered")
	b.Enter()
	if page := b.Text("main"); !strings.Contains(page, "Delivered; noted on") {
		t.Errorf("delivered: %s", page)
	}
}

// tabTo presses Tab until something has the focus.
func tabTo(t *testing.T, b *browsertest.Browser, want string) {
	t.Helper()
	var seen []string
	for range 60 {
		b.Keys("\t")
		at := b.Focus()
		if at == want {
			return
		}
		seen = append(seen, at)
	}
	t.Fatalf("Tab never leads to %q, but to %q", want, seen)
}
