package web

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
	"evenhand/show"
)

// A readyLine is one thing that the show needs: whether it is so, in words, and
// what to do where it is not. What is neither Good nor Later is wrong now and
// can be put right now: that alone is red.
type readyLine struct {
	Good  bool
	Later bool // it is not so yet, and need not be
	Name  string
	Text  string
	Do    step   // leads to where it is put right; zero: there is no such page
	Tick  string // the creator says that it is so; "" : the program knows by itself
	Say   string // of the button that ticks
}

// Word says how the thing stands.
func (l readyLine) Word() string {
	switch {
	case l.Good:
		return "Ready."
	case l.Later:
		return "Not yet."
	}
	return "Not ready."
}

// Class is the word's style.
func (l readyLine) Class() string {
	switch {
	case l.Good:
		return "ready"
	case l.Later:
		return "later"
	}
	return "red"
}

// The things that only the creator can know are noted in the giveaway's log,
// in these words.
const (
	tickPosted = "You said that the list’s fingerprint is posted under the video."
	tickCopied = "You said that a copy of the data was made after the lock."
	tickAtOnce = "You said that viewers’ pages may follow the stage at once."
)

// ticks are those by the word that the form sends.
var ticks = map[string]string{"posted": tickPosted, "copied": tickCopied, "at-once": tickAtOnce}

// readyLines look at everything that the show needs.
func (d *desk) readyLines(c echo.Context, g giveaway.Giveaway) ([]readyLine, error) {
	ctx := c.Request().Context()
	log, err := d.cfg.Host.Logged(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	ticked := func(words string) bool { return g.State == giveaway.StateFrozen && noted(log, words, g.Frozen) }
	lines := []readyLine{d.lockLine(g, now(c)), postedLine(g, ticked(tickPosted))}
	seconds, err := d.seconds(ctx, g, nil)
	if err != nil {
		return nil, err
	}
	for _, s := range seconds {
		lines = append(lines, secondLine(g, s))
	}
	number, clock := d.networkLines(ctx, g, d.cfg.Now().UTC())
	lines = append(lines, number, clock, d.databaseLine(ctx))
	keys, err := d.keyLines(ctx, g, now(c))
	if err != nil {
		return nil, err
	}
	lines = append(lines, keys...)
	delay, err := d.delayLine(ctx, g, now(c), ticked(tickAtOnce))
	if err != nil {
		return nil, err
	}
	lines = append(lines, delay)
	names, err := d.namesLine(ctx, g, now(c))
	if err != nil {
		return nil, err
	}
	return append(lines, names, sheetLine(g), d.diskLine(), copyLine(g, ticked(tookCopy), ticked(tickCopied))), nil
}

// lockLine is about the list of tickets.
func (d *desk) lockLine(g giveaway.Giveaway, at time.Time) readyLine {
	l := readyLine{Name: "The list", Do: step{"Lock the list", "/desk/g/" + g.ID + "/lock"}}
	switch {
	case g.State == giveaway.StateFrozen:
		l.Good, l.Text, l.Do = true, "It was locked on "+stamp("", g.Frozen, g.Terms.Event.Zone).Words+".", step{"Show its fingerprint", l.Do.Path}
	case g.State == giveaway.StateFreezing:
		l.Later, l.Text, l.Do = true, "It is being locked. Look again in a moment.", step{}
	case at.Before(g.Opening.Closes):
		l.Later, l.Text, l.Do = true, "It can be locked when entries have closed, on "+stamp("", g.Opening.Closes, g.Terms.Event.Zone).Words+".", step{}
	case !at.Before(g.Opening.Event):
		l.Text, l.Do = "It was not locked before the draw, so there is no draw at that time. Move the draw to a later time.", step{"Move the draw", "/desk/g/" + g.ID + "/later"}
	default:
		l.Text = "It is not locked. If nobody does it, it locks itself on " + stamp("", g.LockAt(), g.Terms.Event.Zone).Words + "."
	}
	return l
}

// postedLine is about the fingerprint under the video.
func postedLine(g giveaway.Giveaway, ticked bool) readyLine {
	l := readyLine{Name: "Under the video", Do: step{"The text for under the video", "/desk/g/" + g.ID + "/spread"}}
	switch {
	case ticked:
		l.Good, l.Text = true, "You said that the list’s fingerprint is posted. The program can’t look there."
	case g.State == giveaway.StateFrozen:
		l.Text, l.Tick, l.Say = "Post the list’s fingerprint before the draw: it shows that nobody touched the list later.", "posted", "It is posted"
	default:
		l.Later, l.Text, l.Do = true, "The list’s fingerprint can be posted once the list is locked.", step{}
	}
	return l
}

// secondLine is about a number that somebody else holds.
func secondLine(g giveaway.Giveaway, s secondRow) readyLine {
	l := readyLine{Name: "The number of " + s.Who}
	switch {
	case s.Value != "":
		l.Good, l.Text = true, "It has come, on "+s.When.Words+"."
	case s.Link != "":
		l.Text, l.Do = "It has not come yet. Remind "+s.Who+"; the address is "+s.Link+". The draw holds without it, and everything will say so.", step{}
	default:
		l.Later, l.Text = true, "It can be handed in once the list is locked."
	}
	return l
}

// connected is how long ago a screen may have been heard of: streams are heard
// of at least every heartbeat.
const connected = 2*heartbeat + 5*time.Second

// screensDue is how long before the draw stage and remote should be there. Our
// own choice.
const screensDue = 2 * time.Hour

// keyLines are about stage and remote.
func (d *desk) keyLines(ctx context.Context, g giveaway.Giveaway, at time.Time) ([]readyLine, error) {
	keys, err := d.cfg.Event.Keys.KeysOf(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	pair, due := step{"Stage and remote", "/desk/g/" + g.ID + "/show/pair"}, g.DrawAt().Add(-screensDue)
	var lines []readyLine
	for _, kind := range []struct{ key, name, open string }{
		{show.KeyStage, "The stage", "Open it in the window or the streaming program that sends the picture."},
		{show.KeyRemote, "The remote", "Open it on the phone or the computer that you press with."},
	} {
		l := readyLine{Name: kind.name, Later: at.Before(due), Text: "It has no address yet.", Do: pair}
		if i := slices.IndexFunc(keys, func(k show.Key) bool { return k.Kind == kind.key }); i >= 0 {
			l.Text = "No screen shows it now. " + kind.open
			if l.Later {
				l.Text = "No screen shows it now, which can wait until " + stamp("", due, g.Terms.Event.Zone).Words + ". " + kind.open
			}
			if seen := keys[i].Seen; !seen.IsZero() && at.Sub(seen) < connected {
				l.Good, l.Text = true, "A screen shows it."
			}
		}
		lines = append(lines, l)
	}
	return lines, nil
}

// delayLine is about how late viewers' pages follow the stage.
func (d *desk) delayLine(ctx context.Context, g giveaway.Giveaway, at time.Time, ticked bool) (readyLine, error) {
	l := readyLine{Name: "Viewers’ pages", Do: step{"Set by how many seconds", "/desk/g/" + g.ID + "/show/pair"}}
	st, err := d.cfg.Event.Show.State(ctx, g.ID)
	switch {
	case st.Delay > 0:
		l.Good, l.Text = true, "They follow the stage by "+many(int64(st.Delay), "second", "seconds")+"."
	case ticked:
		l.Good, l.Text = true, "They follow the stage at once; you said that they may."
	default:
		l.Text = "They follow the stage at once. A stream is seconds late: whoever has such a page open then knows the result before the stream shows it."
		if l.Later = g.State != giveaway.StateFrozen || at.Before(g.DrawAt().Add(-screensDue)); !l.Later {
			l.Tick, l.Say = "at-once", "They may follow at once"
		}
	}
	return l, err
}

// sheetLine is about the recovery sheet.
func sheetLine(g giveaway.Giveaway) readyLine {
	l := readyLine{Name: "The recovery sheet", Good: true, Text: "You said that you have kept it."}
	switch {
	case g.Sample:
		l.Text = "An invented sample needs none."
	case g.Kept.IsZero():
		l.Good, l.Text = false, "You have not said that it is kept. Keep it away from this computer, in case this one breaks before the draw."
		l.Do = step{"Recovery sheet", "/desk/g/" + g.ID + "/sheet"}
	}
	return l
}

// diskLow is how much room there should be where the data lies. A choice of
// ours, no source.
const diskLow = 1 << 30 // bytes

func (d *desk) diskLine() readyLine {
	l := readyLine{Name: "Room on the disk"}
	if d.cfg.Event.Disk == nil {
		l.Good, l.Text = true, "The program can’t see how much is free here. Look yourself, if you are unsure."
		return l
	}
	free, err := d.cfg.Event.Disk()
	switch {
	case err != nil:
		l.Text = "The program could not see how much is free. Look yourself."
	case free < diskLow:
		l.Text = "Only " + megabytes(free) + " are free where the data lies. Make room before the draw: its result has to be written down."
	default:
		l.Good, l.Text = true, megabytes(free)+" are free where the data lies."
	}
	return l
}

// megabytes writes 5368709120 as "5,368 MB".
func megabytes(bytes uint64) string { return number(int64(bytes/1e6)) + " MB" }

// copyLine is about a backup.
func copyLine(g giveaway.Giveaway, took, ticked bool) readyLine {
	l := readyLine{Name: "A copy of the data", Do: step{"Save a copy", "/desk/g/" + g.ID + "/copy"}}
	switch {
	case took:
		l.Good, l.Text = true, "The desk gave one out after the lock. Look whether the file has arrived."
	case ticked:
		l.Good, l.Text = true, "You said that one was made after the lock. The program can’t see it: this line goes by your word alone."
	case g.State == giveaway.StateFrozen:
		l.Text, l.Tick, l.Say = "Save one now, so that a broken disk can’t end the draw.", "copied", "It is made in another way"
	default:
		l.Later, l.Text = true, "Save one after the lock."
	}
	return l
}

// postTick notes what the creator says is so, and leads to where that was asked:
// the page about the show, or the one about the fingerprint, which goes on to the
// day-book. Twice is once.
func (d *desk) postTick(c echo.Context) error {
	g, err := d.shown(c)
	if err != nil {
		return err
	}
	words, ok := ticks[c.FormValue("tick")]
	if !ok {
		return errMalformed
	}
	if g.State == giveaway.StateFrozen {
		if err := d.noteOnce(c, g, words, g.Frozen); err != nil {
			return err
		}
	}
	if c.FormValue("then") == "day" {
		return toDay(c, g)
	}
	return c.Redirect(http.StatusSeeOther, "/desk/g/"+g.ID+"/show")
}

// secondsWords writes a difference of clocks.
func secondsWords(d time.Duration) string {
	d = d.Abs()
	switch {
	case d < 2*time.Minute:
		return many(int64(d.Round(time.Second)/time.Second), "second", "seconds")
	case d < 2*time.Hour:
		return many(int64(d/time.Minute), "minute", "minutes")
	case d < 48*time.Hour:
		return many(int64(d/time.Hour), "hour", "hours")
	}
	return many(int64(d/(24*time.Hour)), "day", "days")
}
