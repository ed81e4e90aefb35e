package web

import (
	"strings"

	"evenhand/giveaway"
)

// How the form asks who gave the prize. Nothing is chosen at first: what is
// posted as a fact is what somebody said.
const (
	gaveNothingElse = "nothing"
	gaveMore        = "more"
	gaveOwnWords    = "own"
)

// How the two sentences go on after the names: "… gives the prize, and pays Slow
// Miles nothing else.", "… gives the prize, and also gives Slow Miles a fee."
const (
	paysVerb, alsoVerb = "pays", "also gives"
	nothingElse        = "nothing else."
)

// disclosureBegin is how a sentence begins, by who is named.
func disclosureBegin(channel, verb, sponsor string) string {
	return orText(sponsor, "The sponsor") + " gives the prize, and " + verb + " " + orText(channel, "the channel") + " "
}

// moreWithin is what else is given as it stands inside the sentence.
func moreWithin(more string) string {
	return giveaway.Terms{Prize: strings.TrimSuffix(more, ".")}.PrizeWithin()
}

// disclosure is the sentence that was chosen; "" while none is. Words without
// a choice are one's own.
func (f termsForm) disclosure(r *formReader) string {
	switch kind := f.DisclosureKind; {
	case kind == gaveNothingElse:
		return f.DisclosureBegin() + nothingElse
	case kind == gaveMore && f.DisclosureMore == "":
		r.add("disclosure_more", "Say what else, such as: a fee for this video.")
	case kind == gaveMore:
		return f.DisclosureAlso() + moreWithin(f.DisclosureMore) + "."
	case kind == gaveOwnWords && f.Disclosure == "":
		r.add("disclosure", "Write the sentence, or choose one of the two above.")
	default:
		return f.Disclosure
	}
	return ""
}

// disclosureOf chooses what leads back to the sentence of terms.
func (f *termsForm) disclosureOf(t giveaway.Terms) {
	rest, none := strings.CutPrefix(t.Disclosure, disclosureBegin(t.Channel, paysVerb, t.Sponsor))
	more, some := strings.CutPrefix(t.Disclosure, disclosureBegin(t.Channel, alsoVerb, t.Sponsor))
	again := termsForm{Channel: t.Channel, Sponsor: t.Sponsor, DisclosureKind: gaveMore, DisclosureMore: strings.TrimSpace(strings.TrimSuffix(more, "."))}
	switch {
	case t.Disclosure == "":
	case none && rest == nothingElse:
		f.DisclosureKind = gaveNothingElse
	case some && again.disclosure(&formReader{}) == t.Disclosure:
		f.DisclosureKind, f.DisclosureMore = gaveMore, again.DisclosureMore
	default:
		f.DisclosureKind, f.Disclosure = gaveOwnWords, t.Disclosure
	}
}

// DisclosureSaid is the finished sentence that says what else is paid; "" while
// nothing is typed.
func (f termsForm) DisclosureSaid() string {
	if f.DisclosureMore == "" {
		return ""
	}
	f.DisclosureKind = gaveMore
	return "It says: “" + f.disclosure(&formReader{}) + "”"
}

// DisclosureBegin and DisclosureAlso are how the sentences begin that can be
// chosen.
func (f termsForm) DisclosureBegin() string { return disclosureBegin(f.Channel, paysVerb, f.Sponsor) }
func (f termsForm) DisclosureAlso() string  { return disclosureBegin(f.Channel, alsoVerb, f.Sponsor) }
