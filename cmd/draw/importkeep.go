package main

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"evenhand/draw"
	"evenhand/entries"
)

// Names in FOLDER.private/import, which is written whole or not at all.
const (
	aboutName    = "about.json"
	ticketsName  = "tickets.txt" // every ticket, ascending: "<ticket> roll <commitment>" or "<ticket> excluded <reason>"
	rowsName     = "rows.csv"    // which row of the file got which ticket, and why it is not in the roll
	reportName   = "report.txt"
	receiptsName = "receipts" // <ticket>.receipt.txt, for the entrant
	entriesName  = "entries"  // <ticket>.entry.txt, for the entrant
)

// imports is a path in the folder of imported entries.
func (f folder) imports(name string) string { return filepath.Join(f.private(importName), name) }

// about is what later commands need to know of an import.
type about struct {
	Opening draw.Digest `json:"opening"` // that the receipts name
	Closes  time.Time   `json:"closes"`  // by which rows were decided
	Entered time.Time   `json:"entered"` // the stamp of every receipt
	count
}

// imported reads what is known of the import, or fs.ErrNotExist.
func (f folder) imported() (about, error) {
	var a about
	b, err := readSmall(f.imports(aboutName))
	if err != nil {
		return a, err
	}
	if err := json.Unmarshal(b, &a); err != nil {
		return a, fmt.Errorf("%s: %w", f.imports(aboutName), err)
	}
	return a, nil
}

// keepImport writes everything of an import beside and then gives it its name.
func (p *program) keepImport(h host, got entries.Imported) error {
	a := about{Opening: draw.Hash(h.opening.Text()), Closes: h.opening.Closes, Entered: p.clock(), count: counts(got)}
	dir, err := os.MkdirTemp(h.private(""), "."+importName+".*.tmp") // 0700
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := h.writeImport(dir, got, a); err != nil {
		return fmt.Errorf("write import: %w", err)
	}
	syncAll()
	if err := h.asideImport(); err != nil {
		return err
	}
	if err := os.Rename(dir, h.imports("")); err != nil {
		return err
	}
	p.print("%s", report(got))
	p.say("receipts and entry texts for the entrants: %s, %s", h.imports(receiptsName), h.imports(entriesName))
	return syncDir(h.imports(""))
}

// asideImport puts an earlier import aside under a number.
func (h host) asideImport() error {
	for n := 1; ; n++ {
		to := h.private(importName + ".old." + strconv.Itoa(n))
		if _, err := os.Lstat(to); err == nil {
			continue
		}
		err := os.Rename(h.imports(""), to)
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		return err
	}
}

func (h host) writeImport(dir string, got entries.Imported, a about) error {
	for _, name := range []string{receiptsName, entriesName} {
		if err := os.Mkdir(filepath.Join(dir, name), privateDir); err != nil {
			return err
		}
	}
	for _, r := range got.Rows {
		if err := h.writeTicket(dir, r, a); err != nil {
			return fmt.Errorf("row %d: %w", r.Row, err)
		}
	}
	sum, err := json.MarshalIndent(a, "", "  ")
	return errors.Join(err,
		writeNew(filepath.Join(dir, reportName), []byte(report(got)), privateMode),
		buffered(filepath.Join(dir, rowsName), func(w *bufio.Writer) error { return writeRows(w, got) }),
		buffered(filepath.Join(dir, ticketsName), func(w *bufio.Writer) error { return writeTickets(w, got) }),
		writeNew(filepath.Join(dir, aboutName), append(sum, '\n'), privateMode))
}

// writeTicket writes the receipt and the entry text of one row.
func (h host) writeTicket(dir string, r entries.ImportedRow, a about) error {
	text := entryText(h.opening.Draw, r.Ticketed)
	if text.Commitment() != r.Commitment {
		return errors.New("the entry text does not give the commitment")
	}
	receipt := draw.Receipt{Draw: h.opening.Draw, Opening: a.Opening, Ticket: r.Ticket, Entered: a.Entered, Commitment: r.Commitment}
	note, err := h.signer.Sign(receipt.Text())
	if err != nil {
		return err
	}
	name := r.Ticket.String()
	return errors.Join(
		os.WriteFile(filepath.Join(dir, receiptsName, name+".receipt.txt"), note, privateMode),
		os.WriteFile(filepath.Join(dir, entriesName, name+".entry.txt"), text.Text(), privateMode))
}

// entryText is the text whose hash is the commitment.
func entryText(drawID string, t entries.Ticketed) draw.EntryText {
	e := draw.EntryText{Salt: t.Salt, Draw: drawID, Ticket: t.Ticket, Email: t.Entry.Key, Ship: t.Entry.Ship.Country}
	if s := t.Entry.Size; !s.IsZero() {
		e.Size = draw.EntrySize{System: string(s.System), Size: s.Size.String(), Width: s.Width}
	}
	return e
}

// buffered writes a new private file through a buffer.
func buffered(path string, fill func(*bufio.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, privateMode)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 64<<10)
	return errors.Join(fill(w), w.Flush(), settle(f))
}

// writeTickets writes all tickets in the order of the lists, so that the
// freeze is one pass over them.
func writeTickets(w *bufio.Writer, got entries.Imported) error {
	order := make([]int, len(got.Rows))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		if got.Rows[a].Ticket.Less(got.Rows[b].Ticket) {
			return -1
		}
		return 1 // no ticket stands twice
	})
	for _, i := range order {
		r := &got.Rows[i]
		var err error
		if r.Reason == "" {
			_, err = fmt.Fprintf(w, "%s roll %s\n", r.Ticket, r.Commitment)
		} else {
			_, err = fmt.Fprintf(w, "%s excluded %s\n", r.Ticket, r.Reason)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// writeRows says which row became what. Rows without a ticket come last.
func writeRows(w *bufio.Writer, got entries.Imported) error {
	out := csv.NewWriter(w)
	out.Write([]string{"row", "ticket", "list", "reason", "why", "time"})
	for _, r := range got.Rows {
		list := "roll"
		if r.Reason != "" {
			list = "excluded"
		}
		out.Write([]string{strconv.Itoa(r.Row), r.Ticket.String(), list, r.Reason, r.Why, draw.FormatTime(r.Entered)})
	}
	for _, x := range got.Unreadable {
		out.Write([]string{strconv.Itoa(x.Row), "", "unreadable", "", x.Why, ""})
	}
	out.Flush()
	return out.Error()
}
