package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// freeze writes the lists and signs their hashes.
func (p *program) freeze(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	wait := set.Bool("wait", false, "")
	rest, chains, err := p.parseWithChains(set, args, 1, 1)
	if err != nil {
		return 0, err
	}
	h, err := hostOf(rest[0])
	if err != nil {
		return 0, err
	}
	if err := h.freezable(); err != nil {
		return 0, err
	}
	if err := p.until(ctx, h.opening.Closes, *wait, "locking the list"); err != nil {
		return 0, err
	}
	frozen, err := p.stampAfter(ctx, h)
	if err != nil {
		return 0, err
	}
	return statusDone, p.freezeAt(ctx, h, frozen, chains)
}

// freezable says why the list can't be frozen, whatever the time.
func (h host) freezable() error {
	for _, name := range []string{draw.FreezeFile, draw.CancelledFile} {
		if h.has(name) {
			return fmt.Errorf("%s: %w; a draw has one freeze, for ever", h.public(name), fs.ErrExist)
		}
	}
	a, err := h.imported()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("no entries yet: use draw import first")
	case err != nil:
		return err
	case !a.Closes.Equal(h.opening.Closes):
		return fmt.Errorf("the entries were imported when closing was %s; it is %s now: use draw import --force",
			draw.FormatTime(a.Closes), draw.FormatTime(h.opening.Closes))
	}
	return nil
}

func (p *program) freezeAt(ctx context.Context, h host, frozen time.Time, chains []beacon.Chain) error {
	f := draw.Freeze{Draw: h.opening.Draw, Opening: draw.Hash(h.opening.Text()), Frozen: frozen}
	chain, err := chainOf(h.opening, chains)
	if err == nil && chain != nil {
		f.Round, err = h.opening.FirstRound(*chain)
	}
	if err != nil {
		return err
	}
	left := h.opening.Event.Sub(frozen)
	if left <= 0 {
		return fmt.Errorf("the event began %s, before the list was frozen: revise it to a later event first (draw open --revise)",
			draw.FormatTime(h.opening.Event))
	}
	roll, excluded, err := h.writeLists()
	defer func() { discardAll(roll.file, excluded.file) }()
	if err != nil {
		return err
	}
	f.Roll, f.RollHash = roll.Count(), roll.Hash()
	f.Excluded, f.ExcludedHash = excluded.Count(), excluded.Hash()
	f.Issued = f.Roll + f.Excluded
	note, err := h.sign(draw.FreezeFile, f.Text())
	if err != nil {
		return err
	}
	err = p.publish(ctx, h, chains, change{name: draw.RollFile, temp: roll.file.Name()},
		change{name: draw.ExcludedFile, temp: excluded.file.Name()}, note)
	if err != nil {
		return err
	}
	p.print("freeze %s\n", draw.Hash(f.Text()))
	p.say("%d tickets issued = %d in %s + %d in %s", f.Issued, f.Roll, draw.RollFile, f.Excluded, draw.ExcludedFile)
	p.say("publish the folder now and read the hash out before the event, in %s", roughly(left))
	return nil
}

// A listFile is a list on its way to the publication.
type listFile struct {
	*draw.ListWriter
	file *os.File
	buf  *bufio.Writer
}

func (h host) newList(name string) (listFile, error) {
	f, err := beside(h.public(name), publicMode)
	if err != nil {
		return listFile{}, err
	}
	buf := bufio.NewWriterSize(f, 256<<10)
	return listFile{draw.NewListWriter(buf), f, buf}, nil
}

func discardAll(files ...*os.File) {
	for _, f := range files {
		if f != nil {
			discard(f)
		}
	}
}

// writeLists writes both lists to settled temporary files, in one pass over
// the imported tickets, whose order is that of the lists.
func (h host) writeLists() (roll, excluded listFile, err error) {
	if roll, err = h.newList(draw.RollFile); err != nil {
		return roll, excluded, err
	}
	if excluded, err = h.newList(draw.ExcludedFile); err != nil {
		return roll, excluded, err
	}
	in, err := os.Open(h.imports(ticketsName))
	if err != nil {
		return roll, excluded, err
	}
	defer in.Close()
	lines, n := bufio.NewScanner(in), 0
	for lines.Scan() {
		n++
		if err := addTicket(lines.Text(), roll, excluded); err != nil {
			return roll, excluded, fmt.Errorf("%s: line %d: %w", h.imports(ticketsName), n, err)
		}
	}
	if err := lines.Err(); err != nil {
		return roll, excluded, fmt.Errorf("read %s: %w", h.imports(ticketsName), err)
	}
	for _, l := range []listFile{roll, excluded} {
		if err := errors.Join(l.buf.Flush(), settle(l.file)); err != nil {
			return roll, excluded, fmt.Errorf("write list: %w", err)
		}
	}
	return roll, excluded, nil
}

// addTicket puts one line of the imported tickets into the list it belongs to.
func addTicket(line string, roll, excluded listFile) error {
	parts := strings.Split(line, " ")
	if len(parts) != 3 {
		return errors.New(`want "<ticket> roll <commitment>" or "<ticket> excluded <reason>"`)
	}
	t, err := draw.ParseTicket(parts[0])
	if err != nil {
		return err
	}
	if parts[1] == "excluded" {
		return excluded.AddReason(t, parts[2])
	}
	commitment, err := draw.ParseDigest(parts[2])
	if err != nil || parts[1] != "roll" {
		return errors.New(`want "<ticket> roll <commitment>" or "<ticket> excluded <reason>"`)
	}
	return roll.Add(t, commitment)
}
