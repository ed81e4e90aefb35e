package draw_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"evenhand/draw"
)

func sample(name string) draw.Side {
	return draw.Side{FS: os.DirFS(filepath.Join(vectors, "publications", name))}
}

// another is a forge whose draw differs from newForge's by the change.
func another(t *testing.T, change func(f *forge)) *forge {
	f := newForge(t)
	change(f)
	return f
}

func folder(f *forge) draw.Side { return draw.Side{FS: f.make()} }

// changedFile is a publication with one byte of one file changed.
func changedFile(f *forge, name string) draw.Side {
	files := f.make().MapFS
	changed := append([]byte(nil), files[name].Data...)
	changed[len(changed)/2] ^= 1
	files[name] = &fstest.MapFile{Data: changed}
	return draw.Side{FS: files}
}

func bare(f *forge, name string) draw.Side {
	return draw.Side{Name: name, Note: f.make().MapFS[name].Data}
}

func at(stage draw.Stage) func(f *forge) { return func(f *forge) { f.stage = stage } }

func cancelled(f *forge) {
	f.stage, f.cancel = draw.StageFrozen, &draw.Cancelled{At: f.opening.Event, Reason: "secret-lost"}
}

// Every kind of proof that the protocol names, and the pairs beside it that
// are none.
func TestCompare(t *testing.T) {
	base := newForge(t)
	twoSteps := func(second draw.Passed) func(f *forge) {
		return outcomeOf(outcome(), outcome(second))
	}
	otherRules := func(f *forge) { f.rules = []string{"Another prize.\n"} }
	lateRevision := func(f *forge) { f.stage = draw.StageOpen; revised(48, 72)(f) }
	beforeRevision := func(f *forge) {
		f.opening.Event, f.opening.Closes = f.opening.Event.Add(-hours(48)), f.opening.Closes.Add(-hours(48))
	}
	frozenBefore := func(f *forge) {
		beforeRevision(f)
		f.stage, f.frozen = draw.StageFrozen, f.opening.Event.Add(-hours(1))
	}
	otherKey := func(f *forge) { f.key = newSigner(t, 7, f.key.Name()) }
	otherID := func(f *forge) { f.opening.Draw = "trail-socks" }
	receipt := func(commitment string, at float64) draw.Side {
		a := base.receipt(draw.Receipt{Draw: "trail-boots", Opening: base.make().opening, Ticket: base.roll[0],
			Entered: base.opening.Opens.Add(hours(at)), Commitment: draw.Hash([]byte(commitment))})
		return draw.Side{Name: a.Name, Note: a.Data}
	}
	for _, c := range []struct {
		name   string
		a, b   draw.Side
		key    string
		status int
		result string
	}{
		{"the same", folder(base), folder(newForge(t)), "", 0, draw.SameDraw},
		{"later", folder(another(t, at(draw.StageFrozen))), folder(base), "", 0, draw.LaterB},
		{"earlier", folder(base), folder(another(t, at(draw.StageOpen))), "", 0, draw.LaterA},
		{"a later outcome", folder(another(t, outcomeOf(outcome()))), folder(another(t, twoSteps(pass(1, draw.Declined, 1)))), "", 0, draw.LaterB},
		{"revised later", folder(another(t, func(f *forge) { f.stage = draw.StageOpen; beforeRevision(f) })), folder(another(t, lateRevision)), "", 0, draw.LaterB},
		{"another id", folder(base), folder(another(t, otherID)), "", 0, draw.OtherDraws},
		{"another key", folder(base), folder(another(t, otherKey)), "", 0, draw.OtherDraws},
		{"frozen or cancelled", folder(another(t, at(draw.StageFrozen))), folder(another(t, cancelled)), "", 0, draw.LaterB},

		{"two openings of one revision", folder(base), folder(another(t, otherRules)), "", 1, draw.TwoFaces},
		{"two openings of revision 2", folder(another(t, lateRevision)), folder(another(t, func(f *forge) {
			lateRevision(f)
			newRules(f)
		})), "", 1, draw.TwoFaces},
		{"two freezes", folder(another(t, at(draw.StageFrozen))), folder(another(t, func(f *forge) {
			f.stage, f.roll = draw.StageFrozen, f.roll[1:]
		})), "", 1, draw.TwoFaces},
		{"two records", folder(base), folder(another(t, func(f *forge) { f.withheld = []string{"sponsor"} })), "", 1, draw.TwoFaces},
		{"two outcomes of one revision", folder(another(t, twoSteps(pass(1, draw.Declined, 1)))),
			folder(another(t, twoSteps(pass(1, draw.Declined, 2)))), "", 1, draw.TwoFaces},
		{"an outcome unlike the one kept", folder(another(t, outcomeOf(outcome(confirm(1, 1))))),
			folder(another(t, twoSteps(pass(1, draw.Declined, 1)))), "", 1, draw.TwoFaces},
		{"two cancellations", folder(another(t, cancelled)), folder(another(t, func(f *forge) {
			cancelled(f)
			f.cancel.Reason = "postponed"
		})), "", 1, draw.TwoFaces},
		{"a record and a cancellation", folder(base), folder(another(t, cancelled)), "", 1, draw.TwoFaces},
		{"both in one folder", folder(another(t, func(f *forge) {
			f.cancel = &draw.Cancelled{At: f.drawn, Reason: "secret-lost"}
		})), folder(another(t, otherID)), "", 1, draw.TwoFaces},
		{"a freeze and a higher revision than it names", folder(another(t, frozenBefore)), folder(another(t, lateRevision)), "", 1, draw.TwoFaces},

		{"bare notes, the same", bare(base, draw.RecordFile), bare(base, draw.RecordFile), base.key.VerifierKey(), 0, draw.SameDraw},
		{"bare notes without a key", bare(base, draw.RecordFile), bare(base, draw.RecordFile), "", 2, draw.Unread},
		{"bare openings bear their key", bare(base, draw.OpeningFile), bare(another(t, otherRules), draw.OpeningFile), "", 1, draw.TwoFaces},
		{"bare freeze beside its folder", bare(base, draw.FreezeFile), folder(base), "", 0, draw.LaterB},
		{"bare freeze beside another", folder(base), bare(another(t, func(f *forge) { f.roll = f.roll[1:] }), draw.FreezeFile), "", 1, draw.TwoFaces},
		{"bare freeze and bare opening that revises", bare(another(t, frozenBefore), draw.FreezeFile), bare(another(t, lateRevision), draw.OpeningFile), "", 1, draw.TwoFaces},
		{"bare record and bare cancellation", bare(base, draw.RecordFile), bare(another(t, cancelled), draw.CancelledFile), base.key.VerifierKey(), 1, draw.TwoFaces},
		{"a note under another key", folder(base), bare(another(t, otherKey), draw.RecordFile), "", 2, draw.Unread},
		{"freeze and record of one draw", bare(base, draw.FreezeFile), bare(base, draw.RecordFile), base.key.VerifierKey(), 0, draw.NoConflict},

		{"receipts of one time", receipt("a", 1), receipt("b", 1), base.key.VerifierKey(), 1, draw.TwoFaces},
		{"receipts of two times", receipt("a", 1), receipt("b", 2), base.key.VerifierKey(), 0, draw.NoConflict},
		{"one receipt twice", receipt("a", 1), receipt("a", 1), base.key.VerifierKey(), 0, draw.SameDraw},
		{"a receipt beside a folder", receipt("a", 1), folder(base), "", 0, draw.NoConflict},

		{"no opening", sample("no-opening"), folder(base), "", 2, draw.Unread},
		{"not a note", draw.Side{Name: "x.txt", Note: []byte("hello\n")}, folder(base), "", 2, draw.Unread},
		{"an unknown kind", draw.Side{Name: "x.txt", Note: base.sign("", "evenhand/hello/v1\n")}, folder(base), "", 2, draw.Unread},
		{"broken side", folder(base), folder(another(t, breakNote(draw.RecordFile))), "", 2, draw.Unread},
		{"another roll than the frozen one", folder(base), changedFile(base, draw.RollFile), "", 2, draw.Unread},
		{"another excluded list", folder(base), changedFile(base, draw.ExcludedFile), "", 2, draw.Unread},
		{"other rules than the posted ones", folder(base), changedFile(base, draw.RulesFile), "", 2, draw.Unread},
		{"a proof wins over a broken note", folder(another(t, func(f *forge) { f.stage, f.roll = draw.StageFrozen, f.roll[1:] })),
			folder(another(t, breakNote(draw.RecordFile))), "", 1, draw.TwoFaces},
		{"sample and itself", sample("full"), sample("full"), "", 0, draw.SameDraw},
		{"samples of other draws", sample("full"), sample("three-winners"), "", 0, draw.OtherDraws},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := draw.Compare(c.a, c.b, c.key)
			if got.Status != c.status || got.Result != c.result || (len(got.Why) > 0) != (c.status != 0) {
				t.Errorf("got %d %q, want %d %q\n%s", got.Status, got.Result, c.status, c.result, strings.Join(got.Why, "\n"))
			}
			turned := draw.Compare(c.b, c.a, c.key)
			if turned.Status != c.status {
				t.Errorf("the other way round: got %d, want %d\n%s", turned.Status, c.status, strings.Join(turned.Why, "\n"))
			}
		})
	}
}

// breakNote changes the text of a note after it was signed.
func breakNote(name string) func(f *forge) {
	return func(f *forge) {
		f.file[name] = func(s string) string { return strings.Replace(s, "trail-boots", "trail-boats", 1) }
	}
}

// A signed revision number says nothing about how many files there are.
func TestRevisionNumberOfTheHostIsNoWork(t *testing.T) {
	f := newForge(t)
	f.stage = draw.StageOpen
	f.edit[draw.OpeningFile] = func(s string) string {
		return strings.Replace(s, "revision 1\n", "revision 999999999999999\nreplaces "+strings.Repeat("5", 64)+"\nrevised 2026-08-09T00:00:00Z\n", 1)
	}
	p := f.make()
	p.MapFS["opening.999999999999998.txt"] = &fstest.MapFile{}
	p.MapFS["opening.01.txt"] = &fstest.MapFile{}
	r := draw.Check(t.Context(), p, draw.Options{})
	if r.Status != draw.StatusFault || !faultAt(r, "opening.1.txt") || !faultAt(r, "opening.01.txt") {
		t.Errorf("got %d\n%s", r.Status, lines(r))
	}
	if c := draw.Compare(draw.Side{FS: p}, draw.Side{FS: p}, ""); c.Status != 0 {
		t.Errorf("compare: got %d %q %q", c.Status, c.Result, c.Why)
	}
}
