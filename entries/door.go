package entries

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"evenhand/draw"
)

// A Door lets in entries that did not come by the form: rows of a file, and
// cards that the host types in.
//
// Their tickets and private links are made with a key from what they hold, so
// the same row of the same file always brings the same ticket. A file that was
// brought in halfway can be brought in again, and one that is in already brings
// nothing new.
type Door struct {
	Store  DoorStore
	Signer draw.Signer // signs receipts
	Rand   io.Reader   // a secure source, for salts
	Key    [32]byte    // secret; the same on all servers of an installation
}

// A DoorStore keeps what comes through a door.
type DoorStore interface {
	// ImportEntries writes up to 500 rows in one durable transaction while the
	// giveaway is open, whether or not its entries are: entered is as in
	// [Store.AddEntry], without its bounds. The answers are in the order of the
	// rows. A row's own error is [ErrAlreadyIn] for one for the roll whose key
	// stands in the roll, and [ErrTicketTaken]; neither is written. A row whose
	// ticket and link are stored already is not written again: its answer is
	// the stored stamp. [ErrLocked], giveaway.ErrNotFound.
	ImportEntries(ctx context.Context, drawID string, now time.Time, rows []New) ([]ImportedStamp, error)
	// EntriesByKey tells for each of up to 500 keys that stand in the roll how
	// their entry came: an origin.
	EntriesByKey(ctx context.Context, drawID string, keys []string) (map[string]string, error)
	// TicketsIn tells which of up to 500 tickets are stored, in whichever list.
	TicketsIn(ctx context.Context, drawID string, tickets []draw.Ticket) (map[draw.Ticket]bool, error)
	// EntryByLink is that of [Store].
	EntryByLink(ctx context.Context, drawID string, linkHash [32]byte) (Stored, error)
}

// doorBatch is how many rows are asked for or written at once.
const doorBatch = 500

// mac is an HMAC-SHA-256 (RFC 2104) of some texts, none of which but the last
// has a line break, so no two lists of texts give one input.
func (d Door) mac(texts ...string) []byte {
	m := hmac.New(sha256.New, d.Key[:])
	for _, t := range texts {
		io.WriteString(m, t+"\n")
	}
	return m.Sum(nil)
}

// ticket makes the ticket of what a row or a card holds. To whoever lacks the
// key it is random.
func (d Door) ticket(drawID, what string) (draw.Ticket, error) {
	return draw.NewTicket(bytes.NewReader(d.mac("evenhand ticket of a row", drawID, what)))
}

// link is the private link's secret of a ticket that came through a door.
func (d Door) link(drawID string, t draw.Ticket) string {
	return base64.RawURLEncoding.EncodeToString(d.mac("evenhand link of a row", drawID, t.String())[:linkBytes])
}

// what is all that makes one row another one.
func (r *ImportedRow) what() (string, error) {
	b, err := json.Marshal(struct {
		Entry  Entry
		At     int64 // nanoseconds: the fraction decides between duplicates
		Reason string
	}{r.Entry, r.at.UnixNano(), r.Reason})
	if err != nil {
		return "", errors.New("write the row down") // the cause may show it
	}
	return string(b), nil
}

// giveOwnTickets gives each row the ticket that belongs to it. Rows of one file
// that are the same in everything are counted up.
func (d Door) giveOwnTickets(drawID string, rows []ImportedRow) error {
	seen := make(map[[16]byte]int, len(rows))
	for i := range rows {
		first, err := rows[i].what()
		if err != nil {
			return fmt.Errorf("row %d: %w", rows[i].Row, err)
		}
		sum := sha256.Sum256([]byte(first))
		same := [16]byte(sum[:16])
		what := first
		if n := seen[same]; n > 0 {
			what = strconv.Itoa(n) + " " + first
		}
		seen[same]++
		if rows[i].Ticket, err = d.ticket(drawID, what); err != nil {
			return fmt.Errorf("row %d: %w", rows[i].Row, err)
		}
	}
	return nil
}

// newOf is a row as it is stored.
func (d Door) newOf(drawID string, t Ticketed, reason, origin string) (New, error) {
	if err := t.commit(d.Rand, drawID); err != nil {
		return New{}, err
	}
	return New{
		Ticket: t.Ticket, Salt: t.Salt, Commitment: t.Commitment, LinkHash: linkHash(drawID, d.link(drawID, t.Ticket)),
		Entry: t.Entry, Reason: reason, Origin: origin,
	}, nil
}
