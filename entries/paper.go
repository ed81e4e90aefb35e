package entries

import (
	"context"
	"fmt"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Paper takes a card or letter that the host types in, as the form is taken,
// but until the lock. Came is the time that decides whether it was in time; see
// [PaperTime]. The form's Once makes the ticket, so the same form sent again
// brings the same entry. Errors are those of [Intake.Enter], and [ErrLocked].
func (d Door) Paper(ctx context.Context, now, came time.Time, g giveaway.Giveaway, f Form) (Entered, error) {
	switch g.State {
	case giveaway.StateDraft:
		return Entered{}, giveaway.ErrNotFound
	case giveaway.StateOpen:
	default:
		return Entered{}, ErrLocked
	}
	v := Decide(f, g.Terms, came)
	if !v.OK() {
		return Entered{}, rejected(v)
	}
	t := Ticketed{Entry: v.Entry}
	var err error
	if !validOnce(f.Once) {
		if f.Once, err = NewOnce(d.Rand); err != nil {
			return Entered{}, fmt.Errorf("paper entry: %w", err)
		}
	}
	if t.Ticket, err = d.ticket(g.ID, "paper "+f.Once+" "+v.Entry.Key); err != nil {
		return Entered{}, fmt.Errorf("paper entry: %w", err)
	}
	row, err := d.newOf(g.ID, t, "", OriginPaper)
	if err != nil {
		return Entered{}, fmt.Errorf("paper entry: %w", err)
	}
	stamps, err := d.Store.ImportEntries(ctx, g.ID, now, []New{row})
	if err == nil {
		err = stamps[0].Err
	}
	if err != nil {
		return Entered{}, fmt.Errorf("paper entry: %w", err)
	}
	return d.Find(ctx, g.ID, t.Ticket)
}

// Find reads an entry that came through a door by its ticket. [ErrNoSuchLink]
// for any other; [ErrErased].
func (d Door) Find(ctx context.Context, drawID string, t draw.Ticket) (Entered, error) {
	link := d.link(drawID, t)
	row, err := d.Store.EntryByLink(ctx, drawID, linkHash(drawID, link))
	if err != nil {
		return Entered{}, fmt.Errorf("find an entry: %w", err)
	}
	if !row.Erased.IsZero() {
		return Entered{}, fmt.Errorf("find an entry: %w", ErrErased)
	}
	found := row.ticketed()
	found.Link = link
	return Intake{Signer: d.Signer}.entered(drawID, found, row.Stamp)
}

// PaperTime is the time that a card counts as, of which only the day is known
// that it came, or that its postmark bears, in the zone of the terms: the first
// of the day that lies in the time for entries, otherwise its start. So a card of
// the first day and of the last day is in time. Day is "2006-01-02".
func PaperTime(day string, t giveaway.Terms) (time.Time, error) {
	zone, err := giveaway.LoadZone(t.Closes.Zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("read a day: %w", err)
	}
	start, err := time.ParseInLocation("2006-01-02", day, zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("read a day: want a day such as 2026-12-11")
	}
	opens := t.Opens.UTC
	if start.Before(opens) && opens.Before(start.AddDate(0, 0, 1)) {
		return opens, nil
	}
	return start.UTC(), nil
}
