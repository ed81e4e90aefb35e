package sample

import (
	"encoding/hex"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// The draw ids of the sample.
const (
	Open     = "trail-boots"  // takes entries
	Next     = "winter-boots" // closed, to be locked and drawn at the desk
	Finished = "summer-boots" // drawn last August
)

// How the sample's times lie.
const (
	zone       = "America/New_York"
	openDays   = 14               // that Open takes entries from now on
	sinceOpen  = 48 * time.Hour   // that Open has taken entries
	untilEvent = 60 * time.Second // from the end of loading to the event of Next
	lockBefore = 35 * time.Minute // before its event, Finished was locked
)

// The round of quicknet that Finished was drawn with: 22 August 2026, 21:40:00
// UTC. Source: testdata/vectors/drand-quicknet.json, where the signature is
// listed with the places that printed it; the draw verifies it again.
const (
	pastRound     = 31543812
	pastSignature = "a517bcc786bde26257b53b18eb3f25dc4020d2ad2e2e85339e713b046b7b84df3794c57ab9cae880f0da7b2f120b70d7"
)

// PastRound returns the round that the finished giveaway is drawn with.
func PastRound() (draw.Beacon, error) {
	sig, err := hex.DecodeString(pastSignature)
	if err != nil {
		return draw.Beacon{}, fmt.Errorf("read the sample's round: %w", err)
	}
	return draw.Beacon{Round: pastRound, Signature: sig}, nil
}

// base is what all three have in common.
func base(id, title string) giveaway.Terms {
	return giveaway.Terms{
		Draw: id, Channel: "Slow Miles", Host: "hello@slowmiles.example", Title: title,
		Prize: "A pair of Larkspur hiking boots in your size", Sponsor: "Larkspur Trail Supply",
		SponsorAddress: "12 Mill Lane, Anytown, larkspur.example", Worth: &giveaway.Worth{Cents: 24000, Currency: "USD"},
		Disclosure: "Larkspur Trail Supply gave Slow Miles these boots to give away.",
		Winners:    1, Alternates: 3, AnswerDays: 7, LockMinutes: giveaway.DefaultLockMinutes,
		Sizes: &giveaway.SizeTerms{Run: run(), Scale: sizing.Common},
		Region: eligibility.Region{
			Live: []string{"US", "CA", "GB", "DE"}, Ship: []string{"US"}, AlaskaHawaii: true, Friend: true,
		},
		MinAge: 18, Beacon: giveaway.BeaconQuicknet, KeepDays: giveaway.DefaultKeepDays, Paragraphs: nothing,
		Barred: []string{"people who work for Larkspur Trail Supply, and those who live with them"},
		Steps:  "Tell us under the video which trail you would walk first.", StepKinds: []string{giveaway.StepOther},
	}
}

// run is what the invented shop makes.
func run() sizing.Run {
	return sizing.Run{
		{System: sizing.Mens, From: 14, To: 28, Step: sizing.HalfSteps, Widths: []string{"D", "2E"}, Except: []sizing.Half{27}},
		{System: sizing.Womens, From: 10, To: 22, Step: sizing.HalfSteps, Widths: []string{"B", "D"}, Except: []sizing.Half{21}},
	}
}

// times sets the three times.
func times(t giveaway.Terms, opens, closes, event time.Time) (giveaway.Terms, error) {
	for _, m := range []struct {
		to *giveaway.Moment
		at time.Time
	}{{&t.Opens, opens}, {&t.Closes, closes}, {&t.Event, event}} {
		var err error
		if *m.to, err = giveaway.MomentAt(m.at, zone); err != nil {
			return t, fmt.Errorf("times of the sample: %w", err)
		}
	}
	return t, nil
}

func openTerms(now time.Time) (giveaway.Terms, error) {
	t := base(Open, "Win a pair of hiking boots in your size.")
	closes := now.Add(openDays * 24 * time.Hour).Truncate(time.Minute)
	return times(t, now.Add(-sinceOpen), closes, closes.Add(2*time.Hour))
}

// nextTerms closes eleven minutes before the event, as near as terms allow,
// and a minute more, so that it has been closed for ten.
func nextTerms(event time.Time, relays bool) (giveaway.Terms, error) {
	t := base(Next, "Win winter hiking boots in your size.")
	t.LockMinutes = giveaway.LeastLockMinutes
	t.Paragraphs = nothing + " So that it can be tried at the desk within a minute, its list stays open to be locked by hand until five seconds before the draw, whatever stands above."
	if !relays {
		t.Beacon = giveaway.BeaconNone
	}
	closes := event.Add(-11 * time.Minute)
	return times(t, closes.Add(-7*24*time.Hour), closes, event)
}

func finishedTerms() (giveaway.Terms, error) {
	event := beacon.Quicknet().TimeOf(pastRound)
	closes := event.Add(-2 * time.Hour)
	return times(base(Finished, "Win summer hiking boots in your size."), closes.Add(-10*24*time.Hour), closes, event)
}

// nothing stands at the end of the sample's rules, which are written from its
// terms like any other.
const nothing = "This giveaway is an invented sample. Nobody can win anything in it."
