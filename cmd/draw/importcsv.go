package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
)

// How the command was told to read a file.
type reading struct {
	columns entries.Columns
	zone    *time.Location
	entries.ImportOptions
}

// importEntries reads a CSV file of any other form and gives every row that
// can be read its ticket.
func (p *program) importEntries(_ context.Context, args []string) (int, error) {
	set := p.flags()
	var maps, fills list
	set.Var(&maps, "map", "")
	set.Var(&fills, "fill", "")
	zone := set.String("zone", "", "")
	at := set.String("at", "", "")
	comma := set.String("comma", "", "")
	dry := set.Bool("dry-run", false, "")
	force := set.Bool("force", false, "")
	rest, err := p.parse(set, args, 1, 2)
	if err != nil {
		return 0, err
	}
	how := reading{ImportOptions: entries.ImportOptions{Rand: p.rand}}
	if err := how.set(maps, fills, *zone, *at, *comma); err != nil {
		return 0, p.usage("%v", err)
	}
	h, err := hostOf(rest[0])
	if err != nil {
		return 0, err
	}
	if !*dry {
		if err := p.importable(h, *force); err != nil {
			return 0, err
		}
	}
	got, err := p.readEntries(h, rest[1:], how)
	if err != nil {
		return 0, err
	}
	if *dry {
		p.print("%s", report(got))
		p.say("nothing was written; leave out --dry-run to import")
		return statusDone, nil
	}
	p.warnZones(*zone)
	return statusDone, p.keepImport(h, got)
}

// set reads the flags' values.
func (how *reading) set(maps, fills list, zone, at, comma string) (err error) {
	if how.columns, err = parseMap(maps); err != nil {
		return fmt.Errorf("--map: %w", err)
	}
	if err = parseFill(fills, &how.Fill); err != nil {
		return fmt.Errorf("--fill: %w", err)
	}
	if zone != "" {
		if how.zone, err = giveaway.LoadZone(zone); err != nil {
			return fmt.Errorf("--zone: %w", err)
		}
	}
	if at != "" {
		if how.At, err = draw.ParseTime(at); err != nil {
			return fmt.Errorf("--at: %w", err)
		}
	}
	switch runes := []rune(comma); {
	case comma == "tab":
		how.Comma = '\t'
	case len(runes) == 1:
		how.Comma = runes[0]
	case comma != "":
		return errors.New("--comma: want one character, or tab")
	}
	return nil
}

// parseMap reads field=column pairs, parted by commas. A comma that no further
// pair follows belongs to the column's name.
func parseMap(maps list) (entries.Columns, error) {
	cols := entries.Columns{}
	for _, m := range maps {
		last := ""
		for i, part := range strings.Split(m, ",") {
			field, column, ok := strings.Cut(part, "=")
			field = strings.TrimSpace(field)
			switch {
			case ok && field != "" && !strings.Contains(field, " "):
				if _, twice := cols[field]; twice {
					return nil, fmt.Errorf("%s is given twice", field)
				}
				cols[field], last = column, field
			case i == 0:
				return nil, errors.New(`want field=column, such as email="E-mail address"`)
			default:
				cols[last] += "," + part
			}
		}
	}
	return cols, nil
}

// parseFill reads field=value, for fields that no column holds.
func parseFill(fills list, f *entries.Form) error {
	at := map[string]*string{"system": &f.System, "size": &f.Size, "width": &f.Width, "live": &f.Live,
		"state": &f.State, "ship": &f.Ship, "ship_state": &f.ShipState, "friend": &f.Friend, "age": &f.Age, "rules": &f.Rules, "step": &f.Step}
	for _, s := range fills {
		field, value, ok := strings.Cut(s, "=")
		if !ok || at[field] == nil {
			return errors.New("want field=value, such as live=US; e-mail, name and answers can't be filled in")
		}
		*at[field] = value
	}
	return nil
}

// importable says why nothing can be imported now.
func (p *program) importable(h host, force bool) error {
	for _, name := range []string{draw.FreezeFile, draw.CancelledFile} {
		if h.has(name) {
			return fmt.Errorf("%s stands: the entries can't be changed any more", name)
		}
	}
	if left := h.opening.Closes.Sub(p.now()); left > 0 {
		return fmt.Errorf("entries are taken until %s, for another %s: import once, after that\nwith --dry-run you see now what it would give",
			draw.FormatTime(h.opening.Closes), roughly(left))
	}
	if _, err := os.Lstat(h.imports("")); err == nil && !force {
		return fmt.Errorf("%s is there already: with --force it is put aside and all tickets are given anew;"+
			" do that only if no receipt of it was handed out", h.imports(""))
	}
	return nil
}

func (p *program) readEntries(h host, file []string, how reading) (entries.Imported, error) {
	in := p.stdin
	if len(file) == 1 && file[0] != "-" {
		f, err := os.Open(file[0])
		if err != nil {
			return entries.Imported{}, err
		}
		defer f.Close()
		in = f
	}
	t, err := h.standing()
	if err != nil {
		return entries.Imported{}, err
	}
	return entries.Import(in, how.columns, how.zone, t, how.ImportOptions)
}

// standing are the terms with the instants of the opening that stands: the
// published ones win.
func (h host) standing() (giveaway.Terms, error) {
	t, err := h.terms()
	t.Opens.UTC, t.Closes.UTC, t.Event.UTC = h.opening.Opens, h.opening.Closes, h.opening.Event
	return t, err
}

// count is how many rows ended where.
type count struct {
	Read       int `json:"read"`
	Roll       int `json:"roll"`
	Excluded   int `json:"excluded"`
	Unreadable int `json:"unreadable"`
}

func counts(got entries.Imported) count {
	c := count{Read: got.Read, Unreadable: len(got.Unreadable)}
	for _, r := range got.Rows {
		if r.Reason == "" {
			c.Roll++
		} else {
			c.Excluded++
		}
	}
	return c
}

// report says in words what came of the file: the sum first, then every row
// that is not in the roll or of which something was decided, in the file's
// order. It bears nothing of what stands in a row.
func report(got entries.Imported) string {
	var b strings.Builder
	c := counts(got)
	fmt.Fprintf(&b, "read %d = roll %d + excluded %d + unreadable %d\n", c.Read, c.Roll, c.Excluded, c.Unreadable)
	bad := got.Unreadable
	for _, r := range got.Rows {
		for len(bad) > 0 && bad[0].Row < r.Row {
			fmt.Fprintf(&b, "row %d unreadable: %s\n", bad[0].Row, bad[0].Why)
			bad = bad[1:]
		}
		if r.Reason != "" {
			fmt.Fprintf(&b, "row %d excluded %s: %s\n", r.Row, r.Reason, r.Why)
		}
		for _, note := range r.Notes {
			fmt.Fprintf(&b, "row %d note: %s\n", r.Row, note)
		}
	}
	for _, x := range bad {
		fmt.Fprintf(&b, "row %d unreadable: %s\n", x.Row, x.Why)
	}
	return b.String()
}
