package store

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"evenhand/giveaway"
)

func TestTypedForms(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		if _, err := s.Form(bg(), "nothing"); !errors.Is(err, giveaway.ErrNotFound) {
			t.Errorf("a form that is not there: %v", err)
		}
		big := []byte(`{"barred":["` + strings.Repeat("b", 64<<10) + `"]}`)
		f := giveaway.TypedForm{Key: "a key of 22 characters", Title: "Trail boots", Values: big, At: at(1)}
		version, err := s.SaveForm(bg(), f)
		s.must(err)
		f.Version = version
		if got, err := s.Form(bg(), f.Key); err != nil || version != at(1).Unix() || !reflect.DeepEqual(got, f) {
			t.Errorf("version %d came back changed: %v", version, err)
		}
		f.Values, f.At, f.Title = []byte(`{}`), at(2), "" // no title yet
		f.Version, err = s.SaveForm(bg(), f)
		s.must(err)
		for _, from := range []int64{0, version, version + 2} {
			old := giveaway.TypedForm{Key: f.Key, Values: []byte(`{"x":1}`), Version: from, At: at(3)}
			if _, err := s.SaveForm(bg(), old); !errors.Is(err, giveaway.ErrState) {
				t.Errorf("saved from version %d: %v", from, err)
			}
		}
		_, err = s.SaveForm(bg(), giveaway.TypedForm{Key: "g/trail-boots", Values: []byte(`{}`), At: at(9)})
		s.must(err)
		all, err := s.Forms(bg())
		s.must(err)
		if len(all) != 2 || all[0].Key != "g/trail-boots" || !reflect.DeepEqual(all[1], f) {
			t.Errorf("forms %+v", all)
		}
		s.must(s.DropForm(bg(), f.Key))
		s.must(s.DropForm(bg(), f.Key))
		if _, err := s.Form(bg(), f.Key); !errors.Is(err, giveaway.ErrNotFound) {
			t.Errorf("a form that was dropped: %v", err)
		}
		// A page of before the drop does not bring it back.
		if _, err := s.SaveForm(bg(), f); !errors.Is(err, giveaway.ErrState) {
			t.Errorf("a form that was dropped is saved: %v", err)
		}
		// Nor does what was sent late by a page that never kept anything.
		anew := giveaway.TypedForm{Key: f.Key, Values: []byte(`{"new":1}`), At: at(60)}
		if _, err = s.SaveForm(bg(), anew); !errors.Is(err, giveaway.ErrState) {
			t.Errorf("a form that was dropped is saved as a new one: %v", err)
		}
		if all, err := s.Forms(bg()); err != nil || len(all) != 1 {
			t.Errorf("%d forms are listed after one of two was dropped, %v", len(all), err)
		}
		var left int
		s.must(s.write.QueryRow(`SELECT COALESCE(SUM(length(sealed)), 0) FROM typed_forms WHERE key = $1`, f.Key).Scan(&left))
		if left != 0 {
			t.Errorf("%d bytes of a dropped form are left", left)
		}
		// Whoever begins anew does so from what was left; an old page does not
		// write over that either.
		was, err := s.Form(bg(), f.Key)
		s.want(err, giveaway.ErrNotFound)
		anew.Version = was.Version
		_, err = s.SaveForm(bg(), anew)
		s.must(err)
		if _, err := s.SaveForm(bg(), f); !errors.Is(err, giveaway.ErrState) {
			t.Errorf("an old page writes over a new form: %v", err)
		}
	})
}

// A form that was never kept can be dropped, too: what its page sends later is
// refused.
func TestADroppedFormStaysDropped(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.must(s.DropForm(bg(), "never-kept-form-0000"))
		_, err := s.SaveForm(bg(), giveaway.TypedForm{Key: "never-kept-form-0000", Values: []byte(`{}`), At: at(1)})
		s.want(err, giveaway.ErrState)
		all, err := s.Forms(bg())
		s.must(err)
		if len(all) != 0 {
			t.Errorf("%d forms", len(all))
		}
	})
}

// Fifty save from one version on two servers: one is kept, and the others
// learn of it.
func TestOneSaveOfAFormWins(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		from := int64(0)
		for range 3 {
			next := from + 1
			if from == 0 {
				next = at(1).Unix()
			}
			won := s.press("save", nil, func(db *DB, n int) error {
				version, err := db.SaveForm(bg(), giveaway.TypedForm{Key: "trail-boots-form", Values: fmt.Appendf(nil, `{"n":%d}`, n), Version: from, At: at(1)})
				if err == nil && version != next {
					t.Errorf("version %d after %d", version, from)
				}
				return err
			})
			got, err := s.Form(bg(), "trail-boots-form")
			s.must(err)
			if string(got.Values) != fmt.Sprintf(`{"n":%d}`, won) || got.Version != next {
				t.Errorf("kept %s, version %d; want that of %d", got.Values, got.Version, won)
			}
			from = next
		}
	})
}

// Of a form nothing stands in the database in the clear: neither its title nor
// the addresses of people who may not win. A row that is copied to another key
// opens nothing, nor does one under another master key.
func TestFormsAreNotInTheDatabaseInClear(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		f := giveaway.TypedForm{Key: "key-of-the-form-0000", Title: "Plantedtitle", Values: []byte(`{"barred":["plantedbarred@example.org"]}`), At: at(1)}
		_, err := s.SaveForm(bg(), f)
		s.must(err)
		all := s.everything()
		if !bytes.Contains(all, []byte(f.Key)) {
			t.Fatal("the search finds nothing at all")
		}
		for _, word := range []string{"Plantedtitle", "plantedbarred", "barred"} {
			if bytes.Contains(all, []byte(word)) {
				t.Errorf("%q is in the database", word)
			}
		}
		_, err = s.write.Exec(`INSERT INTO typed_forms (key, version, sealed, at) SELECT 'another', version, sealed, at FROM typed_forms`)
		s.must(err)
		if got, err := s.Form(bg(), "another"); err == nil || strings.Contains(err.Error(), "planted") {
			t.Errorf("a copied row gives %v, %v", got, err)
		}
		other := &DB{read: s.DB.read, vault: newVault(t)}
		if got, err := other.Form(bg(), f.Key); err == nil {
			t.Errorf("another master key opens %v", got)
		}
	})
}

// A second's secret that was not handed in is nowhere; the host's secret stays
// sealed until the draw, also once it is locked and called off.
func TestSecretsOfTheDrawAreNotInTheDatabase(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		st := s.withSeconds()
		st.lock()
		s.must(st.handIn(st.event.Add(-time.Minute), "ann"))
		host, err := s.HostSecret(bg(), "trail-boots")
		s.must(err)
		_, err = st.hosts[0].Cancel(bg(), st.event, "trail-boots", "secret-lost", "")
		s.must(err)
		all := s.everything()
		ann, sponsor := st.secrets["ann"], st.secrets["sponsor"]
		if !bytes.Contains(all, ann[:]) { // it is public
			t.Fatal("the search does not find what was handed in")
		}
		for name, secret := range map[string][32]byte{"host": host, "sponsor": sponsor} {
			if bytes.Contains(all, secret[:]) || bytes.Contains(all, fmt.Appendf(nil, "%x", secret)) {
				t.Errorf("the secret of %s is in the database", name)
			}
		}
	})
}
