package draw_test

import (
	"encoding/base64"
	"encoding/hex"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenhand/draw"
)

var update = flag.Bool("update", false, "write the golden files; read the difference")

// golden compares with testdata/<name>.golden.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name+".golden")
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	a, b := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			t.Fatalf("%s line %d:\ngot  %s\nwant %s", path, i+1, a[i], b[i])
		}
	}
	t.Fatalf("%s: %d lines, want %d", path, len(a), len(b))
}

// A wrong variant of one file: how it is made wrong, and what it is called.
type wrong struct {
	name string
	edit func(text string) string
}

// Edits. Each changes the first line that begins with the key.

func onLine(key string, change func(line string) string) func(string) string {
	return func(text string) string {
		all := strings.SplitAfter(text, "\n")
		for i, l := range all {
			if strings.HasPrefix(l, key) {
				all[i] = change(strings.TrimSuffix(l, "\n")) + "\n"
				return strings.Join(all, "")
			}
		}
		return text
	}
}

func setLine(key, line string) func(string) string {
	return onLine(key, func(string) string { return line })
}

func swap(old, new string) func(string) string {
	return func(text string) string { return strings.Replace(text, old, new, 1) }
}

func without(key string) func(string) string {
	return func(text string) string { return regexp.MustCompile(`(?m)^`+key+`.*\n`).ReplaceAllString(text, "") }
}

func twice(key string) func(string) string {
	return onLine(key, func(l string) string { return l + "\n" + l })
}

func upperHex(text string) string {
	return regexp.MustCompile(`[0-9a-f]{64}`).ReplaceAllStringFunc(text, strings.ToUpper)
}

func shortHex(text string) string {
	return regexp.MustCompile(`[0-9a-f]{64}`).ReplaceAllStringFunc(text, func(s string) string { return s[1:] })
}

func swapLines(text string, i, j int) string {
	all := strings.SplitAfter(text, "\n")
	all[i], all[j] = all[j], all[i]
	return strings.Join(all, "")
}

// general are the faults that any text of keys can have. first and last are
// keys of it, after and without one more value.
func general(first, second, last string) []wrong {
	return []wrong{
		{"first line of another file", onLine("evenhand/", func(string) string { return "evenhand/nothing/v1" })},
		{"CR LF", func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }},
		{"one CR", onLine(second, func(l string) string { return l + "\r" })},
		{"byte-order mark", func(s string) string { return "\ufeff" + s }},
		{"two spaces", onLine(second, func(l string) string { return strings.Replace(l, " ", "  ", 1) })},
		{"space at the end", onLine(second, func(l string) string { return l + " " })},
		{"space before", onLine(second, func(l string) string { return " " + l })},
		{"tab", onLine(second, func(l string) string { return strings.Replace(l, " ", "\t", 1) })},
		{"unknown key", onLine(second, func(l string) string { return "colour red\n" + l })},
		{"unknown last key", func(s string) string { return s + "colour red\n" }},
		{"missing key", without(second)},
		{"missing last key", without(last)},
		{"key twice", twice(first)},
		{"order swapped", func(s string) string { return swapLines(s, 1, 2) }},
		{"key in capitals", onLine(second, func(l string) string { return strings.ToUpper(l[:1]) + l[1:] })},
		{"key without its value", setLine(second, strings.TrimSpace(second))},
		{"one value too many", onLine(second, func(l string) string { return l + " more" })},
		{"empty line", onLine(second, func(l string) string { return "\n" + l })},
		{"not ASCII", onLine(second, func(l string) string { return l + "é" })},
		{"hex in capitals", upperHex},
		{"hex too short", shortHex},
		{"truncated", func(s string) string { return s[:len(s)/2] + "\n" }},
		{"draw id of another draw", setLine("draw ", "draw trail-socks")},
		{"draw id in capitals", setLine("draw ", "draw Trail-boots")},
		{"draw id ends in a hyphen", setLine("draw ", "draw trail-")},
		{"draw id too long", setLine("draw ", "draw "+strings.Repeat("a", 65))},
	}
}

var wrongTimes = []struct{ name, value string }{
	{"second 60", "2026-08-22T21:39:60Z"},
	{"30 February", "2026-02-30T20:00:00Z"},
	{"29 February of no leap year", "2026-02-29T20:00:00Z"},
	{"year 1999", "1999-12-31T23:59:59Z"},
	{"year 10000", "10000-01-01T00:00:00Z"},
	{"hour 24", "2026-08-22T24:00:00Z"},
	{"parts of a second", "2026-08-22T21:39:59.5Z"},
	{"an offset", "2026-08-22T21:39:59+00:00"},
	{"small z", "2026-08-22T21:39:59z"},
	{"no zone", "2026-08-22T21:39:59"},
	{"one digit hour", "2026-08-22T1:39:59Z"},
}

func timesOf(key string) []wrong {
	var out []wrong
	for _, w := range wrongTimes {
		out = append(out, wrong{key + ": " + w.name, setLine(key+" ", key+" "+w.value)})
	}
	return out
}

func numbersOf(key, rest string) []wrong {
	var out []wrong
	for _, w := range []struct{ name, value string }{
		{"leading zero", "01"}, {"16 digits", "1000000000000000"}, {"minus", "-1"}, {"plus", "+1"},
		{"a fraction", "1.0"}, {"hex", "0x1"}, {"a word", "one"}, {"digits of another script", "١"},
	} {
		out = append(out, wrong{key + ": " + w.name, setLine(key+" ", key+" "+w.value+rest)})
	}
	return out
}

// runWrong runs every variant and compares what is said with the golden file.
// check returns the lines for one variant; "" is a variant that passed.
func runWrong(t *testing.T, file string, variants []wrong, check func(t *testing.T, w wrong) string) {
	t.Helper()
	if len(variants) < 12 {
		t.Errorf("%s: %d wrong variants, want at least 12", file, len(variants))
	}
	var out strings.Builder
	seen := map[string]bool{}
	for _, w := range variants {
		if seen[w.name] {
			t.Errorf("%s: %s twice", file, w.name)
		}
		seen[w.name] = true
		t.Run(file+"/"+w.name, func(t *testing.T) {
			said := check(t, w)
			if said == "" {
				t.Errorf("passed: %s, %s", file, w.name)
			}
			fmt.Fprintf(&out, "%s\n%s", w.name, said)
		})
	}
	golden(t, "wrong/"+file, out.String())
}

// said are the faults and what was not checked, with the exit status.
func said(t *testing.T, r draw.Report, files ...string) string {
	t.Helper()
	var b strings.Builder
	for _, f := range r.Findings {
		if f.Level == draw.Fault || strings.HasPrefix(f.Text, "not checked") {
			fmt.Fprintf(&b, "    %d %s\n", r.Status, f)
			if !slices.Contains(files, f.File) {
				t.Errorf("a finding about %s; wrong is %s: %s", f.File, files, f)
			}
		}
	}
	if r.Status == 0 && b.Len() > 0 {
		t.Errorf("status 0 with\n%s", b.String())
	}
	if r.Status != 0 && (r.Verdict == draw.Valid || r.Verdict == draw.ValidSoFar) {
		t.Errorf("status %d, verdict %q", r.Status, r.Verdict)
	}
	return b.String()
}

// inForge checks a publication with one text edited before it is signed.
func inForge(stage draw.Stage, file string, set func(f *forge), also ...string) func(*testing.T, wrong) string {
	return func(t *testing.T, w wrong) string {
		f := newForge(t)
		f.stage = stage
		if set != nil {
			set(f)
		}
		f.edit[file] = w.edit
		return said(t, f.check(draw.Options{}), append(also, file)...)
	}
}

func join(lists ...[]wrong) []wrong {
	var out []wrong
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

func TestWrongOpening(t *testing.T) {
	digest := strings.Repeat("5", 64)
	seals := func(roles ...string) string {
		var b strings.Builder
		for _, r := range roles {
			b.WriteString("seal " + r + " " + digest + "\n")
		}
		return strings.TrimSuffix(b.String(), "\n")
	}
	own := []wrong{
		{"version 2", setLine("evenhand/", "evenhand/opening/v2")},
		{"version 10", setLine("evenhand/", "evenhand/opening/v10")},
		{"version 1 with a zero", setLine("evenhand/", "evenhand/opening/v01")},
		{"winners 0", setLine("winners ", "winners 0")},
		{"winners 10001", setLine("winners ", "winners 10001")},
		{"10001 places", setLine("alternates ", "alternates 10000")},
		{"no alternates line", without("alternates ")},
		{"revision 0", setLine("revision ", "revision 0")},
		{"revision 2 without replaces", setLine("revision ", "revision 2")},
		{"replaces in revision 1", onLine("revision ", func(l string) string { return l + "\nreplaces " + digest })},
		{"closes is opens", setLine("closes ", "closes 2026-08-08T21:40:00Z")},
		{"event is closes", setLine("event ", "event 2026-08-22T19:40:00Z")},
		{"opens after closes", setLine("opens ", "opens 2026-08-23T21:40:00Z")},
		{"no seal", without("seal ")},
		{"no seal of the host", without("seal host")},
		{"roles not ascending", func(s string) string { return swapLines(s, 10, 11) }},
		{"a role twice", twice("seal host")},
		{"role in capitals", swap("seal sponsor", "seal Sponsor")},
		{"role begins with a digit", swap("seal sponsor", "seal 2nd")},
		{"role ends in a hyphen", swap("seal sponsor", "seal sponsor-")},
		{"role too long", swap("seal sponsor", "seal s"+strings.Repeat("p", 32))},
		{"9 seals", func(s string) string {
			return setLine("seal ", seals("a", "b", "c", "d", "e", "f", "g", "h", "host"))(without("seal sponsor")(s))
		}},
		{"seal after beacon", func(s string) string { return swapLines(s, 11, 12) }},
		{"two beacons", twice("beacon ")},
		{"follows itself", func(s string) string { return s + "follows trail-boots\n" }},
		{"follows before beacon", onLine("beacon ", func(l string) string { return "follows trail-hats\n" + l })},
		{"signer's name in capitals", swap("signer draws", "signer Draws")},
		{"signer's key id in capitals", onLine("signer ", func(l string) string {
			at := strings.Index(l, "+")
			return l[:at] + strings.ToUpper(l[at:at+9]) + l[at+9:]
		})},
		{"signer with another key id", onLine("signer ", func(l string) string {
			at := strings.Index(l, "+")
			return l[:at] + "+00000000" + l[at+9:]
		})},
		{"signer's base64 without padding", onLine("signer ", func(l string) string { return l[:len(l)-1] })},
		{"signer without a key", setLine("signer ", "signer draws.slowmiles.example")},
	}
	for _, k := range unsoundKeys(t) {
		own = append(own, wrong{"signer's key: " + k.name, setLine("signer ", "signer "+verifierKey("draws.slowmiles.example", k.key))})
	}
	all := join(general("draw", "revision ", "beacon "), own, timesOf("opens"), timesOf("event"), numbersOf("winners", ""), numbersOf("revision", ""))
	// The general faults of the first line end with status 2, others with 1.
	runWrong(t, draw.OpeningFile, drop(all, "missing last key", "draw id of another draw"), inForge(draw.StageOpen, draw.OpeningFile, nil))
}

// drop leaves out variants that are no faults in this file.
func drop(all []wrong, names ...string) []wrong {
	var out []wrong
	for _, w := range all {
		keep := true
		for _, n := range names {
			keep = keep && w.name != n
		}
		if keep {
			out = append(out, w)
		}
	}
	return out
}

type unsoundKey struct {
	name string
	key  []byte
}

// unsoundKeys are encodings of points of small order, and such that are not
// canonical. Sources: the eight points of the torsion subgroup of
// edwards25519 and their non-canonical forms, from memory of "Taming the Many
// EdDSAs" (Chalkias, Garillot, Nikolaenko, 2020), table 1; RFC 8032, section
// 5.1.3: y is below p, and x = 0 takes no sign bit.
func unsoundKeys(t testing.TB) []unsoundKey {
	t.Helper()
	ff := strings.Repeat("ff", 30)
	var out []unsoundKey
	for _, k := range []struct{ name, hex string }{
		{"the identity", "01" + strings.Repeat("00", 31)},
		{"the identity with a sign bit", "01" + strings.Repeat("00", 30) + "80"},
		{"order 2", "ec" + ff + "7f"},
		{"order 2 with a sign bit", "ec" + ff + "ff"},
		{"order 4", strings.Repeat("00", 32)},
		{"order 4 with a sign bit", strings.Repeat("00", 31) + "80"},
		{"order 8", "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05"},
		{"order 8 with a sign bit", "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85"},
		{"order 8, the other", "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a"},
		{"order 8, the other with a sign bit", "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa"},
		{"y = p", "ed" + ff + "7f"},
		{"y = p + 1", "ee" + ff + "7f"},
		{"y = p + 3, not of small order", "f0" + ff + "7f"},
		{"y = 2, no point", "02" + strings.Repeat("00", 31)},
		{"31 bytes", "03" + strings.Repeat("00", 30)},
	} {
		raw, err := hex.DecodeString(k.hex)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, unsoundKey{k.name, raw})
	}
	return out
}

func TestWrongRevision(t *testing.T) {
	revise := func(f *forge) {
		f.revise = []func(*draw.Opening){func(o *draw.Opening) {
			o.Event, o.Revised = roundTime, roundTime.Add(-3*60*60e9)
		}}
		f.opening.Event = roundTime.Add(-60 * 60e9)
	}
	all := append([]wrong{
		{"no revised", without("revised ")},
		{"no replaces", without("replaces ")},
		{"replaces another", setLine("replaces ", "replaces "+strings.Repeat("5", 64))},
		{"revised at its own event", setLine("revised ", "revised 2026-08-22T21:40:00Z")},
		{"event moved earlier", setLine("event ", "event 2026-08-22T20:39:59Z")},
		{"closes moved earlier", setLine("closes ", "closes 2026-08-22T19:39:59Z")},
		{"nothing changed", setLine("event ", "event 2026-08-22T20:40:00Z")},
		{"opens changed", setLine("opens ", "opens 2026-08-09T21:40:00Z")},
		{"winners changed", setLine("winners ", "winners 2")},
		{"alternates changed", setLine("alternates ", "alternates 4")},
		{"a seal changed", setLine("seal sponsor", "seal sponsor "+strings.Repeat("5", 64))},
		{"beacon left out", without("beacon ")},
		{"follows added", func(s string) string { return s + "follows trail-hats\n" }},
		{"draw id changed", setLine("draw ", "draw trail-socks")},
	}, timesOf("revised")...)
	runWrong(t, "opening.txt of revision 2", all, inForge(draw.StageOpen, draw.OpeningFile, revise))
}

func TestWrongRules(t *testing.T) {
	// Any byte counts, and nothing is read but the hash: each variant is a change.
	text := "One pair of hiking boots. No purchase.\n"
	all := []wrong{
		{"empty", func(string) string { return "" }},
		{"truncated", func(s string) string { return s[:10] }},
		{"one bit", swap("One", "One"[:2]+"d")},
		{"CR LF", swap("\n", "\r\n")},
		{"no last LF", func(string) string { return strings.TrimSpace(text) }},
		{"two LF", func(s string) string { return s + "\n" }},
		{"byte-order mark", func(s string) string { return "\ufeff" + s }},
		{"two spaces", swap(" ", "  ")},
		{"space at the end", swap("\n", " \n")},
		{"capitals", func(s string) string { return strings.ToUpper(s) }},
		{"no-break space", swap(" ", "\u00a0")},
		{"a zero byte", func(s string) string { return s + "\x00" }},
		{"a sentence more", func(s string) string { return s + "Shipping is paid by the winner.\n" }},
	}
	runWrong(t, draw.RulesFile, all, func(t *testing.T, w wrong) string {
		f := newForge(t)
		f.file[draw.RulesFile] = w.edit
		return said(t, f.check(draw.Options{}), draw.RulesFile)
	})
}

// lists are the faults that both lists can have.
func lists() []wrong {
	return []wrong{
		{"CR LF", func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }},
		{"byte-order mark", func(s string) string { return "\ufeff" + s }},
		{"two spaces", swap(" ", "  ")},
		{"space at the end", swap("\n", " \n")},
		{"space before", func(s string) string { return " " + s }},
		{"tab", swap(" ", "\t")},
		{"no last LF", func(s string) string { return s[:len(s)-1] }},
		{"empty line at the end", func(s string) string { return s + "\n" }},
		{"empty line first", func(s string) string { return "\n" + s }},
		{"order swapped", func(s string) string { return swapLines(s, 0, 1) }},
		{"a ticket twice", func(s string) string { all := strings.SplitAfter(s, "\n"); return all[0] + s }},
		{"ticket in small letters", func(s string) string { return strings.ToLower(s[:16]) + s[16:] }},
		{"ticket with hyphens", func(s string) string { return s[:4] + "-" + s[4:8] + "-" + s[8:12] + "-" + s[12:] }},
		{"ticket of 15 characters", func(s string) string { return s[1:] }},
		{"ticket with U", func(s string) string { return "U" + s[1:] }},
		{"ticket with I", func(s string) string { return "I" + s[1:] }},
		{"ticket alone", func(s string) string { return s[:16] + s[strings.Index(s, "\n"):] }},
		{"not ASCII", func(s string) string { return "é" + s[1:] }},
		{"one value too many", swap("\n", " more\n")},
		{"truncated", func(s string) string { return s[:len(s)/2] }},
	}
}

func TestWrongRoll(t *testing.T) {
	own := []wrong{
		{"hex in capitals", upperHex},
		{"hex too short", shortHex},
		{"hex too long", swap("\n", "0\n")},
		{"a reason", func(s string) string { return s[:17] + "duplicate" + s[strings.Index(s, "\n"):] }},
	}
	runWrong(t, draw.RollFile, join(lists(), own), inForge(draw.StageFrozen, draw.RollFile, nil))
}

func TestWrongExcluded(t *testing.T) {
	in := newForge(t).roll[1].String()
	reason := func(r string) func(string) string {
		return func(s string) string { return s[:17] + r + s[strings.Index(s, "\n"):] }
	}
	own := []wrong{
		{"unknown reason", reason("age")},
		{"reason in capitals", reason("Duplicate")},
		{"reason empty", reason("")},
		{"a commitment", reason(strings.Repeat("5", 64))},
		{"in the roll too", func(s string) string { return in + " duplicate\n" + s }},
		{"line of 100,000 bytes", reason(strings.Repeat("x", 100_000))},
	}
	runWrong(t, draw.ExcludedFile, join(lists(), own), inForge(draw.StageFrozen, draw.ExcludedFile, nil))
}

// After the freeze a list is another one: its hash says so.
func TestWrongListAfterFreeze(t *testing.T) {
	f := newForge(t)
	extra := draw.Ticket{}
	copy(extra[:], "ZZZZZZZZZZZZZZZZ")
	all := []wrong{
		{"a ticket more", func(s string) string { return s + fmt.Sprintf("%s %064d\n", extra, 0) }},
		{"a ticket less", func(s string) string { return s[82:] }},
		{"another commitment", func(s string) string { return s[:17] + strings.Repeat("0", 64) + s[81:] }},
		{"another ticket", func(s string) string { return strings.Replace(s, f.roll[6].String(), extra.String(), 1) }},
		{"empty", func(string) string { return "" }},
	}
	var out strings.Builder
	for _, w := range all {
		f := newForge(t)
		f.file[draw.RollFile] = w.edit
		got := said(t, f.check(draw.Options{}), draw.RollFile)
		if got == "" {
			t.Errorf("passed: %s", w.name)
		}
		out.WriteString(w.name + "\n" + got)
	}
	golden(t, "wrong/roll.txt changed later", out.String())
}

func TestWrongFreeze(t *testing.T) {
	own := []wrong{
		{"another opening", setLine("opening ", "opening "+strings.Repeat("5", 64))},
		{"frozen before closes", setLine("frozen ", "frozen 2026-08-22T19:39:59Z")},
		{"frozen at the event", setLine("frozen ", "frozen 2026-08-22T21:40:00Z")},
		{"issued is not the sum", setLine("issued ", "issued 10")},
		{"a ticket too many, sums right", func(s string) string {
			return swap("roll 7", "roll 8")(swap("issued 9", "issued 10")(s))
		}},
		{"roll and excluded exchanged", func(s string) string { return swap("roll 7", "roll 2")(swap("excluded 2", "excluded 7")(s)) }},
		{"another hash of the roll", onLine("roll ", func(string) string { return "roll 7 " + strings.Repeat("5", 64) })},
		{"another hash of excluded", onLine("excluded ", func(string) string { return "excluded 2 " + strings.Repeat("5", 64) })},
		{"roll without a hash", setLine("roll ", "roll 7")},
		{"no round", without("round ")},
		{"round 0", setLine("round ", "round 0")},
		{"the round before", setLine("round ", "round 31543811")},
		{"the round after", setLine("round ", "round 31543813")},
	}
	all := join(general("draw", "opening ", "round "), own, timesOf("frozen"), numbersOf("issued", ""), numbersOf("round", ""))
	runWrong(t, draw.FreezeFile, drop(all, "missing last key"),
		// What a freeze says of a list is found where the list stands.
		inForge(draw.StageFrozen, draw.FreezeFile, nil, draw.RollFile, draw.ExcludedFile))
}

func TestWrongRecord(t *testing.T) {
	f := newForge(t)
	low := f.make().places
	digest := strings.Repeat("5", 64)
	own := []wrong{
		{"another freeze", setLine("freeze ", "freeze "+digest)},
		{"drawn before the event", setLine("drawn ", "drawn 2026-08-22T21:39:59Z")},
		{"no secret", without("secret ")},
		{"the host's secret is missing", without("secret host")},
		{"the host withheld", setLine("secret host", "withheld host")},
		{"another secret", setLine("secret sponsor", "secret sponsor "+digest)},
		{"secrets in another order", func(s string) string { return swapLines(s, 4, 5) }},
		{"a secret of nobody", swap("secret sponsor", "secret teller")},
		{"withheld with a secret", swap("secret sponsor", "withheld sponsor")},
		{"9 secrets", onLine("secret sponsor", func(l string) string { return strings.Repeat(l+"\n", 7) + l })},
		{"no beacon", without("beacon ")},
		{"another round", swap("beacon 31543812", "beacon 31543811")},
		{"round 0", swap("beacon 31543812", "beacon 0")},
		{"signature with one bit changed", swap("70d7\n", "70d6\n")},
		{"signature in capitals", onLine("beacon ", func(l string) string { return "beacon" + strings.ToUpper(l[len("beacon"):]) })},
		{"signature of 96 bytes", onLine("beacon ", func(l string) string { return l + l[len("beacon 31543812 "):] })},
		{"signature at infinity", setLine("beacon ", "beacon 31543812 c0"+strings.Repeat("0", 94))},
		{"another seed", setLine("seed ", "seed "+digest)},
		{"no seed", without("seed ")},
		{"place 0", swap("place 1 ", "place 0 ")},
		{"a place missing", without("place 2 ")},
		{"the last place missing", without("place 4 ")},
		{"places exchanged", func(s string) string {
			s = swap("place 1 ", "place x ")(s)
			s = swap("place 2 ", "place 1 ")(s)
			s = swap("place x ", "place 2 ")(s)
			return swapLines(s, 8, 9)
		}},
		{"tickets exchanged", func(s string) string {
			a, b := low[0].Ticket.String(), low[1].Ticket.String()
			return strings.NewReplacer(a, b, b, a).Replace(s)
		}},
		{"another score", swap(low[2].Score.String(), digest)},
		{"a ticket from nowhere", swap(low[3].Ticket.String(), "ZZZZZZZZZZZZZZZZ")},
		{"a place too many", func(s string) string { return s + "place 5 ZZZZZZZZZZZZZZZZ " + digest + "\n" }},
		{"10001 places", func(s string) string {
			var b strings.Builder
			b.WriteString(s)
			for i := 5; i <= 10001; i++ {
				fmt.Fprintf(&b, "place %d ZZZZZZZZZZZZZZZZ %s\n", i, digest)
			}
			return b.String()
		}},
		{"ticket with hyphens", swap(low[0].Ticket.String(), low[0].Ticket.Grouped())},
	}
	all := join(general("draw", "freeze ", "place 4"), own, timesOf("drawn"), numbersOf("place", " "+low[0].Ticket.String()+" "+low[0].Score.String()))
	runWrong(t, draw.RecordFile, drop(all, "missing last key"), inForge(draw.StageDrawn, draw.RecordFile, nil))
}

func TestWrongOutcome(t *testing.T) {
	// Drawn 21:41:00; place 1 passed at 22:41 a day later, place 2 confirmed then.
	set := func(f *forge) {
		at := f.drawn.Add(25 * 60 * 60e9)
		f.outcomes = []draw.Outcome{
			{Passed: []draw.Passed{{Place: 1, Reason: draw.NoReply, At: at}}},
			{Passed: []draw.Passed{{Place: 1, Reason: draw.NoReply, At: at}}, Confirmed: []draw.Confirmed{{Place: 2, At: at.Add(60e9)}}},
		}
	}
	own := []wrong{
		{"another record", setLine("record ", "record "+strings.Repeat("5", 64))},
		{"revision 0", setLine("revision ", "revision 0")},
		{"revision 1 with replaces", setLine("revision ", "revision 1")},
		{"replaces another", setLine("replaces ", "replaces "+strings.Repeat("5", 64))},
		{"unknown reason", swap("no-reply", "duplicate")},
		{"no reason", swap(" no-reply", "")},
		{"a place not of the record", swap("confirmed 2", "confirmed 5")},
		{"place 0", swap("confirmed 2", "confirmed 0")},
		{"place 10001", swap("confirmed 2", "confirmed 10001")},
		{"out of turn", swap("confirmed 2", "confirmed 3")},
		{"confirmed before its turn", setLine("confirmed ", "confirmed 2 2026-08-23T22:40:59Z")},
		{"passed and confirmed", swap("confirmed 2", "confirmed 1")},
		{"confirmed twice", twice("confirmed ")},
		{"passed twice", twice("passed ")},
		{"confirmed stands first", func(s string) string { return swapLines(s, 5, 6) }},
		{"a pass went away", without("passed ")},
		{"a pass changed its reason", swap("no-reply", "declined")},
		{"a pass changed its time", setLine("passed ", "passed 1 no-reply 2026-08-23T22:40:59Z")},
		{"passes not by place", setLine("passed ", "passed 2 declined 2026-08-23T22:41:00Z\npassed 1 no-reply 2026-08-23T22:41:00Z")},
		{"an earlier line added", setLine("confirmed ", "passed 2 declined 2026-08-23T22:40:59Z")},
	}
	all := join(general("draw", "record ", "confirmed "), own, timesOf("confirmed 2"), numbersOf("confirmed", " 2026-08-24T00:00:00Z"))
	runWrong(t, draw.OutcomeFile, drop(all, "missing last key"), inForge(draw.StageOutcome, draw.OutcomeFile, set))
}

func TestWrongCancelled(t *testing.T) {
	set := func(f *forge) {
		f.cancel = &draw.Cancelled{At: f.frozen, Reason: "prize-withdrawn", Successor: "trail-boots-2"}
	}
	own := []wrong{
		{"another opening", setLine("opening ", "opening "+strings.Repeat("5", 64))},
		{"reason in capitals", setLine("reason ", "reason Postponed")},
		{"reason in words", setLine("reason ", "reason the shop closed")},
		{"reason with a digit first", setLine("reason ", "reason 2late")},
		{"no reason", without("reason ")},
		{"successor is itself", setLine("successor ", "successor trail-boots")},
		{"two successors", twice("successor ")},
	}
	all := drop(join(general("draw", "opening ", "successor "), own, timesOf("cancelled")), "missing last key")
	runWrong(t, draw.CancelledFile, all, inForge(draw.StageFrozen, draw.CancelledFile, set))
}

func TestWrongReceipt(t *testing.T) {
	own := []wrong{
		{"another opening", setLine("opening ", "opening "+strings.Repeat("5", 64))},
		{"in neither list", setLine("ticket ", "ticket ZZZZZZZZZZZZZZZZ")},
		{"ticket in small letters", onLine("ticket ", func(l string) string { return strings.ToLower(l) })},
		{"ticket with hyphens", setLine("ticket ", "ticket ZZZZ-ZZZZ-ZZZZ-ZZZZ")},
		{"entered at frozen", setLine("entered ", "entered 2026-08-22T20:40:00Z")},
	}
	all := join(general("draw", "opening ", "commitment "), own, timesOf("entered"))
	runWrong(t, "receipt.txt", all, func(t *testing.T, w wrong) string {
		f := newForge(t)
		p := f.make()
		text := string(draw.Receipt{Draw: f.opening.Draw, Opening: p.opening, Ticket: f.roll[0],
			Entered: f.opening.Opens, Commitment: f.entry(f.roll[0]).Commitment()}.Text())
		a := draw.Attachment{Name: "receipt.txt", Data: f.sign("", w.edit(text))}
		return said(t, draw.Check(t.Context(), p, draw.Options{Receipts: []draw.Attachment{a}}), "receipt.txt")
	})
}

func TestWrongEntry(t *testing.T) {
	email := func(s string) func(string) string { return setLine("email ", "email "+s) }
	own := []wrong{
		{"no last LF", func(s string) string { return s[:len(s)-1] }},
		{"address of 2 bytes", email("a@")},
		{"address of 255 bytes", email(strings.Repeat("a", 243) + "@example.com")},
		{"address with a space", email("ann lee@example.com")},
		{"address with a no-break space", email("ann\u00a0lee@example.com")},
		{"address with a control character", email("ann\u0085@example.com")},
		{"address with a zero byte", email("ann\x00@example.com")},
		{"address with a line separator", email("ann\u2028@example.com")},
		{"address not in NFC", email("rene\u0301@example.com")},
		{"address not UTF-8", email("ren\xe9@example.com")},
		{"size of another system", setLine("size ", "size kids 8.5 B")},
		{"size without width", setLine("size ", "size womens 8.5")},
		{"size of 13 characters", setLine("size ", "size womens 1234567890123 B")},
		{"size with a comma", setLine("size ", "size womens 8,5 B")},
		{"size none with width", setLine("size ", "size none B")},
		{"country in small letters", setLine("ship ", "ship us")},
		{"country of three letters", setLine("ship ", "ship USA")},
		{"ticket of 15 characters", setLine("ticket ", "ticket ZZZZZZZZZZZZZZZ")},
	}
	parseWrong(t, "entry.txt", newForge(t).entry(newForge(t).roll[0]).Text(),
		drop(join(general("salt", "ticket ", "ship "), own), "draw id of another draw"),
		func(b []byte) error { _, err := draw.ParseEntry("entry.txt", b); return err })
}

func TestWrongSeal(t *testing.T) {
	own := []wrong{
		{"no last LF", func(s string) string { return s[:len(s)-1] }},
		{"signer's key in place of its name", setLine("signer ", "signer draws.slowmiles.example+00000000+AQ==")},
		{"signer in capitals", setLine("signer ", "signer Draws.example")},
		{"signer with a port", setLine("signer ", "signer draws.example:443")},
		{"signer ends in a dot", setLine("signer ", "signer draws.example.")},
		{"role empty", setLine("by ", "by ")},
		{"role in capitals", setLine("by ", "by Host")},
		{"role with an underscore", setLine("by ", "by shop_owner")},
		{"secret of 63 digits", onLine("secret ", func(l string) string { return l[:len(l)-1] })},
		{"secret in base64", setLine("secret ", "secret "+base64.StdEncoding.EncodeToString(make([]byte, 32)))},
	}
	parseWrong(t, "seal.txt", newForge(t).seal("host").Text(),
		drop(join(general("draw", "signer ", "secret "), own), "draw id of another draw"),
		func(b []byte) error { _, err := draw.ParseSeal("seal.txt", b); return err })
}

func parseWrong(t *testing.T, file string, text []byte, all []wrong, parse func([]byte) error) {
	t.Helper()
	if err := parse(text); err != nil {
		t.Fatal(err)
	}
	runWrong(t, file, all, func(t *testing.T, w wrong) string {
		changed := w.edit(string(text))
		if changed == string(text) {
			t.Fatalf("%s changes nothing", w.name)
		}
		err := parse([]byte(changed))
		if err == nil {
			return ""
		}
		if strings.Contains(err.Error(), "example.com") {
			t.Errorf("an address stands in the error: %v", err)
		}
		return "    " + err.Error() + "\n"
	})
}

// The form of a note, whatever its text: the freeze stands for all.
func TestWrongNote(t *testing.T) {
	key := newForge(t).key
	stranger := newSigner(t, 9, "witness.example.org")
	namesake := newSigner(t, 9, key.Name())
	signatures := func(change func(text, line string) string) func(string) string {
		return func(note string) string {
			text, line, _ := strings.Cut(note, "\n\n")
			return text + "\n\n" + change(text+"\n", line)
		}
	}
	raw := func(change func(raw []byte) []byte) func(string) string {
		return signatures(func(_, line string) string {
			at := strings.LastIndex(line, " ") + 1
			b, _ := base64.StdEncoding.DecodeString(strings.TrimSpace(line[at:]))
			return line[:at] + base64.StdEncoding.EncodeToString(change(b)) + "\n"
		})
	}
	all := []wrong{
		{"no signature", signatures(func(string, string) string { return "" })},
		{"no empty line", func(s string) string { return strings.Replace(s, "\n\n", "\n", 1) }},
		{"no last LF", func(s string) string { return s[:len(s)-1] }},
		{"two LF at the end", func(s string) string { return s + "\n" }},
		{"text after the signatures", func(s string) string { return s + "thanks\n" }},
		{"two signature lines of the signer", signatures(func(_, l string) string { return l + l })},
		{"17 witness lines", signatures(func(text, l string) string { return l + strings.Repeat(signatureLine(stranger, text), 17) })},
		{"a witness only", signatures(func(text, _ string) string { return signatureLine(stranger, text) })},
		{"another key under the signer's name", signatures(func(text, _ string) string { return signatureLine(namesake, text) })},
		{"another key beside the signer's", signatures(func(text, l string) string { return l + signatureLine(namesake, text) })},
		{"signature of another text", signatures(func(string, string) string { return signatureLine(key, "evenhand/freeze/v1\n") })},
		{"wrong key id", raw(func(b []byte) []byte { b[0] ^= 1; return b })},
		{"one bit of the signature", raw(func(b []byte) []byte { b[20] ^= 1; return b })},
		{"S not below L", raw(func(b []byte) []byte { return addL(b) })},
		{"signature of 63 bytes", raw(func(b []byte) []byte { return b[:67] })},
		{"signature of 65 bytes", raw(func(b []byte) []byte { return append(b, 0) })},
		{"signature empty", raw(func(b []byte) []byte { return b[:4] })},
		{"base64 with unused bits", signatures(func(_, l string) string { return looseBits(l) })},
		{"base64 without padding", signatures(func(_, l string) string { return strings.TrimRight(l, "=\n") + "\n" })},
		{"base64 of the address kind", signatures(func(_, l string) string { return strings.NewReplacer("+", "-", "/", "_").Replace(l) })},
		{"base64 with a space", signatures(func(_, l string) string { return l[:len(l)-9] + " " + l[len(l)-9:] })},
		{"hyphen in place of the dash", swap("— ", "- ")},
		{"en dash in place of the dash", swap("— ", "– ")},
		{"no space after the dash", swap("— ", "—")},
		{"two spaces after the dash", swap("— ", "—  ")},
		{"space at the end of the signature", signatures(func(_, l string) string { return strings.TrimSuffix(l, "\n") + " \n" })},
		{"CR after the signature", signatures(func(_, l string) string { return strings.TrimSuffix(l, "\n") + "\r\n" })},
		{"signer's name in capitals", signatures(func(_, l string) string { return strings.Replace(l, "draws", "Draws", 1) })},
		{"witness with a plus in its name", signatures(func(_, l string) string { return l + "— a+b AAAAAAA=\n" })},
		{"witness not in ASCII", signatures(func(_, l string) string { return l + "— zeugé.example AAAAAAA=\n" })},
		{"witness without a signature", signatures(func(_, l string) string { return l + "— w.example AAAAAA==\n" })},
		{"witness with loose base64", signatures(func(_, l string) string { return l + "— w.example AAAAAAB=\n" })},
		{"witness line broken", signatures(func(_, l string) string { return l + "— w.example\n" })},
		{"over 1 MiB", signatures(func(_, l string) string {
			return l + "— w.example " + base64.StdEncoding.EncodeToString(make([]byte, 3<<18)) + "\n"
		})},
		{"text tampered with", swap("roll 7", "roll 8")},
		{"one ticket more in the text", swap("issued 9", "issued 8")},
		{"byte-order mark", func(s string) string { return "\ufeff" + s }},
		{"empty file", func(string) string { return "" }},
		{"one LF", func(string) string { return "\n" }},
		{"two LF", func(string) string { return "\n\n" }},
		{"zero bytes", func(s string) string { return strings.Repeat("\x00", len(s)) }},
	}
	runWrong(t, "note", all, func(t *testing.T, w wrong) string {
		f := newForge(t)
		f.stage = draw.StageFrozen
		f.file[draw.FreezeFile] = w.edit
		return said(t, f.check(draw.Options{}), draw.FreezeFile)
	})
}

// addL adds the group's order to S: the same signature to whoever does not ask
// for S < L (RFC 8032, section 5.1.7). L = 2^252 + 27742317777372353535851937790883648493.
func addL(raw []byte) []byte {
	l, _ := hex.DecodeString("edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010")
	carry := 0
	for i := range l {
		sum := int(raw[36+i]) + int(l[i]) + carry
		raw[36+i], carry = byte(sum), sum>>8
	}
	return raw
}

// looseBits sets an unused bit of padded base64: 68 bytes leave one "=" and
// two unused bits.
func looseBits(line string) string {
	const digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
	at := strings.LastIndex(line, "=") - 1
	return line[:at] + string(digits[strings.IndexByte(digits, line[at])+1]) + line[at+1:]
}
