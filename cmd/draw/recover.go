package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"evenhand/draw"
	"evenhand/giveaway"
)

// recover makes FOLDER.private from a recovery sheet, so that draw run can
// finish a draw that was locked elsewhere. Given an address, it fetches the
// publication first.
func (p *program) recover(ctx context.Context, args []string) (int, error) {
	rest, err := p.parse(p.flags(), args, 2, 3)
	if err != nil {
		return 0, err
	}
	where := rest[0]
	if len(rest) == 3 {
		if !strings.HasPrefix(where, "https://") && !strings.HasPrefix(where, "http://") {
			return 0, p.usage("%s: want an address that begins with https://", where)
		}
		rest = rest[1:]
	}
	f, err := folderAt(rest[0])
	if err != nil {
		return 0, err
	}
	s, err := p.readSheet(rest[1])
	if err != nil {
		return 0, err
	}
	fsys, _, err := openPublication(ctx, where)
	if err != nil {
		return 0, err
	}
	if a, ok := fsys.(*address); ok {
		defer a.Close()
	}
	return statusDone, p.recovered(ctx, f, fsys, s)
}

// readSheet reads a sheet from a file, or as it is typed.
func (p *program) readSheet(path string) (sheet, error) {
	var b []byte
	var err error
	if path == "-" {
		b, err = io.ReadAll(io.LimitReader(p.stdin, maxSmall))
	} else {
		b, err = readSmall(path)
	}
	if err != nil {
		return sheet{}, fmt.Errorf("recovery sheet: %w", err)
	}
	s, err := parseSheet(string(b))
	if err != nil {
		return s, fmt.Errorf("recovery sheet: %w", err)
	}
	return s, nil
}

// recovered checks that sheet and publication belong together before anything
// is written.
func (p *program) recovered(ctx context.Context, f folder, fsys fs.FS, s sheet) error {
	o, err := s.opening(fsys)
	if err != nil {
		return err
	}
	if _, local := fsys.(plainFiles); !local {
		if err := fetchAll(f, fsys, o); err != nil {
			return err
		}
	}
	r := draw.Check(ctx, plainFiles(f.path), draw.Options{Key: s.signer.VerifierKey()})
	if r.Status == draw.StatusFault {
		return fmt.Errorf("%s does not check out; draw verify %s says more", f.path, f.path)
	}
	if err := f.make(); err != nil {
		return err
	}
	if err := writeNew(f.private(sealName(s.seal.Role)), s.seal.Text(), privateMode); err != nil {
		return err
	}
	if err := writeNew(f.private(keyName), []byte(s.signer.Secret()+"\n"), privateMode); err != nil {
		return err
	}
	p.say("the secret number and the key are in %s, for you alone", f.private(""))
	p.sayNext(f, r, o)
	return nil
}

// opening reads the posted terms and holds the sheet against them.
func (s sheet) opening(fsys fs.FS) (draw.Opening, error) {
	var o draw.Opening
	v, err := draw.ParseVerifier(s.signer.VerifierKey())
	if err != nil {
		return o, fmt.Errorf("recovery sheet: the key: %w", err)
	}
	data, err := fs.ReadFile(fsys, draw.OpeningFile)
	if err != nil {
		return o, err
	}
	text, err := draw.OpenNote(draw.OpeningFile, data, v)
	if err != nil {
		return o, fmt.Errorf("the sheet's key did not sign this publication: %w", err)
	}
	if o, err = draw.ParseOpening(draw.OpeningFile, text); err != nil {
		return o, err
	}
	for _, want := range o.Seals {
		if want.Role == giveaway.HostRole && s.seal.Role == want.Role && s.seal.Hash() == want.Hash {
			return o, nil
		}
	}
	return o, fmt.Errorf("the sheet's secret number is not the one that was sealed for %s: a character is wrong, or it is the sheet of another giveaway (%s)", o.Draw, s.seal.Draw)
}

// fetchAll brings a publication into the folder, in the order in which it
// appeared. A file of the same bytes is left as it is; one of other bytes is
// an error.
func fetchAll(f folder, fsys fs.FS, o draw.Opening) error {
	if err := f.makePublic(); err != nil {
		return err
	}
	var names []string
	for n := 1; n < o.Revision; n++ {
		names = append(names, draw.KeptFile(draw.OpeningFile, n), draw.KeptFile(draw.RulesFile, n))
	}
	names = append(names, draw.OpeningFile, draw.RulesFile, draw.RollFile, draw.ExcludedFile, draw.FreezeFile, draw.CancelledFile, draw.RecordFile)
	for _, name := range names {
		if err := fetchFile(f, fsys, name); err != nil {
			return err
		}
	}
	return fetchOutcomes(f, fsys)
}

// fetchOutcomes brings what became of the places, if anything did.
func fetchOutcomes(f folder, fsys fs.FS) error {
	data, err := fs.ReadFile(fsys, draw.OutcomeFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	text, _, _ := strings.Cut(string(data), "\n\n")
	last, err := draw.ParseOutcome(draw.OutcomeFile, []byte(text+"\n"))
	if err != nil {
		return err
	}
	for n := 1; n < last.Revision; n++ {
		if err := fetchFile(f, fsys, draw.KeptFile(draw.OutcomeFile, n)); err != nil {
			return err
		}
	}
	return fetchFile(f, fsys, draw.OutcomeFile)
}

// fetchFile copies one file; one that is not there is left out.
func fetchFile(f folder, fsys fs.FS, name string) error {
	from, err := fsys.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	defer from.Close()
	to, err := beside(f.public(name), publicMode)
	if err != nil {
		return err
	}
	defer discard(to)
	if _, err := io.Copy(to, from); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := settle(to); err != nil {
		return fmt.Errorf("write %s: %w", f.public(name), err)
	}
	return place(to.Name(), f.public(name))
}

// sayNext says what can be done now.
func (p *program) sayNext(f folder, r draw.Report, o draw.Opening) {
	switch {
	case r.Record != nil:
		p.say("this draw is made already; draw outcome %s goes on from there", f.path)
	case r.Cancelled != nil:
		p.say("this draw was called off: there is nothing to draw")
	case r.Freeze == nil:
		p.say("the list is not locked: who has entered stands in the site's own database, and without it there is no list to lock")
	default:
		line := "now make the draw: draw run " + f.path + " --wait"
		for _, seal := range o.Seals {
			if seal.Role != giveaway.HostRole {
				line += fmt.Sprintf(" --secret FILE-OF-%s (or --withheld %s)", strings.ToUpper(seal.Role), seal.Role)
			}
		}
		p.say("%s", line)
	}
}
