package draw

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"strings"
	"time"
)

// A Side is one of two things that [Compare] compares: a publication, or one
// note by itself.
type Side struct {
	FS   fs.FS  // a publication
	Name string // or a note's name
	Note []byte
}

// Results of a comparison.
const (
	SameDraw   = "the same"
	LaterA     = "the first is a later stage of the same draw"
	LaterB     = "the second is a later stage of the same draw"
	NoConflict = "of the same draw, without a contradiction"
	OtherDraws = "different draws"
	TwoFaces   = "proof of two faces"
	Unread     = "not read"
)

// A Comparison is the answer of [Compare].
type Comparison struct {
	Status int      `json:"status"` // 0 the same, later or different draws, 1 two faces, 2 unread
	Result string   `json:"result"`
	Why    []string `json:"why,omitempty"` // each proof, or what could not be read
}

// signed is a note that verifies.
type signed struct {
	from string // which side and file
	kind string // the first line
	key  string // verifier key
	draw string
	slot string // what may stand only once: kind and revision, or ticket and time
	hash Digest // of the text
	text []byte // of an opening or freeze, which are short

	revision int    // of an opening or outcome
	replaces Digest // the opening that an opening revises
	opening  Digest // that a freeze names
	places   int    // of a record
}

// Compare looks for two notes under one verifier key and one draw id that
// contradict each other. key is the verifier key for notes that don't bear it
// themselves; it may be "" where one side has an opening. A publication whose
// rules or lists are not those that its notes name is not read: whether two
// copies are the same can't be said then. Nor is a side with more than
// [MaxRevisions] revisions of its opening, or more of its outcome than [Check]
// reads.
func Compare(a, b Side, key string) Comparison {
	var why []string
	sideA, keyA, errA := a.load("first", key)
	if key == "" {
		key = keyA
	}
	sideB, keyB, errB := b.load("second", key)
	if keyA == "" && keyB != "" && errA != nil {
		sideA, _, errA = a.load("first", keyB)
	}
	for _, err := range []error{errA, errB} {
		if err != nil {
			why = append(why, err.Error())
		}
	}
	all := append(append([]signed{}, sideA...), sideB...)
	if proofs := twoFaces(all); len(proofs) > 0 {
		return Comparison{StatusFault, TwoFaces, proofs}
	}
	if len(why) > 0 || len(sideA) == 0 || len(sideB) == 0 {
		return Comparison{StatusNotRead, Unread, why}
	}
	return Comparison{StatusValid, relation(sideA, sideB), nil}
}

func relation(a, b []signed) string {
	if a[0].key != b[0].key || a[0].draw != b[0].draw {
		return OtherDraws
	}
	switch inB, inA := contains(b, a), contains(a, b); {
	case inA && inB:
		return SameDraw
	case inA:
		return LaterA
	case inB:
		return LaterB
	}
	return NoConflict
}

// contains tells whether every note of small is in big.
func contains(big, small []signed) bool {
	for _, s := range small {
		found := false
		for _, t := range big {
			found = found || s.slot == t.slot && s.hash == t.hash
		}
		if !found {
			return false
		}
	}
	return true
}

// twoFaces lists the proofs among notes that all verify. The protocol, "Proof
// of two faces".
func twoFaces(all []signed) []string {
	var out []string
	for i, a := range all {
		for _, b := range all[i+1:] {
			if a.key == b.key && a.draw == b.draw && contradict(a, b, all) {
				out = append(out, fmt.Sprintf("%s and %s contradict each other, and %s signed both", a.from, b.from, a.key))
			}
		}
	}
	return out
}

func contradict(a, b signed, all []signed) bool {
	return a.slot == b.slot && a.hash != b.hash ||
		a.kind == recordKind && b.kind == cancelledKind || a.kind == cancelledKind && b.kind == recordKind ||
		outruns(a, b, all) || outruns(b, a, all)
}

// outruns tells whether freeze names an opening that o revises.
func outruns(freeze, o signed, all []signed) bool {
	if freeze.kind != freezeKind || o.kind != openingKind {
		return false
	}
	if o.revision > 1 && o.replaces == freeze.opening {
		return true
	}
	for _, named := range all {
		if named.kind == openingKind && named.hash == freeze.opening {
			return o.revision > named.revision
		}
	}
	return false
}

const (
	openingKind   = "evenhand/opening/v1"
	freezeKind    = "evenhand/freeze/v1"
	recordKind    = "evenhand/record/v1"
	outcomeKind   = "evenhand/outcome/v1"
	cancelledKind = "evenhand/cancelled/v1"
	receiptKind   = "evenhand/receipt/v1"
)

// load reads the notes of a side. The key is the side's own where it has an
// opening, otherwise the one given.
func (s Side) load(which, key string) ([]signed, string, error) {
	if s.FS == nil {
		n, err := readSigned(s.Name, s.Note, key)
		if err != nil {
			return nil, "", fmt.Errorf("the %s: %w", which, err)
		}
		n.from = "the " + which + "'s " + s.Name
		return []signed{n}, n.key, nil
	}
	first, err := s.read(OpeningFile)
	if err != nil {
		return nil, "", fmt.Errorf("the %s: %s: %w", which, OpeningFile, err)
	}
	opening, err := readSigned(OpeningFile, first, "")
	if err != nil {
		return nil, "", fmt.Errorf("the %s: %w", which, err)
	}
	var out []signed
	var errs []error
	add := func(name string) (signed, bool) {
		data, err := s.read(name)
		if errors.Is(err, fs.ErrNotExist) {
			return signed{}, false
		}
		var n signed
		if err == nil {
			n, err = readSigned(name, data, opening.key)
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("the %s: %w", which, err))
			return signed{}, true
		}
		n.from = "the " + which + "'s " + name
		out = append(out, n)
		return n, true
	}
	most := MaxRevisions
	for _, name := range []string{OpeningFile, FreezeFile, RecordFile, OutcomeFile, CancelledFile} {
		n, _ := add(name)
		if n.kind == recordKind {
			most = mostOutcomes(n.places)
		}
		for i, there := 1, true; there && i < n.revision; i++ { // the numbers are the signer's, not to be trusted
			if i >= most {
				errs = append(errs, fmt.Errorf("the %s: %s: "+tooMany, which, name, n.revision, most))
				break
			}
			_, there = add(KeptFile(name, i))
		}
	}
	return out, opening.key, errors.Join(append(errs, s.unfit(which, out)...)...)
}

// unfit says which of the rules and lists are not those that the notes name.
// Two copies with the same notes may still differ in these.
func (s Side) unfit(which string, notes []signed) []error {
	var errs []error
	compare := func(name string, want Digest, through func(io.Reader) io.Reader) {
		f, err := s.FS.Open(name)
		var got Digest
		if err == nil {
			got, err = hashFile(f, through)
		}
		if err == nil && got != want {
			err = errors.New("not the one whose hash is signed: run draw verify")
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("the %s: %s: %w", which, name, err))
		}
	}
	for _, n := range notes {
		switch {
		case n.kind == openingKind && strings.HasSuffix(n.from, " "+OpeningFile):
			o, _ := ParseOpening(OpeningFile, n.text) // it has been parsed before
			compare(RulesFile, o.Rules, func(r io.Reader) io.Reader { return r })
		case n.kind == freezeKind:
			f, _ := ParseFreeze(FreezeFile, n.text)
			compare(RollFile, f.RollHash, func(r io.Reader) io.Reader { return rollUpTo(r, f.Roll+1) })
			compare(ExcludedFile, f.ExcludedHash, func(r io.Reader) io.Reader { return linesUpTo(r, f.Excluded+1) })
		}
	}
	return errs
}

func (s Side) read(name string) ([]byte, error) {
	f, err := s.FS.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxNote+1))
}

var kindForm = regexp.MustCompile(`^evenhand/[a-z]+/v1$`)

// readSigned parses and verifies any note of the protocol.
func readSigned(name string, data []byte, key string) (signed, error) {
	text, err := noteText(name, data)
	if err != nil {
		return signed{}, err
	}
	kind, _, _ := strings.Cut(string(text), "\n")
	if !kindForm.MatchString(kind) {
		return signed{}, &SyntaxError{name, 1, "want the first line of a note of version 1"}
	}
	n := signed{kind: strings.Clone(kind), key: key, hash: Hash(text), text: text}
	if err := n.parse(name); err != nil {
		return signed{}, err
	}
	if n.key == "" {
		return signed{}, &SyntaxError{name, 0, "want the signer's key, to check this note with"}
	}
	v, err := ParseVerifier(n.key)
	if err != nil {
		return signed{}, fmt.Errorf("%s: %w", name, err)
	}
	_, err = OpenNote(name, data, v)
	if n.text = nil; n.kind == openingKind || n.kind == freezeKind {
		n.text = bytes.Clone(text)
	}
	return n, err
}

// parse fills in what decides whether two notes contradict each other.
func (n *signed) parse(name string) error {
	n.slot = n.kind
	switch n.kind {
	case openingKind:
		o, err := ParseOpening(name, n.text)
		n.draw, n.key, n.revision, n.replaces = o.Draw, o.Signer, o.Revision, o.Replaces
		n.slot = fmt.Sprint(n.kind, " ", o.Revision)
		return err
	case freezeKind:
		f, err := ParseFreeze(name, n.text)
		n.draw, n.opening = f.Draw, f.Opening
		return err
	case recordKind:
		r, err := ParseRecord(name, n.text)
		n.draw, n.places = r.Draw, len(r.Places)
		return err
	case outcomeKind:
		o, err := ParseOutcome(name, n.text)
		n.draw, n.revision = strings.Clone(o.Draw), o.Revision
		n.slot = fmt.Sprint(n.kind, " ", o.Revision)
		return err
	case cancelledKind:
		c, err := ParseCancelled(name, n.text)
		n.draw = c.Draw
		return err
	case receiptKind:
		r, err := ParseReceipt(name, n.text)
		n.draw = r.Draw
		n.slot = fmt.Sprint(n.kind, " ", r.Ticket, " ", r.Entered.Format(time.RFC3339))
		return err
	}
	return &SyntaxError{name, 1, "want a note of the protocol"}
}
