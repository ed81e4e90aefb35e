package store

import (
	"crypto/rand"
	"database/sql"
	"os"
	"strings"
	"sync"
	"testing"
	"time"
)

// The schema comes from nothing; later starts, also at once, change nothing.
func TestMigrateFromEmpty(t *testing.T) {
	for _, b := range backends {
		t.Run(b.name, func(t *testing.T) {
			c := b.at(t)
			c.Vault = newVault(t)
			s := &suite{t: t, config: c}
			s.DB = s.server()
			startAtOnce(t, c, 3)
			var n int
			s.must(s.write.QueryRow(`SELECT COUNT(*) FROM schema_version WHERE version_id = 1`).Scan(&n))
			if n != 1 {
				t.Errorf("migration 1 was recorded %d times, want once", n)
			}
			s.must(s.Ping(t.Context()))
		})
	}
}

func TestServersStartAtOnceOnEmptyPostgres(t *testing.T) {
	c := backends[1].at(t)
	c.Vault = newVault(t)
	startAtOnce(t, c, 4)
}

func startAtOnce(t *testing.T, c Config, servers int) {
	var wg sync.WaitGroup
	for range servers {
		wg.Go(func() {
			db, err := Open(t.Context(), c)
			if err != nil {
				t.Error(err)
				return
			}
			if err := db.Close(); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

func TestNewerSchemaIsRefused(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		_, err := s.write.Exec(`INSERT INTO schema_version (version_id, is_applied) VALUES (99, true)`)
		s.must(err)
		_, err = Open(t.Context(), s.config)
		s.want(err, ErrNewer)
	})
}

func TestOtherMasterKeyIsRefused(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		other := s.config
		other.Vault = newVault(t)
		_, err := Open(t.Context(), other)
		s.want(err, ErrOtherMaster)
	})
}

func TestBadConfigs(t *testing.T) {
	for _, c := range []Config{{}, {URL: "mysql://host/x", Vault: newVault(t)}, {URL: "postgres://u:pw@host:x/", Vault: newVault(t)}, {Vault: newVault(t)}} {
		db, err := Open(t.Context(), c)
		if err == nil {
			t.Errorf("%q opened", c.URL)
			db.Close()
		} else if strings.Contains(err.Error(), "pw") {
			t.Errorf("the error shows the password: %v", err)
		}
	}
}

// The database file holds personal data: it and its side files are the
// owner's alone.
func TestSQLiteFileMode(t *testing.T) {
	s := newSuite(t, backends[0].at(t))
	s.open("trail-boots")
	for _, end := range []string{"", "-wal", "-shm"} {
		info, err := os.Stat(s.config.File + end)
		s.must(err)
		if got := info.Mode().Perm(); got != 0o600 {
			t.Errorf("mode of the database%s %04o, want 0600", end, got)
		}
	}
}

// Settings of every SQLite connection. Source: https://www.sqlite.org/pragma.html
// (journal_mode wal, synchronous 2 = FULL, secure_delete 1 = on).
func TestSQLiteSettings(t *testing.T) {
	s := newSuite(t, backends[0].at(t))
	want := map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "10000", "secure_delete": "1"}
	for _, db := range []*sql.DB{s.DB.read, s.DB.write} {
		for name, value := range want {
			var got string
			s.must(db.QueryRow("PRAGMA " + name).Scan(&got))
			if got != value {
				t.Errorf("%s is %s, want %s", name, got, value)
			}
		}
	}
	if _, err := s.DB.read.Exec(`DELETE FROM sessions`); err == nil {
		t.Error("a reading connection wrote")
	}
}

// COLLATE "C" puts text in the order of its bytes on both databases; a
// language's order would put "a" before "B".
func TestOrderOfBytes(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		for _, id := range []string{"b", "B", "a", "0", "-"} {
			_, err := s.write.Exec(`INSERT INTO giveaways (id, state, terms, sample, created) VALUES ($1, 'draft', '{}', false, 1)`, id)
			s.must(err)
		}
		ids, err := list(bg(), s.DB.read, func(r scanner) (id string, err error) {
			err = r.Scan(&id)
			return id, err
		}, `SELECT id FROM giveaways ORDER BY id`)
		s.must(err)
		if got := strings.Join(ids, ""); got != "-0Bab" {
			t.Errorf("order %s, want -0Bab (ASCII)", got)
		}
	})
}

func TestInstallation(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		ctx := t.Context()
		again, err := s.server().Installation(ctx, "slowmiles.example", rand.Reader)
		s.must(err)
		if again.VerifierKey() != s.signer.VerifierKey() {
			t.Error("a second server has another key")
		}
		got, err := s.Signer(ctx)
		s.must(err)
		if got.VerifierKey() != s.signer.VerifierKey() {
			t.Error("Signer is another key")
		}
		_, err = s.server().Signer(ctx)
		s.want(err, ErrNoSigner)

		s.draft("trail-boots")
		s.signer, err = s.Installation(ctx, "boots.example", rand.Reader)
		s.must(err)
		if name := s.signer.Name(); name != "boots.example" {
			t.Errorf("signer %s before anything was opened, want boots.example", name)
		}
		s.must(s.DB.Open(ctx, s.opened("trail-boots")))
		_, err = s.Installation(ctx, "slowmiles.example", rand.Reader)
		s.want(err, ErrOtherSigner)
		kept, err := s.Installation(ctx, "boots.example", rand.Reader)
		s.must(err)
		if kept.VerifierKey() != s.signer.VerifierKey() {
			t.Error("the refused name changed the key")
		}
	})
}

func TestServersThatStartAtOnceHaveOneKey(t *testing.T) {
	for _, b := range backends {
		t.Run(b.name, func(t *testing.T) {
			c := b.at(t)
			c.Vault = newVault(t)
			s := &suite{t: t, config: c}
			dbs := []*DB{s.server(), s.server()}
			keys := make([]string, 10)
			var wg sync.WaitGroup
			for i := range keys {
				wg.Go(func() {
					signer, err := dbs[i%2].Installation(t.Context(), "slowmiles.example", rand.Reader)
					if err != nil {
						t.Error(err)
						return
					}
					keys[i] = signer.VerifierKey()
				})
			}
			wg.Wait()
			for _, k := range keys {
				if k != keys[0] {
					t.Fatalf("keys %s and %s", k, keys[0])
				}
			}
		})
	}
}

func TestDeskIsClaimedOnce(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		claimed, err := s.DeskClaimed(bg())
		s.must(err)
		if claimed {
			t.Error("claimed before anybody did")
		}
		won := make(chan string, 20)
		var wg sync.WaitGroup
		for i := range 20 {
			wg.Go(func() {
				hash := "hash " + string(rune('a'+i))
				switch err := s.ClaimDesk(bg(), hash); {
				case err == nil:
					won <- hash
				default:
					if err.Error() != "claim the desk: "+ErrClaimed.Error() {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
		close(won)
		winner := <-won
		if another, more := <-won; more {
			t.Errorf("%q and %q both claimed the desk", winner, another)
		}
		got, err := s.DeskHash(bg())
		s.must(err)
		if got != winner || got == "" {
			t.Errorf("hash %q, want the winner's %q", got, winner)
		}
	})
}

func TestSessions(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		now := day
		sessions := s.Sessions(func() time.Time { return now })
		find := func(token, want string) {
			t.Helper()
			data, found, err := sessions.FindCtx(bg(), token)
			s.must(err)
			if string(data) != want || found != (want != "") {
				t.Errorf("session %q, %v, want %q", data, found, want)
			}
		}
		find("token", "")
		s.must(sessions.CommitCtx(bg(), "token", []byte("one"), at(10)))
		s.must(sessions.CommitCtx(bg(), "other", []byte("x"), at(99)))
		find("token", "one")
		s.must(sessions.Commit("token", []byte("two"), at(20)))
		find("token", "two")
		find("tokem", "")
		now = at(20)
		find("token", "")
		find("other", "x")
		s.must(sessions.DeleteCtx(bg(), "other"))
		s.must(sessions.DeleteCtx(bg(), "other"))
		find("other", "")
	})
}
