package eligibility

import (
	"slices"
	"strings"
)

// ZIPKind says how a postal code fits a state.
type ZIPKind string

const (
	ZIPMatch      ZIPKind = "match"      // plausible
	ZIPMismatch   ZIPKind = "mismatch"   // another state's: warn and ask
	ZIPUnassigned ZIPKind = "unassigned" // not in use as far as we know: warn and ask
	ZIPMalformed  ZIPKind = "malformed"  // not a postal code: a field error
)

// ZIPVerdict is the answer of CheckZIP and CheckPostalCode. Only ZIPMalformed
// may refuse a field: codes follow delivery routes and can cross a state line.
type ZIPVerdict struct {
	Kind   ZIPKind
	Tidy   string   // the code as printed on a parcel: "02139", "10001-1234", "K1A 0B1"; "" if malformed
	States []string // where the tables put the code
	Hint   string   // a sentence for the page, "" for a match
}

// zipPrefixes holds the three-digit prefixes of each state; AA, AE and AP are
// military post. Source: testdata/facts/postal.md, section 3 (from memory of
// the Wikipedia list and USPS list L002, tested against Google's patterns).
const zipPrefixes = `AA 340
AE 090-098
AK 995-999
AL 350-352 354-369
AP 962-966
AR 716-729
AZ 850-853 855-857 859-860 863-865
CA 900-908 910-928 930-961
CO 800-816
CT 060-069
DC 200 202-205 569
DE 197-199
FL 320-339 341-342 344 346-347 349
GA 300-319 398-399
HI 967-968
IA 500-516 520-528
ID 832-838
IL 600-620 622-629
IN 460-479
KS 660-662 664-679
KY 400-418 420-427
LA 700-701 703-708 710-714
MA 010-027 055
MD 206-212 214-219
ME 039-049
MI 480-499
MN 550-551 553-567
MO 630-631 633-641 644-658
MS 386-397
MT 590-599
NC 270-289
ND 580-588
NE 680-681 683-693
NH 030-038
NJ 070-089
NM 870-871 873-875 877-884
NV 889-891 893-895 897-898
NY 005 100-149
OH 430-459
OK 730-731 734-741 743-749
OR 970-979
PA 150-196
PR 006-007 009
RI 028-029
SC 290-299
SD 570-577
TN 370-385
TX 733 750-770 772-799 885
UT 840-847
VA 201 220-246
VI 008
VT 050-054 056-059
WA 980-986 988-994
WI 530-532 534-535 537-549
WV 247-268
WY 820-831`

// zipWhole holds what only all five digits tell: the islands that share 969
// and single codes inside another state's prefix. Same source.
const zipWhole = `AS 96799
FM 96941-96944
GA 39901
GU 96910-96932
MA 05501 05544
MH 96960-96979
MP 96950-96952
NY 00501 00544 06390
PW 96939-96940
TX 73301 73344
WY 83414`

type zipRange struct{ from, to, state string } // both ends included

var (
	prefixRanges = splitRanges(zipPrefixes)
	wholeRanges  = splitRanges(zipWhole)
)

func splitRanges(data string) []zipRange {
	var list []zipRange
	for line := range strings.Lines(data) {
		fields := strings.Fields(line)
		for _, f := range fields[1:] {
			from, to, ok := strings.Cut(f, "-")
			if !ok {
				to = from
			}
			list = append(list, zipRange{from, to, fields[0]})
		}
	}
	return list
}

func find(list []zipRange, digits string) string {
	for _, r := range list {
		if digits >= r.from && digits <= r.to {
			return r.state
		}
	}
	return ""
}

// CheckZIP compares a typed ZIP code with a US state, territory or military
// code. It takes five digits or nine, with a hyphen, a blank or nothing
// between, and outer blanks. An empty state matches every code in use.
func CheckZIP(state, zip string) ZIPVerdict {
	tidy, ok := tidyZIP(zip)
	if !ok {
		return ZIPVerdict{Kind: ZIPMalformed, Hint: malformedHint(zip)}
	}
	owner := find(wholeRanges, tidy[:5])
	if owner == "" {
		owner = find(prefixRanges, tidy[:3])
	}
	if owner == "" {
		return ZIPVerdict{ZIPUnassigned, tidy, nil, "We don’t know this ZIP code. Is it right?"}
	}
	return verdict("US", state, tidy, []string{owner}, "ZIP code")
}

func verdict(country, state, tidy string, owners []string, what string) ZIPVerdict {
	if state == "" || slices.Contains(owners, state) {
		return ZIPVerdict{Kind: ZIPMatch, Tidy: tidy, States: owners}
	}
	names := make([]string, len(owners))
	for i, code := range owners {
		names[i] = placeName(code, StateName(country, code))
	}
	return ZIPVerdict{ZIPMismatch, tidy, owners,
		"This " + what + " usually belongs to " + strings.Join(names, " or ") + ". Is it right?"}
}

func tidyZIP(text string) (string, bool) {
	body := strings.TrimSpace(text)
	if len(body) == 10 && (body[5] == '-' || body[5] == ' ') {
		body = body[:5] + body[6:]
	}
	if len(body) != 5 && len(body) != 9 || strings.Trim(body, "0123456789") != "" {
		return "", false
	}
	if len(body) == 9 {
		return body[:5] + "-" + body[5:], true
	}
	return body, true
}

func malformedHint(text string) string {
	if _, ok := tidyPostalCode(text); ok {
		return "That looks like a Canadian postal code. Is the country right?"
	}
	return "A ZIP code has five digits, also when the first is 0; four more may follow after a hyphen."
}

// postalLetters maps the first letter of a Canadian code to its provinces.
// Source: testdata/facts/postal.md, section 8 (completed from memory).
var postalLetters = map[byte][]string{
	'A': {"NL"}, 'B': {"NS"}, 'C': {"PE"}, 'E': {"NB"}, 'G': {"QC"}, 'H': {"QC"}, 'J': {"QC"},
	'K': {"ON"}, 'L': {"ON"}, 'M': {"ON"}, 'N': {"ON"}, 'P': {"ON"}, 'R': {"MB"}, 'S': {"SK"},
	'T': {"AB"}, 'V': {"BC"}, 'X': {"NT", "NU"}, 'Y': {"YT"},
}

// CheckPostalCode compares a typed Canadian postal code with a province, in
// the way of CheckZIP. H0H 0H0 is for letters to Santa and gets no parcel
// (from memory), so it is malformed.
func CheckPostalCode(province, code string) ZIPVerdict {
	tidy, ok := tidyPostalCode(code)
	switch {
	case !ok:
		return ZIPVerdict{Kind: ZIPMalformed, Hint: "A Canadian postal code looks like K1A 0B1."}
	case tidy == "H0H 0H0":
		return ZIPVerdict{Kind: ZIPMalformed, Hint: "Only letters to Santa go to that code. Please write your own."}
	}
	return verdict("CA", province, tidy, slices.Clone(postalLetters[tidy[0]]), "postal code")
}

// tidyPostalCode reads A1A 1A1 in any case, with a blank, a hyphen or nothing
// between the halves. D F I O Q U are never used, W and Z never first.
func tidyPostalCode(text string) (string, bool) {
	body := strings.ToUpper(strings.TrimSpace(text))
	if len(body) == 7 && (body[3] == ' ' || body[3] == '-') {
		body = body[:3] + body[4:]
	}
	if len(body) != 6 || postalLetters[body[0]] == nil {
		return "", false
	}
	for i := range len(body) {
		letter := strings.IndexByte("ABCEGHJKLMNPRSTVWXYZ", body[i]) >= 0
		digit := body[i] >= '0' && body[i] <= '9'
		if i%2 == 0 && !letter || i%2 == 1 && !digit {
			return "", false
		}
	}
	return body[:3] + " " + body[3:], true
}
