package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"evenhand/draw"
)

// checking holds the flags that verify and find share.
type checking struct {
	key      string
	freeze   string
	now      bool
	chains   list
	receipts list
	entries  list
	json     bool
}

// verify checks a publication and prints what it found.
func (p *program) verify(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	var c checking
	set.StringVar(&c.key, "signer", "", "")
	set.StringVar(&c.freeze, "freeze", "", "")
	set.BoolVar(&c.now, "now", false, "")
	set.Var(&c.chains, "chain", "")
	set.Var(&c.receipts, "receipt", "")
	set.Var(&c.entries, "entry", "")
	set.BoolVar(&c.json, "json", false, "")
	rest, err := p.parse(set, args, 1, 1)
	if err != nil {
		return 0, err
	}
	opt, err := p.options(c)
	if err != nil {
		return 0, err
	}
	report, err := p.check(ctx, rest[0], opt)
	if err != nil {
		return 0, err
	}
	if c.json {
		return report.Status, p.printJSON(report)
	}
	p.printReport(report)
	return report.Status, nil
}

// options turns flags into those of a check.
func (p *program) options(c checking) (draw.Options, error) {
	opt := draw.Options{Key: c.key}
	var err error
	if c.key != "" {
		if _, err := draw.ParseVerifier(c.key); err != nil {
			return opt, fmt.Errorf("--signer: %w", err)
		}
	}
	if c.freeze != "" {
		hash, err := draw.ParseDigest(c.freeze)
		if err != nil {
			return opt, fmt.Errorf("--freeze: %w", err)
		}
		opt.Freeze = &hash
	}
	if c.now {
		now := p.now()
		opt.Now = &now
	}
	if opt.Chains, err = readChains(c.chains); err != nil {
		return opt, err
	}
	if opt.Receipts, err = attachments("--receipt", c.receipts); err != nil {
		return opt, err
	}
	opt.Entries, err = attachments("--entry", c.entries)
	return opt, err
}

func attachments(flag string, files list) ([]draw.Attachment, error) {
	var out []draw.Attachment
	for _, name := range files {
		b, err := readSmall(name)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", flag, err)
		}
		out = append(out, draw.Attachment{Name: name, Data: b})
	}
	return out, nil
}

// check opens a folder or an address and checks it.
func (p *program) check(ctx context.Context, where string, opt draw.Options) (draw.Report, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	fsys, host, err := openPublication(ctx, where)
	if err != nil {
		return draw.Report{}, err
	}
	if c, ok := fsys.(*address); ok {
		defer c.Close()
	}
	opt.Host = host
	bar := p.progress(rollLength(fsys))
	opt.Progress = bar.at
	report := draw.Check(ctx, fsys, opt)
	bar.end()
	return report, nil
}

// rollLength is the number of lines of a folder's roll, 0 where that is not
// known beforehand.
func rollLength(fsys fs.FS) int64 {
	if dir, ok := fsys.(plainFiles); ok {
		if info, err := fs.Stat(os.DirFS(string(dir)), draw.RollFile); err == nil {
			return info.Size() / lineBytes
		}
	}
	return 0
}

// openPublication gives the files of a folder or of an address; host is the
// address's host name.
func openPublication(ctx context.Context, where string) (fs.FS, string, error) {
	if strings.HasPrefix(where, "http://") || strings.HasPrefix(where, "https://") {
		a, err := newAddress(ctx, where)
		if err != nil {
			return nil, "", err
		}
		return a, a.base.Hostname(), nil
	}
	info, err := os.Stat(where)
	switch {
	case err != nil:
		return nil, "", err
	case !info.IsDir():
		return nil, "", fmt.Errorf("%s: want a folder or the address of a publication", where)
	}
	return plainFiles(where), "", nil
}

func (p *program) printJSON(v any) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, err := p.stdout.Write(visibleJSON(b.Bytes()))
	return err
}

// printReport prints one line for each finding, then the verdict and what it
// rests on.
func (p *program) printReport(r draw.Report) {
	for _, f := range r.Findings {
		p.print("%s\n", oneLine(f.String()))
	}
	p.print("\n")
	if r.Key != "" {
		p.print("signed by  %s\nkey        %s\n", r.Signer, r.Key)
	}
	if r.Draw != "" {
		p.print("draw       %s, stage %s, %s\n", r.Draw, r.Stage, tickets(r))
	}
	if r.FreezeAt != nil {
		p.print("freeze     %s\n", r.FreezeAt)
	}
	if r.Opening != nil && r.Status == draw.StatusValid {
		p.printPlaces(r)
	}
	switch r.Verdict {
	case "":
		p.print("verdict    none: not read as a publication, or something not checked\n")
	default:
		p.print("verdict    %s\n", r.Verdict)
	}
	for _, f := range r.Findings {
		said := oneLine(f.InWords())
		if said != oneLine(f.Text) && !strings.HasPrefix(f.Text, "weak: ") { // what follows says why it is weak
			p.print("\n%s\n", wrap("To know: "+said, 78))
		}
	}
	for _, s := range r.Statement {
		p.print("\n%s\n", wrap(s, 78))
	}
}

func tickets(r draw.Report) string {
	if r.Freeze == nil {
		return "list not locked yet"
	}
	return fmt.Sprintf("%d tickets in the list, %d left out", r.Tickets, r.Excluded)
}

// printPlaces prints the places with what became of them.
func (p *program) printPlaces(r draw.Report) {
	became := map[int]string{}
	if r.Outcome != nil {
		for _, x := range r.Outcome.Passed {
			became[x.Place] = "passed " + draw.FormatTime(x.At) + ", " + x.Reason
		}
		for _, x := range r.Outcome.Confirmed {
			became[x.Place] = "confirmed " + draw.FormatTime(x.At)
		}
	}
	for _, place := range r.Places {
		kind := "wins"
		if place.N > r.Opening.Winners {
			kind = "next in line"
		}
		if became[place.N] != "" {
			kind = became[place.N]
		}
		p.print("place %-4d %s  %s\n", place.N, place.Ticket.Grouped(), kind)
	}
}

// wrap breaks a sentence into lines of a width, in characters.
func wrap(s string, width int) string {
	var b strings.Builder
	n := 0
	for i, word := range strings.Fields(s) {
		long := len([]rune(word))
		switch {
		case i == 0:
		case n+1+long > width:
			b.WriteByte('\n')
			n = 0
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += long
	}
	return b.String()
}
