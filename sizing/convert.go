package sizing

import "math"

// Scale is how many half sizes a women's number lies above the men's number
// for the same foot. It belongs to the giveaway: the sponsor's chart decides.
type Scale int

const (
	FIA    Scale = 2 // +1: FIA "standard" scale, Brannock device, ISO 19407 tables
	Common Scale = 3 // +1½: what most US shops print; the default
	Unisex Scale = 4 // +2: some makers of unisex shoes and clogs
)

// Valid reports whether s is one of the three scales in use.
func (s Scale) Valid() bool { return s >= FIA && s <= Unisex }

// offset lets the zero value stand for the default.
func (s Scale) offset() Half {
	if s == 0 {
		return Half(Common)
	}
	return Half(s)
}

// String says the scale in words: "a women’s number is 1½ above the men’s".
func (s Scale) String() string {
	return "a women’s number is " + s.offset().Shown() + " above the men’s"
}

// mensHalf is the number on the men's scale for the same foot length.
func mensHalf(s Size, scale Scale) Half {
	if s.System == Womens {
		return s.Size - scale.offset()
	}
	return s.Size
}

// halfMM is half a barleycorn: 1/6 inch, the foot length of half a size.
const halfMM = 25.4 / 6

// FootMM is the foot length in millimetres that the size is made for:
// (men's number + 22) × 25.4 / 3. Source: Wikipedia, "Shoe size"; the anchor is
// men's 1 = 7 2/3 inch on the Brannock device.
func FootMM(s Size, scale Scale) float64 {
	return float64(mensHalf(s, scale)+44) * halfMM
}

// Convert gives the same foot length on the other system. The width keeps its
// word, not its letter: a men's standard D becomes a women's standard B, two
// ladder steps down. Where the ladder ends (no women's width is as narrow as a
// men's 3A) the last letter stands, so such a width doesn't convert back.
func Convert(s Size, to System, scale Scale) Size {
	if s.System == to || !s.System.Valid() || !to.Valid() {
		return s
	}
	rank, off := WidthRank(s.Width), scale.offset()
	out := Size{System: to, Size: s.Size + off}
	step := -wordSteps
	if to == Mens {
		out.Size = s.Size - off
		step = wordSteps
	}
	if rank >= 0 {
		out.Width = ladder[min(max(rank+step, 0), len(ladder)-1)]
	}
	return out
}

// mensRank is the width's place on the ladder, counted as on the men's scale
// with the same word, so that both systems compare. It may pass the ladder's
// end. No width counts as standard.
func mensRank(s Size) int {
	rank := WidthRank(s.Width)
	if rank < 0 {
		rank = WidthRank(StandardWidth(s.System))
	}
	if s.System == Womens {
		rank += wordSteps
	}
	return rank
}

// girthMM is the ball girth of one width letter and of one whole size: 1/4
// inch each. Source: US Patent 1,948,547 (1934); Rossi 2000 gives 6.5 mm.
const girthMM = 25.4 / 4

// GirthChangeMM is how much wider around the ball a size is than another, in
// millimetres, negative for narrower: a quarter inch for each letter and for
// each whole size. Widths across systems compare by their word.
func GirthChangeMM(from, to Size, scale Scale) float64 {
	halves := mensHalf(to, scale) - mensHalf(from, scale)
	letters := mensRank(to) - mensRank(from)
	return (float64(halves)/2 + float64(letters)) * girthMM
}

// UK is the British number by formula: one below the men's. Many shops print
// half a size more, so no page converts without the sponsor's chart.
// Source: Wikipedia, "Shoe size".
func UK(s Size, scale Scale) Half { return mensHalf(s, scale) - 2 }

// EU is the European number by formula, 1.5 × foot in cm + 2, to the nearest
// half. Makers print up to a whole size more: a hint, not a conversion.
// Source: Wikipedia, "Shoe size".
func EU(s Size, scale Scale) Half {
	return Half(math.Round(2 * (1.5*FootMM(s, scale)/10 + 2)))
}

// Mondopoint is the foot length to the nearest 5 mm. Source: ISO 9407:2019 as
// described by the ANSI blog; the 5 mm grading from the ISO/TS 19407:2015 preview.
func Mondopoint(s Size, scale Scale) int {
	return 5 * int(math.Round(FootMM(s, scale)/5))
}
