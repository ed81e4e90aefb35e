package check

import (
	"bytes"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/internal/browsertest"
)

// copied is a folder with a sample's files and the copy of the check, and
// nothing else.
func copied(t *testing.T, name string) string {
	t.Helper()
	dir := t.TempDir()
	must(t, os.CopyFS(dir, os.DirFS(filepath.Join(vectors, "publications", name))))
	must(t, os.WriteFile(filepath.Join(dir, "check.html"), Copy([]byte("body { color: #111; background: #fff }")).Document, 0o600))
	return dir
}

func wantHead(t *testing.T, b *browsertest.Browser, where, want string) {
	t.Helper()
	b.WaitVisible("#check-said .lead")
	if got := b.Text("#check-said h1"); got != want {
		t.Errorf("%s: the page says %q, want %q: %s", where, got, want, b.Text("main"))
	}
}

// The copy beside a publication's files, on a server that knows nothing of it.
func TestCopyOnABareFileHost(t *testing.T) {
	b := browser.For(t)
	for name, want := range map[string]string{
		"host-only":             "Your own device just redid the draw from the public files: same winners.",
		"bad-roll-line-changed": "The check finds a fault.",
		"cancelled":             "This draw was called off.",
		"full":                  "The check could not be finished.", // the test reaches no relay
	} {
		server := httptest.NewServer(http.FileServer(http.Dir(copied(t, name))))
		t.Cleanup(server.Close)
		b.Open(server.URL + "/check.html")
		wantHead(t, b, name, want)
		found, err := b.Axe()
		must(t, err)
		for _, f := range found {
			t.Errorf("%s: %s", name, f)
		}
	}
	server := httptest.NewServer(http.FileServer(http.Dir(copied(t, "no-opening"))))
	t.Cleanup(server.Close)
	b.Open(server.URL + "/check.html")
	wantHead(t, b, "no files", "Check a draw, on your own device.")
}

// The copy opened from disk, where a page may read nothing by itself: it asks
// for the files. Folder and single files lead to the same answer, which is
// that of package draw, strays included.
func TestCopyFromDisk(t *testing.T) {
	b := browser.For(t)
	for _, name := range []string{"host-only", "bad-stray-revision", "bad-place-swapped", "withheld"} {
		dir := copied(t, name)
		report := draw.Check(t.Context(), os.DirFS(dir), draw.Options{})
		for _, input := range []string{"choose-folder", "choose-files"} {
			b.Open("file://" + filepath.Join(dir, "check.html"))
			wantHead(t, b, name, "Check a draw, on your own device.")
			choose(t, b, input, os.DirFS(dir))
			b.WaitVisible("#check-body details")
			got := b.Text("#check-said h1")
			if fault := got == "The check finds a fault."; fault != (report.Status == draw.StatusFault) {
				t.Errorf("%s by %s: the page says %q, package draw %d", name, input, got, report.Status)
			}
			for _, f := range report.Findings {
				said := browsertest.Eval[string](b, `document.querySelector(".findings").textContent`)
				if f.Level == draw.Fault && !strings.Contains(said, f.Text) {
					t.Errorf("%s by %s: %q is missing in %q", name, input, f.Text, said)
				}
			}
		}
	}
}

// choose gives a file input the files of a folder, as a person's choice would.
func choose(t *testing.T, b *browsertest.Browser, input string, dir fs.FS) {
	t.Helper()
	var add strings.Builder
	list, err := fs.ReadDir(dir, ".")
	must(t, err)
	for _, f := range list {
		data, err := fs.ReadFile(dir, f.Name())
		must(t, err)
		fmt.Fprintf(&add, "all.items.add(new File([bytesOf(%s)], %q)); ", jsBytes(data), f.Name())
	}
	browsertest.Eval[bool](b, fmt.Sprintf(`(() => { const all = new DataTransfer(), input = document.getElementById(%q); %s
		input.files = all.files; return input.dispatchEvent(new Event("change")); })()`, input, add.String()))
}

// jsBytes is a script's text with one character for each byte.
func jsBytes(b []byte) string {
	var out strings.Builder
	out.WriteByte('"')
	for _, c := range b {
		fmt.Fprintf(&out, `\x%02x`, c)
	}
	return out.String() + `"`
}

// The script can stand inline: nothing in it ends it, or begins a comment of
// the document (HTML, "Restrictions for contents of script elements").
func TestScriptCanStandInline(t *testing.T) {
	for _, bad := range []string{"</script", "<script", "<!--"} {
		if bytes.Contains(bytes.ToLower(Script()), []byte(bad)) {
			t.Errorf("the script holds %q", bad)
		}
	}
	if n := bytes.Count(Copy(nil).Document, []byte("<script>")); n != 1 {
		t.Errorf("%d scripts in the copy", n)
	}
}
