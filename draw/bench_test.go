package draw_test

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding"
	"encoding/binary"
	"encoding/hex"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// benchTickets is the size that the project answers for.
const benchTickets = 1_000_000

// benchRound is a published round of quicknet, see
// testdata/vectors/drand-quicknet.json.
const benchRound, benchSignature = 31543812, "a517bcc786bde26257b53b18eb3f25dc4020d2ad2e2e85339e713b046b7b84df3794c57ab9cae880f0da7b2f120b70d7"

// benchPublication writes a drawn publication of n tickets, of which one in
// ten stands in excluded.txt, and returns its folder and seed.
func benchPublication(b testing.TB, n int) (string, draw.Digest) {
	b.Helper()
	dir := b.TempDir()
	rand := rand.NewChaCha8([32]byte{1})
	key, err := draw.NewSigner(rand, "draws.slowmiles.example")
	if err != nil {
		b.Fatal(err)
	}
	chain := beacon.Quicknet()
	event := chain.TimeOf(benchRound)
	host := draw.Seal{Draw: "bench", Signer: key.Name(), Role: "host", Secret: [32]byte{7}}
	hash := draw.Digest(chain.Hash)
	o := draw.Opening{Draw: "bench", Revision: 1, Signer: key.VerifierKey(), Opens: event.AddDate(0, 0, -14),
		Closes: event.Add(-2 * time.Hour), Event: event, Winners: 1, Alternates: 5, Rules: draw.Hash(nil),
		Seals: []draw.SealHash{{Role: "host", Hash: host.Hash()}}, Beacon: &hash}
	save := func(name string, text []byte) {
		note, err := key.Sign(text)
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name), note, 0o600)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	save(draw.OpeningFile, o.Text())
	if err := os.WriteFile(filepath.Join(dir, draw.RulesFile), nil, 0o600); err != nil {
		b.Fatal(err)
	}
	roll, excluded := benchLists(b, dir, rand, n)
	f := draw.Freeze{Draw: "bench", Opening: draw.Hash(o.Text()), Frozen: event.Add(-time.Hour), Issued: roll.Count + excluded.Count,
		Roll: roll.Count, RollHash: roll.Hash, Excluded: excluded.Count, ExcludedHash: excluded.Hash, Round: benchRound}
	save(draw.FreezeFile, f.Text())
	sig, err := beacon.ParseSignature(benchSignature)
	if err != nil {
		b.Fatal(err)
	}
	file, err := os.Open(filepath.Join(dir, draw.RollFile))
	if err != nil {
		b.Fatal(err)
	}
	defer file.Close()
	r, err := draw.MakeRecord(draw.Making{Opening: o, Freeze: f, Secrets: []draw.Secret{{Role: "host", Value: host.Secret}},
		Beacon: &draw.Beacon{Round: benchRound, Signature: sig}, Chain: &chain, Drawn: event, Roll: file})
	if err != nil {
		b.Fatal(err)
	}
	save(draw.RecordFile, r.Text())
	return dir, r.Seed
}

func benchLists(b testing.TB, dir string, rand *rand.ChaCha8, n int) (roll, excluded draw.List) {
	b.Helper()
	tickets := make([]draw.Ticket, n)
	for i := range tickets {
		t, err := draw.NewTicket(rand)
		if err != nil {
			b.Fatal(err)
		}
		tickets[i] = t
	}
	slices.SortFunc(tickets, func(a, b draw.Ticket) int { return slices.Compare(a[:], b[:]) })
	var lists [2]*draw.ListWriter
	for i, name := range []string{draw.RollFile, draw.ExcludedFile} {
		f, err := os.Create(filepath.Join(dir, name))
		if err != nil {
			b.Fatal(err)
		}
		defer f.Close()
		w := bufio.NewWriter(f)
		defer w.Flush()
		lists[i] = draw.NewListWriter(w)
	}
	for i, t := range tickets {
		err := error(nil)
		if i%10 == 9 {
			err = lists[1].AddReason(t, draw.Duplicate)
		} else {
			var c draw.Digest
			binary.BigEndian.PutUint64(c[:], uint64(i))
			err = lists[0].Add(t, c)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	return lists[0].List(), lists[1].List()
}

// BenchmarkCheck is the whole check of a publication of a million tickets,
// the lists read from disk.
func BenchmarkCheck(b *testing.B) {
	dir, _ := benchPublication(b, benchTickets)
	for b.Loop() {
		r := draw.Check(context.Background(), os.DirFS(dir), draw.Options{})
		if r.Status != draw.StatusValid || r.Verdict != draw.Valid {
			b.Fatalf("got %d %q\n%s", r.Status, r.Verdict, lines(r))
		}
	}
	b.ReportMetric(benchTickets*float64(b.N)/b.Elapsed().Seconds(), "tickets/s")
}

// BenchmarkBareHashing is what a check can't do without, and nothing else: one
// bulk hash of roll.txt and, for each of its tickets, one restored state, one
// block and one sum, by the same library on the same cores, without parsing.
func BenchmarkBareHashing(b *testing.B) {
	dir, seed := benchPublication(b, benchTickets)
	data, err := os.ReadFile(filepath.Join(dir, draw.RollFile))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		var wait sync.WaitGroup
		wait.Go(func() { sha256.Sum256(data) })
		part := len(data) / 82 / runtime.GOMAXPROCS(0) * 82
		for i := range runtime.GOMAXPROCS(0) {
			end := (i + 1) * part
			if i == runtime.GOMAXPROCS(0)-1 {
				end = len(data)
			}
			wait.Go(func() { bareScores(seed, data[i*part:end]) })
		}
		wait.Wait()
	}
	b.ReportMetric(benchTickets*float64(b.N)/b.Elapsed().Seconds(), "tickets/s")
}

func bareScores(seed draw.Digest, rows []byte) {
	h := sha256.New()
	h.Write([]byte(hex.EncodeToString(seed[:])))
	state, _ := h.(encoding.BinaryMarshaler).MarshalBinary()
	load := h.(encoding.BinaryUnmarshaler)
	var sum [32]byte
	for i := 0; i < len(rows); i += 82 {
		_ = load.UnmarshalBinary(state)
		h.Write(rows[i : i+16])
		h.Sum(sum[:0])
	}
}
