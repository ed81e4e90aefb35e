package web

import (
	"net/netip"
	"sync"
)

// Seats are how many viewers' streams are open at once; one more gets 503, and
// its page goes on without. The stage and the remote are never counted.
type Seats struct {
	Network int // of one network: an IPv4 address or an IPv6 /64; a /48 has [siteTimes] as many
	All     int
}

// DefaultSeats are our own choice: wide for a school or a carrier that shares
// one address, and bounded, since each stream holds a connection open.
var DefaultSeats = Seats{Network: 500, All: 20_000}

// seating counts the viewers' seats that are taken.
type seating struct {
	most Seats

	mu    sync.Mutex // guards what follows
	taken int
	of    map[netip.Prefix]int
}

func newSeating(e *Event) *seating {
	most := DefaultSeats
	if e != nil && e.Seats != (Seats{}) {
		most = e.Seats
	}
	return &seating{most: most, of: map[netip.Prefix]int{}}
}

// take takes a seat for an address; rise must be called. ok is false where none
// is left, and nothing is counted then.
func (s *seating) take(address string) (rise func(), ok bool) {
	near, far := network(address), site(address)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.taken >= s.most.All || s.of[near] >= s.most.Network {
		return nil, false
	}
	if far != near && s.of[far] >= s.most.Network*siteTimes {
		return nil, false
	}
	s.count(near, far, 1)
	return func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.count(near, far, -1)
	}, true
}

// count adds n to all that a seat counts for, and keeps no network that has none.
func (s *seating) count(near, far netip.Prefix, n int) {
	s.taken += n
	for _, net := range []netip.Prefix{near, far} {
		s.of[net] += n
		if s.of[net] <= 0 {
			delete(s.of, net)
		}
		if far == near {
			return
		}
	}
}
