package check

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"evenhand/draw"
)

// Signature lines in every form that the protocol ("Conventions", note) lets
// in or refuses, in one note at a time.
func TestSignatureLinesAgree(t *testing.T) {
	const dash = "— "
	witness := func(n int) string {
		return strings.Repeat(dash+"witness.example.com "+b64(append([]byte("wxyz"), make([]byte, 64)...))+"\n", n)
	}
	var all []mutant
	files := []string{"opening.txt", "freeze.txt", "outcome.1.txt"}
	if underRace {
		files = files[:2] // each is read by code of its own, the third as the second
	}
	for _, file := range files {
		one := resign(t, "full")
		signed := one.sign()
		text, own, _ := strings.Cut(string(signed[file]), "\n\n")
		fields := strings.Fields(own)
		for what, lines := range map[string]string{
			"own twice":                    own + own,
			"none":                         "",
			"a witness before":             witness(1) + own,
			"16 witnesses":                 own + witness(16),
			"17 witnesses":                 own + witness(17),
			"101 witnesses":                own + witness(101),
			"witness alone":                witness(1),
			"no last line end":             strings.TrimSuffix(own, "\n"),
			"an empty line after":          own + "\n",
			"an empty line between":        own + "\n" + witness(1),
			"a hyphen for the dash":        strings.Replace(own, "—", "-", 1),
			"no space after the dash":      strings.Replace(own, dash, "—", 1),
			"two spaces":                   strings.Replace(own, " "+fields[2], "  "+fields[2], 1),
			"nothing after the name":       dash + fields[1] + "\n",
			"a plus in a name":             own + dash + "a+b " + fields[2] + "\n",
			"a name not in ASCII":          own + dash + "bücher.example " + fields[2] + "\n",
			"a control character":          own + dash + "a\x01b " + fields[2] + "\n",
			"four bytes":                   own + dash + "witness.example.com " + b64([]byte("wxyz")) + "\n",
			"five bytes":                   own + dash + "witness.example.com " + b64([]byte("wxyz5")) + "\n",
			"no base64":                    own + dash + "witness.example.com !!!!\n",
			"base64 without its padding":   own + dash + "witness.example.com " + strings.TrimRight(b64([]byte("wxyz5")), "=") + "\n",
			"unused bits of base64":        own + dash + "witness.example.com d3h5ejV=\n",
			"base64 of another alphabet":   own + dash + "witness.example.com d3h5ej-_\n",
			"own name, another key id":     dash + fields[1] + " " + b64(append([]byte("wxyz"), make([]byte, 64)...)) + "\n",
			"own name, short":              dash + fields[1] + " " + fields[2][:8] + "\n",
			"own name in capitals":         strings.Replace(own, fields[1], strings.ToUpper(fields[1]), 1),
			"own signature of other bytes": dash + fields[1] + " " + strings.Replace(fields[2], fields[2][20:24], "AAAA", 1) + "\n",
			"a CR":                         strings.Replace(own, "\n", "\r\n", 1),
		} {
			pub := one.sign()
			pub[file] = []byte(text + "\n\n" + lines)
			all = append(all, mutant{file + ": " + what, pub})
		}
		big := one.sign()
		big[file] = append([]byte(text+"\n\n"+own), bytes.Repeat([]byte(witness(1)), 1<<20/len(witness(1)))...)
		all = append(all, mutant{file + ": more than 1 MiB", big})
	}
	agree(t, all)
}

// Lists in every form, the freeze signed again for each, so that a list is
// refused for what it is and not for its hash. The long one has more than one
// block of lines.
func TestListsAgree(t *testing.T) {
	short := resign(t, "full")
	long := manyTickets(t, 4100)
	var all []mutant
	for name, one := range map[string]*resigned{"short": short, "long": long} {
		roll, excluded := bytes.SplitAfter(one.pub["roll.txt"], []byte("\n")), bytes.SplitAfter(one.pub["excluded.txt"], []byte("\n"))
		roll, excluded = roll[:len(roll)-1], excluded[:len(excluded)-1]
		add := func(what string, roll, excluded [][]byte) {
			for _, fit := range []bool{true, false} {
				if underRace && name == "long" && !fit {
					continue
				}
				m := &resigned{t: t, signer: one.signer, texts: map[string]string{}, pub: folder{}}
				for k, v := range one.texts {
					m.texts[k] = v
				}
				for k, v := range one.pub {
					m.pub[k] = v
				}
				m.pub["roll.txt"], m.pub["excluded.txt"] = bytes.Join(roll, nil), bytes.Join(excluded, nil)
				if fit {
					m.freezeAgain()
				}
				all = append(all, mutant{fmt.Sprintf("%s: %s, freeze fits %v", name, what, fit), m.sign()})
			}
		}
		edit := func(lines [][]byte, i int, change func(line string) string) [][]byte {
			out := slices.Clone(lines)
			out[i] = []byte(change(string(lines[i])))
			return out
		}
		swap := func(lines [][]byte, i int) [][]byte {
			out := slices.Clone(lines)
			out[i], out[i+1] = out[i+1], out[i]
			return out
		}
		at := []int{0, 1, 30, len(roll) - 2}
		if len(roll) > 4096 {
			at = []int{4096, 4094, 4095, 4097}
		}
		if underRace {
			at = at[:1]
		}
		for _, i := range at {
			add(fmt.Sprint("line twice ", i), slices.Insert(slices.Clone(roll), i, roll[i]), excluded)
			add(fmt.Sprint("lines exchanged ", i), swap(roll, i), excluded)
			add(fmt.Sprint("line missing ", i), slices.Delete(slices.Clone(roll), i, i+1), excluded)
			for what, change := range map[string]func(string) string{
				"small letter":   func(s string) string { return strings.ToLower(s[:16]) + s[16:] },
				"letter U":       func(s string) string { return "U" + s[1:] },
				"capital hex":    func(s string) string { return s[:17] + "A" + s[18:] },
				"two spaces":     func(s string) string { return s[:16] + "  " + s[17:] },
				"CR":             func(s string) string { return strings.TrimSuffix(s, "\n") + "\r\n" },
				"empty line":     func(s string) string { return "\n" + s },
				"byte-order":     func(s string) string { return "\xef\xbb\xbf" + s },
				"short":          func(s string) string { return s[1:] },
				"no line end":    func(s string) string { return strings.TrimSuffix(s, "\n") },
				"not even ASCII": func(s string) string { return "\xff" + s[1:] },
			} {
				add(fmt.Sprint("roll: ", what, " in line ", i), edit(roll, i, change), excluded)
			}
			both := string(roll[i][:16]) + " duplicate\n"
			add(fmt.Sprint("in both lists ", i), roll, insertSorted(excluded, both))
		}
		if underRace && name == "long" {
			continue // the other list is the same as beside the short one
		}
		for what, change := range map[string]func(string) string{
			"unknown reason": func(s string) string { return s[:17] + "unlucky\n" },
			"no reason":      func(s string) string { return s[:16] + "\n" },
			"CR":             func(s string) string { return strings.TrimSuffix(s, "\n") + "\r\n" },
			"empty line":     func(s string) string { return "\n" + s },
			"byte-order":     func(s string) string { return "\xef\xbb\xbf" + s },
			"no line end":    func(s string) string { return strings.TrimSuffix(s, "\n") },
			"70,000 bytes":   func(s string) string { return strings.Repeat("A", 70000) + "\n" },
			"twice":          func(s string) string { return s + s },
			"letter U":       func(s string) string { return "U" + s[1:] },
		} {
			for _, i := range []int{0, len(excluded) - 1} {
				add(fmt.Sprint("excluded: ", what, " in line ", i), roll, edit(excluded, i, change))
			}
		}
		add("excluded lines exchanged", roll, swap(excluded, 0))
		add("no tickets at all", nil, nil)
		add("nobody left out", roll, nil)
	}
	agree(t, all)
}

func insertSorted(lines [][]byte, line string) [][]byte {
	i, _ := slices.BinarySearchFunc(lines, []byte(line), bytes.Compare)
	return slices.Insert(slices.Clone(lines), i, []byte(line))
}

// freezeAgain lets the freeze say what the lists are.
func (r *resigned) freezeAgain() {
	f, err := draw.ParseFreeze("freeze.txt", []byte(r.texts["freeze.txt"]))
	must(r.t, err)
	f.Roll, f.Excluded = int64(bytes.Count(r.pub["roll.txt"], []byte("\n"))), int64(bytes.Count(r.pub["excluded.txt"], []byte("\n")))
	f.RollHash, f.ExcludedHash, f.Issued = draw.Hash(r.pub["roll.txt"]), draw.Hash(r.pub["excluded.txt"]), f.Roll+f.Excluded
	r.texts["freeze.txt"] = string(f.Text())
	r.chain()
}

// manyTickets is the sample "full" with a long list.
func manyTickets(t testing.TB, n int) *resigned {
	t.Helper()
	r := resign(t, "full")
	roll, err := os.ReadFile(drawn(t, n) + "/roll.txt")
	must(t, err)
	r.pub["roll.txt"] = roll
	r.freezeAgain()
	return r
}
