package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"time"

	"evenhand/show"
)

// A picture is what is sent: one event of the stream.
type picture struct{ text []byte }

// paint makes the pictures anew where what they are made of has changed.
func (h *hub) paint(ctx context.Context, r *room, now time.Time) error {
	number := h.numberOf(r)
	turn := fmt.Sprint(r.giveaway.Held(now), now.Before(r.giveaway.DrawAt()), number)
	if of := fmt.Sprint(r.pulse, turn); of != r.stageOf {
		v, err := h.view(ctx, r.state, true, number, now)
		if err == nil {
			err = h.sendAll(r, v, remotes, stages)
		}
		if err != nil {
			return err
		}
		r.stageOf = of
	}
	seen := r.state.Seen(now)
	if of := fmt.Sprint(r.giveaway.State, r.giveaway.Revision, seen.Version, turn); of != r.viewerOf {
		v, err := h.view(ctx, seen, false, number, now)
		if err == nil {
			err = h.sendAll(r, v, viewers)
		}
		if err != nil {
			return err
		}
		r.viewerOf = of
	}
	return nil
}

// A liveView is what a stream carries: the picture, and for the remote alone
// what the next press does and what winners say in the chat.
type liveView struct {
	show.View
	Button string          `json:"button,omitempty"`
	Coming string          `json:"coming,omitempty"`
	Heed   string          `json:"heed,omitempty"`
	Words  []show.Greeting `json:"words,omitempty"`
}

// view makes the picture of a state; stage tells whether it is for stage and
// remote.
func (h *hub) view(ctx context.Context, st show.State, stage bool, number string, now time.Time) (liveView, error) {
	facts, err := h.event.Show.Facts(ctx, st, stage)
	if err != nil {
		return liveView{}, err
	}
	facts.Number = number
	v := liveView{View: facts.View(st, now)}
	if stage {
		v.Button, v.Coming, v.Heed, v.Words = facts.Button(st), facts.Coming(st, now), facts.Heed(st), facts.Greetings(st, h.event.WordsKey)
	}
	return v, nil
}

// sendAll sends a view to audiences; what only the remote may know goes to no
// other.
func (h *hub) sendAll(r *room, v liveView, to ...audience) error {
	for _, who := range to {
		if who != remotes {
			v.Button, v.Coming, v.Heed, v.Words = "", "", "", nil
		}
		data, err := json.Marshal(v)
		if err != nil {
			return err
		}
		h.send(r, &picture{fmt.Appendf(nil, "id: %d\nevent: show\ndata: %s\n\n", v.Version, data)}, who)
	}
	return nil
}

// send gives a picture to all whom it is meant for, if it is another one.
func (h *hub) send(r *room, f *picture, who audience) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if newest := r.newest[who]; newest != nil && bytes.Equal(newest.text, f.text) {
		return
	}
	r.newest[who] = f
	for s := range r.seats {
		if s.who == who {
			s.show(f)
		}
	}
}
