package web

import (
	"bytes"
	"cmp"
	"io/fs"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/giveaway"
)

const rowLocked = "List locked"

// A dayRow is one thing that happened.
type dayRow struct {
	Name string // in the margin
	When Stamp
	Text string
	Post []fact // what to put under the video
	at   time.Time
}

// rowOrder are the names of rows in the order in which things happen, for what
// happened within one second. Those that can come at any time stand last.
var rowOrder = []string{"Terms written", "Looked at", "You went on", "Terms posted", "Sheet kept", "Terms changed", rowLocked, "Drawn", rowLetter, rowSkill, rowAnswer, rowConfirmed, rowAsked, rowStock, rowParcel, rowBack, rowSkipped, "Called off", "Noted", "Data deleted"}

// newestFirst sorts the rows; of one second, what came later stands first.
func (p *dayPage) newestFirst() {
	slices.SortStableFunc(p.Rows, func(a, b dayRow) int {
		return cmp.Or(b.at.Compare(a.at), slices.Index(rowOrder, b.Name)-slices.Index(rowOrder, a.Name))
	})
}

// printList puts the locked list's fingerprint beside the time of its lock.
func (d *desk) printList(c echo.Context, p *dayPage) error {
	if p.G.Frozen.IsZero() {
		return nil
	}
	report, err := d.check(c.Request().Context(), p.G)
	if err != nil || report.FreezeAt == nil {
		return err
	}
	for i := range p.Rows {
		if p.Rows[i].Name == rowLocked {
			p.Rows[i].Post = []fact{{"The fingerprint of the locked list", report.FreezeAt.String()}}
		}
	}
	return nil
}

// openings are the posted terms as they were, by revision, without the one that
// stands. What can't be read is left out.
func (s *Site) openings(g giveaway.Giveaway) []draw.Opening {
	var kept []draw.Opening
	for n := 1; n < g.Revision; n++ {
		name, text, err := keptText(s.cfg.Host.Store.Publication(g.ID), draw.OpeningFile, n)
		if err != nil {
			continue
		}
		if o, err := draw.ParseOpening(name, text); err == nil {
			kept = append(kept, o)
		}
	}
	return kept
}

// keptText is the text of a signed file as it was before its next revision, and
// that file's name.
func keptText(files fs.FS, file string, n int) (name string, text []byte, err error) {
	name = draw.KeptFile(file, n)
	note, err := fs.ReadFile(files, name)
	text, _, _ = bytes.Cut(note, []byte("\n\n"))
	return name, append(text, '\n'), err
}

// movedWords: "The draw moved from … to …."
func movedWords(what string, old, next time.Time, zone string) string {
	return what + " moved from " + stamp("", old, zone).Words + " to " + stamp("", next, zone).Words + "."
}

// changedWords says what a revision changed.
func changedWords(old, next draw.Opening, zone string) string {
	var words []string
	if !next.Closes.Equal(old.Closes) {
		words = append(words, movedWords("Entry closing", old.Closes, next.Closes, zone))
	}
	if !next.Event.Equal(old.Event) {
		words = append(words, movedWords("The draw", old.Event, next.Event, zone))
	}
	if next.Rules != old.Rules {
		words = append(words, "The rules changed.")
	}
	return strings.Join(append(words, "The old terms stand beside the new ones."), " ")
}

// add adds a row, unless its time is zero: then it has not happened.
func (p *dayPage) add(name, text string, at time.Time, post ...fact) {
	if !at.IsZero() {
		p.Rows = append(p.Rows, dayRow{name, stamp("", at, p.G.Terms.Event.Zone), text, post, at})
	}
}

// printOf is the fingerprint of posted terms. What was under the video once
// stays here after a change, so that it can be found again.
func printOf(o draw.Opening, now bool) fact {
	switch {
	case now && o.Revision == 1:
		return fact{"The fingerprint of the posted terms", draw.Hash(o.Text()).String()}
	case now:
		return fact{"The fingerprint of the posted terms, as they are now", draw.Hash(o.Text()).String()}
	}
	return fact{"The fingerprint of the posted terms, as they were then", draw.Hash(o.Text()).String()}
}

// history writes the rows, newest first. Kept are the posted terms as they
// were before.
func (p *dayPage) history(key string, kept []draw.Opening) {
	g, zone, add := p.G, p.G.Terms.Event.Zone, p.add
	all := append(slices.Clone(kept), g.Opening)
	add("Terms written", "You wrote the terms.", g.Created)
	if g.State != giveaway.StateDraft {
		add("Terms posted", "The terms were posted.", g.Opened,
			fact{"The giveaway’s address", p.Public}, fact{"The key that everything about it is signed with", key},
			printOf(all[0], len(kept) == 0))
	}
	for i, next := range all[1:] {
		add("Terms changed", changedWords(all[i], next, zone), next.Revised, printOf(next, i+1 == len(kept)))
	}
	if !g.Frozen.IsZero() {
		add(rowLocked, capitalized(many(p.Counts.In, "ticket is", "tickets are"))+" on it.", g.Frozen)
	}
	add("Drawn", "The draw was made.", g.Drawn)
	add("Called off", "You called it off. The reason: "+offWhy(g.CancelReason)+".", g.Cancelled)
	slices.Reverse(p.Rows) // of one name and second, what came later stands first
}
