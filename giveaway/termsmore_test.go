package giveaway

import (
	"bytes"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// All fields of the terms read back to the same value.
func TestFullTermsReadBack(t *testing.T) {
	for name, terms := range rulesTerms() {
		for _, terms := range []Terms{terms, terms.WithRules(postedAt)} {
			if terms.KeepDays == 0 {
				terms.KeepDays = DefaultKeepDays
			}
			data, err := terms.JSON()
			if err != nil {
				t.Fatal(err)
			}
			again, err := ReadTerms(bytes.NewReader(data))
			if err != nil || !reflect.DeepEqual(again, terms) {
				t.Errorf("%s: %v\ngot  %+v\nwant %+v", name, err, again, terms)
			}
		}
	}
	left, err := ReadTerms(strings.NewReader(bootJSON))
	if err != nil || left.KeepDays != DefaultKeepDays || (Terms{}).DaysKept() != DefaultKeepDays {
		t.Errorf("keep_days left out: got %d, %v", left.KeepDays, err)
	}
}

func TestValidateMore(t *testing.T) {
	second := func(role string) Second { return Second{Role: role, Who: "Ada", Hash: draw.Hash([]byte(role))} }
	for _, c := range []struct {
		name   string
		change func(*Terms)
		want   string // fields, in order
	}{
		{"nothing", func(*Terms) {}, ""},
		{"address of two lines", func(x *Terms) { x.SponsorAddress = "a\nb" }, "sponsor_address"},
		{"no money", func(x *Terms) { x.Worth = &Worth{0, "USD"} }, "worth.cents"},
		{"less than nothing", func(x *Terms) { x.Worth = &Worth{-1, "USD"} }, "worth.cents"},
		{"a cent", func(x *Terms) { x.Worth = &Worth{1, "NZD"} }, ""},
		{"other money", func(x *Terms) { x.Worth = &Worth{100, "usd"} }, "worth.currency"},
		{"disclosure", func(x *Terms) { x.Disclosure = strings.Repeat("a", 201) }, "disclosure"},
		{"step", func(x *Terms) { x.StepKinds = []string{StepFollow, "jump"} }, "step_kinds.1"},
		{"step twice", func(x *Terms) { x.StepKinds = []string{StepFollow, StepFollow} }, "step_kinds.1"},
		{"tick about nobody", func(x *Terms) { x.Barred, x.BarredTick = nil, true }, "barred_tick"},
		{"a day", func(x *Terms) { x.KeepDays = 1 }, ""},
		{"less than a day", func(x *Terms) { x.KeepDays = -1 }, "keep_days"},
		{"ten years and a day", func(x *Terms) { x.KeepDays = 3651 }, "keep_days"},
		{"filed elsewhere", func(x *Terms) { x.Filed = []string{"NY", "TX"} }, "filed.1"},
		{"seconds", func(x *Terms) { x.Seconds = []Second{second("a"), second("b")} }, ""},
		{"seconds out of order", func(x *Terms) { x.Seconds = []Second{second("b"), second("a")} }, "seconds.1.role"},
		{"a role twice", func(x *Terms) { x.Seconds = []Second{second("a"), second("a")} }, "seconds.1.role"},
		{"the host as a second", func(x *Terms) { x.Seconds = []Second{second("host")} }, "seconds.0.role"},
		{"no role", func(x *Terms) { x.Seconds = []Second{second("A b")} }, "seconds.0.role"},
		{"nobody", func(x *Terms) { x.Seconds = []Second{{Role: "a", Hash: draw.Hash(nil)}} }, "seconds.0.who"},
		{"no fingerprint", func(x *Terms) { x.Seconds = []Second{{Role: "a", Who: "Ada"}} }, "seconds.0.hash"},
		{"8 seconds", func(x *Terms) {
			for _, role := range strings.Split("abcdefgh", "") {
				x.Seconds = append(x.Seconds, second(role))
			}
		}, "seconds"},
		{"long paragraphs", func(x *Terms) { x.Paragraphs = strings.Repeat("a", maxParagraphs+1) }, "paragraphs"},
		{"no rules", func(x *Terms) { x.Rules = "" }, ""},
		{"written, but none", func(x *Terms) { x.Rules, x.RulesWritten, x.RulesDate = "", true, postedAt }, "rules"},
		{"written without a date", func(x *Terms) { x.RulesWritten = true }, "rules"},
		{"own rules with a date", func(x *Terms) { x.RulesDate = postedAt }, "rules"},
	} {
		terms := bootTerms()
		c.change(&terms)
		var got []string
		for _, p := range asProblems(terms.Validate()) {
			got = append(got, p.Field)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: got problems in %v, want %q", c.name, got, c.want)
		}
	}
}

func TestWorthWords(t *testing.T) {
	for want, w := range map[string]Worth{
		"189.00 US dollars": {18900, "USD"}, "0.05 euros": {5, "EUR"}, "1200.50 British pounds": {120050, "GBP"},
		"1.00 Canadian dollars": {100, "CAD"}, "2.00 Australian dollars": {200, "AUD"}, "3.00 New Zealand dollars": {300, "NZD"},
	} {
		if got := w.Words(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// Other paragraphs have the rules written anew; a change of times leaves them.
func TestRevisionOfRules(t *testing.T) {
	posted := rulesTerms()["plain"].WithRules(postedAt)
	signer, err := draw.NewSigner(rand.NewChaCha8([32]byte{3}), "slow-miles.example")
	if err != nil {
		t.Fatal(err)
	}
	o, err := Opening(posted, signer.VerifierKey(), []draw.SealHash{{Role: HostRole, Hash: draw.Hash(nil)}})
	if err != nil {
		t.Fatal(err)
	}
	revised := posted.Opens.UTC.Add(time.Hour)
	later, _ := MomentAt(posted.Event.UTC.Add(time.Hour), posted.Event.Zone)
	got, next, err := Revision(posted, o, Change{Event: &later}, revised)
	if err != nil || got.Rules != posted.Rules || next.Rules != o.Rules || !got.RulesWritten {
		t.Errorf("a later event: %v", err)
	}
	more, own := "More.", "Mine."
	got, next, err = Revision(posted, o, Change{Event: &later, Paragraphs: &more}, revised)
	if err != nil || next.Rules == o.Rules || next.Rules != draw.Hash([]byte(got.Rules)) || !got.RulesDate.Equal(revised) ||
		!strings.Contains(got.Rules, "\nMore.\n") || !strings.Contains(got.Rules, later.Words()) {
		t.Errorf("paragraphs: %v\n%s", err, got.Rules)
	}
	got, next, err = Revision(posted, o, Change{Rules: &own}, revised)
	if err != nil || got.Rules != own || got.RulesWritten || !got.RulesDate.IsZero() || next.Rules != draw.Hash([]byte(own)) {
		t.Errorf("own rules: %v %+v", err, got)
	}
	_, _, err = Revision(got, next, Change{Paragraphs: &more}, revised.Add(time.Hour))
	if p := asProblems(err); len(p.Of("paragraphs")) != 1 {
		t.Errorf("paragraphs beside own rules: got %v", err)
	}
	same := posted.Paragraphs
	if _, _, err = Revision(posted, o, Change{Paragraphs: &same}, revised); len(asProblems(err)) == 0 {
		t.Errorf("nothing differs: got %v", err)
	}
}

// Whoever could not enter with an address is not barred by it: the form's own
// reading decides (testdata/facts/email.md). A line without an @ is a sentence.
func TestBarredAddressCouldEnter(t *testing.T) {
	for line, wrong := range map[string]bool{
		"shop@larkspur": true, "shop@": true, "@larkspur.example": true, "shop@@larkspur.example": true,
		"sh..op@larkspur.example": true, "shop,more@larkspur.example": true, "shop@larkspur.123": true,
		"shop at shop@larkspur.example": true,
		"shop@larkspur.example":         false, "staff of the shop": false,
	} {
		terms := rulesTerms()["plain"]
		terms.Barred = []string{line}
		err := terms.Validate()
		if got := err != nil; got != wrong {
			t.Errorf("%q: refused %v, want %v: %v", line, got, wrong, err)
		}
	}
}

// The entry page shows MayNotWin; the rules hold each of its lines.
func TestRulesHoldWhoMayNotWin(t *testing.T) {
	for name, terms := range rulesTerms() {
		text := terms.RulesText()
		if got := len(terms.MayNotWin()) > 0; got != (len(terms.Barred) > 0) {
			t.Errorf("%s: somebody may not win: %v, with %d left out", name, got, len(terms.Barred))
		}
		for _, line := range terms.MayNotWin() {
			if strings.Contains(line, "@") || !strings.Contains(text, "- "+mark(line)+"\n") {
				t.Errorf("%s: the rules lack %q, or it is an address", name, line)
			}
		}
	}
}
