package check

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// What a drawing of all tickets gets: one number for each line of roll.txt, the
// first 52 bits of its score (the numbers and their order are package draw's),
// the places among them, and the ticket of a line that is asked for.
func TestLineOfAllTickets(t *testing.T) {
	const n = 5000 // more than one block of the list, and than the first array
	dir := drawn(t, n)
	b := browser.For(t)
	b.Open(serveWatched(t, dir))
	if got := browsertest.Eval[watch](b, "checked"); got.Verdict != draw.Valid || got.Tickets != n {
		t.Fatalf("the check answered %+v", got)
	}
	got := browsertest.Eval[struct {
		Scores  []float64
		Places  []struct{ Place, Line int }
		Winners int
		Asked   []string
		Shown   bool
	}](b, `(async () => {
		const line = new Promise((done) => document.addEventListener("evenhand:line", (e) => done(e.detail), {once: true}));
		[...document.querySelectorAll("button")].find((b) => b.textContent === "Check again").click();
		const {scores, places, winners, ticketAt} = await line;
		return {scores: [...scores], places, winners, shown: document.getElementById("check-line") !== null,
			asked: [await ticketAt(1), ...await Promise.all([ticketAt(4097), ticketAt(scores.length)])]}; })()`)
	roll, err := os.ReadFile(filepath.Join(dir, draw.RollFile))
	must(t, err)
	report := draw.Check(t.Context(), os.DirFS(dir), draw.Options{})
	if len(got.Scores) != n || got.Winners != 1 || len(got.Places) != len(report.Places) || !got.Shown {
		t.Fatalf("%d scores, %d winners, %d places, a place to draw in: %v", len(got.Scores), got.Winners, len(got.Places), got.Shown)
	}
	ticketOf := func(line int) string { return string(roll[(line-1)*82:][:16]) }
	for i, share := range got.Scores {
		ticket, err := draw.ParseTicket(ticketOf(i + 1))
		must(t, err)
		score := draw.Score(*report.Seed, ticket)
		if want := float64(binary.BigEndian.Uint64(score[:8])>>12) / (1 << 52); share != want {
			t.Fatalf("line %d: got %v, want %v", i+1, share, want)
		}
	}
	for i, p := range got.Places {
		if ticketOf(p.Line) != report.Places[i].Ticket.String() || p.Place != i+1 {
			t.Errorf("place %d is said to stand in line %d", i+1, p.Line)
		}
	}
	for i, line := range []int{1, 4097, n} {
		if got.Asked[i] != ticketOf(line) {
			t.Errorf("line %d: got %s, want %s", line, got.Asked[i], ticketOf(line))
		}
	}
}
