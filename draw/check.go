package draw

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"time"

	"evenhand/draw/beacon"
)

// Options of a check. The zero value checks a publication as it stands.
type Options struct {
	Key      string         // --signer: any other verifier key is a fault
	Freeze   *Digest        // --freeze: any other hash of the freeze is a fault
	Host     string         // the host name it was read from, or ""
	Now      *time.Time     // --now: remarks on what is overdue
	Chains   []beacon.Chain // chains beside quicknet, given by the person who checks
	Receipts []Attachment   // notes
	Entries  []Attachment   // entry texts
	Find     []Ticket       // tickets whose standing is wanted
	Progress func(tickets int64)

	// Relays asks the beacon's own relays for a round's signature, for a chain
	// whose key this check does not know. It may be nil.
	Relays func(ctx context.Context, chain string, round uint64) ([]byte, error)
}

// An Attachment is a file that is not part of the publication.
type Attachment struct {
	Name string
	Data []byte
}

// A checker goes through one publication. The values of its files are there as
// far as they were read.
type checker struct {
	Report
	fsys     fs.FS
	opt      Options
	seen     map[string]presence
	texts    map[string][]byte
	verifier Verifier
	openings []Opening // by revision, the last one is opening.txt
	lists    scanned
	chain    *beacon.Chain // nil: none named, or unknown
	late     bool          // a receipt was given outside the entry time
	ctx      context.Context
	halted   bool // ctx ended, and that has been said
	tooSoon  int  // remarks of a kind that is counted after mostAlike
	oneStep  int
}

// MaxRevisions is how many revisions of an opening, and of the outcome of a
// draw with up to half as many places, [Check] and [Compare] read.
const MaxRevisions = 1000

const tooMany = "more revisions than this tool reads: %d, and it reads %d"

// Check reads a publication and answers with findings and a verdict. It
// writes nothing. The numbers in the comments are those of the protocol's page
// "Checking".
//
// Where ctx ends the check stops at the next file, revision, receipt or block
// of the lists, with "not checked: stopped" and status 2; a fault found before
// stands. A read that stalls ends when fsys ends it.
//
// No more than [MaxRevisions] revisions of the opening are read, nor more of
// the outcome than that or, where it is more, than two for each place and one
// (a place may be confirmed, and passed later): "more revisions than this tool reads",
// status 2.
func Check(ctx context.Context, fsys fs.FS, opt Options) Report {
	c := &checker{ctx: ctx, fsys: fsys, opt: opt, seen: map[string]presence{}, texts: map[string][]byte{}}
	if !c.stopped() && c.readOpening() {
		c.steps(c.checkOpenings, c.checkGroups, c.checkRules, c.checkFreeze, c.checkLists, c.checkRecord,
			c.checkOutcomes, c.checkCancelled, c.checkStrays, c.checkWeak, c.checkOptions, c.checkReceipts)
	}
	c.conclude()
	if c.Opening != nil && c.Status != StatusNotRead {
		c.Statement = c.sources().Statement()
	}
	return c.Report
}

// steps takes one after the other, until the check is stopped.
func (c *checker) steps(all ...func()) {
	for _, step := range all {
		if step(); c.stopped() {
			return
		}
	}
}

// stopped tells whether whoever asked for the check has ended it, and says so
// once.
func (c *checker) stopped() bool {
	if c.ctx.Err() == nil {
		return false
	}
	if !c.halted {
		c.halted = true
		c.unread("", "stopped")
	}
	return true
}

// until is r as long as the check is not stopped.
func (c *checker) until(r io.Reader) io.Reader { return running{c.ctx, r} }

type running struct {
	ctx context.Context
	r   io.Reader
}

func (r running) Read(b []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.r.Read(b)
}

// A presence says whether a file is there.
type presence int

const (
	absent presence = iota
	present
	unknown // it could not be read: not checked, and never called missing
)

// look tells whether a file of this name is there. It asks once.
func (c *checker) look(name string) presence {
	if p, ok := c.seen[name]; ok {
		return p
	}
	f, err := c.fsys.Open(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		c.seen[name] = absent
	case err != nil:
		c.lost(name, err)
	default:
		f.Close()
		c.seen[name] = present
	}
	return c.seen[name]
}

// lost says, once for each file, that it can't be read.
func (c *checker) lost(name string, err error) {
	if c.seen[name] != unknown && !c.stopped() {
		c.unread(name, "%v", err)
	}
	c.seen[name] = unknown
}

// faultAt is a fault on the line of a text that begins with key.
func (c *checker) faultAt(name, key, format string, args ...any) {
	c.add(Fault, name, lineOf(c.texts[name], key), format, args...)
}

// broken reports an error of a rule about a text.
func (c *checker) broken(name string, err error) {
	var at *lineError
	if errors.As(err, &at) {
		c.faultAt(name, at.key, "%s", at.want)
		return
	}
	c.fault(name, "%v", err)
}

// read returns a whole small file, and nil where it is absent or unknown; the
// latter has been reported.
func (c *checker) read(name string) []byte {
	if p, ok := c.seen[name]; ok && p != present {
		return nil
	}
	f, err := c.fsys.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		c.seen[name] = absent
		return nil
	}
	if err != nil {
		c.lost(name, err)
		return nil
	}
	defer f.Close()
	b, err := io.ReadAll(c.until(io.LimitReader(f, maxNote+1)))
	if err != nil {
		c.lost(name, err)
		return nil
	}
	c.seen[name] = present
	return append([]byte{}, b...)
}

// readNote reads, parses and verifies one note. It is not ok where the file is
// missing, unknown or faulty; the last two have been reported. The form comes
// before the signature: in a note that was tampered with, the broken line says
// more than the signature that does not fit.
func readNote[T any](c *checker, name string, parse func(file string, text []byte) (T, error)) (v T, ok bool) {
	data := c.read(name)
	if data == nil {
		return v, false
	}
	text, err := noteText(name, data)
	if err == nil {
		v, err = parse(name, text)
	}
	if err == nil {
		_, err = OpenNote(name, data, c.verifier)
	}
	if err != nil {
		c.err(name, err)
		return v, false
	}
	c.texts[name] = bytes.Clone(text) // without the signatures, which may be far longer
	return v, true
}

// readOpening is check 1 for opening.txt: its first line decides whether this
// is a publication at all, its key is the one that all notes are checked with.
func (c *checker) readOpening() bool {
	data := c.read(OpeningFile)
	switch {
	case data == nil && c.look(OpeningFile) == absent:
		c.unread(OpeningFile, "there is none: this is not a publication")
		return false
	case data == nil:
		return false
	}
	if why := notOpening(data); why != "" {
		c.unread(OpeningFile, "%s", why)
		return false
	}
	text, err := noteText(OpeningFile, data)
	var o Opening
	if err == nil {
		o, err = ParseOpening(OpeningFile, text)
	}
	if err == nil {
		c.verifier, err = ParseVerifier(o.Signer)
	}
	if err == nil {
		_, err = OpenNote(OpeningFile, data, c.verifier)
	}
	if err != nil {
		c.err(OpeningFile, err)
		return false
	}
	c.Opening, c.Draw, c.Stage = &o, o.Draw, StageOpen
	c.Signer, c.Key = c.verifier.Name(), o.Signer
	c.texts[OpeningFile] = bytes.Clone(text)
	c.ok(OpeningFile, "signed by %s; draw %s, revision %d", c.Signer, o.Draw, o.Revision)
	return true
}

var openingVersion = regexp.MustCompile(`^evenhand/opening/v([2-9]|[1-9][0-9]+)$`)

// notOpening says why the first line is not that of an opening of version 1.
func notOpening(data []byte) string {
	first, _, _ := strings.Cut(string(data[:min(len(data), 200)]), "\n")
	switch {
	case first == "evenhand/opening/v1":
		return ""
	case openingVersion.MatchString(first):
		return "a version newer than this tool"
	case strings.HasPrefix(first, "\ufeff"), strings.HasPrefix(first, "\xff\xfe"), strings.HasPrefix(first, "\xfe\xff"):
		return "want the first line evenhand/opening/v1; a byte-order mark stands before it"
	case strings.HasSuffix(first, "\r"):
		return "want the first line evenhand/opening/v1; it ends in a CR"
	}
	return "want the first line evenhand/opening/v1"
}

// checkOpenings is check 8 for revisions, with check 1 for the ones kept.
func (c *checker) checkOpenings() {
	last := *c.Opening
	for n := 1; n < last.Revision && n <= MaxRevisions; n++ {
		if c.stopped() {
			c.openings = nil
			return
		}
		o, ok := c.keptOpening(KeptFile(OpeningFile, n), n)
		if !ok {
			c.openings = nil
			return
		}
		c.openings = append(c.openings, o)
	}
	if last.Revision <= MaxRevisions {
		c.openings = append(c.openings, last)
	}
	for i := range c.openings[1:] {
		if c.stopped() {
			return
		}
		c.checkRevision(c.openings[i], c.openings[i+1])
	}
	if last.Revision > MaxRevisions {
		c.openings = nil
		c.unread(OpeningFile, tooMany, last.Revision, MaxRevisions)
	}
}

func (c *checker) keptOpening(name string, n int) (Opening, bool) {
	o, ok := readNote(c, name, ParseOpening)
	switch {
	case c.look(name) == absent:
		c.fault(name, "want the opening of revision %d kept here", n)
	case ok && o.Revision != n:
		c.add(Fault, name, 3, "want revision %d", n)
		ok = false
	}
	return o, ok
}

func (c *checker) checkRevision(old, new Opening) {
	name := OpeningFile
	if new.Revision < c.Opening.Revision {
		name = KeptFile(OpeningFile, new.Revision)
	}
	if err := CheckRevision(old, new); err != nil {
		c.broken(name, err)
		return
	}
	var said []string
	for _, ch := range changes(old, new) {
		said = append(said, fmt.Sprintf("%s from %s to %s", ch.key, ch.old, ch.new))
	}
	text := fmt.Sprintf("revised %s: %s", FormatTime(new.Revised), strings.Join(said, ", "))
	if !new.Revised.Before(old.Event) {
		text += "; moved after the event: a result may have been tried and dropped"
	}
	if new.Rules != old.Rules && !new.Revised.Before(old.Closes) {
		text += "; rules changed after entries closed"
	}
	c.remark(name, "%s", text)
}

// checkGroups: each group of files is whole or absent, none without the one
// before. A draw's files are read through has.
func (c *checker) checkGroups() {
	groups := [][]string{{OpeningFile, RulesFile}, {RollFile, ExcludedFile, FreezeFile}, {RecordFile}, {OutcomeFile}}
	before := ""
	for i, g := range groups {
		var there, missing []string
		lost := false
		for _, name := range g {
			switch c.look(name) {
			case present:
				there = append(there, name)
			case absent:
				missing = append(missing, name)
			default:
				lost = true
			}
		}
		switch {
		case len(there) == 0 && before == "" && !lost:
			before = missing[0]
		case len(there) > 0 && before != "":
			c.fault(there[0], "stands without the files before it: %s is missing", before)
		case len(there) > 0 && len(missing) > 0:
			c.fault(missing[0], "is missing beside %s", there[0])
			before = missing[0]
		case len(there) > 0 && !lost:
			c.Stage = []Stage{StageOpen, StageFrozen, StageDrawn, StageOutcome}[i]
		}
	}
}

// checkRules is check 2 for the rules, those kept included.
func (c *checker) checkRules() {
	if c.look(RulesFile) == present {
		c.rulesHash(RulesFile, c.Opening.Rules)
	}
	for i := range max(0, len(c.openings)-1) {
		if c.stopped() {
			return
		}
		if c.openings[i].Rules != c.openings[i+1].Rules {
			c.rulesHash(KeptFile(RulesFile, i+1), c.openings[i].Rules)
		}
	}
}

func (c *checker) rulesHash(name string, want Digest) {
	f, err := c.fsys.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		c.fault(name, "want the rules that the opening of that revision names, kept here")
		return
	}
	var got Digest
	if err == nil {
		got, err = hashFile(f, c.until)
	}
	switch {
	case err != nil:
		c.lost(name, err)
	case got != want:
		c.fault(name, "want hash %s, as the opening says; this is %s", want, got)
	default:
		c.ok(name, "is the text whose hash the opening names")
	}
}

var strayName = regexp.MustCompile(`^(` + strings.Join(stems, "|") + `)\.([0-9]+)\.txt$`)

// checkStrays looks for links, and for kept files that nothing calls for.
func (c *checker) checkStrays() {
	dir, ok := c.fsys.(fs.ReadDirFS)
	if !ok {
		c.ok("", "stray files were not looked for: that is possible in a folder only")
		return
	}
	list, err := dir.ReadDir(".")
	if err != nil {
		c.unread("", "list the folder: %v", err)
		return
	}
	for _, e := range list {
		name := e.Name()
		stem, _ := strings.CutSuffix(name, ".txt")
		kept := strayName.FindStringSubmatch(name)
		ours := slices.Contains(stems, stem) && stem != name || kept != nil
		switch {
		case ours && !e.Type().IsRegular():
			c.fault(name, "want a plain file, not a link or anything else")
		case kept != nil && !c.called(kept[1], kept[2]):
			c.fault(name, "nothing calls for this file")
		}
	}
}

// called tells whether the rules call for the kept file <stem>.<digits>.txt.
func (c *checker) called(stem, digits string) bool {
	n, err := parseNumber(digits)
	if err != nil || n < 1 {
		return false
	}
	switch {
	case stem == "opening":
		return n < int64(c.Opening.Revision)
	case stem == "rules" && n < int64(c.Opening.Revision):
		return c.openings == nil || c.openings[n-1].Rules != c.openings[n].Rules
	case stem == "outcome" && c.Outcome == nil: // one that is broken has been reported
		return c.look(OutcomeFile) != absent
	case stem == "outcome":
		return n < int64(c.Outcome.Revision)
	}
	return false
}
