package draw_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"evenhand/draw"
)

// slowSeed follows the protocol, section "Seed, score, places", word by word.
func slowSeed(freeze draw.Digest, r draw.Record) draw.Digest {
	text := "evenhand/seed/v1\nfreeze " + hex.EncodeToString(freeze[:]) + "\n"
	for _, s := range r.Secrets {
		if s.Withheld {
			text += "withheld " + s.Role + "\n"
		} else {
			text += "secret " + s.Role + " " + hex.EncodeToString(s.Value[:]) + "\n"
		}
	}
	if r.Beacon != nil {
		randomness := sha256.Sum256(r.Beacon.Signature)
		text += fmt.Sprintf("beacon %d %s\n", r.Beacon.Round, hex.EncodeToString(randomness[:]))
	}
	return sha256.Sum256([]byte(text))
}

// slowOrder is the reference: score all, sort all, take the first.
func slowOrder(seed draw.Digest, roll []draw.Ticket, places int) []draw.Place {
	type scored struct{ score, ticket string }
	all := make([]scored, 0, len(roll))
	for _, t := range roll {
		sum := sha256.Sum256([]byte(hex.EncodeToString(seed[:]) + string(t[:])))
		all = append(all, scored{hex.EncodeToString(sum[:]), string(t[:])})
	}
	slices.SortFunc(all, func(a, b scored) int {
		return strings.Compare(a.score+a.ticket, b.score+b.ticket)
	})
	var out []draw.Place
	for i := range min(places, len(all)) {
		p := draw.Place{N: i + 1}
		hex.Decode(p.Score[:], []byte(all[i].score))
		copy(p.Ticket[:], all[i].ticket)
		out = append(out, p)
	}
	return out
}

func rollText(roll []draw.Ticket) []byte {
	var b bytes.Buffer
	for i, t := range roll {
		fmt.Fprintf(&b, "%s %064x\n", t, i)
	}
	return b.Bytes()
}

// The sizes stand around the block of 4096 lines in which a roll is read.
var orderSizes = []int{0, 1, 2, 3, 4095, 4096, 4097, 3*4096 + 5}

func TestOrderIsTheSlowOrder(t *testing.T) {
	for _, procs := range []int{1, 8} {
		old := runtime.GOMAXPROCS(procs)
		defer runtime.GOMAXPROCS(old)
		for i, size := range orderSizes {
			roll := newTickets(t, byte(10+i), size)
			text := rollText(roll)
			for _, places := range []int{1, 6, 10000} {
				seed := draw.Hash([]byte{byte(size), byte(places)})
				list, got, err := draw.Order(seed, bytes.NewReader(text), places)
				if err != nil {
					t.Fatalf("%d procs, %d tickets, %d places: %v", procs, size, places, err)
				}
				if want := (draw.List{Count: int64(size), Hash: sha256.Sum256(text)}); list != want {
					t.Errorf("%d procs, %d tickets: list %v, want %v", procs, size, list, want)
				}
				if want := slowOrder(seed, roll, places); !slices.Equal(got, want) {
					t.Errorf("%d procs, %d tickets, %d places: the order differs from the slow one", procs, size, places)
				}
			}
		}
		runtime.GOMAXPROCS(old)
	}
}

// Score has the protocol's plain form: 64 hex digits and 16 characters.
func TestScoreIsHashOf80Bytes(t *testing.T) {
	seed, ticket := draw.Hash([]byte("seed")), newTickets(t, 3, 1)[0]
	text := seed.String() + ticket.String()
	if len(text) != 80 || draw.Score(seed, ticket) != draw.Digest(sha256.Sum256([]byte(text))) {
		t.Errorf("score of %q is not its hash", text)
	}
}

// Taking a ticket out of the roll never changes the order of the rest.
func TestOrderOfTheRestStays(t *testing.T) {
	roll := newTickets(t, 4, 200)
	seed := draw.Hash([]byte("rest"))
	_, before, err := draw.Order(seed, bytes.NewReader(rollText(roll)), 200)
	if err != nil {
		t.Fatal(err)
	}
	for _, gone := range []int{0, 17, 199} {
		out := before[gone].Ticket
		rest := slices.DeleteFunc(slices.Clone(roll), func(x draw.Ticket) bool { return x == out })
		_, after, err := draw.Order(seed, bytes.NewReader(rollText(rest)), 200)
		if err != nil {
			t.Fatal(err)
		}
		want := slices.Delete(slices.Clone(before), gone, gone+1)
		for i := range after {
			if after[i].Ticket != want[i].Ticket {
				t.Fatalf("without place %d, place %d is %s, want %s", gone+1, i+1, after[i].Ticket, want[i].Ticket)
			}
		}
	}
}

// oddReader returns between 0 and 200 bytes a call.
type oddReader struct {
	in   io.Reader
	rand *rand.Rand
}

func (r *oddReader) Read(p []byte) (int, error) {
	return r.in.Read(p[:min(len(p), r.rand.IntN(201))])
}

func TestOrderTakesAnyReadSize(t *testing.T) {
	roll := newTickets(t, 5, 9000)
	text, seed := rollText(roll), draw.Hash([]byte("odd"))
	want := slowOrder(seed, roll, 50)
	for name, r := range map[string]io.Reader{
		"odd sizes":     &oddReader{bytes.NewReader(text), rand.New(rand.NewPCG(1, 2))},
		"half":          iotest.HalfReader(bytes.NewReader(text)),
		"data with EOF": iotest.DataErrReader(bytes.NewReader(text)),
	} {
		list, got, err := draw.Order(seed, r, 50)
		if err != nil || list.Hash != draw.Digest(sha256.Sum256(text)) || !slices.Equal(got, want) {
			t.Errorf("%s: another order or list, %v", name, err)
		}
	}
}

// settle waits until no more goroutines run than before.
func settle(t *testing.T, before int) {
	t.Helper()
	for range 100 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("%d goroutines, %d before", runtime.NumGoroutine(), before)
}

func TestOrderEndsOnAFailingReader(t *testing.T) {
	text, broken := rollText(newTickets(t, 6, 30000)), errors.New("the disk went away")
	before := runtime.NumGoroutine()
	for _, at := range []int{0, 1, 82, 4096 * 82, 4096*82 + 5, 2*4096*82 + 41, len(text) - 1, len(text)} {
		r := io.MultiReader(bytes.NewReader(text[:at]), iotest.ErrReader(broken))
		_, places, err := draw.Order(draw.Digest{}, r, 5)
		if !errors.Is(err, broken) || places != nil {
			t.Errorf("broken at byte %d: got %v, %d places", at, err, len(places))
		}
	}
	settle(t, before)
}

// A fault early in a long roll ends the pass without reading on for ever.
func TestOrderEndsOnAFault(t *testing.T) {
	before := runtime.NumGoroutine()
	line := []byte("0000000000000000 " + strings.Repeat("0", 64) + "\n")
	for _, procs := range []int{1, 8} {
		old := runtime.GOMAXPROCS(procs)
		_, _, err := draw.Order(draw.Digest{}, endless(line), 5)
		runtime.GOMAXPROCS(old)
		var syntax *draw.SyntaxError
		if !errors.As(err, &syntax) || syntax.Line != 2 {
			t.Errorf("%d procs: got %v, want a fault on line 2", procs, err)
		}
	}
	settle(t, before)
}

// endless repeats a line for ever.
type endless []byte

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for len(p)-n >= len(e) {
		n += copy(p[n:], e)
	}
	if n == 0 {
		return 0, io.ErrShortBuffer
	}
	return n, nil
}

func TestCheckReportsProgress(t *testing.T) {
	f := newForge(t).noBeacon()
	f.roll, f.left, f.stage = newTickets(t, 7, 3*4096+5), nil, draw.StageDrawn
	var seen []int64
	r := f.check(draw.Options{Progress: func(n int64) { seen = append(seen, n) }})
	if want := []int64{4096, 8192, 12288, 12293}; r.Status != 0 || !slices.Equal(seen, want) {
		t.Errorf("status %d, progress %v, want %v\n%s", r.Status, seen, want, lines(r))
	}
}

// On a fault between blocks the line is the first of the later block.
func TestOrderAcrossBlocks(t *testing.T) {
	roll := newTickets(t, 8, 5000)
	roll[4096] = roll[4095]
	_, _, err := draw.Order(draw.Digest{}, bytes.NewReader(rollText(roll)), 5)
	var syntax *draw.SyntaxError
	if !errors.As(err, &syntax) || syntax.Line != 4097 {
		t.Errorf("got %v, want a fault on line 4097", err)
	}
}
