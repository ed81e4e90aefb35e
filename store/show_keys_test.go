package store

import (
	"bytes"
	"crypto/rand"
	"testing"

	"evenhand/show"
)

// A key opens what it is for until it is revoked; its secret lies nowhere in
// the clear.
func TestShowKeys(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		var keys []show.Key
		for i, kind := range []string{show.KeyStage, show.KeyRemote} {
			k, err := show.NewKey(kind, "trail-boots", at(i), rand.Reader)
			s.must(err)
			s.must(s.AddKey(bg(), k))
			keys = append(keys, k)
		}
		for i, k := range keys {
			if got, err := s.Key(bg(), k.Kind, k.Secret); err != nil || got != k {
				t.Errorf("key %d is %+v, %v", i, got, err)
			}
			_, err := s.Key(bg(), keys[1-i].Kind, k.Secret)
			s.want(err, show.ErrNoKey)
		}
		all, err := s.KeysOf(bg(), "trail-boots")
		if err != nil || len(all) != 2 || all[0] != keys[1] || all[1] != keys[0] {
			t.Errorf("keys %+v, %v", all, err)
		}
		rows, err := s.DB.read.Query(`SELECT hash, sealed FROM show_keys`)
		s.must(err)
		defer rows.Close()
		for rows.Next() {
			var hash, sealed []byte
			s.must(rows.Scan(&hash, &sealed))
			for _, k := range keys {
				if bytes.Contains(hash, []byte(k.Secret)) || bytes.Contains(sealed, []byte(k.Secret)) {
					t.Error("a secret lies in the clear")
				}
			}
		}
		s.must(rows.Err())
		s.must(s.RevokeKeys(bg(), "trail-boots", show.KeyRemote, at(5)))
		_, err = s.Key(bg(), keys[1].Kind, keys[1].Secret)
		s.want(err, show.ErrNoKey)
		if _, err := s.Key(bg(), keys[0].Kind, keys[0].Secret); err != nil {
			t.Errorf("the stage's key: %v", err)
		}
		_, err = s.Key(bg(), show.KeyStage, "")
		s.want(err, show.ErrNoKey)
	})
}
