package entries

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"time"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
	"evenhand/sizing"
)

// Enter takes a form for the giveaway g at the server's time now. Errors:
// [Rejected] with the verdict; [ErrAlreadyIn], with nothing changed;
// [ErrNotOpen], [ErrClosed]; giveaway.ErrNotFound for a draft. A returned entry
// is durable. The very same form again is no error: it brings the same entry
// (see [Form.Once]).
func (i Intake) Enter(ctx context.Context, now time.Time, g giveaway.Giveaway, f Form) (Entered, error) {
	return i.enter(ctx, now, g, f, func(n New) (Stamp, error) { return i.Store.AddEntry(ctx, g.ID, now, n) })
}

// enter decides on a form and has its entry written.
func (i Intake) enter(ctx context.Context, now time.Time, g giveaway.Giveaway, f Form, write func(New) (Stamp, error)) (Entered, error) {
	if err := mayEnter(g, now); err != nil {
		return i.late(ctx, g, f, err)
	}
	v := Decide(f, g.Terms, now)
	if !v.OK() {
		return Entered{}, rejected(v)
	}
	repeats := i.repeats(f)
	for try := 0; ; try++ {
		t, err := NewTicketed(i.Rand, g.ID, v.Entry)
		if err != nil {
			return Entered{}, err
		}
		if repeats && try < onceLinks {
			t.Link = i.onceLink(g.ID, t.Entry.Key, f.Once, try)
		}
		stamp, err := write(New{
			Ticket: t.Ticket, Salt: t.Salt, Commitment: t.Commitment,
			LinkHash: linkHash(g.ID, t.Link), Entry: t.Entry, Origin: OriginForm,
		})
		switch {
		case errors.Is(err, ErrTicketTaken) && (try == 0 || repeats && try <= onceLinks):
			continue
		case errors.Is(err, ErrAlreadyIn), errors.Is(err, ErrClosed), errors.Is(err, ErrWithdrawn):
			return i.again(ctx, g.ID, v.Entry.Key, f, fmt.Errorf("enter %s: %w", g.ID, err))
		case err != nil:
			return Entered{}, fmt.Errorf("enter %s: %w", g.ID, err)
		}
		return i.entered(g.ID, t, stamp)
	}
}

// mayEnter spares everybody a form that can't be taken. The store decides
// again, by the row as it is when it writes.
func mayEnter(g giveaway.Giveaway, now time.Time) error {
	switch {
	case g.State == giveaway.StateDraft:
		return giveaway.ErrNotFound
	case g.State != giveaway.StateOpen || !now.Before(g.Opening.Closes):
		return ErrClosed
	case now.Before(g.Opening.Opens):
		return ErrNotOpen
	}
	return nil
}

// rejected turns a verdict that is not accepted into an error. The window is
// an error of its own.
func rejected(v Verdict) error {
	if v.Refusal != nil {
		switch v.Refusal.Code {
		case eligibility.CodeWindowClosed:
			return ErrClosed
		case eligibility.CodeNotYetOpen:
			return ErrNotOpen
		}
	}
	return &Rejected{Verdict: v}
}

// NewTicketed gives an accepted entry its ticket, salt, commitment and link.
func NewTicketed(rand io.Reader, drawID string, e Entry) (Ticketed, error) {
	ticket, err := draw.NewTicket(rand)
	if err != nil {
		return Ticketed{}, fmt.Errorf("new entry: %w", err)
	}
	secret := make([]byte, linkBytes)
	if _, err := io.ReadFull(rand, secret); err != nil {
		return Ticketed{}, fmt.Errorf("new entry: make link: %w", err)
	}
	t := Ticketed{Ticket: ticket, Link: base64.RawURLEncoding.EncodeToString(secret), Entry: e}
	if err := t.commit(rand, drawID); err != nil {
		return Ticketed{}, fmt.Errorf("new entry: %w", err)
	}
	return t, nil
}

// commit gives the entry a new salt, and the commitment that goes with it.
func (t *Ticketed) commit(rand io.Reader, drawID string) error {
	if _, err := io.ReadFull(rand, t.Salt[:]); err != nil {
		return fmt.Errorf("make salt: %w", err)
	}
	text := t.Text(drawID)
	if err := text.Validate(); err != nil {
		return errors.New("entry text would not be readable") // err may bear the address
	}
	t.Commitment = text.Commitment()
	return nil
}

// Text is the entry's own text: what the commitment is the hash of.
func (t Ticketed) Text(drawID string) draw.EntryText {
	return draw.EntryText{
		Salt: t.Salt, Draw: drawID, Ticket: t.Ticket, Email: t.Entry.Key,
		Size: entrySize(t.Entry.Size), Ship: t.Entry.Ship.Country,
	}
}

func entrySize(s sizing.Size) draw.EntrySize {
	if s.IsZero() {
		return draw.EntrySize{}
	}
	return draw.EntrySize{System: string(s.System), Size: s.Size.String(), Width: s.Width}
}

// entered adds what is handed out: the receipt and the entry text.
func (i Intake) entered(drawID string, t Ticketed, s Stamp) (Entered, error) {
	receipt, err := i.Signer.Sign(draw.Receipt{
		Draw: drawID, Opening: s.Opening, Ticket: t.Ticket, Entered: s.Entered, Commitment: t.Commitment,
	}.Text())
	if err != nil {
		return Entered{}, fmt.Errorf("sign receipt: %w", err)
	}
	return Entered{Ticketed: t, Stamp: s, Receipt: receipt, EntryText: t.Text(drawID).Text()}, nil
}

const linkBytes = 18 // 144 bits; the protocol asks for 128 or more

// linkHash is what is stored of a link. The draw's id is in it, so that a link
// opens a page of its own giveaway only.
func linkHash(drawID, link string) [32]byte {
	return sha256.Sum256([]byte("evenhand private link\n" + drawID + "\n" + link))
}

// validLink reports whether a link has the one form in which links are handed
// out.
func validLink(link string) bool {
	b, err := base64.RawURLEncoding.Strict().DecodeString(link)
	return err == nil && len(b) == linkBytes
}
