package giveaway

import (
	"errors"
	"slices"
	"testing"
	"time"

	"evenhand/draw"
)

// An opening lists its seals by ascending role, by byte, the host's among them
// (draw protocol, "opening.txt").
func TestSealsStandByRole(t *testing.T) {
	host := draw.Hash([]byte("host"))
	terms := Terms{Seconds: []Second{{Role: "hosta"}, {Role: "a-friend"}, {Role: "sponsor"}, {Role: "h"}}}
	var roles []string
	for _, s := range terms.seals(host) {
		roles = append(roles, s.Role)
		if s.Role == HostRole && s.Hash != host {
			t.Errorf("the host's seal is %s", s.Hash)
		}
	}
	if want := []string{"a-friend", "h", "host", "hosta", "sponsor"}; !slices.Equal(roles, want) {
		t.Errorf("got %v, want %v", roles, want)
	}
}

// The secret's text names draw, signer and role, so that one secret can't
// stand for another (draw protocol, "Seal"). Nothing is said of a secret before
// the lock, nor to a role that has none.
func TestMayHandIn(t *testing.T) {
	secret := [32]byte{7}
	seal := draw.Seal{Draw: "boots", Signer: "slow-miles.example", Role: "sponsor", Secret: secret}
	other := seal
	other.Role = "friend"
	g := Giveaway{ID: "boots", State: StateFrozen, Opening: draw.Opening{Draw: "boots", Signer: "slow-miles.example+0a0b0c0d+AAAA", Seals: []draw.SealHash{
		{Role: "friend", Hash: other.Hash()}, {Role: "host", Hash: draw.Hash(nil)}, {Role: "sponsor", Hash: seal.Hash()},
	}}}
	elsewhere := g
	elsewhere.Opening.Signer = "other.example+0a0b0c0d+AAAA"
	in := func(s State) Giveaway {
		g := g
		g.State = s
		return g
	}
	for _, c := range []struct {
		name   string
		g      Giveaway
		role   string
		secret [32]byte
		want   error
	}{
		{"right", g, "sponsor", secret, nil},
		{"the same bytes, sealed for another role", g, "friend", secret, nil},
		{"wrong", g, "sponsor", [32]byte{8}, ErrWrongSecret},
		{"of another signer", elsewhere, "sponsor", secret, ErrWrongSecret},
		{"the host's", g, "host", secret, ErrNoRole},
		{"nobody's", g, "Sponsor", secret, ErrNoRole},
		{"no role", g, "", secret, ErrNoRole},
		{"open", in(StateOpen), "sponsor", secret, ErrNotLocked},
		{"open, wrong", in(StateOpen), "nobody", secret, ErrNotLocked},
		{"freezing", in(StateFreezing), "sponsor", secret, ErrNotLocked},
		{"draft", in(StateDraft), "sponsor", secret, ErrState},
		{"drawn", in(StateDrawn), "sponsor", secret, ErrState},
		{"drawn, wrong", in(StateDrawn), "sponsor", [32]byte{8}, ErrWrongSecret},
		{"drawn, nobody's", in(StateDrawn), "nobody", secret, ErrNoRole},
		{"cancelled", in(StateCancelled), "sponsor", secret, ErrState},
	} {
		if err := mayHandIn(c.g, c.role, c.secret); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
}

// The text of the protocol's section "cancelled.txt", line by line.
func TestCancellation(t *testing.T) {
	o := draw.Opening{Draw: "boots"}
	at := time.Date(2026, 12, 11, 20, 0, 0, 0, time.UTC)
	x, err := Cancellation(o, at, "prize-withdrawn", "boots-2")
	if err != nil {
		t.Fatal(err)
	}
	want := "evenhand/cancelled/v1\ndraw boots\nopening " + draw.Hash(o.Text()).String() +
		"\ncancelled 2026-12-11T20:00:00Z\nreason prize-withdrawn\nsuccessor boots-2\n"
	if got := string(x.Text()); got != want {
		t.Errorf("got %q\nwant %q", got, want)
	}
	if back, err := draw.ParseCancelled(draw.CancelledFile, x.Text()); err != nil || back != x {
		t.Errorf("read back %+v, %v", back, err)
	}
	for _, c := range [][2]string{{"", ""}, {"Lost", ""}, {"lost-", ""}, {"lost", "boots"}, {"lost", "-"}} {
		var p Problems
		if _, err := Cancellation(o, at, c[0], c[1]); !errors.As(err, &p) || len(p) != 1 {
			t.Errorf("%q: %v", c, err)
		}
	}
}

// Words for the log stand on one line, are cut, and stay text.
func TestOneLine(t *testing.T) {
	for in, want := range map[string]string{
		"two\r\nlines": "two lines", " a\t b ": "a b", "a\x00b": "a b", "a\xffb": "a\uFFFDb", "": "", "\n": "",
	} {
		if got := oneLine(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}
