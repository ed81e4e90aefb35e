package store

import (
	"io/fs"
	"reflect"
	"testing"
	"testing/fstest"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/migrations"
)

// upTo are the migrations of the first numbers.
func upTo(t *testing.T, last string) fs.FS {
	t.Helper()
	names, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{}
	for _, name := range names {
		b, err := fs.ReadFile(migrations.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		if name <= last {
			files[name] = &fstest.MapFile{Data: b}
		}
	}
	if files[last] == nil {
		t.Fatalf("no migration %s", last)
	}
	return files
}

// serverAt starts a server on an empty database and stops at an old schema.
func (s *suite) serverAt(files fs.FS) *DB {
	s.t.Helper()
	db, err := connect(s.config)
	s.must(err)
	s.must(db.migrateWith(bg(), files))
	s.must(db.prepareInserts(bg()))
	db.cache, db.intake, db.sweeper = newChunkCache(), newIntake(db), newSweeper(db)
	return db
}

// A database of the first schema, with a drawn giveaway and a withdrawn ticket
// in it, goes on under the second: what was published and stored is the same,
// a withdrawn ticket keeps its proof only, and outcomes and claims can be
// written.
func TestMigrateClaims(t *testing.T) {
	for _, b := range backends {
		t.Run(b.name, func(t *testing.T) {
			c := b.at(t)
			c.Vault = newVault(t)
			s := &suite{t: t, config: c}
			s.DB = s.serverAt(upTo(t, "00001_giveaways.sql"))
			var err error
			s.signer, err = s.Installation(bg(), "slowmiles.example", zeros{})
			s.must(err)
			s.open("trail-boots")
			s.draft("other")
			n, stamp := s.enter("trail-boots", "ann@example.org", at(1))
			gone, goneStamp := s.enter("trail-boots", "bea@example.org", at(2))
			// As the first program withdrew it.
			_, err = s.write.Exec(`UPDATE entries SET withdrawn = $1, reason = 'withdrawn' WHERE ticket = $2`, at(3).Unix(), gone.Ticket.String())
			s.must(err)
			s.freeze("trail-boots", "a1", at(100))
			s.must(s.Record(bg(), "trail-boots", []byte("note\n"), event))
			published, giveaways := s.published("trail-boots"), s.giveaways()
			s.must(s.DB.Close())

			s.DB = s.server()
			if now := s.published("trail-boots"); !reflect.DeepEqual(now, published) || len(now) != 6 {
				t.Errorf("%d published files, or other bytes", len(now))
			}
			if now := s.giveaways(); !reflect.DeepEqual(now, giveaways) {
				t.Errorf("giveaways %+v\nwant %+v", now, giveaways)
			}
			got, err := s.EntryByLink(bg(), "trail-boots", n.LinkHash)
			s.must(err)
			if want := (entries.Stored{New: n, Stamp: stamp}); !reflect.DeepEqual(got, want) {
				t.Errorf("got  %+v\nwant %+v", got, want)
			}
			got, err = s.EntryByLink(bg(), "trail-boots", gone.LinkHash)
			s.must(err)
			if got.Ticket != gone.Ticket || got.Commitment != gone.Commitment || got.Stamp != goneStamp || got.Entry.Key != gone.Entry.Key ||
				got.Entry.Size != gone.Entry.Size || got.Entry.Typed != gone.Entry.Key || got.Entry.Name != "" || len(got.Entry.Answers) != 0 {
				t.Errorf("the withdrawn ticket is %+v", got)
			}

			o, text := s.outcome("trail-boots", 1)
			s.must(s.Outcome(bg(), "trail-boots", 0, o, text))
			if got := s.read("trail-boots", draw.OutcomeFile); got != string(text) {
				t.Errorf("outcome.txt is %q", got)
			}
			s.must(s.AddClaim(bg(), claims.Row{Draw: "trail-boots", Place: 1, Ticket: n.Ticket, LinkHash: link("claim"), SealedLink: []byte("x"), Made: at(9000)}))
			var schema int
			s.must(s.write.QueryRow(`SELECT MAX(version_id) FROM schema_version`).Scan(&schema))
			if schema != 2 {
				t.Errorf("schema %d, want 2", schema)
			}
		})
	}
}

func (s *suite) giveaways() []giveaway.Giveaway {
	s.t.Helper()
	all, err := s.Giveaways(bg())
	s.must(err)
	return all
}
