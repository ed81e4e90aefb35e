package web

import (
	"cmp"
	"maps"
	"net/netip"
	"slices"
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
// an office, a school or a phone carrier shares one. An IPv6 /48, which one
// customer may have whole (RFC 6177, section 2), may make [siteTimes] as many.
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

// siteTimes is how many times the limit of a /64 a whole /48 has. Common
// practice, no source.
const siteTimes = 8

// maxNetworks bounds the memory of a limiter. When it is full, those networks
// that have recovered furthest start afresh, an eighth of all at once: that
// changes least, and who has just used up a limit can't shake it off.
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
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.of(network(address), 1, now).AllowN(now, 1) {
		return false // and nothing is counted against the neighbours
	}
	site := site(address)
	return site.Bits() != siteBits || l.of(site, siteTimes, now).AllowN(now, 1)
}

// of is the count of one network, whose limit is some times the usual one.
func (l *limiter) of(net netip.Prefix, times int, now time.Time) *rate.Limiter {
	one := l.byNetwork[net]
	if one == nil {
		if len(l.byNetwork) >= maxNetworks {
			l.forget(now)
		}
		one = rate.NewLimiter(rate.Every(l.limit.Every/time.Duration(times)), l.limit.Burst*times)
		l.byNetwork[net] = one
	}
	return one
}

// forget drops the networks that have recovered furthest.
func (l *limiter) forget(now time.Time) {
	left := func(net netip.Prefix) float64 {
		one := l.byNetwork[net]
		return one.TokensAt(now) / float64(one.Burst())
	}
	all := make(map[netip.Prefix]float64, len(l.byNetwork))
	for net := range l.byNetwork {
		all[net] = left(net)
	}
	order := slices.SortedFunc(maps.Keys(all), func(a, b netip.Prefix) int { return cmp.Compare(all[b], all[a]) })
	for _, net := range order[:len(order)/8+1] {
		delete(l.byNetwork, net)
	}
}

const siteBits = 48

// network is what counts as one client. An address that can't be read is the
// zero prefix: all such share one limit.
func network(address string) netip.Prefix { return within(address, 64) }

// site is what one customer may have: an IPv4 address or an IPv6 /48.
func site(address string) netip.Prefix { return within(address, siteBits) }

// within is the network of an address, with so many bits where it is IPv6.
func within(address string, bits int) netip.Prefix {
	a, err := netip.ParseAddr(address)
	if err != nil {
		return netip.Prefix{}
	}
	a = a.Unmap().WithZone("")
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
