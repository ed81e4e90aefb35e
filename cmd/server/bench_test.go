package main

import (
	"crypto/ed25519"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"sync/atomic"
	"testing"

	"evenhand/internal/pgtest"
)

// benchSenders is how many entrants send at once.
const benchSenders = 32

// BenchmarkEntries counts entries that were answered, after they were durable
// (SQLite in WAL mode with synchronous=FULL; PostgreSQL with fsync and
// synchronous_commit on), through the whole program: form, decision, receipt,
// redirect. Sender, server and database share this machine. Beside it stands a
// bare handler that reads the same form and makes one Ed25519 signature, with
// no database.
func BenchmarkEntries(b *testing.B) {
	b.Run("bare-handler", func(b *testing.B) {
		s := httptest.NewServer(bareHandler(b))
		defer s.Close()
		sendEntries(b, visit(b, s.URL))
	})
	b.Run("sqlite-synchronous-full", func(b *testing.B) { benchService(b, "") })
	b.Run("postgres-fsync-on", func(b *testing.B) { benchService(b, pgtest.Database(b)) })
}

func benchService(b *testing.B, database string) {
	s := start(b, during, database, "-data", b.TempDir())
	s.claim()
	s.bring("boots")
	sendEntries(b, s.visitor)
}

func bareHandler(b *testing.B) http.Handler {
	_, key, err := ed25519.GenerateKey(rand.Reader)
	must(b, err)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := r.ParseForm(); err != nil || r.PostForm.Get("email") == "" {
			http.Error(w, "want a form", http.StatusBadRequest)
			return
		}
		sig := ed25519.Sign(key, []byte(r.PostForm.Encode()))
		w.Header().Set("Location", fmt.Sprintf("/%x", sig[:8]))
		w.WriteHeader(http.StatusSeeOther)
	})
}

// sendEntries posts one form for each iteration, each from another network.
func sendEntries(b *testing.B, v *visitor) {
	var next atomic.Int64
	b.SetParallelism(benchSenders / 2) // times GOMAXPROCS, 2 on the machine of the figures
	b.ResetTimer()
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			i := next.Add(1)
			form := url.Values{"email": {fmt.Sprintf("person%d@example.com", i)}, "system": {"mens"}, "size": {"10"}, "width": {"D"},
				"live": {"US"}, "state": {"ME"}, "age": {"18-or-over"}, "rules": {"yes"}}
			a, err := v.try("POST", "/g/boots", "application/x-www-form-urlencoded", form.Encode(),
				"X-Forwarded-For", fmt.Sprintf("10.%d.%d.%d", i>>16&255, i>>8&255, i&255))
			if err != nil || a.status != http.StatusSeeOther {
				b.Errorf("entry %d: status %d (%v), want 303", i, a.status, err)
				return
			}
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}
