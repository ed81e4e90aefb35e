package web

import (
	"net/netip"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"golang.org/x/time/rate"
)

// A Limit is how many requests one network may make: Burst at once, and one
// more for each Every.
type Limit struct {
	Every time.Duration
	Burst int
}

// Limits of one network: an IPv4 address or an IPv6 /64. They are wide, since
// an office, a school or a phone carrier shares one.
type Limits struct {
	Posts   Limit // unsafe requests
	Private Limit // reads of private links
}

// DefaultLimits are common practice, no source: no one person reaches them,
// and the last minute of a popular giveaway behind one carrier hardly does.
var DefaultLimits = Limits{
	Posts:   Limit{Every: 250 * time.Millisecond, Burst: 200},
	Private: Limit{Every: 100 * time.Millisecond, Burst: 400},
}

// maxNetworks bounds the memory of a limiter. When it is full all networks
// start afresh: that errs towards letting people in.
const maxNetworks = 50_000

// A limiter counts requests by network, in memory, for one process.
type limiter struct {
	limit Limit

	mu        sync.Mutex // guards byNetwork
	byNetwork map[netip.Prefix]*rate.Limiter
}

func newLimiter(l Limit) *limiter {
	return &limiter{limit: l, byNetwork: map[netip.Prefix]*rate.Limiter{}}
}

// allow reports whether a request from the address may go on.
func (l *limiter) allow(address string, now time.Time) bool {
	net := network(address)
	l.mu.Lock()
	defer l.mu.Unlock()
	one := l.byNetwork[net]
	if one == nil {
		if len(l.byNetwork) >= maxNetworks {
			clear(l.byNetwork)
		}
		one = rate.NewLimiter(rate.Every(l.limit.Every), l.limit.Burst)
		l.byNetwork[net] = one
	}
	return one.AllowN(now, 1)
}

// network is what counts as one client. An address that can't be read is the
// zero prefix: all such share one limit.
func network(address string) netip.Prefix {
	a, err := netip.ParseAddr(address)
	if err != nil {
		return netip.Prefix{}
	}
	a = a.Unmap().WithZone("")
	bits := 64
	if a.Is4() {
		bits = 32
	}
	p, _ := a.Prefix(bits) // both lengths fit their kind of address
	return p
}

// limited lets a request through while its network is within the limit.
func limited(l *limiter) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			if !l.allow(c.RealIP(), now(c)) {
				return errTooMany
			}
			return next(c)
		}
	}
}
