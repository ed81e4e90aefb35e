package giveaway

import (
	"context"
	"fmt"
	"time"

	"evenhand/draw"
)

// ticketPage is how many tickets are asked for at once.
const ticketPage = 2000

// freezing is one attempt at the freeze, from the won row to freeze.txt.
type freezing struct {
	host    Host
	attempt string
	started time.Time // the time that Lock was given
	frozen  time.Time // the stamp
	g       Giveaway  // as the row was when it was won
}

// finish writes the lists and the freeze.
func (f *freezing) finish(ctx context.Context) error {
	if err := mayFreeze(f.g.Opening, f.frozen); err != nil {
		return err
	}
	roll, excluded, err := f.lists(ctx)
	if err != nil {
		return err
	}
	// The lists may have taken long: a freeze published after the event would
	// have been seen by nobody before it.
	if err := mayFreeze(f.g.Opening, f.now()); err != nil {
		return err
	}
	fr, err := f.text(roll, excluded)
	if err != nil {
		return err
	}
	signer, err := f.host.Keys.Signer(ctx)
	if err != nil {
		return fmt.Errorf("signing key: %w", err)
	}
	note, err := signer.Sign(fr.Text())
	if err != nil {
		return err
	}
	return f.host.Store.Freeze(ctx, Frozen{ID: f.g.ID, Attempt: f.attempt, Freeze: fr, Note: note})
}

// now is the time for a sign of life.
func (f *freezing) now() time.Time {
	if f.host.Now != nil {
		return f.host.Now()
	}
	return f.started
}

func (f *freezing) text(roll, excluded draw.List) (draw.Freeze, error) {
	fr := draw.Freeze{
		Draw: f.g.ID, Opening: draw.Hash(f.g.Opening.Text()), Frozen: f.frozen,
		Issued: roll.Count + excluded.Count,
		Roll:   roll.Count, RollHash: roll.Hash,
		Excluded: excluded.Count, ExcludedHash: excluded.Hash,
	}
	if f.g.Opening.Beacon == nil {
		return fr, nil
	}
	chain, ok := chainOf(f.g.Opening)
	if !ok {
		return fr, fmt.Errorf("opening of %s names a beacon that is not known here", f.g.ID)
	}
	var err error
	fr.Round, err = f.g.Opening.FirstRound(chain)
	return fr, err
}

// lists makes one pass over the tickets and writes both lists as it goes.
func (f *freezing) lists(ctx context.Context) (roll, excluded draw.List, err error) {
	rollFile := &chunks{ctx: ctx, f: f, name: draw.RollFile}
	excludedFile := &chunks{ctx: ctx, f: f, name: draw.ExcludedFile}
	in, out := draw.NewListWriter(rollFile), draw.NewListWriter(excludedFile)
	var after draw.Ticket
	for {
		page, err := f.host.Store.Tickets(ctx, f.g.ID, after, ticketPage)
		if err != nil {
			return roll, excluded, fmt.Errorf("read tickets: %w", err)
		}
		if len(page) == 0 {
			break
		}
		if err := addLines(in, out, page); err != nil {
			return roll, excluded, err
		}
		after = page[len(page)-1].Ticket
	}
	if err := rollFile.close(); err != nil {
		return roll, excluded, err
	}
	if err := excludedFile.close(); err != nil {
		return roll, excluded, err
	}
	return in.List(), out.List(), nil
}

func addLines(in, out *draw.ListWriter, page []TicketLine) error {
	for _, line := range page {
		var err error
		if line.Reason == "" {
			err = in.Add(line.Ticket, line.Commitment)
		} else {
			err = out.AddReason(line.Ticket, line.Reason)
		}
		if err != nil {
			return fmt.Errorf("write lists: %w", err)
		}
	}
	return nil
}

// chunks is a writer that hands a list to the store in chunks.
type chunks struct {
	ctx  context.Context // of the one call that this writer lives in
	f    *freezing
	name string
	n    int // chunks written
	buf  []byte
}

func (c *chunks) Write(b []byte) (int, error) {
	c.buf = append(c.buf, b...)
	for len(c.buf) > ChunkSize {
		if err := c.flush(ChunkSize); err != nil {
			return 0, err
		}
	}
	return len(b), nil
}

// close writes what is left; for an empty list, one empty chunk.
func (c *chunks) close() error { return c.flush(len(c.buf)) }

func (c *chunks) flush(n int) error {
	err := c.f.host.Store.WriteList(c.ctx, c.f.g.ID, c.f.attempt, c.name, c.n, c.buf[:n:n], c.f.now())
	if err != nil {
		return fmt.Errorf("write %s: %w", c.name, err)
	}
	c.n++
	c.buf = append([]byte(nil), c.buf[n:]...)
	return nil
}
