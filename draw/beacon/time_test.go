package beacon_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"evenhand/draw/beacon"
)

func TestTimesOfPublishedRounds(t *testing.T) {
	c := beacon.Quicknet()
	for _, r := range loadVectors(t).Rounds {
		if got := c.TimeOf(r.Round); got.Unix() != r.Time || got.Location() != time.UTC {
			t.Errorf("round %d: time %v, want %v", r.Round, got, time.Unix(r.Time, 0).UTC())
		}
		if got, err := c.RoundAt(time.Unix(r.Time, 0)); got != r.Round || err != nil {
			t.Errorf("time of round %d: got round %d, %v", r.Round, got, err)
		}
	}
}

func TestRoundAtEdges(t *testing.T) {
	c := beacon.Quicknet()
	start := c.TimeOf(1)
	for _, test := range []struct {
		offset time.Duration
		want   uint64
	}{
		{-100 * 365 * 24 * time.Hour, 1},
		{-time.Nanosecond, 1},
		{0, 1},
		{time.Nanosecond, 2},
		{time.Second, 2},
		{3 * time.Second, 2},
		{3*time.Second + time.Nanosecond, 3},
		{4 * time.Second, 3},
		{6 * time.Second, 3},
	} {
		if got, err := c.RoundAt(start.Add(test.offset)); got != test.want || err != nil {
			t.Errorf("genesis%+v: got round %d, %v, want %d", test.offset, got, err, test.want)
		}
	}
	if got, err := c.RoundAt(time.Time{}); got != 1 || err != nil {
		t.Errorf("zero time: got round %d, %v, want 1", got, err)
	}
}

// The zone of a time says nothing about the round.
func TestRoundAtIgnoresZone(t *testing.T) {
	c := beacon.Quicknet()
	at := time.Date(2026, 12, 11, 20, 30, 0, 0, time.FixedZone("", -5*3600))
	here, _ := c.RoundAt(at)
	there, _ := c.RoundAt(at.UTC())
	// By hand: 2026-12-12T01:30:00Z is 1797039000; (1797039000 − 1692803367) / 3
	// = 34745211 exactly, so round 34745212.
	if here != there || here != 34745212 {
		t.Errorf("got rounds %d and %d, want 34745212", here, there)
	}
}

// RoundAt and TimeOf by their definitions, for many chains and times: the
// round's time is not before t, the time of the round before it is.
func TestRoundsAndTimesFit(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		c := beacon.Chain{Period: 1 + random.Int64N(1<<random.Int64N(32)), Genesis: random.Int64N(4e9)}
		at := time.Unix(c.Genesis+random.Int64N(1<<random.Int64N(38)), random.Int64N(2)*random.Int64N(1e9))
		round, err := c.RoundAt(at)
		if err != nil {
			t.Fatal(err)
		}
		if c.TimeOf(round).Before(at) {
			t.Fatalf("period %d: round %d at %v is before %v", c.Period, round, c.TimeOf(round), at)
		}
		if round > 1 && !c.TimeOf(round-1).Before(at) {
			t.Fatalf("period %d: round %d at %v is not the first from %v", c.Period, round, c.TimeOf(round), at)
		}
		if again, err := c.RoundAt(c.TimeOf(round)); again != round || err != nil {
			t.Fatalf("period %d: round %d comes back as %d, %v", c.Period, round, again, err)
		}
	}
}

func TestGreatRounds(t *testing.T) {
	lastWritten := time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC) // draw protocol, "Conventions"
	quick := beacon.Quicknet()
	slow := quick
	slow.Period = 1<<32 - 1
	for _, c := range []beacon.Chain{quick, slow} {
		before := c.TimeOf(1)
		for round := uint64(10); round <= beacon.MaxRound; round = round*10 + 9 {
			at := c.TimeOf(round)
			if at.Before(before) {
				t.Errorf("period %d: round %d at %v runs backwards", c.Period, round, at)
			}
			before = at
		}
		for _, round := range []uint64{beacon.MaxRound, beacon.MaxRound + 1, 1 << 63, 1<<64 - 1} {
			if at := c.TimeOf(round); !at.After(lastWritten) {
				t.Errorf("period %d: round %d at %v, want after %v", c.Period, round, at, lastWritten)
			}
		}
	}
	// 1692803367 + (10^15 − 2) × 3, by hand.
	if got := quick.TimeOf(beacon.MaxRound).Unix(); got != 3000001692803361 {
		t.Errorf("last round at %d, want 3000001692803361", got)
	}
	// No such round: as far off as TimeOf says, not one period later.
	if got := quick.TimeOf(beacon.MaxRound + 1).Unix(); got != 1<<60 {
		t.Errorf("round past the last at %d, want 2^60", got)
	}
	if got, err := quick.RoundAt(time.Unix(3000001692803361, 0)); got != beacon.MaxRound || err != nil {
		t.Errorf("last round comes back as %d, %v", got, err)
	}
	if got, err := quick.RoundAt(time.Unix(3000001692803362, 0)); err == nil {
		t.Errorf("a time past the last round gives round %d", got)
	}
}

func TestZeroChainHasNoRounds(t *testing.T) {
	if got, err := (beacon.Chain{}).RoundAt(time.Unix(1692803367, 0)); err == nil {
		t.Errorf("got round %d", got)
	}
	if got := beacon.Quicknet().TimeOf(0); got.Unix() != 1692803367 {
		t.Errorf("round 0: got %v, want the genesis", got)
	}
}

// Round 1000 and its time are published ones, see testdata/vectors.
func ExampleChain_RoundAt() {
	c := beacon.Quicknet()
	round, err := c.RoundAt(time.Date(2023, 8, 23, 15, 59, 22, 0, time.UTC))
	if err != nil {
		panic(err)
	}
	fmt.Println(round, c.TimeOf(round).Format(time.RFC3339))

	// Output: 1000 2023-08-23T15:59:24Z
}
