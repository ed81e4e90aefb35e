package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/internal/browsertest"
)

// The pages of other doors in a browser: keyboard's labels, contrast and width
// are what [look] checks, at every step and in every state.
func TestDoorsInABrowser(t *testing.T) {
	s := start(t, during, "", "-data", t.TempDir())
	s.claim()
	s.posted("boots", bootsTerms(t))
	enterSome(t, s, 1)
	b := browsertest.New(t)
	at := func(path string) { t.Helper(); b.Open(s.base + path) }
	at("/desk")
	b.Type("#passphrase", passphrase)
	s.clock.set(during.Add(time.Minute))
	b.Submit(".button")
	at("/desk/g/boots/import")
	look(t, b, "import")
	b.Submit(".button") // no file was chosen
	look(t, b, "import-fault")

	long := strings.Repeat("averylongname", 4) + "@" + strings.Repeat("long.", 20) + "example.com"
	file := filepath.Join(t.TempDir(), "entries.csv")
	must(t, os.WriteFile(file, []byte(sheetHead+sheet("robin@example.com")+sheet("ROBIN@example.com")+sheet("walker0@example.org")+
		strings.Replace(sheet(long), "Robin", "=HYPERLINK(1)", 1)+"8/21/2026 10:00:00,kim@example.com,France,,mens 10 D,30,Kim\n"+sheet("nonsense")), 0o600))
	url := s.bringFile(string(read(t, file)))
	at(url)
	look(t, b, "import-columns")
	b.Type("#f-zone_name", "Nowhere/Here")
	b.Submit(".button")
	look(t, b, "import-columns-fault")
	s.goes(url+"/try", url, sheetColumns...)
	at(url + "/try")
	look(t, b, "import-try")
	b.Submit(".button")
	look(t, b, "import-done")
	at("/desk/g/boots/entries")
	look(t, b, "entries-doors")
	at("/desk/g/boots/paper")
	look(t, b, "paper")
	b.Submit(".button")
	look(t, b, "paper-fault")
	a := s.press("/desk/g/boots/paper", card("sam@example.com", "2026-08-21")...)
	if a.status != 303 {
		t.Fatalf("a card: status %d", a.status)
	}
	at(a.to)
	look(t, b, "paper-slip")
	at("/desk/g/boots/import/AAAAAAAAAAAAAAAAAAAAAA")
	look(t, b, "import-gone")
}

func read(t *testing.T, file string) []byte {
	t.Helper()
	b, err := os.ReadFile(file)
	must(t, err)
	return b
}
