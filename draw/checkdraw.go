package draw

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"time"

	"evenhand/draw/beacon"
)

// hashFile is the hash of what through lets through, and closes the file.
func hashFile(f fs.File, through func(io.Reader) io.Reader) (Digest, error) {
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, through(f)); err != nil {
		return Digest{}, err
	}
	return Digest(h.Sum(nil)), nil
}

// checkFreeze is checks 1, 2, 5 and 7 for freeze.txt.
func (c *checker) checkFreeze() {
	c.chain = c.knownChain()
	f, ok := readNote(c, FreezeFile, ParseFreeze)
	if !ok {
		return
	}
	hash := Hash(c.texts[FreezeFile])
	c.Freeze, c.FreezeAt = &f, &hash
	c.Tickets, c.Excluded = f.Roll, f.Excluded
	o, faults := c.Opening, c.Count(Fault)
	c.chained(FreezeFile, f.Draw, "opening", f.Opening, OpeningFile)
	switch {
	case f.Frozen.Before(o.Closes):
		c.faultAt(FreezeFile, "frozen", "want frozen not before closes, %s", FormatTime(o.Closes))
	case !f.Frozen.Before(o.Event):
		c.faultAt(FreezeFile, "frozen", "want frozen before the event, %s", FormatTime(o.Event))
	case o.Revision > 1 && !o.Revised.Before(f.Frozen):
		c.faultAt(FreezeFile, "frozen", "want frozen after revised, %s", FormatTime(o.Revised))
	}
	c.checkRound(f)
	if c.Count(Fault) == faults {
		c.ok(FreezeFile, "signed; frozen %s, hash %s", FormatTime(f.Frozen), hash)
	}
	if left := o.Event.Sub(f.Frozen); left > 0 && left < 10*time.Minute {
		c.remark(FreezeFile, "frozen %s before the event: hardly anybody can have seen it in time", left)
	}
}

// knownChain is the beacon's chain, if this check knows it.
func (c *checker) knownChain() *beacon.Chain {
	if c.Opening.Beacon == nil {
		return nil
	}
	for _, chain := range append([]beacon.Chain{beacon.Quicknet()}, c.opt.Chains...) {
		if Digest(chain.Hash) == *c.Opening.Beacon {
			return &chain
		}
	}
	return nil
}

// chained checks that a note belongs to this draw and names the text before it.
func (c *checker) chained(file, id, key string, got Digest, before string) {
	if id != c.Draw {
		c.faultAt(file, "draw", "want draw %s, as the opening says", c.Draw)
	}
	if text, ok := c.texts[before]; ok && got != Hash(text) {
		c.faultAt(file, key, "want %s %s, the hash of %s", key, Hash(text), before)
	}
}

func (c *checker) checkRound(f Freeze) {
	switch {
	case c.Opening.Beacon == nil && f.Round != 0:
		c.faultAt(FreezeFile, "round", "want no round: the opening names no beacon")
	case c.Opening.Beacon != nil && f.Round == 0:
		c.fault(FreezeFile, "want the beacon's round: the opening names a beacon")
	case c.Opening.Beacon != nil && c.chain == nil:
		c.unread(FreezeFile, "beacon not checked: chain %s is not known here", c.Opening.Beacon)
	case c.chain != nil:
		if want, err := c.Opening.FirstRound(*c.chain); err != nil || f.Round != want {
			c.faultAt(FreezeFile, "round", "want round %d, the first whose time is not before the event", want)
		}
	}
}

// checkLists is check 3, and the scores of check 6, in one pass.
func (c *checker) checkLists() {
	if c.Freeze == nil || c.look(RollFile) != present || c.look(ExcludedFile) != present {
		return
	}
	roll, err := c.fsys.Open(RollFile)
	if err != nil {
		c.unread(RollFile, "%v", err)
		return
	}
	defer roll.Close()
	excluded, err := c.fsys.Open(ExcludedFile)
	if err != nil {
		c.unread(ExcludedFile, "%v", err)
		return
	}
	defer excluded.Close()
	s := scan{roll: c.until(rollUpTo(roll, c.Freeze.Roll+1)), excluded: c.until(linesUpTo(excluded, c.Freeze.Excluded+1)), seed: c.peekSeed(), places: c.Opening.Winners + c.Opening.Alternates,
		wanted: c.wantedTickets(), progress: c.opt.Progress}
	if s.seed != nil && len(c.opt.Find) > 0 {
		score := Score(*s.seed, c.opt.Find[0])
		s.rankOf = &score
	}
	if c.lists, err = s.run(); c.stopped() {
		return
	}
	if err != nil {
		c.unread("", "%v", err)
		return
	}
	c.find(s.seed)
	c.checkList(RollFile, c.lists.rollFault, c.lists.roll, List{c.Freeze.Roll, c.Freeze.RollHash})
	c.checkList(ExcludedFile, c.lists.excludedFault, c.lists.excluded, List{c.Freeze.Excluded, c.Freeze.ExcludedHash})
}

func (c *checker) checkList(file string, fault *SyntaxError, got, want List) {
	switch {
	case fault != nil:
		c.err(file, fault)
	case got.Count > want.Count: // nothing after one line too many was read
		c.fault(file, "want %d lines, as the freeze says; there are more", want.Count)
	case got.Count != want.Count:
		c.fault(file, "want %d lines, as the freeze says; there are %d", want.Count, got.Count)
	case got.Hash != want.Hash:
		c.fault(file, "want hash %s, as the freeze says; this is %s", want.Hash, got.Hash)
	default:
		c.ok(file, "%d tickets, in order, each once; hash as the freeze says", got.Count)
	}
}

// peekSeed computes the seed from record.txt before the record is checked, so
// that the lists are gone over once.
func (c *checker) peekSeed() *Digest {
	data := c.read(RecordFile)
	if data == nil {
		return nil
	}
	text, err := noteText(RecordFile, data)
	if err != nil {
		return nil
	}
	r, err := ParseRecord(RecordFile, text)
	if err != nil {
		return nil
	}
	seed := ComputeSeed(*c.FreezeAt, r.Secrets, r.Beacon)
	return &seed
}

// checkRecord is checks 1, 2, 4, 5, 6 and 7 for record.txt.
func (c *checker) checkRecord() {
	r, ok := readNote(c, RecordFile, ParseRecord)
	if !ok {
		return
	}
	c.Record = &r
	c.chained(RecordFile, r.Draw, "freeze", r.Freeze, FreezeFile)
	if c.Freeze == nil {
		return
	}
	faults := c.Count(Fault)
	if r.Drawn.Before(c.Opening.Event) {
		c.faultAt(RecordFile, "drawn", "want drawn not before the event, %s", FormatTime(c.Opening.Event))
	}
	c.checkSecrets(r)
	c.checkBeacon(r)
	c.checkPlaces(r)
	if c.Count(Fault) == faults {
		c.ok(RecordFile, "drawn %s; seed %s", FormatTime(r.Drawn), r.Seed)
	}
}

func (c *checker) checkSecrets(r Record) {
	if err := fitSeals(*c.Opening, c.verifier.Name(), r.Secrets); err != nil {
		c.broken(RecordFile, err)
		return
	}
	c.ok(RecordFile, "each opened secret is the one that was sealed")
}

// fitSeals tells whether the secrets are those that the opening's seals name.
func fitSeals(o Opening, signer string, secrets []Secret) error {
	if len(secrets) != len(o.Seals) {
		return lineErrorf("secret", "want %d secrets, one for each seal of the opening", len(o.Seals))
	}
	for i, s := range secrets {
		want := o.Seals[i]
		switch {
		case s.Role != want.Role:
			return lineErrorf(s.key(), "want the secret of %s in place %d, the opening's order", want.Role, i+1)
		case s.Withheld && s.Role == hostRole:
			return lineErrorf(s.key(), "want the host's secret: it is never withheld")
		case !s.Withheld && (Seal{o.Draw, signer, s.Role, s.Value}).Hash() != want.Hash:
			return lineErrorf(s.key(), "want the secret of %s whose seal the opening names", s.Role)
		}
	}
	return nil
}

func (c *checker) checkBeacon(r Record) {
	switch {
	case c.Opening.Beacon == nil && r.Beacon != nil:
		c.faultAt(RecordFile, "beacon", "want no beacon: the opening names none")
	case c.Opening.Beacon == nil:
	case r.Beacon == nil:
		c.fault(RecordFile, "want the beacon's signature: the opening names a beacon")
	case r.Beacon.Round != c.Freeze.Round:
		c.faultAt(RecordFile, "beacon", "want round %d, as the freeze says", c.Freeze.Round)
	case c.chain == nil:
		c.askRelays(*r.Beacon)
	default:
		c.verifyBeacon(r)
	}
}

func (c *checker) verifyBeacon(r Record) {
	if at := c.chain.TimeOf(r.Beacon.Round); r.Drawn.Before(at) {
		c.faultAt(RecordFile, "drawn", "want drawn not before the round's time, %s", FormatTime(at))
	}
	if err := c.chain.Verify(r.Beacon.Round, r.Beacon.Signature); err != nil {
		c.faultAt(RecordFile, "beacon", "want the beacon's signature of round %d: %v", r.Beacon.Round, err)
		return
	}
	c.ok(RecordFile, "the beacon's signature of round %d verifies", r.Beacon.Round)
}

// askRelays compares with what the beacon's own relays say, for a chain whose
// key is not known here. The freeze's round stays unchecked.
func (c *checker) askRelays(b Beacon) {
	if c.opt.Relays == nil {
		c.unread(RecordFile, "beacon not checked: chain %s is not known here", c.Opening.Beacon)
		return
	}
	sig, err := c.opt.Relays(c.ctx, c.Opening.Beacon.String(), b.Round)
	switch {
	case err != nil:
		c.unread(RecordFile, "beacon not checked: no relay answered: %v", err)
	case !bytes.Equal(sig, b.Signature):
		c.faultAt(RecordFile, "beacon", "the beacon's relays have another signature for round %d", b.Round)
	default:
		c.remark(RecordFile, "the beacon's signature was not verified here; its relays have the same")
	}
}

// checkPlaces is check 6: the seed, and the score and order of every place
// over the whole roll.
func (c *checker) checkPlaces(r Record) {
	seed := ComputeSeed(*c.FreezeAt, r.Secrets, r.Beacon)
	if r.Seed != seed {
		c.faultAt(RecordFile, "seed", "want seed %s, the hash of the seed's text with the lines above", seed)
		return
	}
	c.Seed = &seed
	if c.lists.rollFault != nil || c.lists.roll.Hash != c.Freeze.RollHash {
		return // said already; the order over another roll would say nothing
	}
	if len(r.Places) != len(c.lists.places) {
		c.fault(RecordFile, "want %d places; there are %d", len(c.lists.places), len(r.Places))
		return
	}
	for i, want := range c.lists.places {
		if r.Places[i] != want {
			c.faultAt(RecordFile, fmt.Sprint("place ", i+1), "want place %d %s %s", want.N, want.Ticket, want.Score)
			return
		}
	}
	c.Places = r.Places
	c.ok(RecordFile, "%d places: the lowest scores of all %d tickets, in order", len(r.Places), c.lists.roll.Count)
}

// checkCancelled is checks 1 and 2 for cancelled.txt.
func (c *checker) checkCancelled() {
	x, ok := readNote(c, CancelledFile, ParseCancelled)
	if !ok {
		return
	}
	c.Cancelled = &x
	c.chained(CancelledFile, x.Draw, "opening", x.Opening, OpeningFile)
	if c.look(RecordFile) == present {
		c.fault(CancelledFile, "stands beside a record: a draw that was made can't be cancelled")
		return
	}
	c.ok(CancelledFile, "cancelled %s, reason %s", FormatTime(x.At), x.Reason)
	if c.cancelledLate() {
		c.remark(CancelledFile, "cancelled when the host could already know the result")
	}
}

// cancelledLate tells whether the host could know the result when cancelling.
func (c *checker) cancelledLate() bool {
	return c.Freeze != nil && !c.Cancelled.At.Before(c.Opening.Event)
}

// checkWeak gives each reason for which a draw is weak one remark.
func (c *checker) checkWeak() {
	weak := func(why string) {
		c.Weak = true
		c.remark("", "%s", why)
	}
	if why := weakOpening(c.Opening); why != "" {
		weak(why)
	}
	if c.Record == nil {
		return
	}
	switch roles := c.Record.withheld(); len(roles) {
	case 0:
	case 1:
		weak(weakSecret(roles[0]))
	default:
		weak(fmt.Sprintf("weak: the secrets of %s were withheld: their holders, or the host by claiming it, could choose between %d results",
			list(roles), 1<<len(roles)))
	}
}

// checkOptions compares with what the person who checks knows already.
func (c *checker) checkOptions() {
	o := c.Opening
	if o.Alternates > 10*o.Winners+10 {
		c.remark(OpeningFile, "%d alternates for %d winners: the more places, the more can be passed", o.Alternates, o.Winners)
	}
	if k := c.opt.Key; k != "" && k != c.Key {
		c.fault(OpeningFile, "want the signer %s; this is %s", k, c.Key)
	}
	if h := c.opt.Freeze; h != nil && c.look(FreezeFile) != unknown && (c.FreezeAt == nil || *h != *c.FreezeAt) {
		c.fault(FreezeFile, "want the freeze whose hash is %s", h)
	}
	if h := c.opt.Host; h != "" && h != c.Signer {
		c.remark("", "read from %s, but signed by %s", h, c.Signer)
	}
	if c.opt.Now != nil {
		c.checkNow(*c.opt.Now)
	}
}

// checkNow looks for what is overdue by the clock of the person who checks.
func (c *checker) checkNow(now time.Time) {
	event := c.Opening.Event
	switch {
	case c.look(RecordFile) != absent || c.look(CancelledFile) != absent:
	case c.look(FreezeFile) == absent && !now.Before(event):
		c.remark("", "the event, %s, has come and the list was never frozen", FormatTime(event))
	case c.Freeze != nil && !now.Before(event.Add(24*time.Hour)):
		c.remark("", "frozen, but neither drawn nor cancelled 24 hours after the event")
	}
}

// wantedTickets are those that a receipt, an entry or Find asks for, ascending.
func (c *checker) wantedTickets() []Ticket {
	out := slices.Clone(c.opt.Find)
	for _, a := range c.opt.Receipts {
		if text, err := noteText(a.Name, a.Data); err == nil {
			if r, err := ParseReceipt(a.Name, text); err == nil {
				out = append(out, r.Ticket)
			}
		}
	}
	for _, a := range c.opt.Entries {
		if e, err := ParseEntry(a.Name, a.Data); err == nil {
			out = append(out, e.Ticket)
		}
	}
	slices.SortFunc(out, compareTickets)
	return slices.Compact(out)
}
