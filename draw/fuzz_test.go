package draw_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"evenhand/draw"
)

// Every parser of bytes from outside: no panic, what parses prints back to the
// same bytes, and an error names file and line. `make fuzz` runs them longer.

// seedTexts adds the texts of every sample whose file has this stem.
func seedTexts(f *testing.F, stem string) {
	f.Helper()
	n := 0
	for _, pattern := range []string{"publications/*/" + stem + "*.txt", "receipts/*." + stem + "*.txt"} {
		paths, err := filepath.Glob(filepath.Join(vectors, pattern))
		if err != nil {
			f.Fatal(err)
		}
		for _, path := range paths {
			b, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			if text, _, ok := bytes.Cut(b, []byte("\n\n")); ok {
				b = append(text, '\n')
			}
			f.Add(b)
			n++
		}
	}
	if n == 0 {
		f.Fatalf("no sample of %s", stem)
	}
}

func fuzzText(f *testing.F, stem string) {
	f.Helper()
	name := stem + ".txt"
	f.Fuzz(func(t *testing.T, text []byte) {
		again, err := reprint(name, text)
		if err == nil && !bytes.Equal(again, text) {
			t.Errorf("%q prints to %q", text, again)
		}
		wantSyntax(t, err, name)
	})
}

// wantSyntax wants an error that names file and line, and holds no byte that a
// terminal would obey.
func wantSyntax(t *testing.T, err error, file string) {
	t.Helper()
	var s *draw.SyntaxError
	switch {
	case err == nil:
	case !errors.As(err, &s) || s.File != file || s.Line < 1 || s.Want == "":
		t.Errorf("got %v, want a file, a line and what was expected", err)
	case strings.ContainsFunc(s.Want, func(r rune) bool { return r < ' ' || r == 0x7f }):
		t.Errorf("a control character stands in %q", s.Want)
	}
}

func FuzzOpening(f *testing.F) {
	seedTexts(f, "opening")
	fuzzText(f, "opening")
}

func FuzzFreeze(f *testing.F) {
	seedTexts(f, "freeze")
	fuzzText(f, "freeze")
}

func FuzzRecord(f *testing.F) {
	seedTexts(f, "record")
	fuzzText(f, "record")
}

func FuzzOutcome(f *testing.F) {
	seedTexts(f, "outcome")
	fuzzText(f, "outcome")
}

func FuzzCancelled(f *testing.F) {
	seedTexts(f, "cancelled")
	fuzzText(f, "cancelled")
}

func FuzzReceipt(f *testing.F) {
	seedTexts(f, "receipt")
	fuzzText(f, "receipt")
}

func FuzzEntry(f *testing.F) {
	seedTexts(f, "entry")
	fuzzText(f, "entry")
}

func FuzzSeal(f *testing.F) {
	f.Add(newForge(f).seal("host").Text())
	f.Add(newForge(f).seal("sponsor").Text())
	fuzzText(f, "seal")
}

// A note that opens is its text, an empty line and signature lines, whatever
// came in; a note changed in any way that still opens has the same text.
func FuzzNote(f *testing.F) {
	forge := newForge(f)
	v, err := draw.ParseVerifier(forge.key.VerifierKey())
	if err != nil {
		f.Fatal(err)
	}
	text := "evenhand/freeze/v1\ndraw trail-boots\n"
	note := forge.sign("", text)
	f.Add(note)
	f.Add(append(note, signatureLine(newSigner(f, 9, "witness.example.org"), text)...))
	f.Add(append(note, note...))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := draw.OpenNote("note.txt", data, v)
		if err != nil {
			var s *draw.SyntaxError
			if !errors.As(err, &s) || s.File != "note.txt" {
				t.Errorf("got %v", err)
			}
			return
		}
		if string(got) != text {
			t.Errorf("another text opens: %q", got)
		}
		rest, ok := bytes.CutPrefix(data, []byte(text+"\n"))
		if !ok || bytes.Count(rest, []byte("— draws.slowmiles.example ")) != 1 || !bytes.HasSuffix(rest, []byte("\n")) {
			t.Errorf("opens: %q", data)
		}
	})
}

func FuzzVerifier(f *testing.F) {
	f.Add(newForge(f).key.VerifierKey())
	f.Add("PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW")
	for _, k := range unsoundKeys(f) {
		f.Add(verifierKey("draws.slowmiles.example", k.key))
	}
	f.Fuzz(func(t *testing.T, key string) {
		v, err := draw.ParseVerifier(key)
		if err != nil {
			return
		}
		name, rest, _ := strings.Cut(key, "+")
		if v.Key() != key || v.Name() != name || !draw.ValidSigner(name) || len(rest) != len("00000000+")+44 {
			t.Errorf("%q is taken as name %q, key %q", key, v.Name(), v.Key())
		}
	})
}

func FuzzSigner(f *testing.F) {
	f.Add(newForge(f).key.Secret())
	f.Fuzz(func(t *testing.T, secret string) {
		s, err := draw.ParseSigner(secret)
		if err != nil {
			if strings.Contains(err.Error(), secret) && len(secret) > 20 {
				t.Errorf("the secret stands in the error")
			}
			return
		}
		note, err := s.Sign([]byte("x\n"))
		if err != nil {
			t.Fatal(err)
		}
		v, err := draw.ParseVerifier(s.VerifierKey())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := draw.OpenNote("x", note, v); err != nil {
			t.Errorf("its own note does not open: %v", err)
		}
	})
}

// What a person typed is read, printed in groups, and read again as the same.
func FuzzTicket(f *testing.F) {
	for _, s := range []string{"K7QF-2M9X-4RTB-W8ZC", "k7qf2m9x4rtbw8zc", "koqf 2m9x irtb lzco", "UUUU", "", "K7QF–2M9X", "\u017f"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		x, err := draw.ReadTicket(s)
		if err != nil {
			if strict, err := draw.ParseTicket(s); err == nil {
				t.Errorf("%q parses as %s, but can't be typed", s, strict)
			}
			return
		}
		for _, form := range []string{x.String(), x.Grouped(), strings.ToLower(x.Grouped())} {
			if again, err := draw.ReadTicket(form); err != nil || again != x {
				t.Errorf("%q reads as %s, which reads as %s, %v", s, x, again, err)
			}
		}
		if strict, err := draw.ParseTicket(x.String()); err != nil || strict != x {
			t.Errorf("%q reads as %s, which does not parse: %v", s, x, err)
		}
	})
}

func FuzzTime(f *testing.F) {
	f.Add("2006-01-02T15:04:05Z")
	for _, w := range wrongTimes {
		f.Add(w.value)
	}
	f.Fuzz(func(t *testing.T, s string) {
		at, err := draw.ParseTime(s)
		if err != nil {
			return
		}
		if again := draw.FormatTime(at); again != s || at.Year() < 2000 || at.Year() > 9999 || at.Nanosecond() != 0 {
			t.Errorf("%q prints to %q", s, again)
		}
	})
}

func FuzzRollLine(f *testing.F) {
	f.Add([]byte("K7QF2M9X4RTBW8ZC " + strings.Repeat("0a", 32) + "\n"))
	f.Fuzz(func(t *testing.T, line []byte) {
		ticket, commitment, err := draw.RollLine(line)
		if err == nil && fmt.Sprintf("%s %s\n", ticket, commitment) != string(line) {
			t.Errorf("%q prints to %s %s", line, ticket, commitment)
		}
	})
}

// A roll that is taken is what a writer of lists writes, in whatever pieces it
// is read.
func FuzzRoll(f *testing.F) {
	seedTexts(f, "roll")
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		list, places, err := draw.Order(draw.Digest{}, bytes.NewReader(data), 3)
		wantSyntax(t, err, draw.RollFile)
		again, _, err2 := draw.Order(draw.Digest{}, iotest.OneByteReader(bytes.NewReader(data)), 3)
		if list != again || (err == nil) != (err2 == nil) {
			t.Errorf("read in bytes: %v, %v; at once: %v, %v", again, err2, list, err)
		}
		if err != nil {
			return
		}
		var out bytes.Buffer
		w := draw.NewListWriter(&out)
		for line := range bytes.Lines(data) {
			ticket, commitment, err := draw.RollLine(line)
			if err == nil {
				err = w.Add(ticket, commitment)
			}
			if err != nil {
				t.Fatalf("taken, but %v", err)
			}
		}
		if !bytes.Equal(out.Bytes(), data) || w.List() != list || len(places) != int(min(3, list.Count)) {
			t.Errorf("%q prints to %q", data, out.Bytes())
		}
	})
}

// An excluded list within a publication: taken exactly when a writer of lists
// would have written it and it names no ticket of the roll.
func FuzzExcluded(f *testing.F) {
	seedTexts(f, "excluded")
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		forge := newForge(t)
		forge.stage = draw.StageFrozen
		p := forge.make()
		if !bytes.Equal(data, p.MapFS[draw.ExcludedFile].Data) {
			forge.edit[draw.ExcludedFile] = func(string) string { return string(data) }
			p = forge.make()
		}
		r := draw.Check(t.Context(), p, draw.Options{})
		if want := writable(data, forge.roll); (r.Status == 0) != want || r.Status == draw.StatusNotRead {
			t.Errorf("%q: status %d, want taken %v\n%s", data, r.Status, want, lines(r))
		}
	})
}

func writable(data []byte, roll []draw.Ticket) bool {
	var out bytes.Buffer
	w := draw.NewListWriter(&out)
	for line := range bytes.Lines(data) {
		id, reason, _ := strings.Cut(strings.TrimSuffix(string(line), "\n"), " ")
		ticket, err := draw.ParseTicket(id)
		if err == nil {
			err = w.AddReason(ticket, reason)
		}
		for _, x := range roll {
			if x == ticket {
				return false
			}
		}
		if err != nil {
			return false
		}
	}
	return bytes.Equal(out.Bytes(), data)
}
