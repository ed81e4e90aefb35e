package web_test

import (
	"fmt"
	"testing"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// linedAt makes a drawn giveaway with n tickets, and returns the private links
// by ticket.
func linedAt(r *rig, id string, n int) map[string]string {
	r.t.Helper()
	r.setTime(during)
	r.open(id)
	private := map[string]string{}
	for i := range n {
		link, ticket := r.enter(id, fmt.Sprintf("person%d@example.com", i))
		private[ticket] = link
	}
	r.lock(id)
	r.draw(id)
	return private
}

// Every page with the line, at every width, dark and light, with and without
// script; see [look].
func TestLinePagesInABrowser(t *testing.T) {
	r := newRig(t)
	private := linedAt(r, "boots", 60)
	won := draw.Check(t.Context(), r.db.Publication("boots"), draw.Options{}).Places
	rest := ""
	for ticket := range private {
		if ticket != won[0].Ticket.String() && ticket != won[1].Ticket.String() && ticket != won[2].Ticket.String() {
			rest = ticket
		}
	}
	get := func(name, path string) view {
		return view{name, func(b *browsertest.Browser) { b.Open(r.server.URL + path) }}
	}
	look(t, r, browsertest.New(t), []view{
		get("line", "/g/boots/line"), get("line-ticket", "/g/boots/t/"+rest), get("line-wins", "/g/boots/t/"+won[0].Ticket.String()),
		get("line-private", private[rest]), get("line-sheet", "/g/boots/sheet"), get("line-giveaway", "/g/boots"), get("line-nowhere", "/t/K7QF2M9X4RTBW8ZC"),
	})
}
