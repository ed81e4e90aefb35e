package check

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"evenhand/draw"
)

// A folder is a publication's files by name.
type folder map[string][]byte

func (f folder) fs() fs.FS {
	out := fstest.MapFS{}
	for name, b := range f {
		out[name] = &fstest.MapFile{Data: b}
	}
	return out
}

func sample(t testing.TB, name string) folder {
	t.Helper()
	dir := os.DirFS(filepath.Join(vectors, "publications", name))
	list, err := fs.ReadDir(dir, ".")
	must(t, err)
	out := folder{}
	for _, f := range list {
		out[f.Name()], err = fs.ReadFile(dir, f.Name())
		must(t, err)
	}
	return out
}

// A mutant is a publication that was tampered with.
type mutant struct {
	what string
	pub  folder
}

// agree holds both checks against each other, some publications at a time:
// the browser goes through them while package draw does.
func agree(t *testing.T, all []mutant) {
	t.Helper()
	url, b := bench(t)
	verdicts := map[string]int{}
	for part := range slices.Chunk(all, 25) {
		wanted := make(chan []report, 1)
		go func() {
			var want []report
			for _, m := range part {
				want = append(want, inBrowser(draw.Check(t.Context(), m.pub.fs(), draw.Options{})))
			}
			wanted <- want
		}()
		var calls []string
		for _, m := range part {
			calls = append(calls, fmt.Sprintf("() => checkPublication(%s, {relays: [%q]})", chosen(t, m.pub.fs()), url+"/relay"))
		}
		got := reports(b, calls)
		for i, want := range <-wanted {
			verdicts[want.Verdict]++
			if d := differ(got[i], want); d != "" {
				t.Errorf("%s: %s", part[i].what, d)
			}
		}
	}
	t.Logf("%d publications: %v", len(all), verdicts)
}

// A byte is changed, put in or taken out at a random place of a random file.
func TestTamperedBytesAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	var all []mutant
	names := []string{"full", "revised", "rules-revised", "withheld", "cancelled", "host-only", "witnessed", "three-winners"}
	bytesThere := []byte(" \n\r\x00-0a9ZI.é")
	for i := range 400 {
		name := names[i%len(names)]
		pub := sample(t, name)
		files := slices.Sorted(maps.Keys(pub))
		file := files[r.IntN(len(files))]
		data := slices.Clone(pub[file])
		if len(data) == 0 {
			data = []byte{'\n'}
		}
		at, c := r.IntN(len(data)), bytesThere[r.IntN(len(bytesThere))]
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
		pub[file] = data
		all = append(all, mutant{fmt.Sprintf("%d: %s/%s byte %d", i, name, file, at), pub})
	}
	agree(t, some(all, 7)) // 7 and the 8 samples share no factor: each is tried
}

// A file is taken out, or put in the place of another one.
func TestMovedFilesAgree(t *testing.T) {
	var all []mutant
	for _, name := range []string{"full", "rules-revised", "cancelled"} {
		files := slices.Sorted(maps.Keys(sample(t, name)))
		for _, file := range files {
			pub := sample(t, name)
			delete(pub, file)
			all = append(all, mutant{name + " without " + file, pub})
			for _, other := range files {
				pub := sample(t, name)
				pub[file] = pub[other]
				all = append(all, mutant{name + " with " + other + " as " + file, pub})
			}
		}
	}
	agree(t, some(all, 3))
}

// resign makes a sample anew under a key of our own, so that its texts can be
// changed and signed again: what then is wrong is a rule and not a signature.
type resigned struct {
	t      testing.TB
	signer draw.Signer
	texts  map[string]string // of the notes
	pub    folder
}

func resign(t testing.TB, name string) *resigned {
	t.Helper()
	pub := sample(t, name)
	opening, err := draw.ParseOpening("opening.txt", textPart(pub["opening.txt"]))
	must(t, err)
	host, _, _ := strings.Cut(opening.Signer, "+")
	signer, err := draw.NewSigner(rand.NewChaCha8([32]byte{7}), host)
	must(t, err)
	r := &resigned{t: t, signer: signer, texts: map[string]string{}, pub: pub}
	for file, data := range pub {
		if stem, _, _ := strings.Cut(file, "."); stem != "rules" && stem != "roll" && stem != "excluded" {
			r.texts[file] = strings.ReplaceAll(string(textPart(data)), opening.Signer, signer.VerifierKey())
		}
	}
	r.chain()
	return r
}

func textPart(note []byte) []byte { return note[:bytes.LastIndex(note, []byte("\n\n"))+1] }

// set replaces the value of a line.
func (r *resigned) set(file, key, value string) {
	if text, ok := r.texts[file]; ok {
		line := regexp.MustCompile(`(?m)^` + key + ` .*$`)
		r.texts[file] = line.ReplaceAllLiteralString(text, key+" "+value)
	}
}

func (r *resigned) hash(file string) string { return draw.Hash([]byte(r.texts[file])).String() }

// chain lets each note name the one before it, the draw made again.
func (r *resigned) chain() {
	before := ""
	for n := 1; r.texts[draw.KeptFile("opening.txt", n)] != ""; n++ {
		r.set(draw.KeptFile("opening.txt", n), "replaces", before)
		before = r.hash(draw.KeptFile("opening.txt", n))
	}
	r.set("opening.txt", "replaces", before)
	r.set("freeze.txt", "opening", r.hash("opening.txt"))
	r.set("cancelled.txt", "opening", r.hash("opening.txt"))
	r.set("record.txt", "freeze", r.hash("freeze.txt"))
	r.drawAgain()
	before = ""
	for n := 1; r.texts[draw.KeptFile("outcome.txt", n)] != ""; n++ {
		r.set(draw.KeptFile("outcome.txt", n), "replaces", before)
		r.set(draw.KeptFile("outcome.txt", n), "record", r.hash("record.txt"))
		before = r.hash(draw.KeptFile("outcome.txt", n))
	}
	r.set("outcome.txt", "replaces", before)
	r.set("outcome.txt", "record", r.hash("record.txt"))
}

func (r *resigned) drawAgain() {
	record, err := draw.ParseRecord("record.txt", []byte(r.texts["record.txt"]))
	if err != nil {
		return
	}
	record.Seed = draw.ComputeSeed(record.Freeze, record.Secrets, record.Beacon)
	if _, places, err := draw.Order(record.Seed, bytes.NewReader(r.pub["roll.txt"]), len(record.Places)); err == nil {
		record.Places = places
	}
	r.texts["record.txt"] = string(record.Text())
}

// sign is the publication with the texts as they stand.
func (r *resigned) sign() folder {
	out := maps.Clone(r.pub)
	for file, text := range r.texts {
		signed, err := r.signer.Sign([]byte(text))
		must(r.t, err)
		out[file] = signed
	}
	return out
}

// Lines of notes are changed, taken out, doubled and exchanged, and the notes
// signed again by the host itself; half of the time all later notes are made
// to fit, so that the check comes as far as the rule that is broken.
func TestRulesBrokenByTheHostAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 2))
	var all []mutant
	names := []string{"full", "revised", "rules-revised", "withheld", "cancelled", "host-only", "one-step", "three-winners", "odd-chain-frozen", "frozen"}
	for _, name := range names {
		all = append(all, mutant{name + " signed again", resign(t, name).sign()})
	}
	tries := 600
	if underRace {
		tries = 80
	}
	for i := range tries {
		name := names[i%len(names)]
		one := resign(t, name)
		files := slices.Sorted(maps.Keys(one.texts))
		file := files[r.IntN(len(files))]
		what := one.change(r, file)
		if r.IntN(2) == 0 {
			one.chain()
			what += ", later notes made to fit"
		}
		all = append(all, mutant{fmt.Sprintf("%d: %s/%s %s", i, name, file, what), one.sign()})
	}
	agree(t, all)
}

var (
	timeThere   = regexp.MustCompile(`\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ`)
	numberThere = regexp.MustCompile(`\b\d{1,8}\b`)
)

// change breaks one line of a text, in a way that leaves it a text.
func (r *resigned) change(random *rand.Rand, file string) (what string) {
	lines := strings.Split(strings.TrimSuffix(r.texts[file], "\n"), "\n")
	i := 1 + random.IntN(len(lines)-1)
	line := lines[i]
	switch way := random.IntN(10); {
	case way < 4 && timeThere.MatchString(line):
		by := []time.Duration{-time.Second, time.Second, -time.Hour, time.Hour, -25 * time.Hour, 25 * time.Hour, -9000 * time.Hour, 9000 * time.Hour}[random.IntN(8)]
		lines[i] = timeThere.ReplaceAllStringFunc(line, func(s string) string {
			at, err := draw.ParseTime(s)
			must(r.t, err)
			return draw.FormatTime(at.Add(by))
		})
	case way < 6 && numberThere.MatchString(line) && !timeThere.MatchString(line):
		lines[i] = numberThere.ReplaceAllStringFunc(line, func(s string) string {
			n, _ := strconv.Atoi(s)
			return strconv.Itoa(n + []int{-1, 1, 10, 20000}[random.IntN(4)])
		})
	case way < 7:
		b := []byte(line)
		b[random.IntN(len(b))] = "0a9z -"[random.IntN(6)]
		lines[i] = string(b)
	case way == 7:
		lines = slices.Delete(lines, i, i+1)
	case way == 8:
		lines = slices.Insert(lines, i, line)
	default:
		j := 1 + random.IntN(len(lines)-1)
		lines[i], lines[j] = lines[j], lines[i]
	}
	r.texts[file] = strings.Join(lines, "\n") + "\n"
	return fmt.Sprintf("line %d %q", i+1, line)
}

// reviseAgain posts the terms of an open giveaway once more: closes and event
// an hour later.
func (r *resigned) reviseAgain() {
	for file := range r.pub {
		if stem, _, _ := strings.Cut(file, "."); stem != "opening" && stem != "rules" {
			delete(r.pub, file)
			delete(r.texts, file)
		}
	}
	o, err := draw.ParseOpening("opening.txt", []byte(r.texts["opening.txt"]))
	must(r.t, err)
	kept := draw.KeptFile("opening.txt", o.Revision)
	r.texts[kept] = r.texts["opening.txt"]
	o.Revision, o.Revised = o.Revision+1, o.Revised.Add(time.Minute)
	o.Closes, o.Event = o.Closes.Add(time.Hour), o.Event.Add(time.Hour)
	r.texts["opening.txt"] = string(o.Text())
	r.chain()
}

// Every time of a publication is put a second before, at and a second after
// every other one, and a day after it, signed again and all later notes made to
// fit: the edges of every rule about times.
func TestEdgesOfTimesAgree(t *testing.T) {
	var all []mutant
	tried := 0
	for _, name := range []string{"full", "rules-revised", "cancelled", "one-step", "revised"} {
		plain := resign(t, name)
		if name == "revised" {
			plain.reviseAgain()
		}
		times := map[string]bool{}
		for _, text := range plain.texts {
			for _, at := range timeThere.FindAllString(text, -1) {
				times[at] = true
			}
		}
		for _, file := range slices.Sorted(maps.Keys(plain.texts)) {
			for i, line := range strings.Split(plain.texts[file], "\n") {
				if !timeThere.MatchString(line) {
					continue
				}
				for _, other := range slices.Sorted(maps.Keys(times)) {
					at, err := draw.ParseTime(other)
					must(t, err)
					by := []time.Duration{-time.Second, 0, time.Second}
					if strings.HasPrefix(line, "passed") {
						by = append(by, 24*time.Hour-time.Second, 24*time.Hour)
					}
					for _, d := range by {
						if tried++; underRace && tried%13 > 0 { // no factor of 3 or 5, so every distance is tried
							continue
						}
						one := &resigned{t: t, signer: plain.signer, texts: maps.Clone(plain.texts), pub: plain.pub}
						lines := strings.Split(one.texts[file], "\n")
						lines[i] = timeThere.ReplaceAllString(line, draw.FormatTime(at.Add(d)))
						one.texts[file] = strings.Join(lines, "\n")
						one.chain()
						all = append(all, mutant{fmt.Sprintf("%s/%s line %d %q at %s%+v", name, file, i+1, line, other, d), one.sign()})
					}
				}
			}
		}
	}
	agree(t, all)
}
