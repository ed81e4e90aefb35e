package store

import (
	"bytes"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
)

// What must not be had from the database alone: searched for in the raw file
// and its side files, and in every column of every table.
func TestSecretsAreNotInTheDatabase(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		o := s.open("trail-boots")
		link := "a private link's secret, 128 bits"
		n := person("ann@example.org")
		n.LinkHash = draw.Hash([]byte(link))
		_, err := s.AddEntry(bg(), "trail-boots", at(1), n)
		s.must(err)
		s.must(s.Sessions(func() time.Time { return day }).Commit("session-token-of-the-desk", []byte("data"), at(9)))
		all := s.everything()
		if !bytes.Contains(all, []byte("ann@example.org")) {
			t.Fatal("the search finds nothing at all")
		}
		_, key, _ := strings.Cut(strings.TrimPrefix(s.signer.Secret(), "PRIVATE+KEY+"), "+")
		_, key, _ = strings.Cut(key, "+")
		for name, secret := range map[string]string{
			"host secret": string(o.HostSecret[:]), "host secret in hex": draw.Digest(o.HostSecret).String(),
			"signing key": s.signer.Secret(), "its last part": key, "link": link, "token": "session-token-of-the-desk",
		} {
			if len(secret) < 16 || bytes.Contains(all, []byte(secret)) {
				t.Errorf("the %s is in the database", name)
			}
		}
		got, err := s.HostSecret(bg(), "trail-boots")
		s.must(err)
		if got != o.HostSecret {
			t.Error("the host secret came back changed")
		}
	})
}

// planted are words that a winner and a sponsor write. Phone: the example of a
// number in the United States that libphonenumber carries.
var planted = map[string]string{
	"name": "Quillon Plantedname", "care-of name": "Odalys Careofname", "street": "4711 Plantedstreet Ave", "city": "Denverplanted",
	"phone": "2015550123", "other street": "815 Replanted Rd", "chat street": "99 Chatplanted Way",
	"question": "plantedquestion about the door", "carrier": "Plantedcarrier Post", "number": "PLANTED-1Z999-NUMBER",
}

// A claim goes its whole way, and nothing of what was written, and no link, is
// in the database in the clear: not in the raw file of SQLite or its log, nor
// in any column of any table.
func TestClaimsAreNotInTheDatabaseInClear(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		h := s.hosts()[0]
		standing := s.drawn(h, "trail-boots")
		c := claims.Clerk{Store: s.DB, Entries: s.DB, Host: h, Seal: s.config.Vault, Rand: rand.Reader, URL: "https://slowmiles.example"}
		secrets := s.wholeClaim(c)

		entry, err := s.EntryByTicket(bg(), "trail-boots", standing.Places[0].Ticket)
		s.must(err)
		all := s.everything()
		if !bytes.Contains(all, []byte(entry.Entry.Key)) || !bytes.Contains(all, []byte(claims.MarkAskAddress)) {
			t.Fatal("the search finds nothing at all")
		}
		for name, secret := range secrets {
			for _, form := range []string{secret, strings.ToUpper(secret)} {
				if len(form) < 10 || bytes.Contains(all, []byte(form)) {
					t.Errorf("the %s is in the database", name)
				}
			}
		}
		p, err := c.Place(bg(), drawnAt, "trail-boots", 1)
		s.must(err)
		if a := p.Answer; a == nil || a.Name != planted["name"] || !strings.HasSuffix(a.Phone, planted["phone"]) || a.Address.Lines[0] != planted["other street"] {
			t.Error("the claim did not come back as it was sent")
		}
	})
}

// wholeClaim makes the claim of place 1, and returns what was planted and the
// secrets of all links.
func (s *suite) wholeClaim(c claims.Clerk) map[string]string {
	s.t.Helper()
	secrets := map[string]string{}
	for name, word := range planted {
		secrets[name] = word
	}
	keep := func(name, link string, err error) string {
		s.t.Helper()
		s.must(err)
		secrets[name] = path.Base(link)
		return path.Base(link)
	}
	l, err := c.Letter(bg(), drawnAt, "trail-boots", 1)
	keep("first claim link", l.Link, err)
	l, err = c.NewLink(bg(), drawnAt, "trail-boots", 1)
	claim := keep("claim link", l.Link, err)
	_, err = c.Noticed(bg(), drawnAt, "trail-boots", 1)
	s.must(err)
	f := claims.Form{Name: planted["name"], CareOf: planted["care-of name"], Line1: planted["chat street"], City: planted["city"],
		State: "CO", Postal: "80202", Country: "US", Phone: planted["phone"], Adult: "yes", Eligible: "yes", Sure: "yes"}
	s.sure(&f, func() error { _, err := c.Record(bg(), drawnAt, "trail-boots", 1, claims.ByChat, f); return err })
	f.Line1 = planted["street"]
	s.sure(&f, func() error { _, err := c.Record(bg(), drawnAt, "trail-boots", 1, claims.ByPhone, f); return err })
	_, err = c.Answer(bg(), drawnAt, "trail-boots", claim, f)
	s.want(err, claims.ErrAnswered)
	_, err = c.Confirm(bg(), drawnAt, "trail-boots", 1)
	s.must(err)

	link, err := c.SponsorLink(bg(), drawnAt, "trail-boots")
	keep("revoked sponsor link", link, err)
	s.must(c.RevokeSponsorLink(bg(), drawnAt, "trail-boots"))
	link, err = c.SponsorLink(bg(), drawnAt, "trail-boots")
	sponsor := keep("sponsor link", link, err)
	_, err = c.Sponsor(bg(), drawnAt, sponsor)
	s.must(err)
	_, err = c.Mark(bg(), drawnAt, sponsor, 1, claims.Mark{Kind: claims.MarkAskAddress, Words: planted["question"]})
	s.must(err)
	l, err = c.AskLetter(bg(), drawnAt, "trail-boots", 1, 1)
	ask := keep("question link", l.Link, err)
	f.Line1 = planted["other street"]
	s.sure(&f, func() error { _, err := c.AnswerAsk(bg(), drawnAt, "trail-boots", ask, f); return err })
	_, err = c.Mark(bg(), drawnAt, sponsor, 1, claims.Mark{Kind: claims.MarkShipped, Carrier: planted["carrier"], Number: planted["number"]})
	s.must(err)
	return secrets
}

// sure sends a form again with the doubts that it raised as seen.
func (s *suite) sure(f *claims.Form, send func() error) {
	s.t.Helper()
	err := send()
	var rejected *claims.Rejected
	if errors.As(err, &rejected) {
		f.Seen = rejected.Form.Seen
		err = send()
	}
	if errors.As(err, &rejected) {
		s.t.Fatalf("refused: %v", rejected.Fields)
	}
	s.must(err)
}

// A withdrawn ticket keeps what its receipt and its entry text are made of; the
// rest is gone from the rows at once.
func TestWithdrawnTicketKeepsOnlyItsProof(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		s.open("trail-boots")
		n := plantedPerson("ann@example.org")
		stamp, err := s.AddEntry(bg(), "trail-boots", at(1), n)
		s.must(err)
		if !bytes.Contains(s.rows(), []byte("Plantedname")) {
			t.Fatal("the search finds nothing at all")
		}
		s.must(s.Withdraw(bg(), "trail-boots", at(2), n.LinkHash))
		got, err := s.EntryByLink(bg(), "trail-boots", n.LinkHash)
		s.must(err)
		want := entries.Stored{New: n, Stamp: stamp, Withdrawn: true}
		want.Reason = draw.Withdrawn
		want.Entry = entries.Entry{Key: n.Entry.Key, Typed: n.Entry.Key, Size: n.Entry.Size, Answers: map[string]string{}}
		want.Entry.Ship.Country = n.Entry.Ship.Country
		if !reflect.DeepEqual(got, want) {
			t.Errorf("got  %+v\nwant %+v", got, want)
		}
		if bytes.Contains(bytes.ToLower(s.rows()), []byte("planted")) {
			t.Error("a row has what was dropped")
		}
	})
}

// plantedPerson is an entry with words to search for in all that a withdrawal
// drops.
func plantedPerson(key string) entries.New {
	n := person(key)
	n.Entry.Typed, n.Entry.Name = "Plantedtyped."+key, "Plantedname"
	n.Entry.AgeRange, n.Entry.Answers = "plantedage", map[string]string{"trail": "plantedanswer"}
	n.Entry.Ship.State = "BC"
	return n
}

// What a withdrawal drops is soon gone from SQLite's file and its log, while
// two servers have it open.
func TestWithdrawnIsSweptFromTheFiles(t *testing.T) {
	t.Parallel()
	s := newSuite(t, backends[0].at(t))
	s.open("trail-boots")
	s.server()
	time.Sleep(2 * sweepAfter) // past the sweeps of the start
	var links [][32]byte
	for i := range 20 {
		n := plantedPerson(fmt.Sprintf("ann%d@example.org", i))
		_, err := s.AddEntry(bg(), "trail-boots", at(1), n)
		s.must(err)
		links = append(links, n.LinkHash)
	}
	for _, link := range links {
		s.must(s.Withdraw(bg(), "trail-boots", at(2), link))
	}
	if !bytes.Contains(s.files(), []byte("Plantedname")) {
		t.Fatal("the search finds nothing at all")
	}
	for start := time.Now(); bytes.Contains(bytes.ToLower(s.files()), []byte("planted")); time.Sleep(50 * time.Millisecond) {
		if time.Since(start) > 20*time.Second {
			t.Fatal("what was dropped is in the files still")
		}
	}
}

// Close empties the log, also while another server has the file open.
func TestCloseEmptiesTheLog(t *testing.T) {
	s := newSuite(t, backends[0].at(t))
	s.open("trail-boots")
	db := s.server()
	for try := 0; !bytes.Contains(s.files(), []byte("Plantedname")); try++ { // a sweep may come between
		if try == 5 {
			t.Fatal("the search finds nothing at all")
		}
		n := person(fmt.Sprintf("ann%d@example.org", try))
		n.Entry.Name = "Plantedname"
		_, err := db.AddEntry(bg(), "trail-boots", at(1), n)
		s.must(err)
		s.must(db.Withdraw(bg(), "trail-boots", at(2), n.LinkHash))
	}
	s.must(db.Close())
	if bytes.Contains(s.files(), []byte("Plantedname")) {
		t.Error("what was dropped is in the files after Close")
	}
	info, err := os.Stat(s.config.File + "-wal")
	s.must(err)
	if info.Size() != 0 {
		t.Errorf("the log has %d bytes, want 0", info.Size())
	}
}

// everything is all that the database holds.
func (s *suite) everything() []byte {
	s.t.Helper()
	return slices.Concat(s.files(), s.rows())
}

// files are the bytes of SQLite's files; none for PostgreSQL.
func (s *suite) files() (all []byte) {
	s.t.Helper()
	if s.config.File == "" {
		return nil
	}
	for _, end := range []string{"", "-wal"} {
		b, err := os.ReadFile(s.config.File + end)
		s.must(err)
		all = append(all, b...)
	}
	return all
}

// rows are every column of every table, as text and as bytes.
func (s *suite) rows() (all []byte) {
	s.t.Helper()
	query := `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'`
	if s.config.File == "" {
		query = `SELECT tablename FROM pg_tables WHERE schemaname = current_schema()`
	}
	tables, err := list(bg(), s.DB.read, func(row scanner) (name string, err error) {
		err = row.Scan(&name)
		return name, err
	}, query)
	s.must(err)
	for _, table := range []string{"installation", "giveaways", "entries", "file_chunks", "claims", "asks", "marks", "sponsor_links"} {
		if !slices.Contains(tables, table) {
			s.t.Fatalf("no table %s among %v", table, tables)
		}
	}
	for _, table := range tables {
		all = append(all, s.table(table)...)
	}
	return all
}

func (s *suite) table(name string) (all []byte) {
	s.t.Helper()
	rows, err := s.write.Query(`SELECT * FROM ` + name)
	s.must(err)
	columns, err := rows.Columns()
	s.must(err)
	for rows.Next() {
		values := make([]sql.RawBytes, len(columns))
		into := make([]any, len(columns))
		for i := range values {
			into[i] = &values[i]
		}
		s.must(rows.Scan(into...))
		all = append(append(all, bytes.Join(rawBytes(values), []byte{'\n'})...), '\n')
	}
	s.must(rows.Err())
	s.must(rows.Close())
	return all
}

func rawBytes(values []sql.RawBytes) [][]byte {
	out := make([][]byte, len(values))
	for i, v := range values {
		out[i] = v
	}
	return out
}
