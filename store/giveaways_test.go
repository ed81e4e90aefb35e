package store

import (
	"errors"
	"fmt"
	"io/fs"
	"reflect"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

func TestDraft(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		_, err := s.Giveaway(bg(), "trail-boots")
		s.want(err, giveaway.ErrNotFound)
		g := s.draft("trail-boots")
		got, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if !reflect.DeepEqual(got, g) {
			t.Errorf("got  %+v\nwant %+v", got, g)
		}

		other := g
		other.Terms.Title, other.Created, other.Sample = "Other boots", at(7), true
		s.want(s.AddDraft(bg(), other), giveaway.ErrState) // a name is used once
		if got, err = s.Giveaway(bg(), "trail-boots"); err != nil || !reflect.DeepEqual(got, g) {
			t.Errorf("a second one of the name left %+v, %v", got, err)
		}
		s.must(s.ChangeDraft(bg(), g.Terms.Mark(), other.Terms))
		got, err = s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if got.Terms.Title != "Other boots" || !got.Created.Equal(g.Created) || got.Sample {
			t.Errorf("replaced draft %+v: want the new terms, the first Created and Sample", got)
		}
		_, err = s.HostSecret(bg(), "trail-boots")
		s.want(err, giveaway.ErrState)
		if files := s.published("trail-boots"); len(files) != 0 {
			t.Errorf("a draft has %d published files", len(files))
		}
	})
}

func TestGiveawaysNewestFirst(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		for id, created := range map[string]int{"b": 1, "a": 1, "old": 0, "new": 2} {
			g := giveaway.Giveaway{ID: id, Terms: s.terms(id), State: giveaway.StateDraft, Created: at(created)}
			s.must(s.AddDraft(bg(), g))
		}
		all, err := s.Giveaways(bg())
		s.must(err)
		var ids []string
		for _, g := range all {
			ids = append(ids, g.ID)
		}
		if got := strings.Join(ids, " "); got != "new a b old" {
			t.Errorf("order %q, want new a b old", got)
		}
	})
}

func TestOpen(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.want(s.DB.Open(bg(), s.opened("trail-boots")), giveaway.ErrNotFound)
		s.draft("trail-boots")
		o := s.opened("trail-boots")
		o.Terms.Title = "As signed for"
		s.must(s.DB.Open(bg(), o))
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		want := giveaway.Giveaway{
			ID: "trail-boots", Terms: o.Terms, State: giveaway.StateOpen, Opening: o.Opening,
			OpeningHash: draw.Hash(o.Opening.Text()), Revision: 1, Created: at(-100), Opened: at(-50),
		}
		if !reflect.DeepEqual(g, want) {
			t.Errorf("got  %+v\nwant %+v", g, want)
		}
		wantFiles := map[string]string{"opening.txt": string(o.Note), "rules.txt": string(o.Rules)}
		if got := s.published("trail-boots"); !reflect.DeepEqual(got, wantFiles) {
			t.Errorf("published %q, want %q", got, wantFiles)
		}

		other := s.opened("trail-boots")
		s.want(s.DB.Open(bg(), other), giveaway.ErrState)
		s.want(s.ChangeDraft(bg(), s.terms("trail-boots").Mark(), s.terms("trail-boots")), giveaway.ErrState)
		var state giveaway.StateError
		if err := s.DB.Open(bg(), other); !errors.As(err, &state) || state.State != giveaway.StateOpen {
			t.Errorf("error %v, want a StateError with open", err)
		}
		secret, err := s.HostSecret(bg(), "trail-boots")
		s.must(err)
		if secret != o.HostSecret {
			t.Error("the second opening replaced the first one's secret")
		}
		_, err = s.HostSecret(bg(), "no-such")
		s.want(err, giveaway.ErrNotFound)
	})
}

func TestRevise(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		_, stamp := s.enter("trail-boots", "ann@example.org", at(30))
		first := o.Opening
		unread, err := s.Publication("trail-boots").Open(draw.OpeningFile)
		s.must(err)
		defer unread.Close()

		// Revision 2: times. The clock stands before the last entry.
		var r2 giveaway.Revised
		s.must(s.Revise(bg(), "trail-boots", 1, func(last time.Time) (giveaway.Revised, error) {
			if !last.Equal(stamp.Entered) {
				t.Errorf("last stamp %v, want the entry's %v", last, stamp.Entered)
			}
			r2 = s.revision(first, at(29), last)
			return r2, nil
		}))
		// Revision 3: rules too.
		var r3 giveaway.Revised
		s.must(s.Revise(bg(), "trail-boots", 2, func(last time.Time) (giveaway.Revised, error) {
			if !last.Equal(r2.Opening.Revised) || !last.Equal(at(31)) {
				t.Errorf("last stamp %v, want the revision's", last)
			}
			r3 = s.revision(r2.Opening, at(40), last)
			r3.Rules = []byte("Two entries each.\n")
			return r3, nil
		}))
		want := map[string]string{
			"opening.1.txt": string(o.Note), "opening.2.txt": string(r2.Note), "opening.txt": string(r3.Note),
			"rules.2.txt": string(o.Rules), "rules.txt": "Two entries each.\n",
		}
		if got := s.published("trail-boots"); !reflect.DeepEqual(got, want) {
			t.Errorf("published %q\nwant %q", got, want)
		}
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if !reflect.DeepEqual(g.Opening, r3.Opening) || g.OpeningHash != draw.Hash(r3.Opening.Text()) || g.Revision != 3 {
			t.Errorf("row has opening %+v", g.Opening)
		}
		// A reader who had opened the file reads on in the old bytes.
		b := make([]byte, len(o.Note))
		if n, err := unread.Read(b); string(b[:n]) != string(o.Note) {
			t.Errorf("an open file changed under its reader: %q, %v", b[:n], err)
		}
		// An entry is never stamped before the opening that it names.
		_, stamp = s.enter("trail-boots", "bea@example.org", at(35))
		if !stamp.Entered.Equal(at(40)) || stamp.Opening != g.OpeningHash {
			t.Errorf("stamp %v, want the revision's time and hash", stamp)
		}
	})
}

func TestReviseRefuses(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		never := func(time.Time) (giveaway.Revised, error) { t.Error("make was called"); return giveaway.Revised{}, nil }
		s.want(s.Revise(bg(), "trail-boots", 1, never), giveaway.ErrNotFound)
		s.draft("trail-boots")
		s.want(s.Revise(bg(), "trail-boots", 0, never), giveaway.ErrState)
		o := s.opened("trail-boots")
		s.must(s.DB.Open(bg(), o))
		s.want(s.Revise(bg(), "trail-boots", 2, never), giveaway.ErrState)
		own := errors.New("thought better of it")
		s.want(s.Revise(bg(), "trail-boots", 1, func(time.Time) (giveaway.Revised, error) { return giveaway.Revised{}, own }), own)

		s.enter("trail-boots", "ann@example.org", at(30))
		if err := s.Revise(bg(), "trail-boots", 1, func(time.Time) (giveaway.Revised, error) {
			return s.revision(o.Opening, at(30), at(29)), nil // as late as the entry, not later
		}); err == nil {
			t.Error("a revision with the stamp of an entry was stored")
		}
		s.freeze("trail-boots", "a1", at(100))
		s.want(s.Revise(bg(), "trail-boots", 1, never), giveaway.ErrState)
		if got := s.published("trail-boots"); len(got) != 5 || got["opening.1.txt"] != "" {
			t.Errorf("a refused revision left something: %d files", len(got))
		}
	})
}

func TestRecord(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.want(s.Record(bg(), "trail-boots", []byte("note\n"), event, event), giveaway.ErrNotFound)
		s.open("trail-boots")
		s.enter("trail-boots", "ann@example.org", at(1))
		s.want(s.Record(bg(), "trail-boots", []byte("note\n"), event, event), giveaway.ErrState)
		s.freeze("trail-boots", "a1", at(100))
		if err := s.Record(bg(), "trail-boots", []byte("early\n"), event.Add(-time.Second), event); err == nil {
			t.Error("a record before the event was stored")
		}
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event, event))
		s.want(s.Record(bg(), "trail-boots", []byte("another\n"), event, event), giveaway.ErrState)
		if got := s.read("trail-boots", "record.txt"); got != "note\n" {
			t.Errorf("record.txt is %q", got)
		}
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if g.State != giveaway.StateDrawn || !g.Drawn.Equal(event) || !g.Frozen.Equal(at(100)) {
			t.Errorf("row %s, drawn %v, frozen %v", g.State, g.Drawn, g.Frozen)
		}
	})
}

// Whatever is tried after the draw, the published bytes stay as they were.
func TestPublishedBytesNeverChange(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		n, _ := s.enter("trail-boots", "ann@example.org", at(1))
		f := s.freeze("trail-boots", "a1", at(100))
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event, event))
		before := s.published("trail-boots")

		tries := []error{
			s.DB.Open(bg(), s.opened("trail-boots")),
			s.ChangeDraft(bg(), s.terms("trail-boots").Mark(), s.terms("trail-boots")),
			s.Revise(bg(), "trail-boots", 1, func(last time.Time) (giveaway.Revised, error) { return s.revision(o.Opening, at(200), last), nil }),
			s.WriteList(bg(), "trail-boots", "a1", draw.RollFile, 0, []byte("other"), at(200)),
			s.Freeze(bg(), f),
			s.AbandonFreeze(bg(), "trail-boots", "a1"),
			s.Record(bg(), "trail-boots", []byte("another\n"), event, event),
		}
		_, _, err := s.BeginFreeze(bg(), "trail-boots", "a2", at(500))
		for i, err := range append(tries, err) {
			if !errors.Is(err, giveaway.ErrState) {
				t.Errorf("try %d: %v, want ErrState", i, err)
			}
		}
		if err := s.Withdraw(bg(), "trail-boots", at(200), n.LinkHash); err == nil {
			t.Error("an entry was withdrawn after the draw")
		}
		// The database keeps the rule too: a second row for a name or a chunk is refused.
		for _, query := range []string{
			`INSERT INTO file_chunks (draw, version, chunk, bytes) SELECT draw, version, chunk, bytes FROM file_chunks`,
			`INSERT INTO published (draw, name, version, size, hash) SELECT draw, name, version, 0, hash FROM published`,
		} {
			if _, err := s.write.Exec(query); err == nil {
				t.Errorf("accepted: %s", query)
			}
		}
		if after := s.published("trail-boots"); !reflect.DeepEqual(after, before) || len(before) != 6 {
			t.Errorf("published before %d and after %d files, or other bytes", len(before), len(after))
		}
	})
}

// A crash can fall between any two steps: a server that opens the database
// anew, while the old one was never closed, goes on from each of them, and
// what was published keeps its bytes.
func TestCrashBetweenSteps(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		published := map[string]string{}
		crash := func(step string) {
			t.Helper()
			s.DB = s.server()
			if _, err := s.Installation(bg(), "slowmiles.example", zeros{}); err != nil {
				t.Fatal(err)
			}
			now := s.published("trail-boots")
			for name, text := range published {
				if now[name] != text {
					t.Fatalf("after %s %s has other bytes", step, name)
				}
			}
			published = now
		}
		s.draft("trail-boots")
		crash("draft")
		o := s.opened("trail-boots")
		s.must(s.DB.Open(bg(), o))
		crash("open")
		for i := range 5 {
			s.enter("trail-boots", fmt.Sprintf("p%d@example.org", i), at(i))
		}
		crash("entries")
		_, _, err := s.BeginFreeze(bg(), "trail-boots", "a1", at(100))
		s.must(err)
		crash("begin freeze")
		roll, excluded := s.lists("trail-boots")
		s.must(s.WriteList(bg(), "trail-boots", "a1", draw.RollFile, 0, roll, at(101)))
		crash("roll")

		// The first attempt is dead; its successor makes the lists again.
		_, _, err = s.BeginFreeze(bg(), "trail-boots", "a2", at(110))
		s.want(err, giveaway.ErrBusy)
		stamp, g, err := s.BeginFreeze(bg(), "trail-boots", "a2", at(121))
		s.must(err)
		crash("take over")
		s.writeLists("trail-boots", "a2", roll, excluded, at(121))
		crash("lists")
		s.must(s.Freeze(bg(), s.frozen(g, "a2", stamp, roll, excluded)))
		crash("freeze")
		s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event, event))
		crash("record")
		want := []string{"excluded.txt", "freeze.txt", "opening.txt", "record.txt", "roll.txt", "rules.txt"}
		names, err := fs.Glob(s.Publication("trail-boots"), "*")
		s.must(err)
		if !reflect.DeepEqual(names, want) || published["roll.txt"] != string(roll) {
			t.Errorf("published %q, want %q", names, want)
		}
		if secret, err := s.HostSecret(bg(), "trail-boots"); err != nil || secret != o.HostSecret {
			t.Errorf("host secret after the crashes: %v", err)
		}
	})
}

// zeros gives no randomness: a key that were made from it would be another.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }
