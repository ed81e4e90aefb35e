package web

import (
	"context"
	"sync"
	"time"

	"evenhand/draw/beacon"
	"evenhand/giveaway"
)

// How long the network is asked, how long its answer counts, and by how much a
// clock may be wrong. A number comes every three seconds (quicknet), and takes
// a moment to reach the relays; with two seconds for that, a clock that is wrong
// by ten is always found out, and one that is wrong by less than three never.
const (
	networkPatience = 5 * time.Second
	networkKept     = 15 * time.Second
	clockLag        = 6 * time.Second // the number of so long ago must be there
	clockLead       = 6 * time.Second // the number of so far ahead must not
	clockOff        = 2 * time.Second // against the database
)

// A networkLook is what the network of the public number said last.
type networkLook struct {
	mu    sync.Mutex // held while it is asked: one asks for all
	at    time.Time
	there bool // a number of a moment ago came
	old   bool // one of an hour ago came
	ahead bool // one came that should not be there yet: this clock is behind
}

// ask asks for three numbers at once, unless the last answer still counts.
func (n *networkLook) ask(ctx context.Context, from giveaway.Beacons, at time.Time) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if since := at.Sub(n.at); !n.at.IsZero() && since >= 0 && since < networkKept {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, networkPatience)
	defer cancel()
	chain := beacon.Quicknet()
	var wait sync.WaitGroup
	for _, one := range []struct {
		at time.Time
		to *bool
	}{{at.Add(-clockLag), &n.there}, {at.Add(-time.Hour), &n.old}, {at.Add(clockLead), &n.ahead}} {
		wait.Go(func() {
			round, err := chain.RoundAt(one.at)
			if err == nil {
				_, _, err = from.Fetch(ctx, chain, round)
			}
			*one.to = err == nil
		})
	}
	wait.Wait()
	n.at = at
}

// networkLines are about the public number, and about this clock against it.
func (d *desk) networkLines(ctx context.Context, g giveaway.Giveaway, at time.Time) (number, clock readyLine) {
	number, clock = readyLine{Name: "The public number"}, readyLine{Name: "This clock"}
	if g.Opening.Beacon == nil {
		number.Good, number.Text = true, "This draw waits for none: the locked numbers alone decide."
		clock.Good, clock.Text = true, "Nothing to compare it with: this draw waits for no public number."
		return number, clock
	}
	d.network.ask(ctx, d.cfg.Host.Beacons, at)
	switch n := &d.network; {
	case n.ahead:
		number.Good, number.Text = true, "The network answers."
		clock.Text = "It is behind: the network has numbers already that would come in " + secondsWords(clockLead) + " by this clock. Set the computer’s clock, best by itself from the network."
	case n.there:
		number.Good, number.Text = true, "The network answers; its number of a moment ago was right."
		clock.Good, clock.Text = true, "It agrees with the network that makes the public numbers, to within ten seconds. Less can’t be seen from here, and changes nothing of the draw; have the computer set its clock from the network by itself."
	case n.old:
		number.Good, number.Text = true, "The network answers, but its newest number is late."
		clock.Text = "It may be ahead: the number of a moment ago is not there yet. Set the computer’s clock, best by itself from the network."
	default:
		number.Text = "Nobody of the network answers. Look at this computer’s connection. If it stays so, the remote asks again at the draw; it then also says on which addresses the number stands, and takes it pasted from there."
		clock.Later, clock.Text = true, "It could not be compared with the network, which does not answer. Look at it yourself."
	}
	return number, clock
}

// databaseLine compares this clock with the database's.
func (d *desk) databaseLine(ctx context.Context) readyLine {
	l := readyLine{Name: "The database"}
	if d.cfg.Event.Clock == nil {
		l.Good, l.Text = true, "It answers. It lies on this computer and has the same clock."
		return l
	}
	asked := d.cfg.Now()
	theirs, err := d.cfg.Event.Clock(ctx)
	if err != nil {
		l.Text = "It does not answer as it should. Look at the program’s log."
		return l
	}
	answered := d.cfg.Now()
	off := theirs.Sub(asked.Add(answered.Sub(asked) / 2)) // it looked somewhere between
	if off.Abs() > clockOff+answered.Sub(asked)/2 {
		way := "ahead of"
		if off < 0 {
			way = "behind"
		}
		l.Text = "Its clock is " + secondsWords(off) + " " + way + " this one. Set both clocks, best by themselves from the network."
		return l
	}
	l.Good, l.Text = true, "It answers, and its clock agrees with this one."
	return l
}
