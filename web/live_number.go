package web

import (
	"context"
	"encoding/hex"
	"time"

	"evenhand/show"
)

// numberOf is the public number of a room's draw, "" while it is not known.
func (h *hub) numberOf(r *room) string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return r.number
}

// numberFor is the number of a show that is watched, "" while it is not known.
func (h *hub) numberFor(id string) string {
	h.mu.Lock()
	defer h.mu.Unlock()
	if r := h.rooms[id]; r != nil {
		return r.number
	}
	return ""
}

// askNumber has the public number fetched once it must be there and the stage
// has come to it. It does not wait: the picture follows when the number is
// here, and the draw fetches and checks for itself.
func (h *hub) askNumber(ctx context.Context, r *room, now time.Time) {
	if r.state.Step < show.Number || r.giveaway.Opening.Beacon == nil || now.Before(r.giveaway.DrawAt()) {
		return
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if r.number != "" || r.asking || now.Sub(r.askedLast) < numberAgain {
		return
	}
	r.asking, r.askedLast = true, now
	g := r.giveaway
	go func() {
		number, ok, err := h.event.Show.Host.Number(ctx, g)
		h.mu.Lock()
		defer h.mu.Unlock()
		if r.draw != g.ID {
			return // the evening's stage has gone on
		}
		r.asking = false
		if err == nil && ok {
			r.number = hex.EncodeToString(number[:])
			h.poke()
		}
	}()
}
