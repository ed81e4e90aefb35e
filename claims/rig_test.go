package claims_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sizing"
	"evenhand/store"
	"evenhand/vault"
)

// The day of the tests' draws; the answer period of a letter copied at this
// time crosses no change of clocks.
var event = time.Date(2026, 12, 12, 1, 30, 0, 0, time.UTC)

const (
	boots = "trail-boots"
	hour  = time.Hour
	day   = 24 * hour
)

// A rig is a drawn giveaway on a real database, with two clerks as two
// servers would have.
type rig struct {
	t     *testing.T
	dir   string
	db    *store.DB
	vault *vault.Vault
	c     claims.Clerk
}

func newRig(t *testing.T, winners, alternates int) *rig {
	t.Helper()
	return newRigOf(t, winners, alternates, func(*giveaway.Terms) {}, func(int, *entries.Form) {})
}

// newRigOf is a rig with other terms and other entries.
func newRigOf(t *testing.T, winners, alternates int, change func(*giveaway.Terms), enter func(n int, f *entries.Form)) *rig {
	t.Helper()
	r := &rig{t: t, dir: t.TempDir()}
	var err error
	r.vault, err = vault.Load(filepath.Join(r.dir, "master.key"), rand.Reader)
	r.must(err)
	r.open()
	t.Cleanup(func() { _ = r.db.Close() })
	r.drawn(winners, alternates, change, enter)
	return r
}

// open starts a server on the rig's database.
func (r *rig) open() {
	db, err := store.Open(context.Background(), store.Config{File: filepath.Join(r.dir, "evenhand.db"), Vault: r.vault})
	r.must(err)
	_, err = db.Installation(context.Background(), "slow-miles.example", rand.Reader)
	r.must(err)
	r.db = db
	r.c = claims.Clerk{
		Store: db, Entries: db, Seal: r.vault, Rand: rand.Reader, URL: "https://slow-miles.example",
		Host: giveaway.Host{Store: db, Outcomes: db, Desk: db, Data: db, Keys: db, Rand: rand.Reader},
	}
}

// restart ends the server and starts another.
func (r *rig) restart() {
	r.t.Helper()
	r.must(r.db.Close())
	r.open()
}

func (r *rig) must(err error) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
}

// drawn takes twelve entries and makes the draw.
func (r *rig) drawn(winners, alternates int, change func(*giveaway.Terms), enter func(n int, f *entries.Form)) {
	ctx := context.Background()
	moment := func(at time.Time) giveaway.Moment {
		m, err := giveaway.MomentAt(at, "America/New_York")
		r.must(err)
		return m
	}
	opens, closes := event.Add(-50*hour), event.Add(-2*hour)
	terms := giveaway.Terms{
		Draw: boots, Channel: "Slow Miles", Host: "hello@slow-miles.example", Title: "Win a pair of hiking boots in your size.",
		Prize: "a pair of hiking boots", Sponsor: "Larkspur Trail Supply", Value: "about 190 US dollars",
		Opens: moment(opens), Closes: moment(closes), Event: moment(event),
		Winners: winners, Alternates: alternates, AnswerDays: 7, LockMinutes: 30,
		Sizes:  &giveaway.SizeTerms{Scale: sizing.Common, Run: sizing.Run{{System: sizing.Mens, From: 14, To: 24, Step: sizing.HalfSteps, Widths: []string{"B", "D", "2E"}}}},
		Region: eligibility.Region{Live: []string{"US", "DE"}, Ship: []string{"US"}, Friend: true}, MinAge: 18,
		Beacon: giveaway.BeaconNone, Rules: "One entry a person.\n",
	}
	change(&terms)
	_, err := r.c.Host.Draft(ctx, opens.Add(-hour), terms)
	r.must(err)
	g, err := r.c.Host.Open(ctx, opens.Add(-hour), boots)
	r.must(err)
	signer, err := r.db.Signer(ctx)
	r.must(err)
	in := entries.Intake{Store: r.db, Signer: signer, Rand: rand.Reader}
	for i := range 12 {
		f := entries.Form{
			Email: fmt.Sprintf("entrant%d@example.com", i), System: "mens", Size: "10", Width: "D",
			Live: "US", State: "NY", Age: "18-or-over", Rules: "yes", SizeSeen: "mens 10 d",
		}
		enter(i, &f)
		_, err := in.Enter(ctx, opens.Add(hour), g, f)
		r.must(err)
	}
	_, err = r.c.Host.Lock(ctx, closes, boots)
	r.must(err)
	_, err = r.c.Host.Draw(ctx, event, boots, nil)
	r.must(err)
	r.valid(draw.StageDrawn)
}

// valid checks the publication with the draw's own checker, whose tests hold
// it against samples of another implementation. The one remark: no beacon.
func (r *rig) valid(stage draw.Stage) {
	r.t.Helper()
	report := draw.Check(context.Background(), r.db.Publication(boots), draw.Options{})
	if report.Status != 0 || report.Verdict != "valid, weak" || report.Count(draw.Remark) != 1 || report.Stage != stage {
		r.t.Fatalf("publication: status %d, %q, %s: %v", report.Status, report.Verdict, report.Stage, report.Findings)
	}
}

// secret is the last part of a link.
func secret(link string) string { return link[strings.LastIndexByte(link, '/')+1:] }

// Planted, to be searched for where they must not be. The phone number is one
// that nobody has (555-01xx).
var planted = []string{"Quillby", "Wexcombe", "2015550123", "12015550123", "555-0123", "Plumtree"}

func goodForm() claims.Form {
	return claims.Form{Name: "Ann Quillby", Line1: "12 Wexcombe Street", Line2: "Apartment 4b", City: "New York", State: "NY", Postal: "10001",
		Country: "US", Phone: "(201) 555-0123", Adult: "on", Eligible: "on"}
}

func sure(f claims.Form) claims.Form { f.Sure = "yes"; return f }

// link is the claim link of a place, its letter copied at that time.
func (r *rig) link(at time.Time, place int) string {
	r.t.Helper()
	l, err := r.c.Noticed(context.Background(), at, boots, place)
	r.must(err)
	return secret(l.Link)
}

// answered has a place answered and, if asked, confirmed.
func (r *rig) answered(place int, confirm bool) {
	r.t.Helper()
	ctx := context.Background()
	s := r.link(event, place)
	_, err := r.c.Answer(ctx, event.Add(hour), boots, s, sure(goodForm()))
	r.must(err)
	if confirm {
		_, err = r.c.Confirm(ctx, event.Add(2*hour), boots, place)
		r.must(err)
	}
}
