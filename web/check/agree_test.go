package check

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/draw/beacon"
	"evenhand/internal/browsertest"
)

// vectors are sample publications and receipts of another implementation of
// the protocol, with the verdicts that it expects.
const vectors = "../../testdata/vectors"

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func b64(b []byte) string { return base64.StdEncoding.EncodeToString(b) }

func load(t testing.TB, path string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(vectors, path))
	must(t, err)
	must(t, json.Unmarshal(b, into))
}

// relays answers like a public relay, with the published rounds of quicknet in
// testdata/vectors/drand-quicknet.json, which names its sources.
func relays(t testing.TB) http.Handler {
	var v struct {
		Rounds []struct {
			Round     uint64
			Signature string
		}
	}
	load(t, "drand-quicknet.json", &v)
	if len(v.Rounds) == 0 {
		t.Fatal("no published rounds")
	}
	mux := http.NewServeMux()
	for _, r := range v.Rounds {
		mux.HandleFunc(fmt.Sprintf("GET /%s/public/%d", beacon.Quicknet().HashHex(), r.Round), func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Access-Control-Allow-Origin", "*")
			fmt.Fprintf(w, `{"round":%d,"signature":"%s"}`, r.Round, r.Signature)
		})
	}
	return mux
}

// bench serves an empty page with the script, the samples below /pub/, and a
// stand-in for the relays below /relay.
func bench(t testing.TB) (url string, b *browsertest.Browser) {
	t.Helper()
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		fmt.Fprint(w, `<!doctype html><html lang="en"><title>Bench</title><link rel="icon" href="data:,"><script src="/check.js"></script>`)
	})
	mux.HandleFunc("GET /check.js", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
		_, _ = w.Write(Script())
	})
	mux.Handle("GET /pub/", http.StripPrefix("/pub/", http.FileServer(http.Dir(filepath.Join(vectors, "publications")))))
	mux.Handle("GET /relay/", http.StripPrefix("/relay", relays(t)))
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	b = browser.For(t)
	b.Open(server.URL + "/")
	return server.URL, b
}

// A report is what both checks answer.
type report struct {
	Findings  []draw.Finding
	Status    int
	Verdict   string
	Weak      bool
	Stage     draw.Stage
	Draw      string
	Signer    string
	Key       string
	Tickets   int64
	Excluded  int64
	Seed      string
	Places    []draw.Place
	Statement []string
	Apart     []draw.Finding // of papers that prove nothing
}

const (
	verified = "the beacon's signature of round "
	compared = "the beacon's signature was not verified here; its relays have the same"
)

// unlike is the fault of a signature that does not verify.
var unlike = regexp.MustCompile(`^want the beacon's signature of round (\d+): `)

// inBrowser is a report of package draw as the browser's check gives it, which
// compares the beacon's signature with its relays instead of verifying it
// (protocol, "Beacon").
func inBrowser(r draw.Report) report {
	out := report{Findings: slices.Clone(r.Findings), Status: r.Status, Verdict: r.Verdict, Weak: r.Weak, Stage: r.Stage, Draw: r.Draw, Signer: r.Signer,
		Key: r.Key, Tickets: r.Tickets, Excluded: r.Excluded, Places: r.Places, Statement: r.Statement}
	for i, f := range out.Findings {
		if f.Level == draw.OK && strings.HasPrefix(f.Text, verified) {
			out.Findings[i] = draw.Finding{Level: draw.Remark, File: f.File, Text: compared}
		}
		if round := unlike.FindStringSubmatch(f.Text); f.Level == draw.Fault && round != nil {
			out.Findings[i].Text = "the beacon's relays have another signature for round " + round[1]
		}
	}
	if r.Seed != nil {
		out.Seed = r.Seed.String()
	}
	return out
}

// differ tells where two reports part, or "".
func differ(got, want report) string {
	for i := range max(len(got.Findings), len(want.Findings)) {
		var g, w draw.Finding
		if i < len(got.Findings) {
			g = got.Findings[i]
		}
		if i < len(want.Findings) {
			w = want.Findings[i]
		}
		if g != w {
			return fmt.Sprintf("finding %d: the browser says\n  %s\nand package draw\n  %s", i+1, g, w)
		}
	}
	got.Findings, want.Findings = nil, nil
	for _, r := range []*report{&got, &want} { // none is none
		r.Places, r.Statement, r.Apart = append([]draw.Place{}, r.Places...), append([]string{}, r.Statement...), append([]draw.Finding{}, r.Apart...)
	}
	g, _ := json.Marshal(got)
	w, _ := json.Marshal(want)
	if string(g) != string(w) {
		return fmt.Sprintf("the browser says\n  %s\nand package draw\n  %s", g, w)
	}
	return ""
}

// attached are the files of a receipt case as options of both checks.
func attached(t testing.TB, names []string) (opt draw.Options, script string) {
	t.Helper()
	kinds := map[bool][]string{}
	for _, name := range names {
		b, err := os.ReadFile(filepath.Join(vectors, "receipts", name))
		must(t, err)
		receipt := strings.Contains(name, "receipt")
		if receipt {
			opt.Receipts = append(opt.Receipts, draw.Attachment{Name: name, Data: b})
		} else {
			opt.Entries = append(opt.Entries, draw.Attachment{Name: name, Data: b})
		}
		kinds[receipt] = append(kinds[receipt], fmt.Sprintf("{name: %q, data: atob(%q)}", name, base64.StdEncoding.EncodeToString(b)))
	}
	return opt, fmt.Sprintf("receipts: [%s], entries: [%s]", strings.Join(kinds[true], ", "), strings.Join(kinds[false], ", "))
}

// plainFS hides that a folder can be listed, as an address can't.
type plainFS struct{ fs.FS }

func (p plainFS) Open(name string) (fs.File, error) { return p.FS.Open(name) }

// cases are all sample publications and all receipt cases.
func cases(t testing.TB) map[string]struct {
	pub   string
	files []string
} {
	var pubs map[string]any
	load(t, "publications/expected.json", &pubs)
	var receipts []struct {
		Case, Publication string
		Files             []string
	}
	load(t, "receipts/expected.json", &receipts)
	if len(pubs) < 40 || len(receipts) < 13 {
		t.Fatalf("loaded %d samples and %d receipt cases, want at least 40 and 13", len(pubs), len(receipts))
	}
	out := map[string]struct {
		pub   string
		files []string
	}{}
	for name := range pubs {
		out[name] = struct {
			pub   string
			files []string
		}{pub: name}
	}
	for _, r := range receipts {
		out["receipt "+r.Case] = struct {
			pub   string
			files []string
		}{r.Publication, r.Files}
	}
	return out
}

// Every sample publication and every receipt case, read from an address and
// from chosen files: all findings, the verdict and the statement are those of
// package draw. Every receipt of these cases is genuine, so none stands apart.
func TestSamplesAgree(t *testing.T) {
	url, b := bench(t)
	all := cases(t)
	for from := range map[string]bool{"address": true, "files": true} {
		t.Run(from, func(t *testing.T) {
			names := slices.Sorted(maps.Keys(all))
			if from == "address" {
				names = some(names, 3)
			}
			for names := range slices.Chunk(names, 20) {
				var calls []string
				for _, name := range names {
					_, script := attached(t, all[name].files)
					source := fmt.Sprintf("new AddressSource(%q)", url+"/pub/"+all[name].pub+"/")
					if from == "files" {
						source = chosen(t, publication(all[name].pub))
					}
					calls = append(calls, fmt.Sprintf("() => checkPublication(%s, {relays: [%q], %s})", source, url+"/relay", script))
				}
				for i, got := range reports(b, calls) {
					c := all[names[i]]
					opt, _ := attached(t, c.files)
					fsys := publication(c.pub)
					if from == "address" {
						fsys = plainFS{fsys}
					}
					want := onPage(t, fsys, opt)
					if d := differ(got, want); d != "" {
						t.Errorf("%s: %s", names[i], d)
					}
					if slices.ContainsFunc(want.Apart, func(f draw.Finding) bool { return f.Level == draw.Fault }) {
						t.Errorf("%s: a genuine paper stands apart: %v", names[i], want.Apart)
					}
				}
			}
		})
	}
}

func publication(name string) fs.FS { return os.DirFS(filepath.Join(vectors, "publications", name)) }

// reports does some checks in one call, since each call costs more than a check.
func reports(b *browsertest.Browser, calls []string) []report {
	return browsertest.Eval[[]report](b, fmt.Sprintf(`(async () => { const out = [];
		for (const call of [%s]) { const {line, ...r} = await call(); out.push(r); }
		return out; })()`, strings.Join(calls, ", ")))
}

// chosen is a script's value for the files of a folder.
func chosen(t testing.TB, fsys fs.FS) string {
	t.Helper()
	list, err := fs.ReadDir(fsys, ".")
	must(t, err)
	var files []string
	for _, f := range list {
		b, err := fs.ReadFile(fsys, f.Name())
		must(t, err)
		files = append(files, fmt.Sprintf("[%q, new Blob([bytesOf(atob(%q))])]", f.Name(), base64.StdEncoding.EncodeToString(b)))
	}
	return "new FilesSource(new Map([" + strings.Join(files, ", ") + "]))"
}
