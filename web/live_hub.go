package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"evenhand/giveaway"
	"evenhand/show"
)

// An Event is what the live event needs.
type Event struct {
	Show show.Show
	Live Live
	Keys show.Keys
	// Ends is closed when the server is about to stop: streams end then. Nil:
	// they end with their readers.
	Ends <-chan struct{}
}

// Live tells that a show was moved.
type Live interface {
	// Listen calls heard with a giveaway's id whenever its show is moved, until
	// the context ends. It may miss some.
	Listen(ctx context.Context, heard func(id string))
	// Pulse is a word that differs whenever what pages show of a show's state
	// does; one small read.
	Pulse(ctx context.Context, id string) (string, error)
}

// How often the hub looks by itself: at the clock, for pictures whose delay is
// over, and at the database, for notices that were lost. Numbers asked for in
// vain are asked for again after numberAgain.
const (
	clockLook    = 200 * time.Millisecond
	databaseLook = 2 * time.Second
	numberAgain  = 5 * time.Second
)

// A hub hands the newest picture of each show to everybody who watches it. It
// reads the database once for each change, however many watch, and only while
// somebody does. Who reads slowly holds one slot with the newest picture, never
// a queue.
type hub struct {
	event *Event
	now   func() time.Time
	log   *slog.Logger

	mu    sync.Mutex // guards what follows
	rooms map[string]*room
	stop  context.CancelFunc // of the loop; nil while nobody watches
	dirty map[string]bool    // rooms to read anew
	kick  chan struct{}      // one slot: something is dirty
}

// A room is a show that is watched. Its seats and newest pictures are guarded by
// the hub's mu; the rest belongs to the loop.
type room struct {
	id            string
	seats         map[*seat]bool
	stage, viewer *picture // newest; nil: not read yet

	pulse     string
	state     show.State
	giveaway  giveaway.Giveaway
	read      bool
	stageOf   string // what the newest pictures were made of
	viewerOf  string
	number    string // the public number; "" not known
	asking    bool
	askedLast time.Time
}

// A seat is one who watches.
type seat struct {
	viewer bool
	wake   chan struct{} // one slot
	newest atomic.Pointer[picture]
}

// A picture is what is sent: one event of the stream.
type picture struct{ text []byte }

func newHub(e *Event, now func() time.Time, log *slog.Logger) *hub {
	return &hub{event: e, now: now, log: log, rooms: map[string]*room{}, dirty: map[string]bool{}, kick: make(chan struct{}, 1)}
}

// sit takes a seat; the newest picture comes at once where it is known. leave
// must be called.
func (h *hub) sit(id string, viewer bool) (s *seat, leave func()) {
	s = &seat{viewer: viewer, wake: make(chan struct{}, 1)}
	h.mu.Lock()
	defer h.mu.Unlock()
	r := h.rooms[id]
	if r == nil {
		r = &room{id: id, seats: map[*seat]bool{}}
		h.rooms[id] = r
		h.dirty[id] = true
	}
	r.seats[s] = true
	if f := r.pictureFor(s); f != nil {
		s.show(f)
	}
	if h.stop == nil {
		var ctx context.Context
		ctx, h.stop = context.WithCancel(context.Background())
		go h.loop(ctx)
		go h.event.Live.Listen(ctx, h.heard)
	}
	h.poke()
	return s, func() { h.leave(r, s) }
}

func (r *room) pictureFor(s *seat) *picture {
	if s.viewer {
		return r.viewer
	}
	return r.stage
}

func (s *seat) show(f *picture) {
	s.newest.Store(f)
	select {
	case s.wake <- struct{}{}:
	default: // woken already: it will find this one
	}
}

func (h *hub) leave(r *room, s *seat) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(r.seats, s)
	if len(r.seats) == 0 && h.rooms[r.id] == r {
		delete(h.rooms, r.id)
	}
	if len(h.rooms) == 0 && h.stop != nil {
		h.stop()
		h.stop = nil
	}
}

// heard marks a show as moved. It returns at once.
func (h *hub) heard(id string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.rooms[id] != nil {
		h.dirty[id] = true
		h.poke()
	}
}

func (h *hub) poke() {
	select {
	case h.kick <- struct{}{}:
	default:
	}
}

// loop looks until nobody watches any more.
func (h *hub) loop(ctx context.Context) {
	clock, database := time.NewTicker(clockLook), time.NewTicker(databaseLook)
	defer clock.Stop()
	defer database.Stop()
	for {
		all := false
		select {
		case <-ctx.Done():
			return
		case <-clock.C:
		case <-h.kick:
		case <-database.C:
			all = true
		}
		for _, r := range h.open() {
			h.look(ctx, r, all)
		}
	}
}

func (h *hub) open() (all []*room) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, r := range h.rooms {
		all = append(all, r)
	}
	return all
}

// look reads a show anew where it may have changed, and makes new pictures
// where there are any.
func (h *hub) look(ctx context.Context, r *room, poll bool) {
	h.mu.Lock()
	dirty := h.dirty[r.id]
	delete(h.dirty, r.id)
	h.mu.Unlock()
	if err := h.refresh(ctx, r, dirty || !r.read, poll); err != nil {
		if ctx.Err() == nil {
			h.log.ErrorContext(ctx, "read a show", "draw", r.id, "err", err)
		}
		return // the next look at the database tries again
	}
	if !r.read {
		return
	}
	if err := h.paint(ctx, r, h.now().UTC()); err != nil && ctx.Err() == nil {
		h.log.ErrorContext(ctx, "make a picture", "draw", r.id, "err", err)
	}
}

// refresh reads the state if it changed. Whatever the notices say, the pulse
// decides.
func (h *hub) refresh(ctx context.Context, r *room, dirty, poll bool) error {
	if !dirty && !poll {
		return nil
	}
	pulse, err := h.event.Live.Pulse(ctx, r.id)
	if err != nil || (pulse == r.pulse && r.read) {
		return err
	}
	g, err := h.event.Show.Host.Store.Giveaway(ctx, r.id)
	if err != nil {
		return err
	}
	state, err := h.event.Show.State(ctx, r.id)
	if err != nil {
		return err
	}
	r.pulse, r.state, r.giveaway, r.read = pulse, state, g, true
	return nil
}

// paint makes the two pictures anew where what they are made of has changed.
func (h *hub) paint(ctx context.Context, r *room, now time.Time) error {
	h.askNumber(ctx, r, now)
	number := h.numberOf(r)
	turn := fmt.Sprint(r.giveaway.Held(now), now.Before(r.giveaway.DrawAt()), number)
	if of := fmt.Sprint(r.pulse, turn); of != r.stageOf {
		f, err := h.picture(ctx, r.state, true, number, now)
		if err != nil {
			return err
		}
		r.stageOf = of
		h.send(r, f, false)
	}
	seen := r.state.Seen(now)
	if of := fmt.Sprint(r.giveaway.State, r.giveaway.Revision, seen.Version, turn); of != r.viewerOf {
		f, err := h.picture(ctx, seen, false, number, now)
		if err != nil {
			return err
		}
		r.viewerOf = of
		h.send(r, f, true)
	}
	return nil
}

// picture makes the picture of a state.
func (h *hub) picture(ctx context.Context, st show.State, names bool, number string, now time.Time) (*picture, error) {
	facts, err := h.event.Show.Facts(ctx, st, names)
	if err != nil {
		return nil, err
	}
	facts.Number = number
	data, err := json.Marshal(liveView{facts.View(st, now), facts.Button(st), facts.Coming(st, now)}.forWhom(names))
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "id: %d\nevent: show\ndata: %s\n\n", st.Version, data)
	return &picture{b.Bytes()}, nil
}

// A liveView is what a stream carries: the picture, and for stage and remote
// what the next press does.
type liveView struct {
	show.View
	Button string `json:"button,omitempty"`
	Coming string `json:"coming,omitempty"`
}

func (v liveView) forWhom(stage bool) liveView {
	if !stage {
		v.Button, v.Coming = "", ""
	}
	return v
}

// send gives a picture to all whom it is meant for, if it is another one.
func (h *hub) send(r *room, f *picture, viewer bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	newest := &r.stage
	if viewer {
		newest = &r.viewer
	}
	if *newest != nil && bytes.Equal((*newest).text, f.text) {
		return
	}
	*newest = f
	for s := range r.seats {
		if s.viewer == viewer {
			s.show(f)
		}
	}
}
