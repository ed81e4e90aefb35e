package check

import (
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// onPage is a check with papers as the page gives it. Package draw faults a
// paper that does not verify, since the person who checks has named the file;
// to the page any link can bring one. So the page's findings, status and
// verdict are those that package draw has of the genuine papers alone, and what
// package draw says of the others stands apart.
func onPage(t testing.TB, fsys fs.FS, opt draw.Options) report {
	t.Helper()
	if len(opt.Receipts)+len(opt.Entries) == 0 {
		return inBrowser(draw.Check(t.Context(), fsys, opt))
	}
	plain, all, genuine := draw.Check(t.Context(), fsys, draw.Options{}), draw.Check(t.Context(), fsys, opt), opt
	notProof := map[string]bool{}
	genuine.Receipts = slices.DeleteFunc(slices.Clone(opt.Receipts), func(a draw.Attachment) bool {
		notProof[a.Name] = !signedFor(plain, a)
		return notProof[a.Name]
	})
	genuine.Entries = slices.DeleteFunc(slices.Clone(opt.Entries), func(a draw.Attachment) bool {
		_, err := draw.ParseEntry(a.Name, a.Data)
		notProof[a.Name] = err != nil
		return err != nil
	})
	want := inBrowser(draw.Check(t.Context(), fsys, genuine))
	for _, f := range all.Findings {
		if notProof[f.File] {
			want.Apart = append(want.Apart, f)
			if f.Level != draw.Fault || all.Status != draw.StatusFault {
				t.Errorf("package draw does not fault %s", f.File)
			}
		}
	}
	unfit := func(f draw.Finding) bool {
		return strings.HasPrefix(f.Text, "fits neither a receipt given here nor the list") || strings.HasPrefix(f.Text, "is the entry of another draw")
	}
	for _, f := range want.Findings {
		if unfit(f) {
			want.Apart = append(want.Apart, f)
		}
	}
	want.Findings = slices.DeleteFunc(want.Findings, unfit)
	return want
}

// signedFor tells whether a receipt is of this draw and its opening's key.
func signedFor(r draw.Report, a draw.Attachment) bool {
	v, err := draw.ParseVerifier(r.Key)
	if err != nil {
		return false
	}
	text, err := draw.OpenNote(a.Name, a.Data, v)
	if err != nil {
		return false
	}
	receipt, err := draw.ParseReceipt(a.Name, text)
	return err == nil && receipt.Draw == r.Draw
}

func papers(all []draw.Attachment) string {
	var out []string
	for _, a := range all {
		out = append(out, fmt.Sprintf("{name: %q, data: atob(%q)}", a.Name, b64(a.Data)))
	}
	return "[" + strings.Join(out, ", ") + "]"
}

// A pile is the papers of one check.
type pile struct {
	what string
	opt  draw.Options
}

// papersAgree holds both checks of one publication with each pile against each
// other, and answers what the browser said.
func papersAgree(t *testing.T, dir fs.FS, all []pile) []report {
	t.Helper()
	url, b := bench(t)
	source := chosen(t, dir)
	var calls []string
	for _, p := range all {
		calls = append(calls, fmt.Sprintf("() => checkPublication(%s, {relays: [%q], receipts: %s, entries: %s})", source, url+"/relay", papers(p.opt.Receipts), papers(p.opt.Entries)))
	}
	got := reports(b, calls)
	for i, p := range all {
		if d := differ(got[i], onPage(t, dir, p.opt)); d != "" {
			t.Errorf("%s: %s", p.what, d)
		}
	}
	return got
}

// Proofs of entry and entry texts that were tampered with.
func TestTamperedPapersAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 3))
	tampered := []byte(" \n\r\x00-0a9ZI.é\xff+")
	var all []pile
	for _, names := range [][]string{{"in.receipt1.txt", "in.entry1.txt"}, {"changed.receipt1.txt", "changed.receipt2.txt", "changed.entry2.txt"}} {
		for i := range 60 {
			opt, _ := attached(t, names)
			which := r.IntN(len(names))
			papers := slices.Concat(opt.Receipts, opt.Entries)
			data := slices.Clone(papers[which].Data)
			at, c := r.IntN(len(data)), tampered[r.IntN(len(tampered))]
			switch r.IntN(4) {
			case 0:
				data[at] ^= 1 << r.IntN(8)
			case 1:
				data[at] = c
			case 2:
				data = slices.Insert(data, at, c)
			case 3:
				data = slices.Delete(data, at, at+1)
			}
			papers[which].Data = data
			opt.Receipts, opt.Entries = papers[:len(opt.Receipts)], papers[len(opt.Receipts):]
			all = append(all, pile{fmt.Sprintf("%v, %d: %s byte %d", names, i, papers[which].Name, at), opt})
		}
	}
	papersAgree(t, os.DirFS(filepath.Join(vectors, "publications", "full")), some(all, 7))
}

// Papers that anybody can make, or has from another giveaway: the page's answer
// is the same as without them. A signed proof of this draw still counts.
func TestUnsignedPapersChangeNothing(t *testing.T) {
	one := resign(t, "full")
	dir := one.sign().fs()
	papers, _ := attached(t, []string{"in.receipt1.txt", "in.entry1.txt"})
	given, err := draw.ParseReceipt("", textPart(papers.Receipts[0].Data))
	must(t, err)
	given.Opening = draw.Hash([]byte(one.texts["opening.txt"]))
	stranger, err := draw.NewSigner(rand.NewChaCha8([32]byte{9}), one.signer.Name())
	must(t, err)
	signed := func(by draw.Signer, change func(*draw.Receipt)) draw.Options {
		r := given
		change(&r)
		note, err := by.Sign(r.Text())
		must(t, err)
		return draw.Options{Receipts: []draw.Attachment{{Name: "your proof of entry", Data: note}}}
	}
	as := func(data string) draw.Options {
		return draw.Options{Receipts: []draw.Attachment{{Name: "your proof of entry", Data: []byte(data)}}}
	}
	entry := func(from, to string) draw.Options {
		text := string(papers.Entries[0].Data)
		if !strings.Contains(text, from) {
			t.Fatalf("no %q in the entry text", from)
		}
		return draw.Options{Entries: []draw.Attachment{{Name: "entry.txt", Data: []byte(strings.Replace(text, from, to, 1))}}}
	}
	same := func(*draw.Receipt) {}
	proof := []pile{
		{"a signed proof", signed(one.signer, same)},
		{"a signed proof of a ticket in no list", signed(one.signer, func(r *draw.Receipt) { r.Ticket[0] ^= 1 })},
	}
	none := []pile{
		{"no papers", draw.Options{}},
		{"a first line and no more", as("evenhand/receipt/v1\ndraw full\n")},
		{"nothing", as("")},
		{"a text without a signature", as(string(given.Text()))},
		{"another key of the same name", signed(stranger, same)},
		{"another draw under the same key", signed(one.signer, func(r *draw.Receipt) { r.Draw = "another" })},
		{"an entry text as a proof", as(string(papers.Entries[0].Data))},
		{"the opening as a proof", as(string(one.sign()["opening.txt"]))},
		{"an entry text that goes on", entry("\nship ", "\nship NZ\n")},
		{"an entry text of another salt", entry("\nsalt ", "\nsalt 0")},
		{"an entry text of another draw", entry("\ndraw ", "\ndraw x")},
		{"an entry text of another address", entry("@", "x@")},
	}
	got := papersAgree(t, dir, slices.Concat(proof, none))
	if got[0].Verdict != draw.Valid || len(got[0].Apart) != 0 || got[1].Status != draw.StatusFault {
		t.Errorf("signed proofs: %+v, %+v", got[0], got[1])
	}
	bare := got[len(proof)]
	for i, p := range none[1:] {
		one := got[len(proof)+1+i]
		if len(one.Apart) == 0 {
			t.Errorf("%s: nothing is said of it", p.what)
		}
		one.Apart = nil
		if d := differ(one, bare); d != "" {
			t.Errorf("%s: %s", p.what, d)
		}
	}
}

// Go's tables are those of Unicode 15.0, browsers have newer ones: U+105D2
// U+0307 has a composed form since 16.0 (UnicodeData.txt: 105C9 is their
// composition). Where the tables may differ the page says so and faults
// nothing; e with U+0301 has been one letter, U+00E9, in all of them.
func TestAddressesBesideTheTables(t *testing.T) {
	url, b := bench(t)
	papers, _ := attached(t, []string{"in.entry1.txt"})
	if !browsertest.Eval[bool](b, `"\u{105d2}\u0307".normalize("NFC") === "\u{105c9}"`) {
		t.Fatal("this browser does not know Unicode 16.0")
	}
	for name, c := range map[string]struct {
		letters string
		says    string
		program bool // package draw reads it as an address
	}{
		"new letters":     {"\U000105d2\u0307", "not checked: whether the address is in NFC", norm.Version == "15.0.0"},
		"not in NFC":      {"e\u0301", "want an address of", false},
		"in NFC":          {"\u00e9", "", true},
		"in NFC, not old": {"\u0b94", "", true},
		"both":            {"\U000105d2\u0307e\u0301", "want an address of", false},
	} {
		text := strings.Replace(string(papers.Entries[0].Data), "\nemail ", "\nemail "+c.letters, 1)
		if _, err := draw.ParseEntry("", []byte(text)); (err == nil) != c.program {
			t.Errorf("%s: package draw says %v", name, err)
		}
		got := browsertest.Eval[report](b, fmt.Sprintf(`checkPublication(%s, {relays: [%q], receipts: [], entries: [{name: "entry.txt", data: atob(%q)}]}).then(({line, ...r}) => r)`,
			chosen(t, os.DirFS(filepath.Join(vectors, "publications", "full"))), url+"/relay", b64([]byte(text))))
		if got.Status != draw.StatusValid || got.Verdict != draw.Valid {
			t.Errorf("%s: status %d, %s: %v", name, got.Status, got.Verdict, got.Findings)
		}
		said := ""
		for _, f := range got.Apart {
			said += f.String() + "\n"
		}
		if c.says == "" && (strings.Contains(said, "NFC") || !strings.Contains(said, "fits neither")) || !strings.Contains(said, c.says) {
			t.Errorf("%s: the page says %q, want %q", name, said, c.says)
		}
	}
}
