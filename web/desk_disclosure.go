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

// disclosureBegin is how both sentences begin, by who is named.
func disclosureBegin(channel, sponsor string) string {
	return orText(sponsor, "The sponsor") + " gives the prize, and pays " + orText(channel, "the channel") + " "
}

const (
	nothingElse = "nothing else."
	moreBefore  = "something else too: "
)

// disclosure is the sentence that was chosen; "" while none is. Words without
// a choice are one's own.
func (f termsForm) disclosure(r *formReader) string {
	begin := disclosureBegin(f.Channel, f.Sponsor)
	switch kind := f.DisclosureKind; {
	case kind == gaveNothingElse:
		return begin + nothingElse
	case kind == gaveMore && f.DisclosureMore == "":
		r.add("disclosure_more", "Say what else, such as: a fee for this video.")
	case kind == gaveMore:
		return begin + moreBefore + strings.TrimSuffix(f.DisclosureMore, ".") + "."
	case kind == gaveOwnWords && f.Disclosure == "":
		r.add("disclosure", "Write the sentence, or choose one of the two above.")
	default:
		return f.Disclosure
	}
	return ""
}

// disclosureOf chooses what leads back to the sentence of terms.
func (f *termsForm) disclosureOf(t giveaway.Terms) {
	rest, ok := strings.CutPrefix(t.Disclosure, disclosureBegin(t.Channel, t.Sponsor))
	more, _ := strings.CutPrefix(rest, moreBefore)
	again := termsForm{Channel: t.Channel, Sponsor: t.Sponsor, DisclosureKind: gaveMore, DisclosureMore: strings.TrimSpace(strings.TrimSuffix(more, "."))}
	switch {
	case t.Disclosure == "":
	case ok && rest == nothingElse:
		f.DisclosureKind = gaveNothingElse
	case ok && again.disclosure(&formReader{}) == t.Disclosure:
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

// DisclosureBegin is how the sentences begin that can be chosen.
func (f termsForm) DisclosureBegin() string { return disclosureBegin(f.Channel, f.Sponsor) }
