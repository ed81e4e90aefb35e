// Package sizing knows US shoe sizes: men's and women's numbers in half sizes,
// width letters and words, what a sponsor can supply (a Run), and which of its
// sizes come nearest to the one that somebody wears.
//
// Start with ParseSystem, ParseSize and ParseWidth, which read what a person
// typed, or with FromText, which reads back what String wrote. Run.Has tells
// whether the sponsor has a size, Run.Nearest ranks what it has instead.
// Run.Advise makes suggestions from trade habits; nothing here applies one.
//
// A size is a label, not a promise: where the sponsor publishes a chart of its
// own, that chart wins over every number here. How far a women's number lies
// above the men's number for the same foot differs between makers, so each
// conversion takes a Scale.
//
// The package is pure: its tables are data, and it knows no clock, network,
// file or random source. Figures and their sources stand in
// testdata/facts/sizing.md, against which the tests check them.
package sizing

import (
	"errors"
	"strconv"
)

// System says which of the two US number scales a size stands on.
type System string

const (
	Mens   System = "mens"
	Womens System = "womens"
)

// Systems lists both systems in the order in which forms and runs show them.
func Systems() []System { return []System{Mens, Womens} }

// Valid reports whether s is one of the two systems.
func (s System) Valid() bool { return s == Mens || s == Womens }

// Shown is the system as pages write it: "men’s", "women’s".
func (s System) Shown() string {
	switch s {
	case Mens:
		return "men’s"
	case Womens:
		return "women’s"
	}
	return ""
}

// Half is a US size counted in half sizes: 21 is 10½. A conversion may give
// zero or less; the parsers never do.
type Half int

// The sizes that a parser accepts: 1 to 32½. From 33 on European adult sizes
// begin (testdata/facts/sizing.json, SZ-13).
const (
	minHalf Half = 2
	maxHalf Half = 65
)

// String is the protocol's form: "10", "10.5".
func (h Half) String() string { return h.text(".5") }

// Shown is the form for pages: "10", "10½".
func (h Half) Shown() string { return h.text("½") }

func (h Half) text(half string) string {
	sign, n := "", int(h)
	if n < 0 {
		sign, n = "-", -n
	}
	if n%2 == 0 {
		return sign + strconv.Itoa(n/2)
	}
	if n == 1 && half == "½" {
		return sign + half
	}
	return sign + strconv.Itoa(n/2) + half
}

// MarshalText writes the protocol's form, so JSON holds "10.5".
func (h Half) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads exactly what MarshalText writes for a size between 1 and
// 32.5 and refuses everything else ("10.0", "010", "10½").
func (h *Half) UnmarshalText(text []byte) error {
	v, err := ParseSize(string(text))
	if err != nil {
		return err
	}
	if v.String() != string(text) {
		return errors.New("read size: want a form like \"10\" or \"10.5\"")
	}
	*h = v
	return nil
}

// Size is one labelled size. The zero value is "no size": a giveaway of
// something without sizes.
type Size struct {
	System System `json:"system,omitempty"`
	Size   Half   `json:"size,omitempty"`
	Width  string `json:"width,omitempty"` // canonical letter: "2A", "B", "D", "2E"
}

// IsZero reports whether s is "no size".
func (s Size) IsZero() bool { return s == Size{} }

// String is the size for pages: "men’s 10½ D"; "" for no size.
func (s Size) String() string {
	if s.IsZero() {
		return ""
	}
	text := s.System.Shown() + " " + s.Size.Shown()
	if s.Width != "" {
		text += " " + s.Width
	}
	return text
}

// FromText reads a size from its three stored fields, each in exactly the form
// in which System, Half.String and Width hold it. Three empty fields are no
// size. It is for stored values; ParseSize and its sisters read typed ones.
func FromText(system, size, width string) (Size, error) {
	if system == "" && size == "" && width == "" {
		return Size{}, nil
	}
	s := Size{System: System(system), Width: width}
	if !s.System.Valid() {
		return Size{}, errors.New("read size: want system mens or womens")
	}
	if WidthRank(width) < 0 {
		return Size{}, errors.New("read size: width is not on the ladder")
	}
	if err := s.Size.UnmarshalText([]byte(size)); err != nil {
		return Size{}, err
	}
	return s, nil
}

// Usual ranges: the rows of the two conversion tables in
// testdata/facts/sizing.md, section 3.
var usual = map[System][2]Half{
	Mens:   {12, 30}, // 6 to 15
	Womens: {8, 26},  // 4 to 13
}

// Warning is a sentence when the number lies outside the usual range of its
// system (men's 6 to 15, women's 4 to 13), otherwise "". Such a size is real
// and accepted; a form asks once whether it was meant (SZ-12).
func (s Size) Warning() string {
	r, ok := usual[s.System]
	if !ok || s.Size >= r[0] && s.Size <= r[1] {
		return ""
	}
	return s.System.Shown() + " " + s.Size.Shown() + " is outside the usual range, " +
		r[0].Shown() + " to " + r[1].Shown() + ". Is it right?"
}
