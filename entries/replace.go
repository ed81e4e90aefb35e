package entries

import (
	"context"
	"time"

	"evenhand/giveaway"
)

// Replace puts an entry right that bears a wrong address: the form makes a new
// entry, with a ticket of its own, and the old one is withdrawn in the same
// step. Whoever is refused keeps what they have. Errors are those of
// [Intake.Enter], and [ErrNoSuchLink], [ErrWithdrawn]. The very same form again
// brings the same new entry, as in Enter.
func (i Intake) Replace(ctx context.Context, now time.Time, g giveaway.Giveaway, link string, f Form) (Entered, error) {
	if !validLink(link) {
		return Entered{}, ErrNoSuchLink
	}
	old := linkHash(g.ID, link)
	return i.enter(ctx, now, g, f, func(n New) (Stamp, error) { return i.Store.ReplaceEntry(ctx, g.ID, now, old, n) })
}
