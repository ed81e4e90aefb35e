package check

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// What the person who checks knows already (key, hash of the freeze, host
// name, clock) gives the same findings in both checks.
func TestOptionsAgree(t *testing.T) {
	url, b := bench(t)
	for _, name := range []string{"opened", "frozen", "cancelled", "full", "revised"} {
		dir := os.DirFS(filepath.Join(vectors, "publications", name))
		plain := draw.Check(t.Context(), dir, draw.Options{})
		event, other := plain.Opening.Event, draw.Hash([]byte("another"))
		freeze := other
		if plain.FreezeAt != nil {
			freeze = *plain.FreezeAt
		}
		var options []draw.Options
		for _, by := range []time.Duration{-time.Second, 0, 24*time.Hour - time.Second, 24 * time.Hour} {
			now := event.Add(by)
			options = append(options, draw.Options{Now: &now})
		}
		options = append(options, draw.Options{Freeze: &freeze}, draw.Options{Freeze: &other}, draw.Options{Key: plain.Key}, draw.Options{Key: "draws.example.com+00000000+AAAA"},
			draw.Options{Host: plain.Signer}, draw.Options{Host: "elsewhere.example.net"})
		var scripts []string
		for _, o := range options {
			script := fmt.Sprintf("key: %q, host: %q", o.Key, o.Host)
			if o.Freeze != nil {
				script += fmt.Sprintf(", freeze: %q", o.Freeze)
			}
			if o.Now != nil {
				script += fmt.Sprintf(", now: %d", o.Now.Unix())
			}
			scripts = append(scripts, fmt.Sprintf("() => checkPublication(%s, {relays: [%q], %s})", chosen(t, dir), url+"/relay", script))
		}
		got := reports(b, scripts)
		for i, o := range options {
			if d := differ(got[i], inBrowser(draw.Check(t.Context(), dir, o))); d != "" {
				t.Errorf("%s, option %d (%+v): %s", name, i+1, o, d)
			}
		}
	}
}

// Where each ticket of a list stands, its score and its place among all are
// those of package draw; so are those of a ticket that is left out, and of one
// that nobody has.
func TestFoundTicketsAgree(t *testing.T) {
	url, b := bench(t)
	type find struct {
		Ticket draw.Ticket
		Found  bool
		In     bool
		Line   int64
		Reason string
		Score  string
		Rank   int64
	}
	for _, name := range []string{"full", "frozen"} {
		dir := os.DirFS(filepath.Join(vectors, "publications", name))
		tickets := []string{"K7QF2M9X4RTBW8ZC"}
		for _, list := range []string{"roll.txt", "excluded.txt"} {
			for line := range strings.Lines(string(sample(t, name)[list])) {
				tickets = append(tickets, line[:16])
			}
		}
		got := browsertest.Eval[[]find](b, fmt.Sprintf(`checkPublication(%s, {relays: [%q], find: %q.split(" ")}).then((r) => r.found)`, chosen(t, dir), url+"/relay", strings.Join(tickets, " ")))
		if len(got) != len(tickets) || len(got) < 60 {
			t.Fatalf("%s: %d answers for %d tickets", name, len(got), len(tickets))
		}
		for i, text := range tickets {
			if underRace && i%10 > 0 && i < len(tickets)-1 {
				continue
			}
			ticket, err := draw.ParseTicket(text)
			must(t, err)
			f := draw.Check(t.Context(), dir, draw.Options{Find: []draw.Ticket{ticket}}).Found[0]
			want := find{ticket, f.Found, f.Standing.In, f.Standing.Line, f.Standing.Reason, "", f.Rank}
			if f.Score != nil {
				want.Score = f.Score.String()
			}
			if got[i] != want {
				t.Errorf("%s: the browser says %+v, package draw %+v", name, got[i], want)
			}
		}
	}
}
