package check

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/internal/browsertest"
)

// The published round 31543812 of quicknet (testdata/vectors/drand-quicknet.json).
const (
	benchRound     = 31543812
	benchSignature = "a517bcc786bde26257b53b18eb3f25dc4020d2ad2e2e85339e713b046b7b84df3794c57ab9cae880f0da7b2f120b70d7"
)

// drawn writes a drawn publication of n tickets in the roll, one winner and
// five next in line, into a new folder.
func drawn(t testing.TB, n int) string {
	t.Helper()
	dir, random := t.TempDir(), rand.NewChaCha8([32]byte{1})
	signer, err := draw.NewSigner(random, "127.0.0.1")
	must(t, err)
	save := func(name string, text []byte) {
		note, err := signer.Sign(text)
		must(t, err)
		must(t, os.WriteFile(filepath.Join(dir, name), note, 0o600))
	}
	chain := beacon.Quicknet()
	event, hash := chain.TimeOf(benchRound), draw.Digest(chain.Hash)
	seal := draw.Seal{Draw: "many", Signer: signer.Name(), Role: "host", Secret: [32]byte{7}}
	o := draw.Opening{Draw: "many", Revision: 1, Signer: signer.VerifierKey(), Opens: event.AddDate(0, 0, -14), Closes: event.Add(-2 * time.Hour), Event: event,
		Winners: 1, Alternates: 5, Rules: draw.Hash(nil), Seals: []draw.SealHash{{Role: "host", Hash: seal.Hash()}}, Beacon: &hash}
	save(draw.OpeningFile, o.Text())
	must(t, os.WriteFile(filepath.Join(dir, draw.RulesFile), nil, 0o600))
	must(t, os.WriteFile(filepath.Join(dir, draw.ExcludedFile), nil, 0o600))
	roll := writeRoll(t, filepath.Join(dir, draw.RollFile), random, n)
	f := draw.Freeze{Draw: "many", Opening: draw.Hash(o.Text()), Frozen: event.Add(-time.Hour), Issued: roll.Count, Roll: roll.Count, RollHash: roll.Hash,
		ExcludedHash: draw.Hash(nil), Round: benchRound}
	save(draw.FreezeFile, f.Text())
	signature, err := beacon.ParseSignature(benchSignature)
	must(t, err)
	file, err := os.Open(filepath.Join(dir, draw.RollFile))
	must(t, err)
	defer file.Close()
	r, err := draw.MakeRecord(draw.Making{Opening: o, Freeze: f, Secrets: []draw.Secret{{Role: "host", Value: seal.Secret}},
		Beacon: &draw.Beacon{Round: benchRound, Signature: signature}, Chain: &chain, Drawn: event, Roll: file})
	must(t, err)
	save(draw.RecordFile, r.Text())
	return dir
}

func writeRoll(t testing.TB, path string, random io.Reader, n int) draw.List {
	t.Helper()
	tickets := make([]draw.Ticket, n)
	for i := range tickets {
		var err error
		tickets[i], err = draw.NewTicket(random)
		must(t, err)
	}
	slices.SortFunc(tickets, func(a, b draw.Ticket) int { return slices.Compare(a[:], b[:]) })
	file, err := os.Create(path)
	must(t, err)
	w := bufio.NewWriter(file)
	list := draw.NewListWriter(w)
	for i, ticket := range tickets {
		must(t, list.Add(ticket, draw.Hash([]byte{byte(i), byte(i >> 8), byte(i >> 16)})))
	}
	must(t, w.Flush())
	must(t, file.Close())
	return list.List()
}

// watched is a page with the check, below which the files stand, and with the
// line drawn as the check page has it. Before the script a clock starts that
// ticks every 5 ms: what its longest pause is longer than that, the page was
// frozen for.
const watched = `<!doctype html><html lang="en"><title>Watched</title><link rel="icon" href="data:,"><link rel="stylesheet" href="/style.css"><link rel="stylesheet" href="/check.css"><link rel="stylesheet" href="/line.css"><main class="sheet"><div id="check" data-base="/" data-relays="%s">
<div id="check-said"></div><div id="check-body"></div></div></main><script>
window.begun = performance.now(); window.pause = 0;
let last = begun;
setInterval(() => { const now = performance.now(); pause = Math.max(pause, now - last - 5); last = now; }, 5);
window.checked = new Promise((done) => document.addEventListener("evenhand:checked", (e) => requestAnimationFrame(() => setTimeout(() =>
	done({Status: e.detail.status, Verdict: e.detail.verdict, Tickets: e.detail.tickets, Seconds: (performance.now() - begun) / 1000, Pause: pause})))));
</script><script src="/line.js"></script><script src="/linepage.js"></script><script src="/check.js"></script>`

type watch struct {
	Status         int
	Verdict        string
	Tickets        int64
	Seconds, Pause float64 // Pause in milliseconds
}

// serveWatched serves the files of a folder, the page and the relays.
func serveWatched(t testing.TB, dir string) string {
	t.Helper()
	mux := http.NewServeMux()
	mux.Handle("GET /", http.FileServer(http.Dir(dir)))
	for _, name := range []string{"line.js", "linepage.js", "style.css", "check.css", "line.css"} {
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, q *http.Request) {
			http.ServeFile(w, q, filepath.Join("../static", name))
		})
	}
	mux.Handle("GET /relay/", http.StripPrefix("/relay", relays(t)))
	mux.HandleFunc("GET /check.js", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
		_, _ = w.Write(Script())
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	mux.HandleFunc("GET /watched", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		fmt.Fprintf(w, watched, server.URL+"/relay")
	})
	return server.URL + "/watched"
}

// BenchmarkBrowser is the whole check in headless Chromium, from the page's
// first script to the answer on the screen, files read over loopback HTTP.
// Beside it: the longest time for which the page itself was frozen, in the
// worst check and in the best one; and for how long the page's own thread
// computed in the whole check. Where other programs run, the worst freeze tells
// of them; the page's own work can't freeze it for longer than that work takes.
func BenchmarkBrowser(b *testing.B) {
	for _, n := range []int{1000, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("tickets=%d", n), func(b *testing.B) {
			url := serveWatched(b, drawn(b, n))
			browser := browsertest.New(b)
			var seconds float64
			var pauses []float64
			var busy time.Duration
			browser.Busy()
			b.ResetTimer()
			for b.Loop() {
				before := browser.Busy()
				browser.Open(url)
				got := browsertest.Eval[watch](browser, "checked")
				busy += browser.Busy() - before
				if got.Verdict != draw.Valid || got.Tickets != int64(n) {
					b.Fatalf("the check answered %+v", got)
				}
				seconds += got.Seconds
				pauses = append(pauses, got.Pause)
			}
			b.ReportMetric(seconds/float64(b.N), "s/check")
			b.ReportMetric(float64(n)*float64(b.N)/seconds, "tickets/s")
			b.ReportMetric(slices.Max(pauses), "ms-longest-pause")
			b.ReportMetric(slices.Min(pauses), "ms-longest-pause-of-best")
			b.ReportMetric(float64(busy.Microseconds())/1000/float64(b.N), "ms-page-computes")
		})
	}
}
