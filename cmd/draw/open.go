package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"evenhand/cautions"
	"evenhand/draw"
	"evenhand/giveaway"
)

// open publishes the posted terms, or a revision of them.
func (p *program) open(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	termsFile := set.String("terms", "", "")
	name := set.String("signer", "", "")
	key := set.String("key", "", "")
	revise := set.Bool("revise", false, "")
	var seals list
	set.Var(&seals, "seal", "")
	rest, err := p.parse(set, args, 1, 1)
	if err != nil {
		return 0, err
	}
	if *termsFile == "" {
		return 0, p.usage("--terms: want the terms as a JSON file, - for standard input")
	}
	t, err := p.readTerms(*termsFile)
	if err != nil {
		return 0, err
	}
	if *revise {
		if *name != "" || *key != "" || len(seals) > 0 {
			return 0, p.usage("a revision changes closes, event and rules only: leave out --signer, --key and --seal")
		}
		return p.revise(ctx, rest[0], t)
	}
	f, err := folderAt(rest[0])
	if err != nil {
		return 0, err
	}
	return p.firstOpening(ctx, f, t, *name, *key, seals)
}

func (p *program) readTerms(path string) (giveaway.Terms, error) {
	r := p.stdin
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return giveaway.Terms{}, fmt.Errorf("terms: %w", err)
		}
		defer f.Close()
		r = f
	}
	t, err := giveaway.ReadTerms(r)
	if problems, ok := errors.AsType[giveaway.Problems](err); ok {
		lines := []string{path + ": something is not right in the terms"}
		for _, one := range problems {
			lines = append(lines, one.Field+": "+one.Text)
		}
		return t, errors.New(strings.Join(lines, "\n"))
	}
	if err != nil {
		return t, fmt.Errorf("%s: %w", path, err)
	}
	return t, nil
}

func (p *program) firstOpening(ctx context.Context, f folder, t giveaway.Terms, name, keyFile string, others list) (int, error) {
	if _, err := os.Lstat(f.public(draw.OpeningFile)); err == nil {
		return 0, fmt.Errorf("%s: %w; to change closes, event or rules, use --revise", f.public(draw.OpeningFile), fs.ErrExist)
	}
	if !p.clock().Before(t.Closes.UTC) {
		return 0, fmt.Errorf("entries would have closed %s: nobody could enter under these terms", draw.FormatTime(t.Closes.UTC))
	}
	if err := f.make(); err != nil {
		return 0, err
	}
	h := host{folder: f}
	var err error
	if h.signer, err = p.key(f, name, keyFile); err != nil {
		return 0, err
	}
	seal, err := p.hostSeal(f, t.Draw, h.signer.Name())
	if err != nil {
		return 0, err
	}
	seals, err := withSeals(seal, t.Seconds, others)
	if err != nil {
		return 0, err
	}
	t = f.written(t, seals, p.clock())
	o, err := giveaway.Opening(t, h.signer.VerifierKey(), seals)
	if err != nil {
		return 0, err
	}
	if err := f.keepTerms(t); err != nil {
		return 0, err
	}
	note, err := h.sign(draw.OpeningFile, o.Text())
	if err != nil {
		return 0, err
	}
	if err := p.publish(ctx, h, nil, change{name: draw.RulesFile, data: []byte(t.Rules)}, note); err != nil {
		return 0, err
	}
	p.afterOpening(h, o, t)
	p.caution(t)
	return statusDone, nil
}

// written is what is posted of the terms: with each second secret named, and
// the rules written from them where none were given. After an interrupted
// opening the rules keep their date, so that they stay the same text.
func (f folder) written(t giveaway.Terms, seals []draw.SealHash, now time.Time) giveaway.Terms {
	t.Seconds = named(t.Seconds, seals)
	if kept, err := f.terms(); err == nil && kept.RulesWritten {
		now = kept.RulesDate
	}
	return t.AsPosted(now)
}

// named lists the second secrets of all seals; one that the terms don't name
// goes by its role.
func named(have []giveaway.Second, seals []draw.SealHash) []giveaway.Second {
	var all []giveaway.Second
	for _, s := range seals {
		if s.Role == giveaway.HostRole {
			continue
		}
		one := giveaway.Second{Role: s.Role, Who: s.Role, Hash: s.Hash}
		if i := slices.IndexFunc(have, func(h giveaway.Second) bool { return h.Role == s.Role }); i >= 0 {
			one.Who = have[i].Who
		}
		all = append(all, one)
	}
	return all
}

// caution says what should make a host stop; it stops nobody.
func (p *program) caution(t giveaway.Terms) {
	for _, c := range cautions.For(t, p.clock()) {
		if c.Level == cautions.LevelStop {
			p.say("caution: %s: %s %s", c.Code, c.Why, c.Whole())
		}
	}
}

// afterOpening prints what the public should get to know, and says what to do.
func (p *program) afterOpening(h host, o draw.Opening, t giveaway.Terms) {
	p.print("opening %s\nkey %s\n", draw.Hash(o.Text()), h.signer.VerifierKey())
	p.say("posted terms of %s, revision %d, in %s: put that folder where the public can read it, the key under the video", o.Draw, o.Revision, h.path)
	p.say("only for you, keep a copy: %s", h.private(""))
	if o.Opens.Before(p.clock()) && o.Revision == 1 {
		p.say("note: entries opened %s, before these terms were made", draw.FormatTime(o.Opens))
	}
	if o.Beacon == nil {
		p.say("note: no public number is named, so the draw will be weak: you alone could know its result")
	}
	p.warnZones(t.Opens.Zone, t.Closes.Zone, t.Event.Zone)
}

// warnZones says where this computer's zone data are known to be wrong.
func (p *program) warnZones(zones ...string) {
	for _, stale := range giveaway.StaleZones() {
		if slices.Contains(zones, stale) {
			p.say("note: this computer's zone data for %s are from before 2026 and wrong by an hour: bring them up to date, or check the utc values", stale)
		}
	}
}

// withSeals puts the host's seal among those of others, from the terms and the
// flags, in the opening's order.
func withSeals(own draw.Seal, seconds []giveaway.Second, others list) ([]draw.SealHash, error) {
	seals := []draw.SealHash{{Role: own.Role, Hash: own.Hash()}}
	for _, s := range seconds {
		seals = append(seals, draw.SealHash{Role: s.Role, Hash: s.Hash})
	}
	for _, s := range others {
		one, err := parseSealHash(s)
		if err != nil {
			return nil, fmt.Errorf("--seal: %w", err)
		}
		if slices.Contains(seals, one) {
			continue // repeated, such as the host's own
		}
		seals = append(seals, one)
	}
	slices.SortFunc(seals, func(a, b draw.SealHash) int { return strings.Compare(a.Role, b.Role) })
	return seals, nil
}

// keepTerms writes the terms into the private folder.
func (f folder) keepTerms(t giveaway.Terms) error {
	b, err := t.JSON()
	if err != nil {
		return err
	}
	return replace(f.private(termsName), b, privateMode)
}
