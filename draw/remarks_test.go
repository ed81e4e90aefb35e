package draw_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// Every remark of the protocol, in the words of its page or the most telling
// part of them.
var allRemarks = []string{
	"weak: no beacon",
	"weak: the beacon's chain is not quicknet",
	"withheld",
	"hardly anybody can have seen it in time",
	"revised ",
	"moved after the event: a result may have been tried and dropped",
	"rules changed after entries closed",
	"less than 24 hours",
	"passed and moved on in one step",
	"cancelled when the host could already know the result",
	"imported or changed outside the entry time",
	"changed after that, or a fault: ask for the later receipt and its entry text",
	"read from ",
	"is not yet in a list",
	"was never frozen",
	"neither drawn nor cancelled 24 hours after",
	"alternates for ",
}

type remarkCase struct {
	name string
	set  func(f *forge)
	opt  func(f *forge, p publication, o *draw.Options)
	want []string // of allRemarks, all of them and no other
	open bool     // stop at the opening; otherwise the stage of newForge
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// revised moves the event of revision 1 earlier by the hours, and revises so
// many hours before the final event.
func revised(before, at float64) func(f *forge) {
	return func(f *forge) {
		final := f.opening
		f.opening.Event = final.Event.Add(-hours(before))
		f.opening.Closes = final.Closes.Add(-hours(before))
		f.revise = []func(*draw.Opening){func(o *draw.Opening) {
			o.Event, o.Closes, o.Revised = final.Event, final.Closes, final.Event.Add(-hours(at))
		}}
	}
}

func newRules(f *forge) { f.rules = append(f.rules, "Two pairs.\n") }

// outcomeOf sets the outcomes; times are hours after the draw.
func outcomeOf(outcomes ...draw.Outcome) func(f *forge) {
	return func(f *forge) { f.outcomes = outcomes }
}

var drawnAt = roundTime.Add(time.Minute)

func pass(place int, reason string, h float64) draw.Passed {
	return draw.Passed{Place: place, Reason: reason, At: drawnAt.Add(hours(h))}
}

func confirm(place int, h float64) draw.Confirmed {
	return draw.Confirmed{Place: place, At: drawnAt.Add(hours(h))}
}

func outcome(acts ...any) (o draw.Outcome) {
	for _, a := range acts {
		switch a := a.(type) {
		case draw.Passed:
			o.Passed = append(o.Passed, a)
		case draw.Confirmed:
			o.Confirmed = append(o.Confirmed, a)
		}
	}
	return o
}

// given adds a receipt of the first ticket of the roll.
func given(change func(f *forge, r *draw.Receipt)) func(f *forge, p publication, o *draw.Options) {
	return func(f *forge, p publication, o *draw.Options) {
		r := draw.Receipt{Draw: f.opening.Draw, Opening: p.opening, Ticket: f.roll[0],
			Entered: f.opening.Opens, Commitment: f.entry(f.roll[0]).Commitment()}
		change(f, &r)
		o.Receipts = append(o.Receipts, f.receipt(r))
	}
}

func now(at time.Time) func(f *forge, p publication, o *draw.Options) {
	return func(_ *forge, _ publication, o *draw.Options) { o.Now = &at }
}

func remarkCases() []remarkCase {
	onlyHost := func(f *forge) { f.noBeacon().roles = []string{"host"} }
	stage := func(s draw.Stage) func(f *forge) { return func(f *forge) { f.stage = s } }
	both := func(all ...func(f *forge)) func(f *forge) {
		return func(f *forge) {
			for _, set := range all {
				set(f)
			}
		}
	}
	cancelAt := func(h float64) func(f *forge) {
		return func(f *forge) {
			f.stage, f.cancel = draw.StageFrozen, &draw.Cancelled{At: roundTime.Add(hours(h)), Reason: "secret-lost"}
		}
	}
	return []remarkCase{
		{name: "none"},
		{name: "no beacon", set: onlyHost, want: []string{"weak: no beacon"}},
		{name: "no beacon, open", set: onlyHost, open: true, want: []string{"weak: no beacon"}},
		{name: "no beacon, two seals", set: func(f *forge) { f.noBeacon() }, want: []string{"weak: no beacon"}},
		{name: "other chain, open", set: useOtherChain(t0), open: true, want: []string{"weak: the beacon's chain is not quicknet"}},
		{name: "other chain, given", set: useOtherChain(t0), opt: giveOtherChain, want: []string{"weak: the beacon's chain is not quicknet"}},
		{name: "withheld", set: func(f *forge) { f.withheld = []string{"sponsor"} }, want: []string{"withheld"}},
		{name: "two withheld", set: func(f *forge) {
			f.roles, f.withheld = []string{"host", "sponsor", "teller"}, []string{"sponsor", "teller"}
		}, want: []string{"withheld"}},
		{name: "no beacon and withheld", set: func(f *forge) { f.noBeacon().withheld = []string{"sponsor"} }, want: []string{"weak: no beacon", "withheld"}},

		{name: "frozen 10 minutes before", set: func(f *forge) { f.frozen = roundTime.Add(-10 * time.Minute) }},
		{name: "frozen 9:59 before", set: func(f *forge) { f.frozen = roundTime.Add(-599 * time.Second) }, want: []string{"hardly anybody can have seen it in time"}},

		{name: "revised while open", set: revised(48, 72), want: []string{"revised "}},
		{name: "revised after closing", set: revised(48, 49), want: []string{"revised "}},
		{name: "revised a second before the event", set: revised(48, 48+1.0/3600), want: []string{"revised "}},
		{name: "revised at the event", set: revised(48, 48), want: []string{"revised ", "moved after the event: a result may have been tried and dropped"}},
		{name: "rules changed while open", set: both(revised(48, 72), newRules), want: []string{"revised "}},
		{name: "rules changed a second before closing", set: both(revised(48, 50+1.0/3600), newRules), want: []string{"revised "}},
		{name: "rules changed at closing", set: both(revised(48, 50), newRules), want: []string{"revised ", "rules changed after entries closed"}},
		{name: "rules changed at the event", set: both(revised(48, 48), newRules), want: []string{"revised ",
			"moved after the event: a result may have been tried and dropped", "rules changed after entries closed"}},

		{name: "no reply after 24 hours", set: outcomeOf(outcome(pass(1, draw.NoReply, 24)))},
		{name: "no reply a second earlier", set: outcomeOf(outcome(pass(1, draw.NoReply, 24-1.0/3600))), want: []string{"less than 24 hours"}},
		{name: "declined at once", set: outcomeOf(outcome(pass(1, draw.Declined, 0)))},
		{name: "no reply of the second, from its turn", set: outcomeOf(outcome(pass(1, draw.NoReply, 30)),
			outcome(pass(1, draw.NoReply, 30), pass(2, draw.NoReply, 53))), want: []string{"less than 24 hours"}},
		{name: "passed, then the next confirmed", set: outcomeOf(outcome(pass(1, draw.Declined, 1)), outcome(pass(1, draw.Declined, 1), confirm(2, 2)))},
		{name: "passed and confirmed in one step", set: outcomeOf(outcome(pass(1, draw.Declined, 1), confirm(2, 2))),
			want: []string{"passed and moved on in one step"}},
		{name: "passed and passed in one step", set: outcomeOf(outcome(pass(1, draw.Declined, 1), pass(2, draw.Declined, 1))),
			want: []string{"passed and moved on in one step"}},
		{name: "pass beside a confirmation that had its turn", set: func(f *forge) {
			f.opening.Winners = 2
			f.outcomes = []draw.Outcome{outcome(pass(1, draw.Declined, 1), confirm(2, 1))}
		}},
		{name: "turn by an earlier pass at the same second", set: func(f *forge) {
			f.opening.Winners = 2
			f.outcomes = []draw.Outcome{outcome(pass(2, draw.Declined, 1)), outcome(pass(1, draw.Declined, 1), pass(2, draw.Declined, 1), confirm(3, 1))}
		}},

		{name: "cancelled a second before the event", set: cancelAt(-1.0 / 3600)},
		{name: "cancelled at the event", set: cancelAt(0), want: []string{"cancelled when the host could already know the result"}},
		{name: "cancelled after the event, never frozen", set: func(f *forge) { cancelAt(1)(f); f.stage = draw.StageOpen }},

		{name: "receipt", opt: given(func(*forge, *draw.Receipt) {})},
		{name: "receipt a second before opens", opt: given(func(f *forge, r *draw.Receipt) { r.Entered = f.opening.Opens.Add(-time.Second) }),
			want: []string{"imported or changed outside the entry time"}},
		{name: "receipt a second before closes", opt: given(func(f *forge, r *draw.Receipt) { r.Entered = f.opening.Closes.Add(-time.Second) })},
		{name: "receipt at closes", opt: given(func(f *forge, r *draw.Receipt) { r.Entered = f.opening.Closes }),
			want: []string{"imported or changed outside the entry time"}},
		{name: "older receipt", opt: given(func(_ *forge, r *draw.Receipt) { r.Commitment = draw.Hash(nil) }),
			want: []string{"changed after that, or a fault: ask for the later receipt and its entry text"}},
		{name: "receipt of an open draw", opt: given(func(*forge, *draw.Receipt) {}), open: true, want: []string{"is not yet in a list"}},
		{name: "receipt of a ticket left out", opt: given(func(f *forge, r *draw.Receipt) { r.Ticket = f.left[0].ticket })},

		{name: "host name", opt: func(f *forge, _ publication, o *draw.Options) { o.Host = f.key.Name() }},
		{name: "other host name", opt: func(_ *forge, _ publication, o *draw.Options) { o.Host = "copy.example.net" }, want: []string{"read from "}},

		{name: "open, a second before the event", opt: now(roundTime.Add(-time.Second)), open: true},
		{name: "open at the event", opt: now(roundTime), open: true, want: []string{"was never frozen"}},
		{name: "frozen, a second before a day", set: stage(draw.StageFrozen), opt: now(roundTime.Add(24*time.Hour - time.Second))},
		{name: "frozen for a day", set: stage(draw.StageFrozen), opt: now(roundTime.Add(24 * time.Hour)), want: []string{"neither drawn nor cancelled 24 hours after"}},
		{name: "drawn long ago", set: stage(draw.StageDrawn), opt: now(roundTime.AddDate(1, 0, 0))},
		{name: "cancelled long ago", set: cancelAt(-1), opt: now(roundTime.AddDate(1, 0, 0))},

		{name: "20 alternates for 1", set: func(f *forge) { f.opening.Alternates = 20 }},
		{name: "21 alternates for 1", set: func(f *forge) { f.opening.Alternates = 21 }, want: []string{"alternates for "}},
		{name: "40 alternates for 3", set: func(f *forge) { f.opening.Winners, f.opening.Alternates = 3, 40 }},
		{name: "41 alternates for 3", set: func(f *forge) { f.opening.Winners, f.opening.Alternates = 3, 41 }, want: []string{"alternates for "}},
	}
}

// Each remark appears exactly when the protocol says so, and no other does.
func TestRemarks(t *testing.T) {
	shown := map[string]bool{}
	for _, c := range remarkCases() {
		t.Run(c.name, func(t *testing.T) {
			f := newForge(t)
			if c.open {
				f.stage = draw.StageOpen
			}
			if c.set != nil {
				c.set(f)
			}
			p, opt := f.make(), draw.Options{}
			if c.opt != nil {
				c.opt(f, p, &opt)
			}
			r := draw.Check(t.Context(), p, opt)
			got := remarksOf(r)
			want := slices.Clone(c.want)
			slices.Sort(want)
			if r.Status != 0 || !slices.Equal(got, want) {
				t.Errorf("status %d, remarks %q, want %q\n%s", r.Status, got, want, lines(r))
			}
			for _, w := range want {
				shown[w] = true
			}
		})
	}
	for _, m := range allRemarks {
		if !shown[m] {
			t.Errorf("no case shows %q", m)
		}
	}
}

// remarksOf are the parts of allRemarks that stand in a report's remarks, sorted.
func remarksOf(r draw.Report) []string {
	got := []string{}
	for _, f := range r.Findings {
		if f.Level != draw.Remark {
			continue
		}
		known := false
		for _, m := range allRemarks {
			if strings.Contains(f.Text, m) && (m != "revised " || strings.HasPrefix(f.Text, m)) && (m != "withheld" || strings.HasPrefix(f.Text, "weak")) {
				got, known = append(got, m), true
			}
		}
		if !known {
			got = append(got, "unknown: "+f.Text)
		}
	}
	slices.Sort(got)
	return got
}

// A remark of a revision shows each changed line's old and new value.
func TestRevisionRemarkShowsBothValues(t *testing.T) {
	f := newForge(t)
	revised(48, 72)(f)
	newRules(f)
	r := f.check(draw.Options{})
	want := []string{
		"closes from 2026-08-20T19:40:00Z to 2026-08-22T19:40:00Z",
		"event from 2026-08-20T21:40:00Z to 2026-08-22T21:40:00Z",
		"rules from " + draw.Hash([]byte(f.rules[0])).String() + " to " + draw.Hash([]byte(f.rules[1])).String(),
	}
	for _, w := range want {
		if !strings.Contains(lines(r), w) {
			t.Errorf("want %q in\n%s", w, lines(r))
		}
	}
}
