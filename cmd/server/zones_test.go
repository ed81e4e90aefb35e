package main

import (
	"archive/zip"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// With old zone data the desk warns. The Go distribution's own copy is such:
// with release 2025c, Winnipeg still sets its clocks back (testdata/facts/time.md,
// sections 1 and 4: TZ-37 is 01:00 UTC by 2026f, 02:00 by older data).
func TestOldZoneData(t *testing.T) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	must(t, err)
	copied := filepath.Join(strings.TrimSpace(string(root)), "lib", "time", "zoneinfo.zip")
	if hour := winnipeg(t, copied); hour != 2 {
		t.Skipf("Go's own zone data are no longer old: TZ-37 is at %d:00 UTC", hour)
	}
	t.Setenv("ZONEINFO", copied) // wins over the system's; the process inherits it
	p := newProcess(t, "")
	p.claim()
	p.shows("/desk", "The time zone data of this computer are out of date.", "Winnipeg")
}

// winnipeg is the hour, UTC, of TZ-37: 2026-12-01 20:00 in Winnipeg.
func winnipeg(t *testing.T, file string) int {
	t.Helper()
	z, err := zip.OpenReader(file)
	must(t, err)
	defer z.Close()
	f, err := z.Open("America/Winnipeg")
	must(t, err)
	b, err := io.ReadAll(f)
	must(t, err)
	loc, err := time.LoadLocationFromTZData("America/Winnipeg", b)
	must(t, err)
	return time.Date(2026, 12, 1, 20, 0, 0, 0, loc).UTC().Hour()
}
