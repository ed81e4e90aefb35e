package draw

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
)

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
