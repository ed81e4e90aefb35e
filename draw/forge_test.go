package draw_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// A forge makes whole publications in memory, with keys of its own that are
// the same in every run. It knows what a text is and nothing of what is
// allowed: an edit changes one text before it is hashed and signed, and all
// that follows is chained and signed anew, so that only the intended thing is
// wrong. The zero values of a forge from newForge make a valid draw.
type forge struct {
	t        testing.TB
	key      draw.Signer
	chain    *beacon.Chain // nil: no beacon
	sig      []byte
	round    uint64
	opening  draw.Opening // revision 1; signer, rules and seals are filled in
	roles    []string     // of the seals, in the order to be written
	withheld []string
	rules    []string // of revision 1, 2, …; the last one stands for all after it
	revise   []func(o *draw.Opening)
	roll     []draw.Ticket
	left     []leftOut
	frozen   time.Time
	drawn    time.Time
	outcomes []draw.Outcome // Passed and Confirmed only
	cancel   *draw.Cancelled
	stage    draw.Stage

	edit map[string]func(text string) string // by file, before it is hashed and signed
	file map[string]func(data string) string // by file, after that
}

type leftOut struct {
	ticket draw.Ticket
	reason string
}

// fixed is a random source that gives the same bytes in every run.
func fixed(n byte) io.Reader { return rand.NewChaCha8([32]byte{n}) }

// roundTime is when round benchRound of quicknet is published: see
// testdata/vectors/drand-quicknet.json.
var roundTime = time.Unix(1787434800, 0).UTC()

func newSigner(t testing.TB, n byte, name string) draw.Signer {
	t.Helper()
	key, err := draw.NewSigner(fixed(n), name)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

func newTickets(t testing.TB, seed byte, n int) []draw.Ticket {
	t.Helper()
	r := fixed(seed)
	out := make([]draw.Ticket, n)
	for i := range out {
		ticket, err := draw.NewTicket(r)
		if err != nil {
			t.Fatal(err)
		}
		out[i] = ticket
	}
	slices.SortFunc(out, compareTickets)
	return out
}

func compareTickets(a, b draw.Ticket) int { return bytes.Compare(a[:], b[:]) }

// newForge is a draw with two seals, quicknet, 9 tickets of which 2 are left
// out, an outcome of one line.
func newForge(t testing.TB) *forge {
	chain := beacon.Quicknet()
	sig, err := beacon.ParseSignature(benchSignature)
	if err != nil {
		t.Fatal(err)
	}
	f := &forge{t: t, key: newSigner(t, 1, "draws.slowmiles.example"), chain: &chain, sig: sig, round: benchRound,
		roles: []string{"host", "sponsor"}, rules: []string{"One pair of hiking boots. No purchase.\n"},
		frozen: roundTime.Add(-time.Hour), drawn: roundTime.Add(time.Minute), stage: draw.StageOutcome,
		edit: map[string]func(string) string{}, file: map[string]func(string) string{}}
	f.opening = draw.Opening{Draw: "trail-boots", Revision: 1, Opens: roundTime.AddDate(0, 0, -14),
		Closes: roundTime.Add(-2 * time.Hour), Event: roundTime, Winners: 1, Alternates: 3}
	all := newTickets(t, 2, 9)
	f.roll = append(slices.Clone(all[:3]), all[4:8]...)
	f.left = []leftOut{{all[3], draw.Duplicate}, {all[8], draw.Region}}
	f.outcomes = []draw.Outcome{{Confirmed: []draw.Confirmed{{Place: 1, At: f.drawn.Add(time.Hour)}}}}
	return f
}

// noBeacon makes a draw from the seals alone.
func (f *forge) noBeacon() *forge {
	f.chain = nil
	return f
}

func (f *forge) seal(role string) draw.Seal {
	s := draw.Seal{Draw: f.opening.Draw, Signer: f.key.Name(), Role: role}
	copy(s.Secret[:], "a secret for tests only, of "+role)
	return s
}

func (f *forge) secrets() []draw.Secret {
	var out []draw.Secret
	for _, role := range f.roles {
		s := draw.Secret{Role: role, Value: f.seal(role).Secret}
		if slices.Contains(f.withheld, role) {
			s = draw.Secret{Role: role, Withheld: true}
		}
		out = append(out, s)
	}
	return out
}

// salt and email of the entry that a ticket of the roll commits to.
func (f *forge) entry(ticket draw.Ticket) draw.EntryText {
	return draw.EntryText{Salt: [32]byte(draw.Hash(ticket[:])), Draw: f.opening.Draw, Ticket: ticket,
		Email: "ann@example.com", Size: draw.EntrySize{System: "womens", Size: "8.5", Width: "B"}, Ship: "US"}
}

// receipt is the note that an entrant gets.
func (f *forge) receipt(r draw.Receipt) draw.Attachment {
	return draw.Attachment{Name: "receipt.txt", Data: f.sign("receipt.txt", string(r.Text()))}
}

// publication is what a forge made.
type publication struct {
	fstest.MapFS
	opening draw.Digest // of the last opening's text
	places  []draw.Place
}

// make makes the publication up to the stage.
func (f *forge) make() publication {
	p := publication{MapFS: fstest.MapFS{}}
	o := f.makeOpenings(&p)
	if f.stage != draw.StageOpen {
		f.makeFrozen(&p, o)
	}
	if f.cancel != nil {
		c := *f.cancel
		c.Draw, c.Opening = f.opening.Draw, p.opening
		f.note(&p, draw.CancelledFile, string(c.Text()))
	}
	return p
}

func (f *forge) check(opt draw.Options) draw.Report {
	return draw.Check(context.Background(), f.make(), opt)
}

func (f *forge) makeOpenings(p *publication) draw.Opening {
	o := f.opening
	o.Signer = f.key.VerifierKey()
	for _, role := range f.roles {
		o.Seals = append(o.Seals, draw.SealHash{Role: role, Hash: f.seal(role).Hash()})
	}
	if f.chain != nil {
		hash := draw.Digest(f.chain.Hash)
		o.Beacon = &hash
	}
	for n := 1; ; n++ {
		rules := f.rules[min(n, len(f.rules))-1]
		o.Rules = draw.Hash([]byte(rules))
		last := n > len(f.revise)
		name, rulesName := draw.OpeningFile, draw.RulesFile
		if !last {
			name, rulesName = draw.KeptFile(name, n), draw.KeptFile(rulesName, n)
		}
		if last || n < len(f.rules) {
			f.put(p, rulesName, rules)
		}
		p.opening = f.note(p, name, string(o.Text()))
		if last {
			return o
		}
		o.Revision, o.Replaces = n+1, p.opening
		f.revise[n-1](&o)
	}
}

func (f *forge) makeFrozen(p *publication, o draw.Opening) {
	roll, left := f.lists(p)
	z := draw.Freeze{Draw: o.Draw, Opening: p.opening, Frozen: f.frozen, Issued: roll.Count + left.Count,
		Roll: roll.Count, RollHash: roll.Hash, Excluded: left.Count, ExcludedHash: left.Hash}
	if f.chain != nil {
		z.Round = f.round
	}
	freeze := f.note(p, draw.FreezeFile, string(z.Text()))
	if f.stage == draw.StageFrozen {
		return
	}
	r := draw.Record{Draw: o.Draw, Freeze: freeze, Drawn: f.drawn, Secrets: f.secrets()}
	if f.chain != nil {
		r.Beacon = &draw.Beacon{Round: f.round, Signature: f.sig}
	}
	r.Seed = slowSeed(freeze, r)
	r.Places = slowOrder(r.Seed, f.roll, o.Winners+o.Alternates)
	p.places = r.Places
	record := f.note(p, draw.RecordFile, string(r.Text()))
	if f.stage == draw.StageDrawn {
		return
	}
	before := draw.Digest{}
	for i, out := range f.outcomes {
		out.Draw, out.Record, out.Revision, out.Replaces = o.Draw, record, i+1, before
		name := draw.OutcomeFile
		if i+1 < len(f.outcomes) {
			name = draw.KeptFile(name, i+1)
		}
		before = f.note(p, name, string(out.Text()))
	}
}

// lists writes both lists; an edited list is counted and hashed as it is then.
func (f *forge) lists(p *publication) (roll, left draw.List) {
	var a, b strings.Builder
	for _, t := range f.roll {
		fmt.Fprintf(&a, "%s %s\n", t, draw.Hash(f.entry(t).Text()))
	}
	for _, l := range f.left {
		fmt.Fprintf(&b, "%s %s\n", l.ticket, l.reason)
	}
	return f.list(p, draw.RollFile, a.String()), f.list(p, draw.ExcludedFile, b.String())
}

func (f *forge) list(p *publication, name, text string) draw.List {
	text = f.edited(name, text)
	f.put(p, name, text)
	return draw.List{Count: int64(strings.Count(text, "\n")), Hash: draw.Hash([]byte(text))}
}

func (f *forge) edited(name, text string) string {
	if edit := f.edit[name]; edit != nil {
		changed := edit(text)
		if changed == text {
			f.t.Fatalf("the edit of %s changes nothing", name)
		}
		return changed
	}
	return text
}

// note edits, signs and puts a text, and returns the text's hash.
func (f *forge) note(p *publication, name, text string) draw.Digest {
	text = f.edited(name, text)
	f.put(p, name, string(f.sign(name, text)))
	return draw.Hash([]byte(text))
}

func (f *forge) put(p *publication, name, data string) {
	if change := f.file[name]; change != nil {
		changed := change(data)
		if changed == data {
			f.t.Fatalf("the change of %s changes nothing", name)
		}
		data = changed
	}
	p.MapFS[name] = &fstest.MapFile{Data: []byte(data), Mode: 0o444}
}

// sign writes a note by the steps of C2SP signed-note, for texts of any form.
func (f *forge) sign(_, text string) []byte {
	return []byte(text + "\n" + signatureLine(f.key, text))
}

// signatureLine is "— <name> <base64 of key id and signature>" and LF. The key
// id is the first 4 bytes of SHA-256 of name, LF, the algorithm byte 1, key.
func signatureLine(key draw.Signer, text string) string {
	private := privateKey(key)
	raw := append(keyID(key.Name(), private.Public().(ed25519.PublicKey)), ed25519.Sign(private, []byte(text))...)
	return "— " + key.Name() + " " + base64.StdEncoding.EncodeToString(raw) + "\n"
}

func keyID(name string, public []byte) []byte {
	sum := draw.Hash(append([]byte(name+"\n\x01"), public...))
	return slices.Clone(sum[:4])
}

func verifierKey(name string, public []byte) string {
	return fmt.Sprintf("%s+%08x+%s", name, binary.BigEndian.Uint32(keyID(name, public)),
		base64.StdEncoding.EncodeToString(append([]byte{1}, public...)))
}

func privateKey(key draw.Signer) ed25519.PrivateKey {
	secret := key.Secret()
	raw, err := base64.StdEncoding.DecodeString(secret[len("PRIVATE+KEY+")+len(key.Name())+len("+00000000+"):])
	if err != nil {
		panic(err)
	}
	return ed25519.NewKeyFromSeed(raw[1:])
}

// The forge itself is tested: without an edit it makes valid draws.
func TestForge(t *testing.T) {
	for _, stage := range []draw.Stage{draw.StageOpen, draw.StageFrozen, draw.StageDrawn, draw.StageOutcome} {
		f := newForge(t)
		f.stage = stage
		r := f.check(draw.Options{})
		verdict := draw.Valid
		if stage == draw.StageOpen || stage == draw.StageFrozen {
			verdict = draw.ValidSoFar
		}
		if r.Status != 0 || r.Stage != stage || r.Verdict != verdict || r.Count(draw.Remark) != 0 {
			t.Errorf("%s: got %d %q, stage %s\n%s", stage, r.Status, r.Verdict, r.Stage, lines(r))
		}
	}
}
