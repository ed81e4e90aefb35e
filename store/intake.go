package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"slices"
	"sync"
	"time"

	"evenhand/draw"
	"evenhand/entries"
)

// errClosed answers entries that come after Close.
var errClosed = errors.New("the database is closed")

// batchSize is how many new entries one transaction writes at most.
const batchSize = 128

// An intake writes new entries in groups: whoever comes while a transaction
// is under way goes into the next one together. What is dear is making a
// transaction durable, not a row. Each entry has an answer of its own, and
// none is given before its transaction is durable.
type intake struct {
	db    *DB
	queue chan *arrival // without a buffer: what was taken from it is answered
	once  sync.Once     // closes stop
	stop  chan struct{}
	done  chan struct{}
}

// An arrival is an entry on its way into the database.
type arrival struct {
	ctx    context.Context
	draw   string
	now    time.Time
	entry  entries.New
	again  bool          // tried before: it may be written already
	stamp  entries.Stamp // the answer, with err; written before answer is sent
	err    error
	fresh  bool // it was written for this arrival; kept by imports alone
	answer chan struct{}
}

func newIntake(db *DB) *intake {
	in := &intake{db: db, queue: make(chan *arrival), stop: make(chan struct{}), done: make(chan struct{})}
	go in.run()
	return in
}

// close waits for the transaction under way.
func (in *intake) close() {
	in.once.Do(func() { close(in.stop) })
	<-in.done
}

// add waits for its turn and for the answer. Where ctx ends first the entry
// may still be written: its sender does not know, as with a lost connection.
func (in *intake) add(a *arrival) (entries.Stamp, error) {
	a.answer = make(chan struct{}, 1)
	select {
	case in.queue <- a:
	case <-in.stop:
		return entries.Stamp{}, errClosed
	case <-a.ctx.Done():
		return entries.Stamp{}, a.ctx.Err()
	}
	select {
	case <-a.answer:
		return a.stamp, a.err
	case <-a.ctx.Done():
		return entries.Stamp{}, a.ctx.Err()
	}
}

func (in *intake) run() {
	defer close(in.done)
	for {
		select {
		case a := <-in.queue:
			in.write(in.gather(a))
		case <-in.stop:
			return
		}
	}
}

// gather takes all who stand waiting.
func (in *intake) gather(first *arrival) []*arrival {
	batch := []*arrival{first}
	for len(batch) < batchSize {
		select {
		case a := <-in.queue:
			batch = append(batch, a)
		default:
			return batch
		}
	}
	return batch
}

// write writes a batch in one transaction, and answers. In the order of the
// keys, so that two servers with the same addresses wait for one another and
// not in a circle. Where the whole fails each entry is tried alone, so that
// one can not spoil the others.
func (in *intake) write(batch []*arrival) {
	slices.SortFunc(batch, func(a, b *arrival) int {
		return cmp.Or(cmp.Compare(a.draw, b.draw), cmp.Compare(a.entry.Entry.Key, b.entry.Entry.Key))
	})
	err := in.try(batch)
	if err != nil && len(batch) > 1 {
		for _, a := range batch {
			a.again = true
			in.write([]*arrival{a})
		}
		return
	}
	for _, a := range batch {
		if err != nil {
			a.stamp, a.err = entries.Stamp{}, err
		}
		a.answer <- struct{}{}
	}
}

// try runs the transaction of a batch. Its error is one of the database; what
// is wrong with an entry stands in the arrival.
func (in *intake) try(batch []*arrival) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return in.db.tx(ctx, "add entry", func(tx *sql.Tx) error {
		welcome, err := in.stamp(ctx, tx, batch)
		if err != nil {
			return err
		}
		wrote, err := in.db.insert(ctx, tx, welcome)
		if err != nil {
			return err
		}
		for _, a := range welcome {
			if name := a.row(); wrote[name] {
				delete(wrote, name) // a row answers one arrival
			} else if err := in.settle(ctx, tx, a); err != nil {
				return err
			}
		}
		return nil
	})
}

// stamp takes the shared lock of each giveaway in the batch, stamps those who
// may enter, and refuses the others.
func (in *intake) stamp(ctx context.Context, tx *sql.Tx, batch []*arrival) (welcome []*arrival, err error) {
	edges := map[string]edge{}
	for _, a := range batch {
		e, seen := edges[a.draw]
		if !seen {
			if e, err = in.db.share(ctx, tx, a.draw); err != nil {
				return nil, err
			}
			edges[a.draw] = e
		}
		if a.err = a.ctx.Err(); a.err == nil {
			a.stamp, a.err = e.take(a.now)
		}
		if a.err == nil {
			welcome = append(welcome, a)
		}
	}
	return welcome, nil
}

// settle finds out why an entry was not written, and writes it where what
// stood in its way was withdrawn a moment ago.
func (in *intake) settle(ctx context.Context, tx *sql.Tx, a *arrival) error {
	for range attempts {
		was, refused, err := whyNot(ctx, tx, a)
		switch {
		case err != nil:
			return err
		case refused != nil || !was.Entered.IsZero():
			a.stamp, a.err = was, refused
			return nil
		}
		wrote, err := in.db.insert(ctx, tx, []*arrival{a})
		if err != nil || len(wrote) == 1 {
			return err
		}
	}
	a.stamp, a.err = entries.Stamp{}, entries.ErrAlreadyIn
	return nil
}

// whyNot finds out what kept an entry from being written. Where it was tried
// before and it is this very entry, the first transaction was durable after
// all and the answer was lost: then the stamp is the one that was written.
// All is zero where nothing stands in the way any more.
func whyNot(ctx context.Context, tx *sql.Tx, a *arrival) (stamp entries.Stamp, refused, err error) {
	rows, err := list(ctx, tx, scanRival, `
		SELECT ticket, key, link, opening, entered, reason IS NULL FROM entries
		WHERE draw = $1 AND (ticket = $2 OR link = $3 OR (key = $4 AND reason IS NULL))`,
		a.draw, a.entry.Ticket.String(), a.entry.LinkHash[:], a.entry.Entry.Key)
	for _, r := range rows {
		ticket, link := r.ticket == a.entry.Ticket.String(), string(r.link) == string(a.entry.LinkHash[:])
		switch {
		case a.again && ticket && link:
			return entries.Stamp{Opening: draw.Digest(r.opening), Entered: time.Unix(r.entered, 0).UTC()}, nil, nil
		case r.stands && r.key == a.entry.Entry.Key && a.entry.Reason == "":
			refused = entries.ErrAlreadyIn
		case (ticket || link) && refused == nil:
			refused = entries.ErrTicketTaken
		}
	}
	return entries.Stamp{}, refused, err
}

// A rival is a row with the same ticket, link or address.
type rival struct {
	ticket, key   string
	link, opening []byte
	entered       int64
	stands        bool
}

func scanRival(row scanner) (r rival, err error) {
	err = row.Scan(&r.ticket, &r.key, &r.link, &r.opening, &r.entered, &r.stands)
	return r, err
}
