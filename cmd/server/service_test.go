package main

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
)

// The whole way over HTTP, on both databases: first start, terms, 2,000 posts
// of which a tenth repeat an address in another form, lock, draw, and a
// stranger's check of the served files. What is expected is the and
// the draw protocol's.
func TestWholeWay(t *testing.T) {
	each(t, func(t *testing.T, database string) {
		s := start(t, during, database, "-data", t.TempDir())
		s.shows("/desk", "Make this desk yours.")
		s.claim()
		s.shows("/desk", "No giveaway here yet.", "load three invented giveaways")
		s.bring("boots")
		s.shows("/desk/g/boots/later", "A change is posted beside the old terms.")
		s.shows("/desk/g/boots", "Nobody is in yet.", "Entries close Saturday 22 August 2026, 4:00 pm New York time")

		enterAll(t, s)
		s.shows("/desk/g/boots", "1,800 people are in.")
		s.shows("/desk/g/boots/entries", "1,800 people are in.", "By size")

		s.clock.set(closes.Add(time.Minute))
		s.shows("/desk/g/boots", "Entries are closed.", "Lock the list")
		s.shows("/desk/g/boots/lock", "Locking closes the list for good.")
		twice(t, s, "/desk/g/boots/lock", "")
		s.shows("/desk/g/boots", "The list is locked.", "The fingerprint of the locked list", frozenHash(t, s))
		if a := s.press("/desk/g/boots/draw"); a.status != http.StatusConflict {
			t.Errorf("a draw before the event: status %d, want 409", a.status)
		}
		s.shows("/desk/g/boots/draw", "The draw can be made from Saturday 22 August 2026, 5:40 pm New York time", frozenHash(t, s))

		s.clock.set(event.Add(10 * time.Second))
		s.shows("/desk/g/boots/draw", "It is time to draw.", "31,543,812")
		twice(t, s, "/desk/g/boots/draw", "/result")
		s.shows("/desk/g/boots", "The draw is made.")
		s.shows("/desk/g/boots/result", "One ticket won.", "The draw holds. Everybody can check it.", "Next in line")

		report := check(t, s, "boots")
		if report.Status != draw.StatusValid || report.Verdict != draw.Valid || report.Weak || report.Tickets != 1800 || len(report.Places) != 4 {
			t.Errorf("the check of the served files: %q, status %d, weak %v, %d tickets, %d places: %v",
				report.Verdict, report.Status, report.Weak, report.Tickets, len(report.Places), report.Findings)
		}
		onlyPlainWords(t, s)
		for _, planted := range []string{"@example", "person", "127.0.0.1,", "10.0.", "Wanda"} {
			if logs := s.logs.String(); strings.Contains(strings.ToLower(logs), strings.ToLower(planted)) {
				t.Errorf("the log holds %q", planted)
			}
		}
	})
}

// enterAll posts 1,800 entries and 200 repeats, from many networks through a
// proxy on this computer.
func enterAll(t *testing.T, s *service) {
	t.Helper()
	post := func(i int, email string, want int) {
		body := fmt.Sprintf(`{"email":%q,"system":"mens","size":"%d","width":"D","live":"US","state":"ME","age":"18-or-over","name":"Wanda","rules":true}`, email, 8+i%5)
		a, err := s.try("POST", "/g/boots", "application/json", body, "X-Forwarded-For", fmt.Sprintf("10.0.%d.%d", i/200, i%200))
		if err != nil || a.status != want {
			t.Errorf("entry %d: status %d (%v), want %d: %.300s", i, a.status, err, want, a.body)
		}
	}
	address := func(i int) string { return fmt.Sprintf("person%d@example.com", i) }
	spread(1800, func(i int) { post(i, address(i), http.StatusCreated) })
	spread(200, func(i int) {
		again := []string{
			strings.ToUpper(address(i)), "  " + address(i) + " ",
			strings.Replace(address(i), "example", "EXAMPLE", 1), strings.Replace(address(i), "person", "Person", 1),
		}[i%4]
		post(i, again, http.StatusConflict)
	})
}

// spread calls do for 0 to n-1 from several goroutines.
func spread(n int, do func(i int)) {
	next := make(chan int)
	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
}

// twice lets two people press a button at once: both are led to the same page of the
// giveaway.
func twice(t *testing.T, s *service, path, to string) {
	t.Helper()
	answers := make([]answer, 2)
	var both sync.WaitGroup
	for i := range answers {
		both.Go(func() { answers[i], _ = s.try("POST", path, "application/x-www-form-urlencoded", "") })
	}
	both.Wait()
	for _, a := range answers {
		if a.status != 303 || a.to != "/desk/g/boots"+to {
			t.Errorf("POST %s by two at once: status %d to %q, want 303 to the giveaway: %s", path, a.status, a.to, textOf(a.body))
		}
	}
}

// frozenHash is the fingerprint of the published freeze, as sha256sum gives it
// for its text (draw protocol, "note").
func frozenHash(t *testing.T, s *service) string {
	t.Helper()
	note := s.get("/g/boots/fair/" + draw.FreezeFile).body
	text, _, ok := strings.Cut(note, "\n\n")
	if !ok {
		t.Fatalf("no note: %q", note)
	}
	return draw.Hash([]byte(text + "\n")).String()
}

// served are the published files as anybody reads them: over HTTP.
type served struct {
	t    *testing.T
	base string
}

func (f served) Open(name string) (fs.File, error) {
	r, err := http.Get(f.base + name)
	if err != nil {
		return nil, err
	}
	if r.StatusCode == http.StatusNotFound {
		r.Body.Close()
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	if r.StatusCode != http.StatusOK {
		r.Body.Close()
		return nil, fmt.Errorf("open %s: status %d", name, r.StatusCode)
	}
	return servedFile{r.Body, name, r.ContentLength}, nil
}

type servedFile struct {
	io.ReadCloser
	name string
	size int64
}

func (f servedFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f servedFile) Name() string               { return path.Base(f.name) }
func (f servedFile) Size() int64                { return f.size }
func (f servedFile) Mode() fs.FileMode          { return 0o444 }
func (f servedFile) ModTime() time.Time         { return time.Time{} }
func (f servedFile) IsDir() bool                { return false }
func (f servedFile) Sys() any                   { return nil }

func check(t *testing.T, s *service, id string) draw.Report {
	t.Helper()
	return draw.Check(context.Background(), served{t, s.base + "/g/" + id + "/fair/"}, draw.Options{})
}
