package show

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"evenhand/draw"
)

// What is done with a name.
const (
	SayName   = "name"   // it is said as it was typed
	SayTicket = "ticket" // the ticket alone is shown
	SayLike   = "like"   // the host's own words are said
)

// A Saying is a name that somebody allowed to be said, and what the host
// decided.
type Saying struct {
	Ticket draw.Ticket
	Name   string
	Say    string // SayName, SayTicket or SayLike; "": not seen yet
	Words  string // of SayLike
}

// NameCounts count the names of a giveaway.
type NameCounts struct {
	All    int64 // tickets for the draw with a name to be said
	Unseen int64 // of these, nothing was decided of
}

// Names keep what is said of tickets. Only what was decided here ever reaches
// the stage, and only as long as the name is the one that was seen.
type Names interface {
	// Names lists sayings by ascending ticket, after the ticket given ("" for
	// the first), only those not seen yet if unseen.
	Names(ctx context.Context, id string, unseen bool, after string, most int) ([]Saying, error)
	// CountNames counts them.
	CountNames(ctx context.Context, id string) (NameCounts, error)
	// See keeps decisions. One whose Name is not the name that the entry has
	// now is left out: nobody saw that one. It returns how many were kept.
	See(ctx context.Context, id string, all []Saying, at time.Time) (kept int, err error)
	// ChangeName gives an entry another name, "" for none, until the lock;
	// what was decided of the old one is gone. Errors: entries.ErrLocked,
	// entries.ErrWithdrawn, entries.ErrNoSuchLink.
	ChangeName(ctx context.Context, id string, t draw.Ticket, name string) error
}

// Marks say why a name should be looked at twice; none for most. The words come
// from a small list of our own and find no more than what is on it: whoever
// reads the names decides.
func Marks(name string) (marks []string) {
	add := func(so bool, words string) {
		if so {
			marks = append(marks, words)
		}
	}
	add(looksLikeLink.MatchString(name), "looks like a link or an address")
	add(digits(name) >= 6, "has a long number, such as that of a phone")
	if word := rude(name); word != "" {
		add(true, "has “"+word+"”, which may hurt somebody")
	}
	add(mixedScripts(name), "mixes letters of different alphabets")
	add(name != "" && !strings.ContainsFunc(name, readable), "shows no letter and no figure")
	return marks
}

// readable reports letters and figures that can be seen: some letters, such as
// the fillers of Hangul, are blank (Unicode, Other_Default_Ignorable_Code_Point).
func readable(r rune) bool {
	return (unicode.IsLetter(r) || unicode.IsNumber(r)) && !unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r)
}

// looksLikeLink finds more than the form refuses: also written-out signs.
var looksLikeLink = regexp.MustCompile(`(?i)://|\bwww\b|@|[\pL\pN]\.\pL{2,}|\b(dot|punkt) ?(com|net|org|tv|de)\b|\b\d+ [\pL]+ (st|street|road|rd|ave|avenue|lane|strasse|straße)\b`)

func digits(name string) (n int) {
	for _, r := range name {
		if unicode.IsDigit(r) {
			n++
		}
	}
	return n
}

// rudeStems are beginnings of words and rudeWords whole ones, turned by 13
// letters so that nobody has to read them. The list is ours and small.
var (
	rudeStems = turned("shpx zbgureshpx fuvg phag avttre avttn snttbg ovgpu juber fyhg ergneq xvxr fcvp puvax genaal jrgonpx cnxv juvgrcbjre urvyuvgyre uvgyre anmv fvrturvy xxx encr snttl nefpuybpu uherafbua svpx fpujhpugry chgn znevpba cbyyn zvreqn chgnva rapher anmvf cbea")
	rudeWords = turned("nff nffubyr qvpx pbpx chffl gjng jnax jnaxre gvgf phz snt pbba qlxr ubzb arteb fcnfgv ubznf urvy xnanxr arefpu")
)

func turned(list string) []string {
	return strings.Fields(strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' {
			return 'a' + (r-'a'+13)%26
		}
		return r
	}, list))
}

// lookalikes are figures and signs that stand for letters.
var lookalikes = strings.NewReplacer("0", "o", "1", "i", "3", "e", "4", "a", "5", "s", "7", "t", "@", "a", "$", "s", "!", "i", "|", "i")

// rudePattern finds the words, each letter as often as in them or more: "kkk" is
// no beginning of Kai, and "shiit" no way round.
var rudePattern = regexp.MustCompile("^(" + stretched(rudeStems) + ")|^(" + stretched(rudeWords) + ")s*$")

// stretched writes words as a pattern: "boo" as "b{1,}o{2,}".
func stretched(words []string) string {
	var b strings.Builder
	for i, w := range words {
		if i > 0 {
			b.WriteByte('|')
		}
		for len(w) > 0 {
			n := len(w) - len(strings.TrimLeft(w, w[:1]))
			fmt.Fprintf(&b, "%s{%d,}", w[:1], n)
			w = w[n:]
		}
	}
	return b.String()
}

// rude is the word of the name that is one of the list, or its single letters
// when the gaps between them are taken out; "" if none is.
func rude(name string) string {
	plain := lookalikes.Replace(strings.ToLower(norm.NFKD.String(name)))
	words := strings.FieldsFunc(plain, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.Is(unicode.Mn, r) })
	spelled := ""
	for i, w := range words {
		words[i] = strings.Map(lettersOnly, w)
		if utf8.RuneCountInString(words[i]) == 1 {
			spelled += words[i]
		}
	}
	words = append(words, spelled)
	if i := slices.IndexFunc(words, rudePattern.MatchString); i >= 0 {
		return words[i]
	}
	return ""
}

func lettersOnly(r rune) rune {
	if unicode.IsLetter(r) {
		return r
	}
	return -1
}

// mixedScripts reports whether one word has Latin letters beside Greek or
// Cyrillic ones, which look alike.
func mixedScripts(name string) bool {
	for _, w := range strings.Fields(name) {
		latin := strings.ContainsFunc(w, func(r rune) bool { return unicode.Is(unicode.Latin, r) })
		other := strings.ContainsFunc(w, func(r rune) bool { return unicode.In(r, unicode.Greek, unicode.Cyrillic) })
		if latin && other {
			return true
		}
	}
	return false
}
