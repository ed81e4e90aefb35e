package store

import (
	"bytes"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/migrations"
	"evenhand/vault"
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

// A dump is a database as an earlier program left it (testdata/README.md).
type dump struct {
	MasterKey string `json:"master_key"`
	Published map[string]map[string]string
	Tables    []dumpTable
}

type dumpTable struct {
	Name    string
	Columns []string
	Rows    [][]any // text, number, boolean, null, or {"hex": …} for bytes
}

func readDump(t *testing.T, name string) (d dump) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	if err := dec.Decode(&d); err != nil || len(d.Tables) == 0 {
		t.Fatalf("%d tables: %v", len(d.Tables), err)
	}
	return d
}

// values are the columns of a row as the database takes them.
func (s *suite) values(row []any) []any {
	s.t.Helper()
	var out []any
	for _, v := range row {
		switch one := v.(type) {
		case json.Number:
			n, err := one.Int64()
			s.must(err)
			v = n
		case map[string]any:
			b, err := hex.DecodeString(one["hex"].(string))
			s.must(err)
			v = b
		}
		out = append(out, v)
	}
	return out
}

// restore makes a database of the schema and fills it with the dump's rows.
func (s *suite) restore(d dump, last string) {
	s.t.Helper()
	db, err := connect(s.config)
	s.must(err)
	s.must(db.migrateWith(bg(), upTo(s.t.(*testing.T), last)))
	for _, table := range d.Tables {
		for _, row := range table.Rows {
			marks := make([]string, len(row))
			for i := range marks {
				marks[i] = fmt.Sprint("$", i+1)
			}
			_, err := db.write.Exec("INSERT INTO "+table.Name+" ("+strings.Join(table.Columns, ", ")+
				") VALUES ("+strings.Join(marks, ", ")+")", s.values(row)...)
			s.must(err)
		}
	}
	s.must(db.closeAll())
}

// eachOld runs a test on both databases, as they are after the program was
// started on one of an earlier schema.
func eachOld(t *testing.T, name, last string, test func(s *suite, d dump)) {
	t.Helper()
	for _, b := range backends {
		t.Run(b.name, func(t *testing.T) {
			t.Parallel()
			d := readDump(t, name)
			key := filepath.Join(t.TempDir(), "master.key")
			if err := os.WriteFile(key, []byte(d.MasterKey), 0o600); err != nil {
				t.Fatal(err)
			}
			s := &suite{t: t, config: b.at(t)}
			var err error
			s.config.Vault, err = vault.Load(key, rand.Reader)
			s.must(err)
			s.restore(d, last)
			s.DB = s.server()
			s.signer, err = s.Installation(bg(), "slowmiles.example", rand.Reader)
			s.must(err)
			s.sameAs(d)
			test(s, d)
		})
	}
}

// sameAs: all that was published is there, byte for byte; each giveaway and
// each entry reads as its row was.
func (s *suite) sameAs(d dump) {
	s.t.Helper()
	var schema int
	s.must(s.write.QueryRow(`SELECT MAX(version_id) FROM schema_version`).Scan(&schema))
	if names, err := fs.Glob(migrations.Files, "*.sql"); err != nil || schema != len(names) {
		s.t.Errorf("schema %d, want %d", schema, len(names))
	}
	for id, want := range d.Published {
		got := map[string]string{}
		for name, text := range s.published(id) {
			got[name] = draw.Hash([]byte(text)).String()
		}
		if !reflect.DeepEqual(got, want) {
			s.t.Errorf("%s: published %v\nwant %v", id, got, want)
		}
	}
	s.each(d, "giveaways", func(row map[string]any) {
		g, err := s.Giveaway(bg(), row["id"].(string))
		s.must(err)
		if string(g.State) != row["state"] || !g.Cancelled.IsZero() || g.CancelReason != "" || !g.Kept.IsZero() ||
			g.Created.Unix() != row["created"] || int64(g.Revision) != row["revision"] || unix(g.Frozen) != zeroOf(row["frozen"]) {
			s.t.Errorf("%s reads as %+v", g.ID, g)
		}
	})
	s.each(d, "entries", func(row map[string]any) {
		got, err := s.EntryByLink(bg(), row["draw"].(string), [32]byte(row["link"].([]byte)))
		s.must(err)
		gone := row["withdrawn"] != nil
		if got.Ticket.String() != row["ticket"] || got.Origin != entries.OriginForm || got.Withdrawn != gone || got.Entry.Key != row["key"] ||
			!bytes.Equal(got.Commitment[:], row["commitment"].([]byte)) || got.Stamp.Entered.Unix() != row["entered"] {
			s.t.Errorf("a ticket reads as %+v", got)
		}
		if name := row["name"]; !gone && got.Entry.Name != name {
			s.t.Errorf("the name %q reads as %q", name, got.Entry.Name)
		}
	})
}

// each calls f with every row of a table of the dump, by column.
func (s *suite) each(d dump, table string, f func(row map[string]any)) {
	s.t.Helper()
	n := 0
	for _, t := range d.Tables {
		if t.Name != table {
			continue
		}
		for _, row := range t.Rows {
			by := map[string]any{}
			for i, v := range s.values(row) {
				by[t.Columns[i]] = v
			}
			f(by)
			n++
		}
	}
	if n == 0 {
		s.t.Fatalf("no rows of %s", table)
	}
}

func zeroOf(v any) int64 {
	n, _ := v.(int64)
	return n
}

// A database of the first schema goes on: of a ticket that the first program
// withdrew only its proof is left, and outcomes and claims can be written.
func TestMigrateFromTheFirstSchema(t *testing.T) {
	eachOld(t, "schema1.json", "00001_giveaways.sql", func(s *suite, d dump) {
		var in entries.Stored
		s.each(d, "entries", func(row map[string]any) {
			got, err := s.EntryByLink(bg(), "trail-boots", [32]byte(row["link"].([]byte)))
			s.must(err)
			if row["withdrawn"] == nil {
				in = got
			} else if got.Entry.Typed != got.Entry.Key || got.Entry.Name != "" || len(got.Entry.Answers) != 0 || row["name"] == "" {
				s.t.Errorf("the withdrawn ticket is %+v", got)
			}
		})
		o, text := s.outcome("trail-boots", 1)
		s.must(s.Outcome(bg(), "trail-boots", 0, o, text))
		if got := s.read("trail-boots", draw.OutcomeFile); got != string(text) {
			s.t.Errorf("outcome.txt is %q", got)
		}
		s.must(s.AddClaim(bg(), claims.Row{Draw: "trail-boots", Place: 1, Ticket: in.Ticket, LinkHash: link("claim"), SealedLink: []byte("x"), Made: at(9000)}))
	})
}

// A database of the second schema goes on from every state: the drawn giveaway
// keeps its claim and still verifies, and what the desk can do now works on
// those that are not drawn.
func TestMigrateFromTheSecondSchema(t *testing.T) {
	eachOld(t, "schema2.json", "00002_claims.sql", func(s *suite, d dump) {
		s.verified("trail-boots")
		host := giveaway.Host{Store: s.DB, Outcomes: s.DB, Desk: s.DB, Data: s.DB, Keys: s.DB, Rand: rand.Reader}
		c := claims.Clerk{Store: s.DB, Entries: s.DB, Host: host, Seal: s.config.Vault, Rand: rand.Reader, URL: "https://slowmiles.example"}
		p, err := c.Place(bg(), drawnAt, "trail-boots", 1)
		s.must(err)
		if p.Answer == nil || p.Answer.Name != planted["name"] {
			s.t.Error("the claim does not read as it was written")
		}
		if desk, err := s.DeskHash(bg()); err != nil || desk != "hash of a passphrase" {
			s.t.Errorf("the desk's hash is %q: %v", desk, err)
		}
		lines, err := s.Logged(bg(), "trail-boots")
		s.must(err)
		if len(lines) == 0 || lines[len(lines)-1].What != "opened" {
			s.t.Errorf("the log is %v", lines)
		}

		// The open one: its address is still taken once, and it can be called off.
		_, err = s.AddEntry(bg(), "second", at(13), person("bea@example.org"))
		s.want(err, entries.ErrAlreadyIn)
		for _, id := range []string{"second", "third"} {
			g, err := host.Cancel(bg(), at(200), id, "prize-withdrawn", "")
			s.must(err)
			if g.State != giveaway.StateCancelled {
				s.t.Errorf("%s is %s", id, g.State)
			}
		}
		if r := s.verified("second"); r.Verdict != "cancelled, weak" {
			s.t.Errorf("the verdict is %q", r.Verdict)
		}
		// The one whose freeze was under way: another takes over.
		_, err = host.Lock(bg(), at(130), "fourth")
		s.must(err)
		if err := host.Keep(bg(), at(1), "fifth"); !errors.Is(err, giveaway.ErrState) {
			s.t.Errorf("keep the sheet of a draft: %v", err)
		}
		_, err = s.SaveForm(bg(), giveaway.TypedForm{Key: "g/fifth", Title: "Fifth", Values: []byte("{}"), At: day})
		s.must(err)
	})
}
