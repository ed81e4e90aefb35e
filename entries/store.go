package entries

import (
	"context"
	"errors"
	"time"

	"evenhand/draw"
)

// What callers of an [Intake] may meet. A [Store] returns them as well.
var (
	ErrAlreadyIn  = errors.New("this address has already entered")
	ErrClosed     = errors.New("entries are closed")
	ErrNotOpen    = errors.New("entries are not open yet")
	ErrLocked     = errors.New("the list is locked; nothing can be changed any more")
	ErrWithdrawn  = errors.New("this ticket was withdrawn")
	ErrNoSuchLink = errors.New("no such private page")
	ErrErased     = errors.New("the personal data was deleted")

	// ErrTooSoon: two changes of one entry within one second; a Store's
	// answer only, since an Intake waits.
	ErrTooSoon = errors.New("changed a moment ago")
	// ErrTicketTaken: the random ticket or link is already in use; a Store's
	// answer only, since an Intake tries again.
	ErrTicketTaken = errors.New("ticket number already in use")
)

// A Rejected form is an error that bears the verdict. Use errors.As.
type Rejected struct{ Verdict Verdict }

func (r *Rejected) Error() string {
	if r.Verdict.Refusal != nil {
		return "entry refused: " + r.Verdict.Refusal.Code
	}
	return "entry has fields to put right"
}

// A Stamp is what a store adds to an entry as it writes it.
type Stamp struct {
	Opening draw.Digest // of the opening that stood
	Entered time.Time   // UTC, whole seconds
}

// New is a new entry.
type New struct {
	Ticket     draw.Ticket
	Salt       [32]byte
	Commitment draw.Digest
	LinkHash   [32]byte // SHA-256 of the private link's secret
	Entry      Entry
	Origin     string // by which door it came: OriginForm (also for ""), OriginFile or OriginPaper
	Reason     string // "": in the roll; otherwise as in excluded.txt. AddEntry takes "" only
}

// What New.Origin may say. A stored entry has one of the three.
const (
	OriginForm  = "form"  // the entrant sent it
	OriginFile  = "file"  // the host brought it in a file
	OriginPaper = "paper" // the host typed it in from paper
)

// A Change is a changed entry: size, salt and commitment are new, everything
// else in Entry stays as it was.
type Change struct {
	LinkHash   [32]byte
	Salt       [32]byte
	Commitment draw.Digest
	Entry      Entry
}

// A Stored entry is a row.
type Stored struct {
	New                 // LinkHash is what it was asked by
	Stamp     Stamp     // of the entry, or of its latest change
	Withdrawn bool      // then Reason says so as well
	Erased    time.Time // when its personal data was deleted; zero until then
}

// Counts are what the desk sees of a giveaway's entries.
type Counts struct {
	Issued   int64            // all tickets
	In       int64            // those for the roll
	ByReason map[string]int64 // those for excluded.txt
	BySize   map[string]int64 // of those in: sizing.Size.String() → number
	ByOrigin map[string]int64 // of all tickets: by which door they came
}

// MostAtOnce is how many rows one import writes in one transaction.
const MostAtOnce = 500

// An ImportedStamp is what came of one row of an import: its stamp, or why it
// has no ticket.
type ImportedStamp struct {
	Stamp
	Fresh bool  // this call stored the row; false too for one that was stored before
	Err   error // ErrAlreadyIn or ErrTicketTaken; nil: the row is stored
}

// A Store keeps entries. Each method that changes something is one durable
// transaction, which reads the giveaway's row under a shared lock: its state
// and its current opening.
type Store interface {
	// AddEntry writes a new entry while the giveaway is open and the current
	// opening's opens <= entered < closes. Entered is now, or the revised of
	// the current opening if that is later. [ErrAlreadyIn] if the key has a
	// ticket that is not withdrawn; [ErrNotOpen], [ErrClosed] (also when
	// locked); [ErrTicketTaken] for a ticket or link hash in use;
	// giveaway.ErrNotFound. The key is looked at only while entries are
	// taken.
	AddEntry(ctx context.Context, drawID string, now time.Time, n New) (Stamp, error)

	// ReplaceEntry withdraws the ticket of a link and writes a new entry in its
	// place, in one transaction: nobody ever sees both standing, or none. Its
	// errors are AddEntry's, and then nothing has changed; the old ticket's
	// own key is free. [ErrNoSuchLink]; [ErrWithdrawn] if the old ticket was
	// withdrawn before.
	ReplaceEntry(ctx context.Context, drawID string, now time.Time, oldLink [32]byte, n New) (Stamp, error)

	// ChangeEntry writes a change until the lock (giveaway open). Entered is
	// as in AddEntry. [ErrTooSoon] if that is not later than the entry's last
	// entered; [ErrLocked]; [ErrWithdrawn]; [ErrNoSuchLink].
	ChangeEntry(ctx context.Context, drawID string, now time.Time, c Change) (Stamp, error)

	// Withdraw marks the ticket withdrawn and frees its key, until the lock.
	// Withdrawing twice is no error. [ErrLocked]; [ErrNoSuchLink].
	Withdraw(ctx context.Context, drawID string, now time.Time, linkHash [32]byte) error

	// EntryByLink finds an entry by the hash of its link. [ErrNoSuchLink].
	EntryByLink(ctx context.Context, drawID string, linkHash [32]byte) (Stored, error)

	// EntryCounts counts the giveaway's entries.
	EntryCounts(ctx context.Context, drawID string) (Counts, error)
}
