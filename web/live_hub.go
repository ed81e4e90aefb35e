package web

import (
	"context"
	"errors"
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
	// Names are those that may be said. Nil: the stage shows tickets alone.
	Names show.Names
	// Rehearsals are for practice. Nil: there are none.
	Rehearsals *show.Rehearsals
	// WordsKey makes the two words that a winner says in the chat.
	WordsKey [32]byte
	// Seats are how many viewers watch at once; the zero value is [DefaultSeats].
	Seats Seats
	// Ends is closed when the server is about to stop: streams end then. Nil:
	// they end with their readers.
	Ends <-chan struct{}
	// Clock is the database's clock. Nil: the database has this computer's.
	Clock func(ctx context.Context) (time.Time, error)
	// Disk is how many bytes are free where the data lies. Nil: not known.
	Disk func() (free uint64, err error)
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
// vain are asked for again after numberAgain. A look that takes longer than
// lookPatience is given up; of a show that can't be read the log has one line
// for each lookLog. Common practice, no source.
const (
	clockLook    = 200 * time.Millisecond
	databaseLook = 2 * time.Second
	numberAgain  = 5 * time.Second
	lookPatience = 10 * time.Second
	lookLog      = time.Minute
)

// A hub hands the newest picture of each show to everybody who watches it. It
// reads the database once for each change, however many watch, and only while
// somebody does. Shows are looked at side by side: one that can't be read holds
// up no other. Who reads slowly holds one slot with the newest picture, never a
// queue.
type hub struct {
	event   *Event
	now     func() time.Time
	log     *slog.Logger
	seating *seating
	kick    chan struct{} // one slot: a room is dirty

	mu    sync.Mutex // guards what follows
	rooms map[string]*room
	stop  context.CancelFunc // of the loop; nil while nobody watches
}

// A room is a show that is watched. What stands before draw is guarded by the
// hub's mu; the rest belongs to the look that is at it, one at a time.
type room struct {
	id     string // of the giveaway; "": whichever show was moved last
	seats  map[*seat]bool
	newest [audiences]*picture // nil: not read yet
	dirty  bool                // to be read anew
	poll   bool                // the database is to be asked whether it is
	busy   bool                // a look is at it

	draw      string // the giveaway whose show it is
	pulse     string
	state     show.State
	giveaway  giveaway.Giveaway
	read      bool
	failed    bool      // the last look did
	logged    time.Time // when the log last said so
	stageOf   string    // what the newest pictures were made of
	viewerOf  string
	number    string // the public number; "" not known; guarded by mu, as asking
	asking    bool
	askedLast time.Time
}

// An audience is who gets which picture.
type audience int

const (
	viewers   audience = iota // what the public may know, by the delay
	stages                    // the picture as it stands
	remotes                   // the same, and what the next press does
	audiences int      = iota
)

// A seat is one who watches.
type seat struct {
	who    audience
	wake   chan struct{} // one slot
	newest atomic.Pointer[picture]
}

func newHub(e *Event, now func() time.Time, log *slog.Logger) *hub {
	return &hub{event: e, now: now, log: log, seating: newSeating(e), rooms: map[string]*room{}, kick: make(chan struct{}, 1)}
}

// sit takes a seat; the newest picture comes at once where it is known. leave
// must be called.
func (h *hub) sit(id string, who audience) (s *seat, leave func()) {
	s = &seat{who: who, wake: make(chan struct{}, 1)}
	h.mu.Lock()
	defer h.mu.Unlock()
	r := h.rooms[id]
	if r == nil {
		r = &room{id: id, draw: id, seats: map[*seat]bool{}, dirty: true}
		h.rooms[id] = r
	}
	r.seats[s] = true
	if f := r.newest[who]; f != nil {
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
	for _, room := range []string{id, ""} {
		if r := h.rooms[room]; r != nil {
			r.dirty = true
			h.poke()
		}
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
		for _, r := range h.due(ctx, all) {
			go h.visit(ctx, r)
		}
	}
}

// due takes the rooms that no look is at. When the last reader has left there
// is none: another loop may be at them by now. A poll waits for a room whose
// look is not over yet.
func (h *hub) due(ctx context.Context, poll bool) (all []*room) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if ctx.Err() != nil {
		return nil
	}
	for _, r := range h.rooms {
		r.poll = r.poll || poll
		if !r.busy {
			r.busy = true
			all = append(all, r)
		}
	}
	return all
}

// visit looks at a room that was taken, and gives it back.
func (h *hub) visit(ctx context.Context, r *room) {
	h.mu.Lock()
	dirty, poll := r.dirty, r.poll
	r.dirty, r.poll = false, false
	h.mu.Unlock()
	if dirty || poll || !r.failed { // what failed is not tried again at each tick
		h.look(ctx, r, dirty, poll)
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	r.busy = false
	if r.dirty || r.poll { // meanwhile it was moved, or may have been
		h.poke()
	}
}

// look reads a show anew where it may have changed, and makes new pictures
// where there are any.
func (h *hub) look(ctx context.Context, r *room, dirty, poll bool) {
	within, cancel := context.WithTimeout(ctx, lookPatience)
	defer cancel()
	now := h.now().UTC()
	err := h.refresh(within, r, dirty, poll)
	if err == nil && r.read {
		h.askNumber(ctx, r, now) // which outlasts this look
		err = h.paint(within, r, now)
	}
	r.failed = err != nil
	if errors.Is(err, giveaway.ErrNotFound) { // a rehearsal that has ended, while somebody still watches
		return
	}
	if err == nil || ctx.Err() != nil || now.Sub(r.logged) < lookLog {
		return
	}
	r.logged = now
	h.log.ErrorContext(ctx, "show what is live", "draw", r.id, "err", err)
}

// refresh reads the state if it changed. Whatever the notices say, the pulse
// decides.
func (h *hub) refresh(ctx context.Context, r *room, dirty, poll bool) error {
	if !dirty && !poll {
		return nil
	}
	if err := h.follow(ctx, r); err != nil || r.draw == "" {
		return err
	}
	pulse, err := h.event.Live.Pulse(ctx, r.draw)
	if err != nil || (pulse == r.pulse && r.read) {
		return err
	}
	g, err := h.event.Show.Host.Store.Giveaway(ctx, r.draw)
	if err != nil {
		return err
	}
	state, err := h.event.Show.State(ctx, r.draw)
	if err != nil {
		return err
	}
	r.pulse, r.state, r.giveaway, r.read = pulse, state, g, true
	return nil
}

// follow has the evening's room go to the show that was moved last.
func (h *hub) follow(ctx context.Context, r *room) error {
	if r.id != "" {
		return nil
	}
	id, err := h.event.Show.Store.Newest(ctx, h.now().Add(eveningBegins))
	if err != nil || id == r.draw {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	r.draw, r.read, r.pulse, r.stageOf, r.viewerOf, r.number, r.asking, r.askedLast = id, false, "", "", "", "", false, time.Time{}
	return nil
}
