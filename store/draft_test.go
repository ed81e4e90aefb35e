package store

import (
	"errors"
	"fmt"
	"testing"

	"evenhand/giveaway"
)

// Fifty new giveaways of one name on two servers: one is kept, and the others
// learn of it.
func TestOneNewDraftOfANameWins(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		won := s.press("add", nil, func(db *DB, n int) error {
			g := giveaway.Giveaway{ID: "trail-boots", Terms: s.terms("trail-boots"), State: giveaway.StateDraft, Created: at(-100)}
			g.Terms.Title = fmt.Sprint("Boots ", n)
			return db.AddDraft(bg(), g)
		})
		if g, err := s.Giveaway(bg(), "trail-boots"); err != nil || g.Terms.Title != fmt.Sprint("Boots ", won) {
			t.Errorf("kept %q, want that of %d: %v", g.Terms.Title, won, err)
		}
	})
}

// Fifty changes made from one state of a draft on two servers: one is kept.
func TestOneChangeOfADraftWins(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		from := s.draft("trail-boots").Terms.Mark()
		won := s.press("change", giveaway.ErrStale, func(db *DB, n int) error {
			terms := s.terms("trail-boots")
			terms.Title = fmt.Sprint("Boots ", n)
			return db.ChangeDraft(bg(), from, terms)
		})
		g, err := s.Giveaway(bg(), "trail-boots")
		s.must(err)
		if g.Terms.Title != fmt.Sprint("Boots ", won) {
			t.Errorf("kept %q, want that of %d", g.Terms.Title, won)
		}
		s.want(s.ChangeDraft(bg(), from, s.terms("trail-boots")), giveaway.ErrStale)
		s.must(s.ChangeDraft(bg(), g.Terms.Mark(), s.terms("trail-boots")))
	})
}

// Terms are posted as they were shown, or not at all: a change against fifty
// presses of the button leaves a posted text that somebody had read.
func TestOpenOfADraftThatWasChanged(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		shown := s.draft("trail-boots").Terms
		o := s.opened("trail-boots")
		other := s.terms("trail-boots")
		other.Title = "Other boots"
		s.must(s.ChangeDraft(bg(), shown.Mark(), other))
		s.want(s.DB.Open(bg(), o), giveaway.ErrStale)
		if g, err := s.Giveaway(bg(), "trail-boots"); err != nil || g.State != giveaway.StateDraft || g.Terms.Title != "Other boots" {
			t.Errorf("%s %q, %v; want the changed draft", g.State, g.Terms.Title, err)
		}
		if files := s.published("trail-boots"); len(files) != 0 {
			t.Errorf("%d files are published", len(files))
		}
		h := s.hosts()[0]
		s.must(errors.Join(s.AddDraft(bg(), giveaway.Giveaway{ID: "boots-2", Terms: s.hostTerms("boots-2"), Created: at(-100)})))
		first := s.hostTerms("boots-2").Mark()
		second := s.hostTerms("boots-2")
		second.Title = "Other boots"
		s.must(s.ChangeDraft(bg(), first, second))
		_, err := h.OpenShown(bg(), at(-30), "boots-2", first)
		s.want(err, giveaway.ErrStale)
		g, err := h.OpenShown(bg(), at(-30), "boots-2", second.Mark())
		s.must(err)
		if g.Terms.Title != "Other boots" || g.State != giveaway.StateOpen {
			t.Errorf("%s %q", g.State, g.Terms.Title)
		}
	})
}

// A change against a post, many times: what is posted is what was shown, and
// a change that was kept is not lost without a word.
func TestChangeAgainstPost(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.other = s.server()
		for n := range 20 {
			id := fmt.Sprint("boots-", n)
			shown := s.draft(id).Terms
			o, next := s.opened(id), s.terms(id)
			next.Title = "Other boots"
			changed := make(chan error)
			go func() { changed <- s.other.ChangeDraft(bg(), shown.Mark(), next) }()
			post := s.DB.Open(bg(), o)
			change := <-changed
			g, err := s.Giveaway(bg(), id)
			s.must(err)
			switch {
			case post == nil && errors.Is(change, giveaway.ErrState) && g.State == giveaway.StateOpen && g.Terms.Title == shown.Title:
			case errors.Is(post, giveaway.ErrStale) && change == nil && g.State == giveaway.StateDraft && g.Terms.Title == "Other boots":
			default:
				t.Errorf("post: %v; change: %v; %s %q", post, change, g.State, g.Terms.Title)
			}
		}
	})
}

// With the draft its changes that were not finished are over: addresses of
// people who may not win stand in such a form.
func TestOpenDropsTheTypedForm(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.draft("trail-boots")
		f := giveaway.TypedForm{Key: "g/trail-boots", Values: []byte(`{"barred":["eve@example.org"]}`), At: at(-90)}
		var err error
		f.Version, err = s.SaveForm(bg(), f)
		s.must(err)
		s.must(s.DB.Open(bg(), s.opened("trail-boots")))
		_, err = s.Form(bg(), f.Key)
		s.want(err, giveaway.ErrNotFound)
		for _, from := range []int64{0, f.Version} {
			f.Version = from
			if _, err := s.SaveForm(bg(), f); !errors.Is(err, giveaway.ErrState) {
				t.Errorf("saved late from version %d: %v", from, err)
			}
		}
		var left int
		s.must(s.write.QueryRow(`SELECT COALESCE(SUM(length(sealed)), 0) FROM typed_forms`).Scan(&left))
		if left != 0 {
			t.Errorf("%d bytes of it are left", left)
		}
	})
}

// Of the giveaways that follow a cancelled one, one is posted; and where the
// cancelled one names its successor, that one alone.
func TestOneFollowsACancelledGiveaway(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		hosts := s.hosts()
		h := hosts[0]
		replaced := func(err error, what string) {
			t.Helper()
			var p giveaway.Problems
			if !errors.As(err, &p) || len(p.Of("follows")) != 1 {
				t.Errorf("%s: %v", what, err)
			}
		}
		follower := func(id, old string) error {
			next := s.hostTerms(id)
			next.Follows = old
			_, err := h.Draft(bg(), at(-30), next)
			return err
		}
		s.hostOpen(h, s.hostTerms("first"))
		s.hostOpen(h, s.hostTerms("second"))
		// Drafts may compete until one is posted.
		s.must(errors.Join(follower("a", "first"), follower("b", "first"), follower("c", "second"), follower("d", "second")))
		_, err := h.Cancel(bg(), at(-19), "first", "postponed", "a")
		s.must(err)
		_, err = h.Cancel(bg(), at(-19), "second", "postponed", "")
		s.must(err)
		replaced(follower("e", "first"), "a draft of another than the successor")
		_, err = h.Open(bg(), at(-18), "b")
		replaced(err, "another than the successor is posted")
		_, err = h.Open(bg(), at(-18), "a")
		s.must(err)

		ids := []string{"c", "d"}
		errs := make(chan error, 20)
		for n := range 20 {
			go func() {
				_, err := hosts[n%len(hosts)].Open(bg(), at(-18), ids[n/2%2])
				errs <- err
			}()
		}
		for range 20 {
			if err := <-errs; err != nil {
				replaced(err, "two are posted at once")
			}
		}
		c, err1 := s.Giveaway(bg(), "c")
		d, err2 := s.Giveaway(bg(), "d")
		s.must(errors.Join(err1, err2))
		if (c.State == giveaway.StateOpen) == (d.State == giveaway.StateOpen) {
			t.Errorf("c is %s, d is %s; want one of them posted", c.State, d.State)
		}
		replaced(follower("f", "second"), "a draft where another is posted")
	})
}
