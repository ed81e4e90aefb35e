package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/internal/csvgen"
)

// at runs the command in this process at a time of its own, and wants it done.
func at(t *testing.T, now time.Time, args ...string) (stdout string) {
	t.Helper()
	var out, words bytes.Buffer
	clock := func() time.Time { return now }
	status := run(context.Background(), args, strings.NewReader(""), &out, &words, clock, &fixed{seed: t.Name() + args[0]})
	if status != statusDone {
		t.Fatalf("draw %v: status %d\n%s%s", args, status, out.String(), words.String())
	}
	return out.String()
}

// quicknetRound returns the published signature of a round.
// Source: testdata/vectors/drand-quicknet.json, which says where each was
// published.
func quicknetRound(t *testing.T, round int) string {
	t.Helper()
	var file struct {
		Rounds []struct {
			Round     int
			Signature string
		}
	}
	readJSON(t, "drand-quicknet.json", &file)
	for _, r := range file.Rounds {
		if r.Round == round {
			return r.Signature
		}
	}
	t.Fatalf("round %d is not among %d published ones", round, len(file.Rounds))
	return ""
}

// A file of 5,000 rows with all its troubles goes through the command line to
// a verified record, and every row ends where its maker said it must.
func TestCSVOf5000Rows(t *testing.T) {
	file, want := csvgen.Generate(20260727, 5000)
	if len(want) != 5000 {
		t.Fatalf("%d rows, want 5000", len(want))
	}
	folder := filepath.Join(t.TempDir(), "trail-boots")
	terms, entries := folder+".json", folder+".csv"
	for name, data := range map[string][]byte{terms: []byte(csvgen.Terms), entries: file} {
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	day := func(month time.Month, day, hour, minute int) time.Time {
		return time.Date(2026, month, day, hour, minute, 0, 0, time.UTC)
	}
	at(t, day(2, 28, 12, 0), "open", folder, "--terms", terms, "--signer", "slow-miles.example")
	how := []string{"import", folder, entries, "--map", csvgen.Mapping, "--zone", csvgen.Zone}
	tried := at(t, day(7, 26, 12, 0), append(how, "--dry-run")...)
	said := at(t, day(7, 27, 0, 10), how...)
	at(t, day(7, 27, 0, 20), "freeze", folder)
	at(t, day(7, 28, 0, 10), "run", folder, "--beacon", quicknetRound(t, 30798012))
	checked := at(t, day(7, 28, 0, 11), "verify", folder)

	if tried != said {
		t.Error("the dry run said something else than the import")
	}
	if !strings.Contains(checked, "\nverdict    valid\n") || strings.Contains(checked, "remark") {
		t.Errorf("want a valid draw without remarks\n%s", checked)
	}
	checkRows(t, folder, want)
	checkSum(t, said, want)
	checkLists(t, folder, want)
	checkNothingPrivate(t, folder)
}

// checkNothingPrivate wants no address, salt or signing key in the folder that
// is put where the public can read it.
func checkNothingPrivate(t *testing.T, folder string) {
	t.Helper()
	private := map[string]string{"an address": "@", "a salt": "salt", "a signing key": "PRIVATE"}
	files, err := os.ReadDir(folder)
	if err != nil || len(files) != 6 {
		t.Fatalf("%d files, want 6 (%v)", len(files), err)
	}
	for _, f := range files {
		b, err := os.ReadFile(filepath.Join(folder, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		for what, sign := range private {
			if bytes.Contains(b, []byte(sign)) {
				t.Errorf("%s bears %s", f.Name(), what)
			}
		}
	}
}

// checkRows compares every row with what its maker expects.
func checkRows(t *testing.T, folder string, want []csvgen.Row) {
	t.Helper()
	got := importedRows(t, folder)
	if len(got) != len(want) {
		t.Errorf("%d rows, want %d", len(got), len(want))
	}
	wrong := map[string]int{}
	for _, w := range want {
		if problem := compareRow(folder, got[w.Number], w); problem != "" {
			if wrong[w.Trouble]++; wrong[w.Trouble] <= 3 {
				t.Errorf("row %d (%s): %s", w.Number, w.Trouble, problem)
			}
		}
	}
	if len(wrong) > 0 {
		t.Errorf("rows wrong by trouble: %v", wrong)
	}
}

// importedRows reads the import's own table: row number → its cells.
func importedRows(t *testing.T, folder string) map[int][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(folder+".private", "import", "rows.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil || strings.Join(all[0], ",") != "row,ticket,list,reason,why,time" {
		t.Fatalf("%v: %v", all[:1], err)
	}
	rows := map[int][]string{}
	for _, cells := range all[1:] {
		n, err := strconv.Atoi(cells[0])
		if err != nil || rows[n] != nil {
			t.Fatalf("row %q: %v, or twice", cells[0], err)
		}
		rows[n] = cells
	}
	return rows
}

// compareRow says what differs between a row and what was expected of it.
func compareRow(folder string, got []string, want csvgen.Row) string {
	switch {
	case got == nil:
		return "it is missing"
	case got[2] != want.List || got[3] != want.Reason:
		return fmt.Sprintf("%s %s (%s), want %s %s", got[2], got[3], got[4], want.List, want.Reason)
	case (got[1] == "") != (want.List == csvgen.Unreadable):
		return fmt.Sprintf("ticket %q with %s", got[1], want.List)
	case want.List == csvgen.Unreadable:
		return ""
	case got[5] != want.Time.Format("2006-01-02T15:04:05Z"):
		return fmt.Sprintf("time %s, want %s", got[5], want.Time)
	}
	return compareEntry(folder, got[1], want)
}

// compareEntry reads the entry text line by line (draw protocol, "roll.txt and
// excluded.txt") and compares it.
func compareEntry(folder, ticket string, want csvgen.Row) string {
	b, err := os.ReadFile(filepath.Join(folder+".private", "import", "entries", ticket+".entry.txt"))
	if err != nil {
		return err.Error()
	}
	lines := strings.Split(string(b), "\n")
	if len(lines) != 8 || lines[0] != "evenhand/entry/v1" || lines[2] != "draw trail-boots" || lines[3] != "ticket "+ticket {
		return "its entry text is malformed"
	}
	switch {
	case lines[4] != "email "+want.Email:
		return fmt.Sprintf("%q, want email %s", lines[4], want.Email)
	case want.List == csvgen.Excluded: // size and place may be what could not be read
	case lines[5] != "size "+want.Size:
		return fmt.Sprintf("%q, want size %s", lines[5], want.Size)
	case lines[6] != "ship "+want.Ship:
		return fmt.Sprintf("%q, want ship %s", lines[6], want.Ship)
	}
	return ""
}

// checkSum wants the sum as the maker counts it, and no content of any row
// in the words.
func checkSum(t *testing.T, said string, want []csvgen.Row) {
	t.Helper()
	n := map[string]int{}
	for _, w := range want {
		n[w.List]++
	}
	first, _, _ := strings.Cut(said, "\n")
	if sum := fmt.Sprintf("read %d = roll %d + excluded %d + unreadable %d", len(want), n["roll"], n["excluded"], n["unreadable"]); first != sum {
		t.Errorf("got %q, want %q", first, sum)
	}
	for _, w := range want {
		if w.Email != "" && strings.Contains(said, w.Email) {
			t.Fatalf("the report bears the address of row %d", w.Number)
		}
	}
}

// checkLists wants each ticket in its list, with the hash of its entry text.
func checkLists(t *testing.T, folder string, want []csvgen.Row) {
	t.Helper()
	var roll, excluded []string
	rows := importedRows(t, folder)
	for _, w := range want {
		ticket := rows[w.Number][1]
		switch w.List {
		case csvgen.Roll:
			b, err := os.ReadFile(filepath.Join(folder+".private", "import", "entries", ticket+".entry.txt"))
			if err != nil {
				t.Fatal(err)
			}
			roll = append(roll, fmt.Sprintf("%s %x\n", ticket, sha256.Sum256(b)))
		case csvgen.Excluded:
			excluded = append(excluded, ticket+" "+w.Reason+"\n")
		}
	}
	for name, lines := range map[string][]string{"roll.txt": roll, "excluded.txt": excluded} {
		slices.Sort(lines)
		got, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil || string(got) != strings.Join(lines, "") {
			t.Errorf("%s is not the list of the rows expected in it (%v)", name, err)
		}
	}
}

// The shape of the JSON for programs: every name with the kind of its value.
// What the sentences say is not part of it.
func TestVerifyJSONShape(t *testing.T) {
	_, out, _ := drawCommand(t, "verify", "--json", filepath.Join(vectors, "publications", "full"))
	var v any
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatal(err)
	}
	shape := map[string]bool{}
	addShape(shape, "", v)
	got := strings.Join(slices.Sorted(maps.Keys(shape)), "\n") + "\n"
	golden := filepath.Join("testdata", "verify-json-shape.txt")
	if os.Getenv("UPDATE_SCRIPTS") != "" {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil || got != string(want) {
		t.Errorf("got\n%s\nwant\n%s(%v)", got, want, err)
	}
}

func addShape(shape map[string]bool, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for name, one := range v {
			addShape(shape, path+"."+name, one)
		}
	case []any:
		for _, one := range v {
			addShape(shape, path+"[]", one)
		}
	default:
		shape[fmt.Sprintf("%s %T", path, v)] = true
	}
}
