package web

import (
	"fmt"
	"net/http/httptest"
	"net/netip"
	"strconv"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"evenhand/draw"
	"evenhand/eligibility"
	"evenhand/giveaway"
)

// English ordinals and groups of digits: from memory.
func TestNumbersInWords(t *testing.T) {
	for n, want := range map[int64]string{1: "first", 2: "second", 3: "third", 10: "tenth", 11: "11th", 12: "12th", 13: "13th", 21: "21st",
		22: "22nd", 23: "23rd", 24: "24th", 101: "101st", 111: "111th", 112: "112th", 1001: "1,001st", 3206: "3,206th"} {
		if got := ordinal(n); got != want {
			t.Errorf("ordinal(%d) = %q, want %q", n, got, want)
		}
	}
	for n, want := range map[int64]string{0: "0", 7: "7", 999: "999", 1000: "1,000", 1204: "1,204", 1234567: "1,234,567", -1000: "-1,000", -100: "-100"} {
		if got := number(n); got != want {
			t.Errorf("number(%d) = %q, want %q", n, got, want)
		}
	}
	if got := count(1, "ticket", "tickets") + ", " + count(2, "ticket", "tickets"); got != "1 ticket, 2 tickets" {
		t.Error(got)
	}
}

// The instants are those of testdata/facts/time.md: New York is on summer time
// (UTC−4) in August and on standard time (UTC−5) in December.
func TestTimesInWords(t *testing.T) {
	for _, c := range []struct{ at, zone, want string }{
		{"2026-12-12T01:30:00Z", "America/New_York", "Friday 11 December 2026, 8:30 pm New York time"},
		{"2026-08-22T21:40:00Z", "America/New_York", "Saturday 22 August 2026, 5:40 pm New York time"},
		{"2026-08-22T21:40:07Z", "UTC", "Saturday 22 August 2026, 9:40:07 pm UTC"},
		{"2026-08-22T21:40:00Z", "No/Such_Zone", "Saturday 22 August 2026, 9:40 pm UTC"},
		{"2026-08-22T15:00:00Z", "Europe/Berlin", "Saturday 22 August 2026, 5:00 pm Berlin time"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		if got := stamp("", at, c.zone); got.Words != c.want || got.UTC != c.at {
			t.Errorf("%+v, want %q", got, c.want)
		}
	}
}

// Every code that a file may bear has its plain words.
func TestEveryCodeHasWords(t *testing.T) {
	for _, code := range []string{draw.Duplicate, draw.Unconfirmed, draw.Region, draw.Withdrawn, draw.Ineligible} {
		if reasonWords[code] == "" {
			t.Errorf("no words for the reason %s", code)
		}
	}
	for _, code := range []string{draw.NoReply, draw.Declined, draw.Ineligible, draw.Withdrawn} {
		if passWords[code] == "" {
			t.Errorf("no words for the pass %s", code)
		}
	}
	if len(fileOrder) != len(fileWords) {
		t.Errorf("%d files have an order, %d have words", len(fileOrder), len(fileWords))
	}
	for _, c := range eligibility.Countries() {
		if countryIn(c.Code) == "" {
			t.Errorf("no name for %s", c.Code)
		}
	}
	for code, want := range map[string]string{"US": "the United States", "GB": "the United Kingdom", "CA": "Canada", "NL": "the Netherlands", "DO": "the Dominican Republic", "MH": "the Marshall Islands"} {
		if got := countryIn(code); got != want {
			t.Errorf("countryIn(%s) = %q, want %q", code, got, want)
		}
	}
}

// A score is a part of 2^256; three figures that count are shown. Worked by
// hand: 8000… is a half, 4000… a quarter, 0001… is 1/65536 = 0.0000152…
func TestShareOf(t *testing.T) {
	for hex, want := range map[string]string{
		"8000000000000000": "0.5", "4000000000000000": "0.25", "0001000000000000": "0.0000152", "ffffffffffffffff": "0.999",
	} {
		n, err := strconv.ParseUint(hex, 16, 64)
		if err != nil {
			t.Fatal(err)
		}
		var d draw.Digest
		for i := range 8 {
			d[i] = byte(n >> (56 - 8*i))
		}
		if got := shareOf(d); got != want {
			t.Errorf("shareOf(%s…) = %s, want %s", hex, got, want)
		}
	}
}

// Networks: an IPv4 address, an IPv6 /64 (common practice, no source).
func TestNetwork(t *testing.T) {
	for address, want := range map[string]string{
		"192.0.2.7": "192.0.2.7/32", "::ffff:192.0.2.7": "192.0.2.7/32", "2001:db8:1:2:3:4:5:6": "2001:db8:1:2::/64", "fe80::1%eth0": "fe80::/64",
	} {
		if got := network(address); got != netip.MustParsePrefix(want) {
			t.Errorf("network(%s) = %v, want %s", address, got, want)
		}
	}
	for address, want := range map[string]string{"192.0.2.7": "192.0.2.7/32", "2001:db8:1:2:3:4:5:6": "2001:db8:1::/48"} {
		if got := site(address); got != netip.MustParsePrefix(want) {
			t.Errorf("site(%s) = %v, want %s", address, got, want)
		}
	}
	if network("nonsense").IsValid() {
		t.Error("nonsense has a network")
	}
}

// One customer with a /48 has 65,536 networks of /64 (RFC 6177): all of them
// together are let through eight times what one may.
func TestWholeSiteIsLimited(t *testing.T) {
	l := newLimiter(Limit{Every: time.Hour, Burst: 2})
	at := time.Date(2026, 8, 22, 12, 0, 0, 0, time.UTC)
	passed := 0
	for i := range 1000 {
		if l.allow(fmt.Sprintf("2001:db8:1:%x::1", i), at) {
			passed++
		}
	}
	if passed != 16 {
		t.Errorf("%d requests passed, want 16", passed)
	}
	if !l.allow("2001:db8:2::1", at) {
		t.Error("the site beside it has to wait as well")
	}
}

func TestLimiterIsBounded(t *testing.T) {
	l := newLimiter(Limit{Every: time.Hour, Burst: 1})
	at := time.Date(2026, 8, 22, 12, 0, 0, 0, time.UTC)
	for i := range maxNetworks + 10 {
		a := netip.AddrFrom4([4]byte{10, byte(i >> 16), byte(i >> 8), byte(i)})
		if !l.allow(a.String(), at) {
			t.Fatalf("the first request of network %d was refused", i)
		}
	}
	if n := len(l.byNetwork); n > maxNetworks {
		t.Errorf("%d networks are kept", n)
	}
	if l.allow("10.0.195.89", at) { // number 50009, the last one
		t.Error("a second request at once was let through")
	}
	// 203.0.113.7 recovers in time; then many others come. Who has just used
	// up a limit is remembered.
	if !l.allow("203.0.113.7", at.Add(time.Minute)) {
		t.Error("a new network was refused")
	}
	for i := range maxNetworks / 8 {
		l.allow(netip.AddrFrom4([4]byte{11, byte(i >> 16), byte(i >> 8), byte(i)}).String(), at.Add(30*time.Second))
	}
	if l.allow("203.0.113.7", at.Add(time.Minute)) {
		t.Error("a flood from other networks gave a used-up limit back")
	}
	if !l.allow("10.0.195.89", at.Add(time.Hour)) {
		t.Error("an hour later it was refused")
	}
}

// X-Forwarded-For counts only when the connection comes from a proxy that was
// named, and then the last address that is none of them.
func TestClientAddress(t *testing.T) {
	proxy := netip.MustParsePrefix("127.0.0.0/8")
	for _, c := range []struct {
		proxies          []netip.Prefix
		from, said, want string
	}{
		{nil, "127.0.0.1:1", "192.0.2.7", "127.0.0.1"},
		{[]netip.Prefix{proxy}, "127.0.0.1:1", "192.0.2.7", "192.0.2.7"},
		{[]netip.Prefix{proxy}, "127.0.0.1:1", "203.0.113.1, 192.0.2.7", "192.0.2.7"},
		{[]netip.Prefix{proxy}, "198.51.100.1:1", "192.0.2.7", "198.51.100.1"},
		{[]netip.Prefix{proxy}, "10.0.0.1:1", "192.0.2.7", "10.0.0.1"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = c.from
		r.Header.Set(echo.HeaderXForwardedFor, c.said)
		if got := clientAddress(c.proxies)(r); got != c.want {
			t.Errorf("from %s saying %s: %s, want %s", c.from, c.said, got, c.want)
		}
	}
}

// The head leaves the year out, and says where a giveaway stands.
func TestHeadStamp(t *testing.T) {
	opens := time.Date(2026, 8, 20, 12, 0, 0, 0, time.UTC)
	m := func(at time.Time) giveaway.Moment { x, _ := giveaway.MomentAt(at, "UTC"); return x }
	g := giveaway.Giveaway{State: giveaway.StateOpen, Terms: giveaway.Terms{Opens: m(opens), Closes: m(opens.Add(time.Hour)), Event: m(opens.Add(2 * time.Hour))},
		Opening: draw.Opening{Opens: opens, Closes: opens.Add(time.Hour), Event: opens.Add(2 * time.Hour)}}
	for after, want := range map[time.Duration]string{
		-time.Minute: "Opens Thursday 20 August, 12 noon UTC", 0: "Closes Thursday 20 August, 1:00 pm UTC", time.Hour: "The draw is on Thursday 20 August, 2:00 pm UTC",
		2 * time.Hour: "The draw was set for Thursday 20 August, 2:00 pm UTC",
	} {
		s := headStamp(g, opens.Add(after))
		if got := s.Before + " " + s.Words; got != want {
			t.Errorf("%v after opening the head says %q, want %q", after, got, want)
		}
	}
}

// A locked giveaway whose hour has come says whom the draw waits for.
func TestClosedWordsOfALateDraw(t *testing.T) {
	at := time.Date(2026, 8, 20, 14, 0, 0, 0, time.UTC)
	m, err := giveaway.MomentAt(at, "UTC")
	if err != nil {
		t.Fatal(err)
	}
	g := giveaway.Giveaway{State: giveaway.StateFrozen, Terms: giveaway.Terms{Channel: "Slow Miles", Event: m}, Opening: draw.Opening{Event: at}}
	r := &draw.Report{Freeze: &draw.Freeze{Roll: 3}}
	for after, want := range map[time.Duration]string{
		-time.Second: "Nothing can be added or taken away any more. The draw is made live.",
		0:            "Nothing can be added or taken away any more. It is time for the draw, live: it begins when Slow Miles begins, which may be a little late.",
	} {
		head, lead := closedWords(g, r, at.Add(after))
		if head != "The list is locked: 3 tickets are in the draw." || len(lead) != 1 || lead[0] != want {
			t.Errorf("%v from the draw's time: %q, %q, want %q", after, head, lead, want)
		}
	}
}
