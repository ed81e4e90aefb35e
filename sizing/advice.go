package sizing

// Advice is a suggestion from trade habit for a size that the sponsor does not
// have. It is an offer that the wearer may take; no code takes it for them.
// Both rules are common practice without a published source.
type Advice struct {
	Rule           string  // "FIT-1" or "FIT-2", see testdata/facts/sizing.md, section 5
	Size           Size    // a size that the run has
	WithoutFootbed bool    // worn with the removable footbed taken out
	LengthMM       float64 // change in foot length against the wanted size
	GirthMM        float64 // change in ball girth against the wanted size
	Sentence       string  // for the page
}

// Advise suggests sizes of the run for a wanted one that it lacks, best known
// habit first; nothing if the run has it. removable says whether the shoe's
// footbed comes out.
func (r Run) Advise(want Size, removable bool, scale Scale) []Advice {
	if r.Has(want) || WidthRank(want.Width) < 0 {
		return nil
	}
	var advice []Advice
	shorter := Size{want.System, want.Size - 1, want.Width}
	if removable && r.Has(shorter) {
		advice = append(advice, r.advice("FIT-1", want, shorter, scale,
			"Some people wear "+shorter.String()+" instead, with the footbed taken out."))
	}
	if wider, ok := r.widerStock(shorter); ok && narrow(want) {
		advice = append(advice, r.advice("FIT-2", want, wider, scale,
			"Some people with narrow feet wear "+wider.String()+" instead. It is shorter and looser around the ball."))
	}
	return advice
}

func (r Run) advice(rule string, want, size Size, scale Scale, sentence string) Advice {
	return Advice{
		Rule: rule, Size: size, WithoutFootbed: rule == "FIT-1", Sentence: sentence,
		LengthMM: FootMM(size, scale) - FootMM(want, scale),
		GirthMM:  GirthChangeMM(want, size, scale),
	}
}

// widerStock is the next wider width that the run has in the same number.
func (r Run) widerStock(s Size) (Size, bool) {
	for _, w := range ladder[WidthRank(s.Width)+1:] {
		if wider := (Size{s.System, s.Size, w}); r.Has(wider) {
			return wider, true
		}
	}
	return Size{}, false
}

// narrow reports a width of men's B, women's 2A, or below.
func narrow(s Size) bool {
	return WidthRank(s.Width) <= WidthRank(wordLetter(s.System, "narrow"))
}
