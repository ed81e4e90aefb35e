package web_test

import (
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// A second holder makes a number and hands it in without a mouse.
func TestSecondByKeyboard(t *testing.T) {
	r := newRig(t)
	b := browsertest.New(t)
	b.Open(r.server.URL + "/second")
	tabTo(t, b, "draw")
	b.Keys("boots")
	tabTo(t, b, "role")
	b.Keys("maya")
	tabTo(t, b, "Make the number")
	b.Keys("\r")
	b.WaitVisible("#made")
	tabTo(t, b, "keep")
	seal, err := draw.ParseSeal("the page's file", []byte(browsertest.Eval[string](b, `document.querySelector("#text").value`)))
	must(t, err)
	link := browsertest.Eval[string](b, `document.querySelector("#link").value`)
	if !strings.HasPrefix(link, r.server.URL+"/g/boots/second/maya#") {
		t.Fatalf("the link is %s", link)
	}
	r.open("boots", holders(seal))
	r.lock("boots")
	b.Open("about:blank")
	b.Open(link)
	b.WaitVisible("#from-link")
	tabTo(t, b, "Hand it in")
	if got := b.Enter(); got != 200 || b.Text("h1") != "Your number is in." {
		t.Errorf("handed in: status %d, %q", got, b.Text("h1"))
	}
}
