package beacon

import (
	"fmt"
	"time"
)

// MaxRound is the greatest round number: the protocol writes numbers with at
// most 15 digits.
const MaxRound = 999_999_999_999_999

// farSeconds stands for times past all writing, in Unix seconds; [time.Time]
// still compares it rightly.
const farSeconds = 1 << 60

// TimeOf returns the time of a round, UTC: genesis + (round − 1) × period.
// There is no round 0; for it, TimeOf returns the genesis. A time too far off
// to compute (a round over [MaxRound], or a product over 2⁶⁰ seconds) is
// returned as 2⁶⁰ seconds, later than any that the protocol can write.
func (c Chain) TimeOf(round uint64) time.Time {
	if round <= 1 {
		return time.Unix(c.Genesis, 0).UTC()
	}
	steps := round - 1
	if round > MaxRound || c.Period < 0 || c.Period > 0 && steps > farSeconds/uint64(c.Period) {
		return time.Unix(farSeconds, 0).UTC()
	}
	return time.Unix(c.Genesis+int64(steps)*c.Period, 0).UTC()
}

// RoundAt returns the first round whose time is not before t; for t before
// the genesis that is round 1. It is an error if the chain has no period or
// the round would be over [MaxRound].
func (c Chain) RoundAt(t time.Time) (uint64, error) {
	if c.Period < 1 {
		return 0, fmt.Errorf("find beacon round: chain has the period %d", c.Period)
	}
	seconds := t.Unix()
	if t.Nanosecond() > 0 {
		seconds++ // rounds fall on whole seconds
	}
	if seconds <= c.Genesis {
		return 1, nil
	}
	elapsed := uint64(seconds) - uint64(c.Genesis)
	period := uint64(c.Period)
	steps := elapsed / period
	if elapsed%period > 0 {
		steps++
	}
	if steps >= MaxRound {
		return 0, fmt.Errorf("find beacon round: the time is past round %d", uint64(MaxRound))
	}
	return steps + 1, nil
}
