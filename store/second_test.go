package store

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/giveaway"
)

// A published round of quicknet, with its time and signature.
type published struct {
	Round     uint64
	Signature string
	Time      int64 `json:"round_time_unix"`
}

func (r published) Fetch(_ context.Context, _ beacon.Chain, round uint64) ([]byte, string, error) {
	if round != r.Round {
		return nil, "", fmt.Errorf("asked for round %d", round)
	}
	sig, err := hex.DecodeString(r.Signature)
	return sig, "a test", err
}

// round is round 30662992 of testdata/vectors/drand-quicknet.json, which names
// its source.
func (s *suite) round() published {
	s.t.Helper()
	data, err := os.ReadFile("../testdata/vectors/drand-quicknet.json")
	s.must(err)
	var file struct{ Rounds []published }
	s.must(json.Unmarshal(data, &file))
	i := slices.IndexFunc(file.Rounds, func(r published) bool { return r.Round == 30662992 })
	if i < 0 {
		s.t.Fatal("no such round")
	}
	return file.Rounds[i]
}

// A secondsTest is an open giveaway with a beacon and two seconds, whose draw
// is made at the time of a published round.
type secondsTest struct {
	*suite
	hosts   []giveaway.Host
	g       giveaway.Giveaway
	event   time.Time
	secrets map[string][32]byte
}

func (s *suite) withSeconds() *secondsTest {
	s.t.Helper()
	round := s.round()
	st := &secondsTest{suite: s, hosts: s.hosts(), event: time.Unix(round.Time, 0).UTC(), secrets: map[string][32]byte{}}
	for i := range st.hosts {
		st.hosts[i].Beacons = round
	}
	t := s.hostTerms("trail-boots")
	t.Beacon = giveaway.BeaconQuicknet
	for before, m := range map[time.Duration]*giveaway.Moment{48 * time.Hour: &t.Opens, 2 * time.Hour: &t.Closes, 0: &t.Event} {
		var err error
		*m, err = giveaway.MomentAt(st.event.Add(-before), "America/New_York")
		s.must(err)
	}
	for i, role := range []string{"ann", "sponsor"} { // one before host, one after it
		secret := [32]byte(draw.Hash(fmt.Append(nil, "a secret of ", i)))
		st.secrets[role] = secret
		seal := draw.Seal{Draw: "trail-boots", Signer: s.signer.Name(), Role: role, Secret: secret}
		t.Seconds = append(t.Seconds, giveaway.Second{Role: role, Who: "Second " + role, Hash: seal.Hash()})
	}
	st.g = s.hostOpen(st.hosts[0], t)
	s.entrants(st.g, 5)
	return st
}

func (st *secondsTest) lock() {
	st.t.Helper()
	_, err := st.hosts[0].Lock(bg(), st.event.Add(-time.Hour), "trail-boots")
	st.must(err)
}

func (st *secondsTest) handIn(now time.Time, role string) error {
	_, err := st.hosts[0].HandIn(bg(), now, "trail-boots", role, st.secrets[role])
	return err
}

func (st *secondsTest) draw(now time.Time) draw.Report {
	st.t.Helper()
	_, err := st.hosts[1].Draw(bg(), now, "trail-boots", nil)
	st.must(err)
	return st.verified("trail-boots")
}

// withheld are the roles whose seal the record leaves shut.
func withheld(r draw.Report) (roles []string) {
	for _, s := range r.Record.Secrets {
		if s.Withheld {
			roles = append(roles, s.Role)
		}
	}
	return roles
}

// With two seconds there are three seals, by ascending role; the record opens
// those that were handed in, and the check calls the draw weak exactly where
// one was withheld (protocol, "record.txt").
func TestSecondsInTheRecord(t *testing.T) {
	for _, c := range []struct {
		name    string
		in      []string
		left    []string
		verdict string
	}{
		{"both", []string{"sponsor", "ann"}, nil, "valid"},
		{"one", []string{"ann"}, []string{"sponsor"}, "valid, weak"},
		{"the other", []string{"sponsor"}, []string{"ann"}, "valid, weak"},
		{"none", nil, []string{"ann", "sponsor"}, "valid, weak"},
	} {
		t.Run(c.name, func(t *testing.T) {
			each(t, func(t *testing.T, s *suite) {
				st := s.withSeconds()
				var roles []string
				for _, seal := range st.g.Opening.Seals {
					roles = append(roles, seal.Role)
				}
				if !slices.Equal(roles, []string{"ann", "host", "sponsor"}) {
					t.Fatalf("the posted terms have the seals %v", roles)
				}
				st.lock()
				for _, role := range c.in {
					s.must(st.handIn(st.event.Add(-30*time.Minute), role))
				}
				report := st.draw(st.event)
				if report.Verdict != c.verdict || report.Weak != (c.left != nil) || !slices.Equal(withheld(report), c.left) {
					t.Errorf("%s, withheld %v", report.Verdict, withheld(report))
				}
			})
		})
	}
}

// When a secret may be handed in, and what is answered at other times.
func TestHandInByTime(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		st := s.withSeconds()
		h := st.hosts[0]
		in := func(now time.Time, role string, secret [32]byte) error {
			_, err := h.HandIn(bg(), now, "trail-boots", role, secret)
			return err
		}
		s.want(in(st.event.Add(-3*time.Hour), "ann", st.secrets["ann"]), giveaway.ErrNotLocked)
		s.want(in(st.event.Add(-3*time.Hour), "ann", [32]byte{}), giveaway.ErrNotLocked)
		st.lock()
		s.want(in(st.event, "ann", st.secrets["sponsor"]), giveaway.ErrWrongSecret)
		s.want(in(st.event, "sponsor", [32]byte{1}), giveaway.ErrWrongSecret)
		s.want(in(st.event, "nobody", st.secrets["ann"]), giveaway.ErrNoRole)
		secret, err := s.HostSecret(bg(), "trail-boots")
		s.must(err)
		s.want(in(st.event, "host", secret), giveaway.ErrNoRole)
		if got, err := h.Handed(bg(), "trail-boots"); err != nil || len(got) != 0 {
			t.Fatalf("handed in: %v, %v", got, err)
		}
		first := st.event.Add(-time.Minute)
		s.must(in(first, "ann", st.secrets["ann"]))
		s.must(in(st.event.Add(time.Minute), "ann", st.secrets["ann"]))         // twice
		s.must(in(st.event.Add(time.Minute), "sponsor", st.secrets["sponsor"])) // after the event
		want := []giveaway.HandedIn{
			{Role: "ann", Secret: st.secrets["ann"], At: first},
			{Role: "sponsor", Secret: st.secrets["sponsor"], At: st.event.Add(time.Minute)},
		}
		if got, err := h.Handed(bg(), "trail-boots"); err != nil || !slices.Equal(got, want) {
			t.Errorf("handed in %v\nwant %v: %v", got, want, err)
		}
		if report := st.draw(st.event.Add(2 * time.Minute)); report.Verdict != "valid" {
			t.Errorf("the verdict is %s", report.Verdict)
		}
		s.want(in(st.event.Add(3*time.Minute), "ann", st.secrets["ann"]), giveaway.ErrState)
		_, err = h.HandIn(bg(), st.event, "nowhere", "ann", st.secrets["ann"])
		s.want(err, giveaway.ErrNotFound)
	})
}

func TestHandInAfterCancel(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		st := s.withSeconds()
		st.lock()
		_, err := st.hosts[0].Cancel(bg(), st.event.Add(-time.Minute), "trail-boots", "secret-lost", "")
		s.must(err)
		s.want(st.handIn(st.event, "ann"), giveaway.ErrState)
		if report := s.verified("trail-boots"); report.Verdict != draw.IsCancelled {
			t.Errorf("the verdict is %s", report.Verdict)
		}
	})
}

// Fifty hand in one secret on two servers at once: it is in once.
func TestHandInAtOnce(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		st := s.withSeconds()
		st.lock()
		now := st.event.Add(-time.Minute)
		s.pressAll("hand in", st.hosts, func(h giveaway.Host) (giveaway.Giveaway, error) {
			return h.HandIn(bg(), now, "trail-boots", "ann", st.secrets["ann"])
		})
		if got, err := st.hosts[1].Handed(bg(), "trail-boots"); err != nil || len(got) != 1 || got[0].Secret != st.secrets["ann"] {
			t.Errorf("handed in %v: %v", got, err)
		}
	})
}

// A secret that is handed in while the draw is made is in the record, or it
// came too late and its holder was told so; either record holds.
func TestHandInWhileItIsDrawn(t *testing.T) {
	for _, wait := range []time.Duration{0, 2 * time.Millisecond, 10 * time.Millisecond} {
		t.Run(wait.String(), func(t *testing.T) {
			each(t, func(t *testing.T, s *suite) {
				st := s.withSeconds()
				st.lock()
				s.must(st.handIn(st.event, "sponsor"))
				var wg sync.WaitGroup
				var told error
				for n := range 10 {
					wg.Go(func() {
						if _, err := st.hosts[n%2].Draw(bg(), st.event, "trail-boots", nil); err != nil {
							t.Error(err)
						}
					})
				}
				wg.Go(func() {
					time.Sleep(wait)
					told = st.handIn(st.event, "ann")
				})
				wg.Wait()
				if told != nil && !errors.Is(told, giveaway.ErrState) {
					t.Fatal(told)
				}
				report := s.verified("trail-boots")
				left := withheld(report)
				if (told != nil) != (len(left) == 1) || report.Weak != (len(left) == 1) {
					t.Errorf("told %v, withheld %v, %s", told, left, report.Verdict)
				}
				t.Logf("told %v, withheld %v", told, left)
			})
		})
	}
}
