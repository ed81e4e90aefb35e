package web

import (
	"net/url"
	"strings"

	"evenhand/entries"
)

// A field is one control of a form with its messages.
type field struct {
	Name, Label, Hint string
	Value             string
	Auto              string  // autocomplete (WHATWG HTML, "autofill")
	Groups            []group // of a list or of radio buttons
	Checked           bool
	Needed            bool
	Faults            []entries.Problem
}

// A group of choices; the label "" means none.
type group struct {
	Label   string
	Options []option
}

type option struct {
	Value  string `json:"value"`
	Text   string `json:"text"`
	Chosen bool   `json:"chosen"`
}

// ID is the control's id in the page; the summary links to it.
func (f field) ID() string { return "f-" + strings.ReplaceAll(f.Name, ".", "-") }

// Invalid reports whether there is something to put right.
func (f field) Invalid() bool { return len(f.Faults) > 0 }

// Describe lists the ids of what belongs to the control: its hint, its
// messages.
func (f field) Describe() string {
	var ids []string
	if f.Hint != "" {
		ids = append(ids, f.ID()+"-hint")
	}
	if f.Invalid() {
		ids = append(ids, f.ID()+"-fault")
	}
	return strings.Join(ids, " ")
}

// Offers are the buttons of all messages.
func (f field) Offers() []offer {
	var all []offer
	for _, p := range f.Faults {
		for _, o := range p.Offers {
			v := url.Values{}
			for name, value := range o.Values {
				v.Set(name, value)
			}
			all = append(all, offer{o.Text, v.Encode()})
		}
	}
	return all
}

// An offer is a button that sends the form with other values in some fields.
type offer struct{ Text, Take string }

// options makes one group of choices and chooses one.
func options(chosen string, pairs ...option) []group {
	for i := range pairs {
		pairs[i].Chosen = strings.EqualFold(pairs[i].Value, chosen)
	}
	return []group{{Options: pairs}}
}

// A summary stands on top of a form that needs another look, and takes the
// focus.
type summary struct {
	Head, WayOut string
	Stays        string // what holds all the same after a refusal, or a question
	Links        []summaryLink
}

type summaryLink struct{ Href, Text string }

// summarize turns a verdict into the summary.
func summarize(st formState) summary {
	switch v := st.Verdict; {
	case !st.Sent || v.OK():
		return summary{}
	case v.Refusal != nil:
		return summary{Head: v.Refusal.Reason, WayOut: v.Refusal.WayOut, Stays: st.stays()}
	}
	s := summary{Head: lookAgain(len(st.Verdict.Fields), st.Friendly)}
	if st.Friendly {
		s.Stays = "What you typed still stands below."
	}
	var last []summaryLink
	for _, p := range st.Verdict.Fields {
		link := summaryLink{"#" + field{Name: p.Field}.ID(), firstSentence(p.Text)}
		if p.Field == "rules" {
			last = append(last, link)
			continue
		}
		s.Links = append(s.Links, link)
	}
	s.Links = append(s.Links, last...) // the form asks it last
	return s
}

// lookAgain counts up what is to be put right, or what is still to be said.
func lookAgain(n int, more bool) string {
	switch things := capitalized(small(n)) + " things "; {
	case more && n == 1:
		return "One thing more is needed."
	case more:
		return things + "more are needed."
	case n == 1:
		return "One thing needs another look."
	default:
		return things + "need another look."
	}
}

// stays says what a refusal leaves as it was.
func (st formState) stays() string {
	if st.Fixing != "" {
		return "Your ticket stands as it was."
	}
	return "So this is no entry, and none of what you typed was stored. It still stands below."
}

// firstSentence is what the summary says of a message; the rest stands beside
// the field.
func firstSentence(text string) string {
	for i := range len(text) - 1 {
		if strings.ContainsRune(".?!", rune(text[i])) && text[i+1] == ' ' {
			return text[:i+1]
		}
	}
	return text
}

// small writes a small number as a word.
func small(n int) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return number(int64(n))
}

// problemsOf picks the messages for one field.
func problemsOf(st formState, name string) []entries.Problem {
	if !st.Sent {
		return nil
	}
	var out []entries.Problem
	for _, p := range st.Verdict.Fields {
		if p.Field == name {
			out = append(out, p)
		}
	}
	return out
}
