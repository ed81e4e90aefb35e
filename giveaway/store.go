package giveaway

import (
	"context"
	"io/fs"
	"time"

	"evenhand/draw"
)

// ChunkSize is the length in bytes of every chunk of a list but its last.
const ChunkSize = 65536

// A Store keeps giveaways. Every method that changes something is one business
// step in one transaction and is durable when it returns. Methods return
// [ErrNotFound] for an unknown id, and [ErrState] (or a [StateError]) when the
// row is not in the state that the step leaves; then nothing has changed.
type Store interface {
	// Giveaway returns the giveaway of that id.
	Giveaway(ctx context.Context, id string) (Giveaway, error)
	// Giveaways returns all, newest first (by Created, then id).
	Giveaways(ctx context.Context) ([]Giveaway, error)

	// AddDraft inserts g, a draft. ErrState if there is a giveaway of that id,
	// of whatever state: a draw id is used once.
	AddDraft(ctx context.Context, g Giveaway) error

	// ChangeDraft replaces the terms of a draft whose terms have the mark
	// from. ErrState if it was opened; [ErrStale] if its terms are others.
	ChangeDraft(ctx context.Context, from draw.Digest, t Terms) error

	// Open moves a draft whose terms have the mark o.From to open, with the
	// terms in o (which replace those of the row), and publishes opening.txt
	// and rules.txt. It keeps the host's secret sealed, so that a dump alone
	// does not open it, and drops changes of the draft that were typed and not
	// finished (see [TypedForm]). [ErrStale] if the draft's terms are others;
	// [ErrFollowed] if the giveaway that o follows has another successor.
	Open(ctx context.Context, o Opened) error

	// Revise takes the row exclusively, calls make with the greatest stamp
	// written so far for this draw (an entry's entered, an opening's revised;
	// zero if none), and stores what it returns: the old opening.txt becomes
	// opening.<from>.txt, and where Rules is not nil the old rules.txt
	// rules.<from>.txt. ErrState unless the giveaway is open and at revision
	// from. An error of make is returned as it is, and changes nothing.
	Revise(ctx context.Context, id string, from int, make func(lastStamp time.Time) (Revised, error)) error

	// BeginFreeze moves open to freezing under the attempt's id, or takes
	// over another attempt that has given no sign of life for 20 seconds
	// before now (whose chunks it drops). Signs of life are BeginFreeze and
	// WriteList. Frozen is now or, if that is not later than every stamp
	// written (entered, revised), one second after the last of them. From
	// then on no entry changes. ErrBusy while another attempt lives;
	// ErrState for other states. The giveaway returned is the row as it is
	// then.
	BeginFreeze(ctx context.Context, id, attempt string, now time.Time) (frozen time.Time, g Giveaway, err error)

	// Tickets returns up to limit issued tickets, also withdrawn ones, that
	// are greater than after, ascending by ticket (by byte). The zero value
	// of draw.Ticket, which is no ticket, asks from the beginning.
	Tickets(ctx context.Context, id string, after draw.Ticket, limit int) ([]TicketLine, error)

	// WriteList keeps one chunk, counted from 0, of roll.txt or excluded.txt
	// for the attempt; nobody is served it before Freeze. Chunks are
	// ChunkSize bytes but for the last; an empty list is one empty chunk 0.
	// ErrState if the attempt is no longer the row's.
	WriteList(ctx context.Context, id, attempt, name string, chunk int, b []byte, now time.Time) error

	// Freeze moves freezing to frozen if the attempt is still the row's, and
	// publishes roll.txt, excluded.txt and freeze.txt.
	Freeze(ctx context.Context, f Frozen) error

	// AbandonFreeze moves freezing back to open and drops the attempt's
	// chunks, if the attempt is still the row's; ErrState otherwise.
	AbandonFreeze(ctx context.Context, id, attempt string) error

	// Record moves frozen to drawn and publishes record.txt, the note;
	// released is from when on the public may know of it, not before drawn.
	// ErrMissed, with nothing changed, if a secret was handed in (see
	// [DeskStore]) that the note does not open.
	Record(ctx context.Context, id string, note []byte, drawn, released time.Time) error

	// Release makes the time from which on the public may know the result
	// at, if that is earlier than the one that stands; otherwise it changes
	// nothing. ErrState unless drawn.
	Release(ctx context.Context, id string, at time.Time) error

	// HostSecret returns the secret that Open was given.
	HostSecret(ctx context.Context, id string) ([32]byte, error)

	// Publication returns the published files of a giveaway, byte for byte:
	// also those of a result that is held back, which pages for the public
	// leave out.
	// Files implement io.Seeker and io.ReaderAt. A name that is not
	// published, also because the id is unknown, is fs.ErrNotExist.
	Publication(id string) fs.FS
}

// Opened is all that belongs to the opening of a giveaway.
type Opened struct {
	ID         string
	From       draw.Digest // mark of the draft's terms that it was made from
	Terms      Terms       // what was signed for
	Opening    draw.Opening
	Note       []byte // opening.txt
	Rules      []byte // rules.txt
	HostSecret [32]byte
	At         time.Time
}

// Revised is all that belongs to a revision of the opening.
type Revised struct {
	Terms   Terms // with the new times and rules
	Opening draw.Opening
	Note    []byte // the new opening.txt
	Rules   []byte // the new rules.txt; nil: unchanged
}

// A TicketLine is one issued ticket as the freeze sees it.
type TicketLine struct {
	Ticket     draw.Ticket
	Commitment draw.Digest // of the latest entry text
	Reason     string      // "": in the roll; otherwise the reason for excluded.txt
}

// Frozen is all that belongs to a finished freeze.
type Frozen struct {
	ID, Attempt string
	Freeze      draw.Freeze
	Note        []byte // freeze.txt
}
