package giveaway

import (
	"strconv"
	"strings"
)

// givers says who stands behind it.
func (r *rulesPaper) givers() {
	t := r.t
	r.head("Who gives it away")
	r.par(t.Channel+" holds this giveaway and makes the draw.", where(t.Host != "", "Questions go to "+t.Host+"."))
	r.par("The sponsor is "+t.Sponsor+where(t.SponsorAddress != "", ", "+strings.TrimSuffix(t.SponsorAddress, "."))+". The sponsor sends the "+r.prizes()+".",
		"Nobody else takes part: no video site or other platform sponsors this giveaway, runs it or answers for it.")
	r.par(where(t.Disclosure != "", t.Disclosure))
	r.par(where(len(t.Filed) > 0, "It was filed with the authorities of "+listed(stateNames(t.Filed), "and")+"."))
}

// prizes is "prize", or "prizes" where there are several.
func (r *rulesPaper) prizes() string {
	if r.many() {
		return "prizes"
	}
	return "prize"
}

// prize says what there is to win.
func (r *rulesPaper) prize() {
	t := r.t
	r.head("The prize")
	if r.many() {
		r.par("There are "+strconv.Itoa(t.Winners)+" equal prizes. Each of them: "+t.PrizeWithin()+".", r.worth())
	} else {
		r.par("There is one prize: "+t.PrizeWithin()+".", r.worth())
	}
	if t.Sizes == nil {
		return
	}
	r.par("The sponsor makes it in these sizes:")
	r.items(sizeLines(*t.Sizes))
	r.par("For the same foot, " + t.Sizes.Scale.String() + ". You can enter with a size that is not among them; if you win, you choose one that is.")
}

func (r *rulesPaper) worth() string {
	t, one := r.t, "It is"
	if r.many() {
		one = "One is"
	}
	var said []string
	if t.Value != "" {
		said = append(said, one+" worth "+strings.TrimSuffix(t.Value, ".")+".")
	}
	if t.Worth != nil {
		words := "The retail value of one prize is " + t.Worth.Words()
		if r.many() {
			words += ", of all " + strconv.Itoa(t.Winners) + " together " + t.Total().Words()
		}
		said = append(said, words+".")
	}
	return strings.Join(said, " ")
}

// Total is the retail value of all prizes together; nil where no sum was given.
func (t Terms) Total() *Worth {
	if t.Worth == nil {
		return nil
	}
	return &Worth{Cents: t.Worth.Cents * int64(t.Winners), Currency: t.Worth.Currency}
}

// sizeLines lists the sizes: "men’s 7 to 14 in half sizes, without 13½, in widths D and 2E".
func sizeLines(s SizeTerms) []string {
	var lines []string
	for _, g := range s.Run {
		words := g.System.Shown() + " " + g.From.Shown()
		if g.To != g.From {
			words += " to " + g.To.Shown() + " in " + g.Step + " sizes"
		}
		var except []string
		for _, e := range g.Except {
			except = append(except, e.Shown())
		}
		if len(except) > 0 {
			words += ", without " + listed(except, "and")
		}
		width := " in width "
		if len(g.Widths) > 1 {
			width = " in widths "
		}
		lines = append(lines, words+","+width+listed(g.Widths, "and"))
	}
	return lines
}
