package giveaway

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"evenhand/draw"
)

// A DeskStore keeps what the desk needs beyond a [Store]. It is the same store
// as [Host.Store]; a program without a desk needs none.
type DeskStore interface {
	// Cancel takes the row exclusively, calls make with the giveaway as it is
	// and the greatest stamp written so far for this draw (entered, revised,
	// frozen; zero if none), publishes the note as cancelled.txt, and moves to
	// cancelled. ErrState unless the giveaway is open or frozen; [ErrBusy]
	// while freezing. An error of make is returned as it is, and changes
	// nothing.
	Cancel(ctx context.Context, id string, make func(g Giveaway, lastStamp time.Time) (draw.Cancelled, []byte, error)) error

	// HandIn keeps a secret while the giveaway is frozen; ErrState otherwise.
	// Of one role the first stands, and a second is no error.
	HandIn(ctx context.Context, id string, in HandedIn) error
	// Handed returns what was handed in, by ascending role.
	Handed(ctx context.Context, id string) ([]HandedIn, error)

	// Keep notes when the creator first said that the recovery sheet is kept.
	// ErrState for a draft.
	Keep(ctx context.Context, id string, at time.Time) error

	// Log writes a line; Logged returns them, the one written last first.
	Log(ctx context.Context, id string, l LogLine) error
	Logged(ctx context.Context, id string) ([]LogLine, error)

	// ReadCaution notes that a caution was read, and writes a line of the log;
	// the first reading of one mark stands, and a second writes nothing.
	ReadCaution(ctx context.Context, id string, mark draw.Digest, r CautionRead) error
	// CautionsRead returns the readings by mark.
	CautionsRead(ctx context.Context, id string) (map[draw.Digest]CautionRead, error)
}

// A LogLine says what happened to a giveaway, without personal data.
type LogLine struct {
	At   time.Time
	What string
}

// A CautionRead is a caution that the creator has read.
type CautionRead struct {
	At   time.Time
	Code string // such as L-A9a
	Why  string // in the creator's words, why they go on; may be ""
}

// errNoDesk answers where a program without a desk makes a desk's move.
var errNoDesk = errors.New("no store for the desk here")

// Keep notes that the creator says that the recovery sheet is kept. The first
// time stands; see [Giveaway.Kept]. [StateError] for a draft.
func (h Host) Keep(ctx context.Context, now time.Time, id string) error {
	if h.Desk == nil {
		return errNoDesk
	}
	return h.Desk.Keep(ctx, id, second(now))
}

// Log writes what happened into the giveaway's log. What bears no personal
// data; it is cut to one line of 500 characters.
func (h Host) Log(ctx context.Context, now time.Time, id, what string) error {
	if h.Desk == nil {
		return errNoDesk
	}
	return h.Desk.Log(ctx, id, LogLine{At: second(now), What: oneLine(what)})
}

// Logged returns the giveaway's log, the newest line first.
func (h Host) Logged(ctx context.Context, id string) ([]LogLine, error) {
	if h.Desk == nil {
		return nil, errNoDesk
	}
	return h.Desk.Logged(ctx, id)
}

// ReadCaution notes that the creator has read a caution, and why they go on,
// where that was asked. The first reading of one mark stands. A line of the log
// says the same.
func (h Host) ReadCaution(ctx context.Context, now time.Time, id string, mark draw.Digest, code, why string) error {
	if h.Desk == nil {
		return errNoDesk
	}
	r := CautionRead{At: second(now), Code: oneLine(code), Why: oneLine(why)}
	if err := h.Desk.ReadCaution(ctx, id, mark, r); err != nil {
		return fmt.Errorf("note a caution of %s as read: %w", id, err)
	}
	return nil
}

// CautionsRead returns the cautions that were read, by their mark.
func (h Host) CautionsRead(ctx context.Context, id string) (map[draw.Digest]CautionRead, error) {
	if h.Desk == nil {
		return nil, errNoDesk
	}
	return h.Desk.CautionsRead(ctx, id)
}

// maxLogLine bounds a line of the log, in characters.
const maxLogLine = 500

// oneLine brings words to one line of printable text.
func oneLine(s string) string {
	s = strings.Join(strings.FieldsFunc(strings.ToValidUTF8(s, "\uFFFD"), func(r rune) bool {
		return unicode.IsControl(r) || unicode.IsSpace(r)
	}), " ")
	if utf8.RuneCountInString(s) > maxLogLine {
		s = string([]rune(s)[:maxLogLine-1]) + "…"
	}
	return s
}
