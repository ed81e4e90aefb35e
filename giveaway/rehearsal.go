package giveaway

import (
	"context"
	"strings"
	"time"
)

// RehearsalID begins the ids of rehearsals, and of no other giveaway. Since
// every signed text names its id, nothing of a rehearsal can be taken for a
// draw that counts.
const RehearsalID = "rehearsal-"

// IsRehearsal reports whether an id is that of a rehearsal: then nothing of it
// is for the public.
func IsRehearsal(id string) bool { return strings.HasPrefix(id, RehearsalID) }

// DraftRehearsal is [Host.Draft] for rehearsals; every page of one says that it
// is invented.
func (h Host) DraftRehearsal(ctx context.Context, now time.Time, t Terms) (Giveaway, error) {
	if !IsRehearsal(t.Draw) {
		return Giveaway{}, Problems{{"draw", "A rehearsal’s short name begins with " + RehearsalID + "."}}
	}
	return h.draft(ctx, now, t, true)
}
