package web_test

import (
	"archive/zip"
	"io/fs"
	"strings"
	"testing"

	"evenhand/draw"
)

// The one file holds all that was published, byte for byte, and its check says
// what that of the folder says. The reader is Go's own archive/zip.
func TestFilesAsOne(t *testing.T) {
	r := newRig(t)
	_, report := r.drawnAt("boots")
	a := r.get("/g/boots/files.zip")
	a.is(t, 200)
	if got := a.Header.Get("Content-Disposition"); got != `attachment; filename="boots.zip"` {
		t.Errorf("it is sent as %s", got)
	}
	files, err := zip.NewReader(strings.NewReader(a.body), int64(len(a.body)))
	must(t, err)
	folder, err := fs.Sub(files, "boots")
	must(t, err)
	got := draw.Check(t.Context(), folder, draw.Options{})
	if got.Verdict != report.Verdict || got.Seed == nil || *got.Seed != *report.Seed || len(got.Places) != len(report.Places) {
		t.Errorf("the copy's check says %q, that of the folder %q", got.Verdict, report.Verdict)
	}
	all, err := fs.ReadDir(folder, ".")
	must(t, err)
	for _, f := range all {
		data, err := fs.ReadFile(folder, f.Name())
		must(t, err)
		if want := r.get("/g/boots/fair/" + f.Name()).body; string(data) != want {
			t.Errorf("%s differs from the one that is served", f.Name())
		}
	}
	if len(all) < 6 { // opening, rules, roll, excluded, freeze, record: draw protocol, "The publication: one folder"
		t.Errorf("only %d files", len(all))
	}
	r.get("/g/nothing/files.zip").is(t, 404)
	r.get("/g/boots/fair/").has(t, `href="/g/boots/files.zip"`)
}
