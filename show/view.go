package show

import (
	"encoding/binary"
	"fmt"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A View is what a page shows of a state: for the stage as it stands, for
// viewers as [State.Seen] gives it. Pages get it as JSON.
type View struct {
	Draw     string `json:"draw"`
	Version  int64  `json:"version"`
	Step     Step   `json:"step"`
	Place    int    `json:"place,omitempty"`
	Held     bool   `json:"held,omitempty"`
	Dark     bool   `json:"dark,omitempty"`
	Sample   bool   `json:"sample,omitempty"`   // the giveaway is invented
	Head     string `json:"head"`               // channel, prize, tickets: one line
	Sentence string `json:"sentence"`           // to be read aloud
	Small    string `json:"small,omitempty"`    // for eyes only, under it
	Print    string `json:"print,omitempty"`    // 12 characters of the list's fingerprint, in threes
	At       string `json:"at,omitempty"`       // when the public number appears, RFC 3339, while it is still to come
	Number   string `json:"number,omitempty"`   // the beginning of the public number, in fours
	Label    string `json:"label,omitempty"`    // over the ticket: "First"
	Ticket   string `json:"ticket,omitempty"`   // in fours
	Name     string `json:"name,omitempty"`     // what is to be said
	Share    string `json:"share,omitempty"`    // the ticket's number as a part of one
	Next     []Row  `json:"next,omitempty"`     // those next in line
	Released bool   `json:"released,omitempty"` // the public may know the result
}

// A Row is a ticket with its place in words.
type Row struct {
	Label  string `json:"label"`
	Ticket string `json:"ticket"`
}

// View makes the picture of a state.
func (f Facts) View(st State, now time.Time) View {
	t := f.G.Terms
	v := View{
		Draw: f.G.ID, Version: st.Version, Step: st.Step, Place: st.Place, Held: st.Held, Dark: st.Dark, Sample: f.G.Sample, Sentence: f.Sentence(st, now),
		Head: t.Channel + " · " + t.PrizeWithin(), Released: f.G.State == giveaway.StateDrawn && !f.G.Held(now),
	}
	if st.Step >= Tickets && f.Tickets == 1 {
		v.Head += " · 1 ticket"
	} else if st.Step >= Tickets {
		v.Head += " · " + number(f.Tickets) + " tickets"
	}
	if f.G.State == giveaway.StateCancelled {
		return v
	}
	switch st.Step {
	case Locked:
		v.Print, v.Small = Beginning(f.Print), "The list’s fingerprint begins so; the code leads to all of it. It changes whenever a single character of the list does."
	case Number:
		if f.waiting(now) {
			v.At = f.G.DrawAt().UTC().Format(time.RFC3339)
		} else if f.Number == "" && f.G.Opening.Beacon != nil {
			v.Small = "It is being fetched. Nobody can change it any more, however long that takes."
		} else if f.Number != "" {
			v.Number, v.Small = grouped(f.Number, 4, 4), "The number begins so. Anybody can look it up."
		}
	case First:
		if st.Place >= 1 && st.Place <= len(f.Places) {
			p := f.Places[st.Place-1]
			v.Label, v.Ticket, v.Name = capital(ordinal(st.Place)), p.Ticket.Grouped(), f.Names[p.Ticket]
			v.Share = share(p.Score)
		}
	case Next:
		v.Small = "The code leads to the check: anybody can do the whole draw again."
	case Alternates:
		for i, p := range f.Next[:min(maxNext, len(f.Next))] {
			v.Next = append(v.Next, Row{fmt.Sprintf("Next in line, number %d", i+1), p.Ticket.Grouped()})
		}
	}
	return v
}

// grouped are the first characters of a text, in n groups of size.
// Beginning is what people read out and compare of a fingerprint: its first 12
// characters, in threes.
func Beginning(print draw.Digest) string { return grouped(print.String(), 3, 4) }

func grouped(text string, size, n int) string {
	var parts []string
	for i := 0; i < n && (i+1)*size <= len(text); i++ {
		parts = append(parts, text[i*size:(i+1)*size])
	}
	return strings.Join(parts, " ")
}

// share writes a score as a part of one, cut after three figures that count:
// scores lie evenly between 0 and 1.
func share(score [32]byte) string {
	part := float64(binary.BigEndian.Uint64(score[:8])>>11) / (1 << 53) // as much as a float64 holds exactly
	s := strings.TrimRight(fmt.Sprintf("%.20f", part), "0")
	for i, c := range s {
		if c != '0' && c != '.' && len(s) > i+3 {
			return s[:i+3]
		}
	}
	return s
}
