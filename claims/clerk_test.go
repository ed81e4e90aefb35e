package claims_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// bare reports no planted word in a text.
func bare(t *testing.T, what, text string) {
	t.Helper()
	for _, p := range planted {
		if strings.Contains(strings.ToUpper(text), strings.ToUpper(p)) {
			t.Errorf("%s bears %q", what, p)
		}
	}
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// From the letter to the delivered parcel, with a size that can't be had and a
// question about the address on the way; the server restarts between steps.
func TestFromLetterToParcel(t *testing.T) {
	r := newRig(t, 1, 2)
	ctx := context.Background()

	l, err := r.c.Letter(ctx, event.Add(time.Minute), boots, 1)
	r.must(err)
	again, err := r.c.Letter(ctx, event.Add(2*time.Minute), boots, 1)
	if err != nil || again != l || l.Noticed {
		t.Errorf("letter again: %v, %+v", err, again)
	}
	r.restart()
	l, err = r.c.Noticed(ctx, event.Add(10*time.Minute), boots, 1)
	r.must(err)
	// 01:40 UTC on 12 December and 7 × 24 hours, up to the full hour; New York
	// is 5 hours behind in winter (testdata/facts/time.md, TZ-13).
	for _, want := range []string{l.Link, "Friday 18 December 2026, 9:00 pm (New York)", "Saturday 19 December 2026, 2:00 am (UTC)"} {
		if !strings.Contains(l.Text, want) {
			t.Errorf("letter lacks %q:\n%s", want, l.Text)
		}
	}
	later, err := r.c.Noticed(ctx, event.Add(day), boots, 1)
	if err != nil || !later.Until.Equal(l.Until) || !l.Noticed {
		t.Errorf("copied again: %v, until %v, want %v", err, later.Until, l.Until)
	}

	s, at := secret(l.Link), event.Add(day)
	v, err := r.c.Claim(ctx, at, boots, s)
	if err != nil || v.Step != claims.StepForm || !v.Fits || v.Form.Size != "10" {
		t.Fatalf("claim page: %v, %s, fits %v, form %+v", err, v.Step, v.Fits, v.Form)
	}
	if draw.Hash(v.EntryText) != v.InList || !strings.Contains(string(v.EntryText), "email entrant") {
		t.Errorf("entry text %q", v.EntryText)
	}
	v, err = r.c.Answer(ctx, at, boots, s, goodForm())
	if err != nil || v.Step != claims.StepCheck || v.Preview == nil {
		t.Fatalf("shown back: %v, %s", err, v.Step)
	}
	want := "ANN QUILLBY\n12 WEXCOMBE ST\nAPT 4B\nNEW YORK NY  10001"
	if got := strings.Join(v.Preview.Label(), "\n"); got != want {
		t.Errorf("label %q, want %q", got, want)
	}
	if p, err := r.c.Place(ctx, at, boots, 1); err != nil || p.Answer != nil {
		t.Errorf("not sent yet: %v, %+v", err, p.Answer)
	}
	if _, err := r.c.Confirm(ctx, at, boots, 1); !errors.Is(err, claims.ErrNoAnswer) {
		t.Errorf("confirm without an answer: %v", err)
	}
	r.restart()
	v, err = r.c.Answer(ctx, at, boots, s, sure(v.Form))
	if err != nil || v.Step != claims.StepDone || v.Sent.Size.String() != "men’s 10 D" {
		t.Fatalf("sent: %v, %s", err, v.Step)
	}
	v, err = r.c.Claim(ctx, at.Add(20*day), boots, s) // final, and open for reading
	r.must(err)
	bare(t, "the claim page afterwards", asJSON(t, v))
	if _, err := r.c.Answer(ctx, at, boots, s, sure(goodForm())); !errors.Is(err, claims.ErrAnswered) {
		t.Errorf("sent twice: %v", err)
	}

	// The sponsor sees nobody before the press.
	address, err := r.c.SponsorLink(ctx, at, boots)
	r.must(err)
	sponsor := secret(address)
	if v, err := r.c.Sponsor(ctx, at, sponsor); err != nil || len(v.Winners) != 0 {
		t.Errorf("before: %v, %d winners", err, len(v.Winners))
	}
	if _, err := r.c.Mark(ctx, at, sponsor, 1, claims.Mark{Kind: claims.MarkInStock}); !errors.Is(err, claims.ErrNotConfirmed) {
		t.Errorf("mark before: %v", err)
	}
	_, err = r.c.Confirm(ctx, at.Add(hour), boots, 1)
	r.must(err)
	r.valid(draw.StageOutcome)
	sv, err := r.c.Sponsor(ctx, at.Add(2*hour), sponsor)
	if err != nil || len(sv.Winners) != 1 {
		t.Fatalf("after: %v, %d winners", err, len(sv.Winners))
	}
	w := sv.Winners[0]
	if strings.Join(w.Label, "\n") != want || w.Phone != "(201) 555-0123" || !w.Fits || w.Conversion == "" || w.Answer.Address.Lines[0] != "12 Wexcombe Street" {
		t.Errorf("parcel %+v", w)
	}
	if strings.Contains(asJSON(t, sv.Winners), "@example.com") {
		t.Error("the sponsor's page bears an e-mail address")
	}
	if err := receiptFits(r, w); err != nil {
		t.Error(err)
	}
	if visits, err := r.c.Visits(ctx, boots); err != nil || len(visits) != 2 {
		t.Errorf("%v, %d visits, want 2", err, len(visits))
	}

	// A size that can't be had: the winner chooses another.
	mark := func(m claims.Mark) claims.Parcel {
		t.Helper()
		r.restart()
		at = at.Add(day)
		for range 2 { // twice is once
			sv, err = r.c.Mark(ctx, at, sponsor, 1, m)
			r.must(err)
		}
		return sv.Winners[0]
	}
	nine := sizing.Size{System: sizing.Mens, Size: 19, Width: "D"}
	w = mark(claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{nine, {System: sizing.Mens, Size: 21, Width: "D"}}, Words: "Sold out until spring."})
	if len(w.Asks) != 1 || len(w.Shipping.Marks) != 1 {
		t.Fatalf("asked %d, marked %d, want 1 each", len(w.Asks), len(w.Shipping.Marks))
	}
	ask, err := r.c.AskLetter(ctx, at, boots, 1, 1)
	r.must(err)
	if !strings.Contains(ask.Text, "men’s 9½ D or men’s 10½ D") || !strings.Contains(ask.Text, "Sold out until spring.") {
		t.Errorf("question:\n%s", ask.Text)
	}
	q := secret(ask.Link)
	av, err := r.c.Asked(ctx, at, boots, q)
	if err != nil || av.Step != claims.StepForm || av.Ask.Kind != claims.AskSize {
		t.Fatalf("question page: %v, %+v", err, av)
	}
	bare(t, "the question's page", asJSON(t, av))
	var rejected *claims.Rejected
	for _, f := range []claims.Form{{}, {System: "mens", Size: "8", Width: "D"}} {
		if _, err := r.c.AnswerAsk(ctx, at, boots, q, sure(f)); !errors.As(err, &rejected) {
			t.Errorf("%+v: got %v", f, err)
		}
	}
	choice := claims.Form{System: "mens", Size: "9.5", Width: "D"}
	if av, err = r.c.AnswerAsk(ctx, at, boots, q, choice); err != nil || av.Step != claims.StepCheck {
		t.Fatalf("shown back: %v, %s", err, av.Step)
	}
	av, err = r.c.AnswerAsk(ctx, at, boots, q, sure(choice))
	if err != nil || av.Step != claims.StepDone || av.Ask.Reply.Size != nine {
		t.Fatalf("answered: %v, %+v", err, av)
	}
	if _, err := r.c.AnswerAsk(ctx, at, boots, q, sure(choice)); !errors.Is(err, claims.ErrAnswered) {
		t.Errorf("answered twice: %v", err)
	}
	p, err := r.c.Place(ctx, at, boots, 1)
	if err != nil || p.Answer.Size != nine || p.Sent.Size == nine {
		t.Errorf("%v: size %v, sent %v", err, p.Answer.Size, p.Sent.Size)
	}

	// A question about the address: a friend's.
	w = mark(claims.Mark{Kind: claims.MarkAskAddress, Words: "Is there a door code?"})
	ask, err = r.c.AskLetter(ctx, at, boots, 1, 2)
	r.must(err)
	q = secret(ask.Link)
	f := goodForm()
	f.CareOf, f.Line1, f.Line2 = "Ben Plumtree", "5 Plumtree Lane", ""
	av, err = r.c.AnswerAsk(ctx, at, boots, q, sure(f))
	if err != nil || av.Step != claims.StepDone {
		t.Fatalf("address: %v", err)
	}
	bare(t, "the question's page afterwards", asJSON(t, av))
	w = mark(claims.Mark{Kind: claims.MarkShipped, Carrier: "Example Post", Number: "EX 123"})
	if got := strings.Join(w.Label, "\n"); got != "ANN QUILLBY\nC/O BEN PLUMTREE\n5 PLUMTREE LN\nNEW YORK NY  10001" {
		t.Errorf("label %q", got)
	}
	news, err := r.c.News(ctx, at, boots, w.Stand.Ticket)
	if err != nil || !strings.HasPrefix(news.Shipping, "Shipped on ") || !strings.Contains(news.Shipping, "Example Post, number EX 123") {
		t.Errorf("news: %v, %q", err, news.Shipping)
	}
	w = mark(claims.Mark{Kind: claims.MarkDelivered})
	if !strings.HasPrefix(w.Words, "Delivered") || len(w.Shipping.Marks) != 4 {
		t.Errorf("%q, %d marks", w.Words, len(w.Shipping.Marks))
	}
	r.valid(draw.StageOutcome)
	nothingLeaks(t, r)
}

// receiptFits checks the receipt with the draw's own checker.
func receiptFits(r *rig, w claims.Parcel) error {
	report := draw.Check(context.Background(), r.db.Publication(boots), draw.Options{Receipts: []draw.Attachment{{Name: "receipt", Data: w.Receipt}}})
	if report.Status != 0 {
		return fmt.Errorf("receipt: %v", report.Findings)
	}
	return nil
}

// nothingLeaks looks for what was planted in the publication and in the
// database's files, where a claim lies sealed.
func nothingLeaks(t *testing.T, r *rig) {
	t.Helper()
	files, err := os.ReadDir(r.dir)
	r.must(err)
	read := 0
	for _, f := range files {
		b, err := os.ReadFile(filepath.Join(r.dir, f.Name()))
		r.must(err)
		bare(t, f.Name(), string(b))
		read += len(b)
	}
	public := r.db.Publication(boots)
	for _, name := range []string{draw.OpeningFile, draw.RollFile, draw.ExcludedFile, draw.FreezeFile, draw.RecordFile, draw.OutcomeFile} {
		b, err := fs.ReadFile(public, name)
		r.must(err)
		bare(t, name, string(b))
		read += len(b)
	}
	if read < 10_000 {
		t.Errorf("read only %d bytes", read)
	}
}

// No answer, a pass, the next in line by phone, one who declines, and nobody
// left.
func TestNextInLine(t *testing.T) {
	r := newRig(t, 1, 2)
	ctx := context.Background()
	s := r.link(event, 1)
	over := event.Add(7*day + hour) // 01:30 and 7 days, up to the full hour
	late := over.Add(-time.Second)
	overdue := func(at time.Time, want ...string) {
		t.Helper()
		due, err := r.c.Overdue(ctx, at)
		r.must(err)
		var got []string
		for _, d := range due {
			got = append(got, fmt.Sprint(d.Place, " ", d.Reason))
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("overdue at %v: got %v, want %v", at, got, want)
		}
	}
	overdue(late.Add(-30 * time.Minute))
	var early giveaway.ErrTooEarly
	if _, err := r.c.Pass(ctx, event.Add(2*day), boots, giveaway.Passing{Place: 1, Reason: draw.NoReply}); !errors.As(err, &early) {
		t.Errorf("pass in the answer period: %v", err)
	}
	if _, err := r.c.Claim(ctx, early.Until.Add(-time.Second), boots, s); err != nil {
		t.Errorf("a second before the end: %v", err)
	}
	v, err := r.c.Claim(ctx, early.Until, boots, s)
	if !errors.Is(err, claims.ErrOver) || v.Notice == nil {
		t.Errorf("at the end: %v", err)
	}
	overdue(early.Until, "1 no-reply")
	if _, err := r.c.Letter(ctx, over, boots, 2); !errors.Is(err, giveaway.ErrNoTurn) {
		t.Errorf("letter out of turn: %v", err)
	}
	_, err = r.c.Pass(ctx, over, boots, giveaway.Passing{Place: 1, Reason: draw.NoReply})
	r.must(err)
	r.valid(draw.StageOutcome)
	overdue(over)
	v, err = r.c.Answer(ctx, over, boots, s, sure(goodForm()))
	if !errors.Is(err, claims.ErrOver) || v.Stand.Passed == nil || v.Stand.Passed.Reason != draw.NoReply {
		t.Errorf("late answer: %v, %+v", err, v.Stand.Passed)
	}
	if _, err := r.c.Record(ctx, over, boots, 1, claims.ByChat, goodForm()); !errors.Is(err, claims.ErrOver) {
		t.Errorf("recorded after the pass: %v", err)
	}

	// The next in line answers by phone; the creator writes it down, and
	// corrects it.
	l, err := r.c.Letter(ctx, over, boots, 2)
	r.must(err)
	if !strings.Contains(l.Text, "was drawn as next in line, number 1, and now it is its turn.") {
		t.Errorf("letter:\n%s", l.Text)
	}
	p, err := r.c.Record(ctx, over, boots, 2, claims.ByPhone, goodForm())
	if err != nil || p.Answer.By != claims.ByPhone {
		t.Fatalf("record: %v", err)
	}
	f := goodForm()
	f.Postal = "10002"
	p, err = r.c.Record(ctx, over.Add(hour), boots, 2, claims.ByChat, f)
	if err != nil || p.Answer.Address.Postal != "10002" || p.Answer.By != claims.ByChat {
		t.Errorf("correct: %v, %+v", err, p.Answer)
	}
	if _, err := r.c.Pass(ctx, over.Add(30*day), boots, giveaway.Passing{Place: 2, Reason: draw.NoReply}); !errors.Is(err, claims.ErrAnswered) {
		t.Errorf("no reply with an answer: %v", err)
	}
	_, err = r.c.Pass(ctx, over.Add(2*hour), boots, giveaway.Passing{Place: 2, Reason: draw.Ineligible})
	r.must(err)

	s = r.link(over.Add(3*hour), 3)
	_, err = r.c.Answer(ctx, over.Add(4*hour), boots, s, claims.Form{Decline: "yes", Sure: "yes"})
	r.must(err)
	overdue(over.Add(5*hour), "3 declined")
	_, err = r.c.Pass(ctx, over.Add(6*hour), boots, giveaway.Passing{Place: 3, Reason: draw.Declined})
	r.must(err)
	r.valid(draw.StageOutcome)
	standing, err := r.c.Host.Outcome(ctx, boots)
	if err != nil || !standing.Exhausted() || !standing.Settled() {
		t.Errorf("at the end: %v, %+v", err, standing.Outcome)
	}
	nothingLeaks(t, r)
}

// A link opens one page of one giveaway; whatever is wrong with it, the answer
// is the same.
func TestLinks(t *testing.T) {
	r := newRig(t, 1, 1)
	ctx := context.Background()
	s := r.link(event, 1)
	address, err := r.c.SponsorLink(ctx, event, boots)
	r.must(err)
	if again, err := r.c.SponsorLink(ctx, event.Add(hour), boots); err != nil || again != address {
		t.Errorf("sponsor's link again: %v, same %v", err, again == address)
	}
	sponsor := secret(address)
	for name, wrong := range map[string]string{
		"none": "", "short": s[:23], "long": s + "A", "not base64url": s[:23] + "+", "sponsor's": sponsor, "another": strings.Repeat("A", 24),
	} {
		_, claim := r.c.Claim(ctx, event, boots, wrong)
		_, asked := r.c.Asked(ctx, event, boots, wrong)
		_, answer := r.c.Answer(ctx, event, boots, wrong, sure(goodForm()))
		for i, err := range []error{claim, asked, answer} {
			if !errors.Is(err, claims.ErrNoSuchLink) {
				t.Errorf("%s, %d: got %v", name, i, err)
			}
		}
	}
	for name, wrong := range map[string]string{"none": "", "a claim's": s, "short": sponsor[:20]} {
		_, view := r.c.Sponsor(ctx, event, wrong)
		_, mark := r.c.Mark(ctx, event, wrong, 1, claims.Mark{Kind: claims.MarkInStock})
		if !errors.Is(view, claims.ErrNoSuchLink) || !errors.Is(mark, claims.ErrNoSuchLink) {
			t.Errorf("sponsor, %s: got %v, %v", name, view, mark)
		}
	}
	if _, err := r.c.Claim(ctx, event, "other-boots", s); !errors.Is(err, claims.ErrNoSuchLink) {
		t.Errorf("another giveaway: %v", err)
	}
	l, err := r.c.NewLink(ctx, event.Add(hour), boots, 1)
	if err != nil || secret(l.Link) == s || l.Noticed {
		t.Fatalf("renew: %v, %+v", err, l)
	}
	if _, err := r.c.Claim(ctx, event.Add(hour), boots, s); !errors.Is(err, claims.ErrNoSuchLink) {
		t.Errorf("old link: %v", err)
	}
	if _, err := r.c.Claim(ctx, event.Add(hour), boots, secret(l.Link)); err != nil {
		t.Errorf("new link: %v", err)
	}
	r.must(r.c.RevokeSponsorLink(ctx, event, boots))
	r.must(r.c.RevokeSponsorLink(ctx, event, boots))
	if _, err := r.c.Sponsor(ctx, event, sponsor); !errors.Is(err, claims.ErrClosed) {
		t.Errorf("revoked: %v", err)
	}
	if live, err := r.c.LiveSponsorLink(ctx, boots); err != nil || live != "" {
		t.Errorf("revoked: live link %q, %v", live, err)
	}
	if fresh, err := r.c.SponsorLink(ctx, event.Add(2*hour), boots); err != nil || fresh == address {
		t.Errorf("a new one: %v", err)
	}
}

// at runs functions at once and returns their errors.
func atOnce(n int, f func(i int) error) []error {
	all := make([]error, n)
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { all[i] = f(i) })
	}
	wg.Wait()
	return all
}

// Everybody presses at once: one link, one answer, one mark, one outcome.
func TestAtOnce(t *testing.T) {
	r := newRig(t, 1, 2)
	ctx := context.Background()
	links := make([]string, 10)
	for _, err := range atOnce(10, func(i int) error {
		l, err := r.c.Noticed(ctx, event.Add(time.Duration(i)*time.Minute), boots, 1)
		links[i] = fmt.Sprint(l.Link, l.Until)
		return err
	}) {
		r.must(err)
	}
	for _, l := range links {
		if l != links[0] {
			t.Fatal("two letters differ")
		}
	}
	s := r.link(event, 1)
	won := 0
	for _, err := range atOnce(10, func(i int) error {
		f := goodForm()
		f.Line2 = fmt.Sprint("Apt ", i+1)
		_, err := r.c.Answer(ctx, event.Add(hour), boots, s, sure(f))
		return err
	}) {
		if err == nil {
			won++
		} else if !errors.Is(err, claims.ErrAnswered) {
			t.Error(err)
		}
	}
	if won != 1 {
		t.Errorf("%d answers won, want 1", won)
	}
	taken := 0
	for _, err := range atOnce(10, func(i int) error {
		if i%2 == 0 {
			_, err := r.c.Confirm(ctx, event.Add(2*day), boots, 1)
			return err
		}
		_, err := r.c.Pass(ctx, event.Add(2*day), boots, giveaway.Passing{Place: 1, Reason: draw.Ineligible})
		return err
	}) {
		if errors.Is(err, giveaway.ErrTaken) {
			taken++
		} else if err != nil {
			t.Error(err)
		}
	}
	if taken != 5 {
		t.Errorf("%d were told what stands, want 5", taken)
	}
	r.valid(draw.StageOutcome)
}

func TestMarksAtOnce(t *testing.T) {
	r := newRig(t, 1, 1)
	r.answered(1, true)
	ctx := context.Background()
	address, err := r.c.SponsorLink(ctx, event, boots)
	r.must(err)
	ok := 0
	for _, err := range atOnce(8, func(i int) error {
		_, err := r.c.Mark(ctx, event.Add(day), secret(address), 1, claims.Mark{Kind: claims.MarkAskAddress, Words: fmt.Sprint("Question ", i)})
		return err
	}) {
		if err == nil {
			ok++
		} else if !errors.Is(err, claims.ErrRace) {
			t.Error(err)
		}
	}
	p, err := r.c.Place(ctx, event.Add(day), boots, 1)
	if err != nil || len(p.Shipping.Marks) != ok || len(p.Asks) != ok || ok == 0 {
		t.Fatalf("%v: %d marks, %d questions, %d presses went through", err, len(p.Shipping.Marks), len(p.Asks), ok)
	}
	for _, a := range p.Asks[:ok-1] {
		if a.Open() {
			t.Errorf("question %d is open beside a later one", a.N)
		}
	}
	if _, err := r.c.AskLetter(ctx, event.Add(day), boots, 1, ok); err != nil {
		t.Error(err)
	}
	l, _ := r.c.AskLetter(ctx, event.Add(day), boots, 1, ok)
	_, err = r.c.Mark(ctx, event.Add(2*day), secret(address), 1, claims.Mark{Kind: claims.MarkShipped, Carrier: "Example Post"})
	r.must(err)
	if _, err := r.c.Asked(ctx, event.Add(2*day), boots, secret(l.Link)); !errors.Is(err, claims.ErrOver) {
		t.Errorf("a question when the parcel is gone: %v", err)
	}
}

// What a sponsor writes is checked.
func TestMarksRefused(t *testing.T) {
	r := newRig(t, 1, 1)
	r.answered(1, true)
	ctx := context.Background()
	address, err := r.c.SponsorLink(ctx, event, boots)
	r.must(err)
	big := sizing.Size{System: sizing.Mens, Size: 40, Width: "D"}
	for _, c := range []struct {
		m     claims.Mark
		field string
	}{
		{claims.Mark{}, "kind"},
		{claims.Mark{Kind: "lost"}, "kind"},
		{claims.Mark{Kind: claims.MarkShipped}, "carrier"},
		{claims.Mark{Kind: claims.MarkShipped, Carrier: "X\u200b"}, "carrier"},
		{claims.Mark{Kind: claims.MarkAskAddress}, "words"},
		{claims.Mark{Kind: claims.MarkAskAddress, Words: strings.Repeat("x", 501)}, "words"},
		{claims.Mark{Kind: claims.MarkCantHave, Offers: []sizing.Size{big}}, "offers"},
		{claims.Mark{Kind: claims.MarkCantHave, Words: "Sold out."}, "offers"},
		{claims.Mark{Kind: claims.MarkCantHave, None: true, Offers: []sizing.Size{{System: sizing.Mens, Size: 18, Width: "D"}}}, "offers"},
	} {
		var rejected *claims.Rejected
		_, err := r.c.Mark(ctx, event.Add(day), secret(address), 1, c.m)
		if !errors.As(err, &rejected) || rejected.Fields[0].Field != c.field {
			t.Errorf("%+v: got %v", c.m, err)
		}
	}
	for _, place := range []int{0, 2, 99} {
		if _, err := r.c.Mark(ctx, event.Add(day), secret(address), place, claims.Mark{Kind: claims.MarkInStock}); !errors.Is(err, claims.ErrNotConfirmed) {
			t.Errorf("place %d: %v", place, err)
		}
	}
	// No sizes to offer: said, but nobody is asked.
	v, err := r.c.Mark(ctx, event.Add(day), secret(address), 1, claims.Mark{Kind: claims.MarkCantHave, None: true})
	if err != nil || len(v.Winners[0].Asks) != 0 || !strings.Contains(v.Winners[0].Words, "can’t get this size") {
		t.Errorf("got %v, %+v", err, v.Winners)
	}
	// Given back: nobody is on the page any more.
	// Who answered and was confirmed can't be skipped "for no reply", not even
	// on purpose: the reason is published for ever.
	_, err = r.c.Pass(ctx, event.Add(3*day), boots, giveaway.Passing{Place: 1, Reason: draw.NoReply, GivenBack: true, Early: true})
	if !errors.Is(err, claims.ErrAnswered) {
		t.Errorf("a confirmed place skipped for no reply: %v, want ErrAnswered", err)
	}
	_, err = r.c.Pass(ctx, event.Add(3*day), boots, giveaway.Passing{Place: 1, Reason: draw.Withdrawn, GivenBack: true})
	r.must(err)
	if v, err := r.c.Sponsor(ctx, event.Add(3*day), secret(address)); err != nil || len(v.Winners) != 0 || len(v.Back) != 1 || v.Back[0].N != 1 {
		t.Errorf("given back: %v, %d winners, back %+v", err, len(v.Winners), v.Back)
	}
	r.valid(draw.StageOutcome)
}

// Errors and their texts bear nothing that was typed.
func TestErrorsBearNothing(t *testing.T) {
	r := newRig(t, 1, 1)
	ctx := context.Background()
	s := r.link(event, 1)
	bad := goodForm()
	bad.State, bad.Phone, bad.Country, bad.Eligible = "Wexcombe", "Quillby", "Plumtree", ""
	broken := r.c
	broken.Seal = noSeal{}
	_, err1 := r.c.Answer(ctx, event, boots, s, sure(bad))
	_, err2 := r.c.Record(ctx, event, boots, 1, claims.ByChat, bad)
	_, err3 := broken.Answer(ctx, event, boots, s, sure(goodForm()))
	_, err4 := r.c.Record(ctx, event, boots, 1, "letter", goodForm())
	closed, cancel := context.WithCancel(ctx)
	cancel()
	_, err5 := r.c.Answer(closed, event, boots, s, sure(goodForm()))
	for i, err := range []error{err1, err2, err3, err4, err5} {
		if err == nil {
			t.Errorf("%d: no error", i+1)
			continue
		}
		bare(t, fmt.Sprint("error ", i+1), err.Error())
	}
}

type noSeal struct{}

func (noSeal) Seal(string, string, []byte) ([]byte, error) { return nil, errors.New("no key") }
func (noSeal) Open(string, string, []byte) ([]byte, error) { return nil, errors.New("no key") }

// Sealed bytes of one place open nothing at another.
func TestSealedToThePlace(t *testing.T) {
	r := newRig(t, 2, 0)
	r.answered(1, false)
	r.answered(2, false)
	ctx := context.Background()
	row, err := r.db.Claim(ctx, boots, 1)
	r.must(err)
	r.must(r.db.Answer(ctx, boots, 2, 1, row.SealedAnswer, claims.ByChat, event.Add(2*hour)))
	if _, err := r.c.Place(ctx, event.Add(3*hour), boots, 2); err == nil {
		t.Error("an answer copied from another place was opened")
	}
}
