package show

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"
)

var start = time.Date(2026, 12, 12, 1, 30, 0, 0, time.UTC)

// walk presses forward until nothing follows.
func walk(s State, places int, now time.Time) (steps []string) {
	for {
		step, place, ok := s.ahead(places)
		if !ok {
			return steps
		}
		s = s.to(step, place, now)
		steps = append(steps, fmt.Sprint(step, " ", place))
	}
}

// The order of the pictures is the event's own, no outside source: each place is
// shown by itself, none where the list was empty, and those next in line never
// by pressing forward.
func TestOrderOfThePictures(t *testing.T) {
	head := []string{"tickets 0", "locked 0", "number 0", "opened 0", "line 0"}
	for places, tail := range map[int][]string{
		0: {"next 0"}, 1: {"first 1", "next 0"}, 3: {"first 1", "first 2", "first 3", "next 0"},
	} {
		if got, want := walk(State{}, places, start), slices.Concat(head, tail); !slices.Equal(got, want) {
			t.Errorf("%d places: %v, want %v", places, got, want)
		}
		// Back is forward turned round.
		s := State{Step: Next}
		var back []string
		for {
			step, place, ok := s.before(places)
			if !ok {
				break
			}
			s = s.to(step, place, start)
			back = append(back, fmt.Sprint(step, " ", place))
		}
		slices.Reverse(back)
		if want := slices.Concat([]string{"soon 0"}, head, tail[:len(tail)-1]); !slices.Equal(back, want) {
			t.Errorf("%d places: back %v, want %v", places, back, want)
		}
	}
	if step, _, ok := (State{Step: Alternates}).before(1); step != Next || !ok {
		t.Errorf("before those next in line comes %v", step)
	}
	if _, _, ok := (State{Step: Alternates}).ahead(1); ok {
		t.Error("something follows those next in line")
	}
}

// Viewers see a picture when the delay is over, to the millisecond, and in the
// order of the stage; going back, hold and dark are the stage's own.
func TestSeen(t *testing.T) {
	s := State{Draw: "boots", Delay: 20}
	for i, step := range []Step{Soon, Tickets, Locked} {
		s = s.to(step, 0, start.Add(time.Duration(i)*10*time.Second))
	}
	s = s.to(Tickets, 0, start.Add(25*time.Second)) // back
	s.Dark, s.Held = true, true
	for _, c := range []struct {
		after time.Duration
		want  Step
		n     int64
	}{
		{0, Soon, 0}, {20*time.Second - time.Millisecond, Soon, 0}, {20 * time.Second, Soon, 1}, {30*time.Second - time.Millisecond, Soon, 1},
		{30 * time.Second, Tickets, 2}, {40*time.Second - time.Millisecond, Tickets, 2}, {40 * time.Second, Locked, 3}, {time.Hour, Locked, 3},
	} {
		got := s.Seen(start.Add(c.after))
		if got.Step != c.want || got.Version != c.n || got.Dark || got.Held {
			t.Errorf("after %v: %+v, want %v", c.after, got, c.want)
		}
	}
	// A picture that another server stamped early waits for those before it.
	s.Reached = append(s.Reached, Reached{Step: Number, At: start.Add(-time.Hour)})
	if got := s.Seen(start.Add(35 * time.Second)); got.Step != Tickets {
		t.Errorf("seen %v out of its turn", got.Step)
	}
}

// The release is a whole second, never before first place + delay.
func TestReleaseAt(t *testing.T) {
	s := State{Delay: 20}
	if at := s.to(Line, 0, start).releaseAt(start); !at.IsZero() {
		t.Errorf("released at %v before the first place", at)
	}
	if at := s.to(First, 1, start.Add(time.Millisecond)).releaseAt(start); !at.Equal(start.Add(21 * time.Second)) {
		t.Errorf("released at %v", at)
	}
	if at := s.to(Next, 0, start).releaseAt(start); !at.Equal(start.Add(20 * time.Second)) {
		t.Errorf("an empty list is released at %v", at)
	}
	if at := s.to(First, 1, start.Add(-time.Hour)).releaseAt(start); !at.Equal(start.Add(20 * time.Second)) {
		t.Errorf("by a clock that is behind the draw's it is released at %v", at)
	}
}

// A clock that goes back stamps no picture before those that were shown; the
// rule is our own.
func TestClockGoesBack(t *testing.T) {
	s := State{Delay: 20}.to(Opened, 0, start).to(Line, 0, start.Add(time.Second)).to(First, 1, start.Add(-time.Minute))
	if want := start.Add(time.Second); !s.Moved.Equal(want) || !s.reachedAt(First, 1).Equal(want) {
		t.Errorf("the first place was shown at %v, moved %v, want %v", s.reachedAt(First, 1), s.Moved, want)
	}
	if seen := s.Seen(start.Add(20 * time.Second)); seen.Step != Opened {
		t.Errorf("viewers see %v", seen.Step)
	}
}

func TestStepWords(t *testing.T) {
	for s := Soon; s <= Alternates; s++ {
		b, err := json.Marshal(s)
		var back Step
		if err == nil {
			err = json.Unmarshal(b, &back)
		}
		if err != nil || back != s {
			t.Errorf("%s becomes %v: %v", b, back, err)
		}
	}
	for _, word := range []string{"", "First", "first ", "ninth"} {
		if _, err := ParseStep(word); err == nil {
			t.Errorf("%q is a step", word)
		}
	}
	if _, err := json.Marshal(Step(9)); err == nil {
		t.Error("a step of no picture is written")
	}
}
