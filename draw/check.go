package draw

import (
	"bytes"
	"context"
	"errors"
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
