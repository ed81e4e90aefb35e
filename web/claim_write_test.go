package web_test

import (
	"context"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// cutClaims is a store that notes what a hung-up client would cut off.
type cutClaims struct {
	claims.Store
	did, cut []string
}

func (s *cutClaims) note(ctx context.Context, what string) {
	s.did = append(s.did, what)
	if ctx.Done() != nil {
		s.cut = append(s.cut, what)
	}
}

func (s *cutClaims) Answer(ctx context.Context, id string, place, from int, sealed []byte, by string, at time.Time) error {
	s.note(ctx, "answer")
	return s.Store.Answer(ctx, id, place, from, sealed, by, at)
}

func (s *cutClaims) AddMark(ctx context.Context, id string, place int, saw claims.Saw, m claims.MarkRow, a *claims.AskRow) error {
	s.note(ctx, "mark")
	return s.Store.AddMark(ctx, id, place, saw, m, a)
}

func (s *cutClaims) Reply(ctx context.Context, id string, place int, saw claims.Saw, n int, sealed []byte, at time.Time) error {
	s.note(ctx, "reply")
	return s.Store.Reply(ctx, id, place, saw, n, sealed, at)
}

func (s *cutClaims) AddVisit(ctx context.Context, id string, at time.Time) error {
	s.note(ctx, "visit")
	return s.Store.AddVisit(ctx, id, at)
}

// context.Context: "Done may return nil if this context can never be canceled".
// What winner and sponsor send is finished, also when the browser is closed.
func TestClaimWritesAreFinished(t *testing.T) {
	r := newClaimRig(t)
	s := &cutClaims{Store: r.clerk.Store}
	r.clerk.Store = s
	r.rebuild()
	r.claimed(1)
	sponsor := r.sponsor()
	r.get(sponsor).is(t, 200)
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "offer": {"mens|11|D"}}).is(t, 303)
	l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, 1)
	must(t, err)
	r.post(strings.TrimPrefix(l.Link, r.server.URL), url.Values{"pick": {"mens|11|D"}, "sure": {"yes"}}).is(t, 303)
	if want := []string{"answer", "visit", "mark", "reply"}; !slices.Equal(s.did, want) || len(s.cut) > 0 {
		t.Errorf("done %v, want %v; a client that hangs up cuts off %v", s.did, want, s.cut)
	}
}

// Each opening of the sponsor's page is a visit; the page that follows a mark,
// and one shown again with something to put right, is none.
func TestVisitsAreCounted(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	jar, err := cookiejar.New(nil)
	must(t, err)
	browser := &http.Client{Jar: jar} // follows redirects
	want := 0
	visits := func(step string, more int) {
		t.Helper()
		want += more
		got, err := r.clerk.Visits(t.Context(), "boots")
		if must(t, err); len(got) != want {
			t.Errorf("after %s: %d visits, want %d", step, len(got), want)
		}
	}
	open := func() {
		t.Helper()
		got, err := browser.Get(r.server.URL + sponsor)
		must(t, err)
		got.Body.Close()
	}
	mark := func(status int, v url.Values) {
		t.Helper()
		got, err := browser.PostForm(r.server.URL+sponsor+"/1", v)
		must(t, err)
		got.Body.Close()
		if got.StatusCode != status {
			t.Errorf("%v: status %d, want %d", v, got.StatusCode, status)
		}
	}
	open()
	visits("opening it", 1)
	mark(200, url.Values{"mark": {"in-stock"}})
	visits("a mark", 0)
	open()
	visits("opening it again", 1)
	mark(422, url.Values{"mark": {"shipped"}})
	visits("a mark with something to put right", 0)
	mark(200, url.Values{"mark": {"shipped"}, "carrier": {"Larkspur Post"}})
	mark(200, url.Values{"mark": {"shipped"}, "carrier": {"Larkspur Post"}}) // twice is once
	visits("two marks that are one", 0)
	r.get(sponsor).is(t, 200) // a browser without cookies
	open()
	visits("two more", 2)
}

// Without a tick nothing is said silently: either sizes or that nothing else
// can be sent.
func TestCantHaveNeedsATick(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	a := r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "words": {"Sold out."}})
	a.is(t, 422)
	a.has(t, "Please tick what you can send instead, or that nothing else can be sent.", `href="#f-offers-1"`, `value="Sold out."`)
	r.get(sponsor).lacks(t, "Wait:")
	a = r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "none": {"yes"}, "offer": {"mens|11|D"}})
	a.is(t, 422)
	a.has(t, "Please tick either sizes, or that nothing else can be sent.", `id="none-1" value="yes" checked`)
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "none": {"yes"}}).is(t, 303)
	a = r.get(sponsor)
	a.has(t, "Wait: this size can’t be had, and nothing else is agreed.", "has no other to offer.", "It was sent all the same")
	a.lacks(t, `class="button"`)
}

// While a question is open the sponsor's page says so, also printed, shows what
// was asked, and has no filled button; the question's own page goes by one or
// several sizes.
func TestSponsorSeesItsQuestion(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	r.get(sponsor).has(t, `<button class="button" name="mark" value="shipped">`)
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "offer": {"mens|11|D", "mens|10|2E"}, "words": {"Sold out."}}).is(t, 303)
	a := r.get(sponsor)
	a.has(t, `<p class="red"><b>Wait: a question to the winner is open.</b></p>`, "and offered men’s 11 D, men’s 10 2E.", "You wrote: “Sold out.”", "Slow Miles takes it to the winner")
	a.lacks(t, `class="button"`)
	l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, 1)
	must(t, err)
	ask := strings.TrimPrefix(l.Link, r.server.URL)
	r.get(ask).has(t, "can’t get it and offers these instead.", "None of these would fit me.")
	r.post(ask, url.Values{"pick": {"mens|11|D"}, "sure": {"yes"}}).is(t, 303)
	r.setTime(r.now().Add(time.Minute))
	r.post(sponsor+"/1", url.Values{"mark": {"in-stock"}}).is(t, 303)
	a = r.get(sponsor)
	a.has(t, "Agreed instead: men’s 11 D. Larkspur Trail Supply has it in stock", `<button class="button" name="mark" value="shipped">`)
	a.lacks(t, "Wait:")
}

// On a sheet with several winners each parcel goes its own way, and one button
// of the page is filled.
func TestSeveralParcels(t *testing.T) {
	r := newClaimRig(t, func(x *giveaway.Terms) { x.Winners = 3 })
	for place := 1; place <= 3; place++ {
		r.claimed(place)
	}
	sponsor := r.sponsor()
	mark := func(place string, pairs ...string) {
		t.Helper()
		v := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			v.Add(pairs[i], pairs[i+1])
		}
		r.setTime(r.now().Add(time.Minute))
		r.post(sponsor+"/"+place, v).is(t, 303)
	}
	buttons := func(want ...string) {
		t.Helper()
		page := r.get(sponsor)
		page.has(t, "These are the people whose tickets were drawn ✓", `aria-label="Winner 2"`)
		var got []string
		for i, part := range strings.Split(page.body, `<section class="parcel"`)[1:] {
			for _, one := range []string{"shipped", "delivered"} {
				if strings.Contains(part, `name="mark" value="`+one+`"`) {
					kind := map[bool]string{true: " filled", false: ""}[strings.Contains(part, `<button class="button" name="mark" value="`+one+`"`)]
					got = append(got, string(rune('1'+i))+" "+one+kind)
				}
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("buttons %q, want %q", got, want)
		}
	}
	buttons("1 shipped filled", "2 shipped", "3 shipped")
	mark("1", "mark", "ask-address", "words", "Which door?")
	buttons("1 shipped", "2 shipped filled", "3 shipped")
	mark("2", "mark", "shipped", "carrier", "Larkspur Post")
	mark("3", "mark", "shipped", "carrier", "Larkspur Post")
	buttons("1 shipped", "2 shipped", "2 delivered filled", "3 shipped", "3 delivered")
	mark("3", "mark", "delivered")
	buttons("1 shipped", "2 shipped", "2 delivered filled")
}

// The claim page gives advice about the size that was typed.
func TestAdviceIsAboutWhatWasTyped(t *testing.T) {
	r := newClaimRig(t)
	link := r.letter(1)
	r.get(link).has(t, "Men’s 10½ D is about women’s 12 B")
	a := r.post(link, with(goodClaim(), "size", "16", "width", "D"))
	a.is(t, 422)
	a.has(t, "is near to men’s 16 D")
	a.lacks(t, "Men’s 10½ D is")
}

// A question that is over since the place was skipped says so, with the reason.
func TestQuestionAfterASkip(t *testing.T) {
	r := newClaimRig(t)
	r.claimed(1)
	sponsor := r.sponsor()
	r.post(sponsor+"/1", url.Values{"mark": {"cant-have"}, "offer": {"mens|11|D"}}).is(t, 303)
	l, err := r.clerk.AskLetter(t.Context(), r.now(), "boots", 1, 1)
	must(t, err)
	_, err = r.clerk.Pass(t.Context(), r.now(), "boots", giveaway.Passing{Place: 1, Reason: draw.Withdrawn, GivenBack: true})
	must(t, err)
	ask := strings.TrimPrefix(l.Link, r.server.URL)
	for _, a := range []answer{r.get(ask), r.post(ask, url.Values{"pick": {"mens|11|D"}, "sure": {"yes"}})} {
		a.is(t, 410)
		a.has(t, "This prize is not yours any more.", "This place was skipped on")
	}
	p, err := r.clerk.Place(t.Context(), r.now(), "boots", 1)
	must(t, err)
	if want := (sizing.Size{System: sizing.Mens, Size: 21, Width: "D"}); p.Answer.Size != want {
		t.Errorf("the size is %v, want %v", p.Answer.Size, want)
	}
}
