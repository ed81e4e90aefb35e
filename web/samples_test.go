package web_test

import (
	"context"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/draw"
	"evenhand/giveaway"
)

// vectors are the published sample publications with their verdicts.
const vectors = "../testdata/vectors/publications"

// A sampleStore serves one sample publication as if it were a giveaway's.
type sampleStore struct {
	giveaway.Store
	g   giveaway.Giveaway
	dir string
}

func (s sampleStore) Giveaway(_ context.Context, id string) (giveaway.Giveaway, error) {
	if id != s.g.ID {
		return giveaway.Giveaway{}, giveaway.ErrNotFound
	}
	return s.g, nil
}

func (s sampleStore) Publication(string) fs.FS { return os.DirFS(s.dir) }

// stateOf is the state in which the store would have the sample: by the files
// that are there, whatever is wrong with them.
func stateOf(dir string) giveaway.State {
	for _, f := range []struct {
		name  string
		state giveaway.State
	}{{draw.CancelledFile, giveaway.StateCancelled}, {draw.RecordFile, giveaway.StateDrawn}, {draw.FreezeFile, giveaway.StateFrozen}} {
		if _, err := os.Stat(filepath.Join(dir, f.name)); err == nil {
			return f.state
		}
	}
	return giveaway.StateOpen
}

// Every sample publication is shown with the verdict that its expected.json
// gives, and a weak one says so on every page.
func TestSamplesAreShown(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(vectors, "expected.json"))
	must(t, err)
	var want map[string]struct {
		Status int
		Weak   bool
		Places []string
	}
	must(t, json.Unmarshal(b, &want))
	if len(want) < 40 {
		t.Fatalf("loaded %d samples, want at least 40", len(want))
	}
	r := newRig(t)
	for name, w := range want {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(vectors, name)
			report := draw.Check(t.Context(), os.DirFS(dir), draw.Options{})
			g := giveaway.Giveaway{ID: "sample", Terms: terms(t, "sample"), State: stateOf(dir), Frozen: closes, Drawn: event}
			if report.Opening != nil {
				g.Opening = *report.Opening
			}
			r.config.Host.Store = sampleStore{r.db, g, dir}
			r.rebuild()
			r.setTime(event)
			page := r.get("/g/sample/fair/")
			page.is(t, 200)
			head := map[int]string{1: "The check finds a fault.", 2: "The check could not be finished."}[w.Status]
			if w.Status != 0 {
				page.has(t, head)
				return
			}
			page.lacks(t, "The check finds a fault.", "The check could not be finished.")
			pages := []answer{page, r.get("/g/sample"), r.get("/g/sample/rules"), r.get("/g/sample/t/K7QF2M9X4RTBW8ZC")}
			for _, place := range w.Places {
				one := r.get("/g/sample/t/" + place)
				one.is(t, 200)
				one.has(t, "This ticket came ")
				pages = append(pages, one)
			}
			for _, p := range pages {
				if says := strings.Contains(p.body, "Such a draw is called weak."); says != w.Weak {
					t.Errorf("%s says weak %v, want %v", p.Request.URL.Path, says, w.Weak)
				}
			}
		})
	}
}

// What became of the places is shown in plain words. The samples' outcomes are
// in testdata/vectors/publications: full and cancelled.
func TestOutcomeInWords(t *testing.T) {
	r := newRig(t)
	show := func(name string) (giveaway.Giveaway, draw.Report) {
		dir := filepath.Join(vectors, name)
		report := draw.Check(t.Context(), os.DirFS(dir), draw.Options{})
		g := giveaway.Giveaway{ID: "sample", Terms: terms(t, "sample"), State: stateOf(dir), Frozen: closes, Drawn: event, Opening: *report.Opening}
		r.config.Host.Store = sampleStore{r.db, g, dir}
		r.rebuild()
		return g, report
	}
	_, report := show("full")
	if report.Outcome == nil || len(report.Outcome.Passed) == 0 || len(report.Outcome.Confirmed) == 0 {
		t.Fatal("the sample has no passed and confirmed places")
	}
	page := r.get("/g/sample")
	page.has(t, "The prize has found its winner.", "skipped: ", "gets the prize")
	passed, got := report.Outcome.Passed[0].Place, report.Outcome.Confirmed[0].Place
	r.get("/g/sample/t/"+report.Places[passed-1].Ticket.String()).has(t, "Skipped: ")
	r.get("/g/sample/t/"+report.Places[got-1].Ticket.String()).has(t, "Gets the prize, confirmed on ")

	show("cancelled")
	r.get("/g/sample").has(t, "This giveaway was called off.", "No draw will be made.", "The reason: ")
	r.get("/g/sample/fair/").has(t, "This draw was called off.")
}
