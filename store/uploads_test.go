package store

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"evenhand/giveaway"
)

// An upload of several parts comes back as it was, for a day; another key,
// name or giveaway has none; replaced, dropped and too old ones are gone.
func TestUploads(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		ctx, at := t.Context(), time.Unix(1_790_000_000, 0)
		id := s.draft("trail-boots").ID
		content := bytes.Repeat([]byte("planted row\n"), 250_000) // 3 MB: three parts
		missing := func(why, draw, key, name string, now time.Time) {
			t.Helper()
			if _, err := s.Upload(ctx, now, draw, key, name); !errors.Is(err, giveaway.ErrNotFound) {
				t.Errorf("%s: %v, want ErrNotFound", why, err)
			}
		}
		s.must(s.SaveUpload(ctx, at, id, "k", "file", []byte("before")))
		s.must(s.SaveUpload(ctx, at, id, "k", "file", content))
		s.must(s.SaveUpload(ctx, at, id, "k", "choice", []byte("first")))
		s.must(s.SaveUpload(ctx, at.Add(time.Hour), id, "k", "choice", nil)) // the day goes on
		got, err := s.Upload(ctx, at.Add(24*time.Hour), id, "k", "file")
		if err != nil || !bytes.Equal(got, content) {
			t.Errorf("%d bytes, %v; want %d", len(got), err, len(content))
		}
		if got, err := s.Upload(ctx, at, id, "k", "choice"); err != nil || len(got) != 0 {
			t.Errorf("an empty one: %d bytes, %v", len(got), err)
		}
		missing("another key", id, "j", "file", at)
		missing("another giveaway", "other", "k", "file", at)
		missing("after a day", id, "k", "file", at.Add(24*time.Hour+time.Second))
		missing("what was kept later with it", id, "k", "choice", at.Add(24*time.Hour+time.Second))
		if err := s.SaveUpload(ctx, at, "other", "k", "file", content); !errors.Is(err, giveaway.ErrNotFound) {
			t.Errorf("for no giveaway: %v, want ErrNotFound", err)
		}
		s.must(s.DropOldUploads(ctx, at.Add(25*time.Hour)))
		missing("after the old ones were dropped", id, "k", "file", at)
		s.must(s.SaveUpload(ctx, at, id, "k", "file", content))
		s.must(s.DropUpload(ctx, id, "k"))
		missing("after it was dropped", id, "k", "file", at)
	})
}
