package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhand/draw"
)

// walkthrough is a published chain of quicknet's scheme with one published
// round. Source: "other_chain" in testdata/vectors/drand-quicknet.json.
type walkthrough struct {
	Hash      string `json:"chain_hash"`
	Key       string `json:"public_key"`
	Genesis   int64  `json:"genesis_time"`
	Period    int64  `json:"period_seconds"`
	Group     string `json:"genesis_seed_group_hash"`
	Scheme    string
	ID        string `json:"beacon_id"`
	Round     int64
	Signature string
}

// A draw on another chain is checked with the chain's info, and weak; without
// it the check ends with status 2 once the list is frozen (draw protocol,
// section "Beacon").
func TestAnotherChain(t *testing.T) {
	var file struct {
		Chain walkthrough `json:"other_chain"`
	}
	readJSON(t, "drand-quicknet.json", &file)
	c := file.Chain
	dir := t.TempDir()
	folder, info, csv := filepath.Join(dir, "boots"), filepath.Join(dir, "chain.json"), filepath.Join(dir, "entries.csv")
	// The form is that of a relay's /info (https://docs.drand.love/developer/http-api).
	writeFile(t, info, fmt.Sprintf(`{"public_key":%q,"period":%d,"genesis_time":%d,"groupHash":%q,"hash":%q,"schemeID":%q,"metadata":{"beaconID":%q}}`,
		c.Key, c.Period, c.Genesis, c.Group, c.Hash, c.Scheme, c.ID))
	writeFile(t, csv, "email\nrobin@example.com\nsam@example.org\n")
	event := time.Unix(c.Genesis+(c.Round-1)*c.Period, 0).UTC()
	openOnChain(t, folder, c.Hash, event)

	at(t, event.Add(-50*time.Minute), "import", folder, csv, "--fill", "live=US", "--at", draw.FormatTime(event.Add(-2*time.Hour)))
	if status, _, words := drawCommand(t, "freeze", folder); status != statusNot || !strings.Contains(words, "is not known here") {
		t.Errorf("freeze without the chain: status %d, %s", status, words)
	}
	at(t, event.Add(-40*time.Minute), "freeze", folder, "--chain", info)
	at(t, event, "run", folder, "--chain", info, "--beacon", c.Signature)
	if out := at(t, event, "verify", folder, "--chain", info); !strings.Contains(out, "\nverdict    valid, weak\n") ||
		!strings.Contains(out, "not quicknet") {
		t.Errorf("with the chain:\n%s", out)
	}
	status, out, _ := drawCommand(t, "verify", folder)
	if status != statusNot || !strings.Contains(out, "beacon not checked") {
		t.Errorf("without the chain: status %d\n%s", status, out)
	}
}

func writeFile(t *testing.T, name, data string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(data), 0o600); err != nil {
		t.Fatal(err)
	}
}

// openOnChain makes what draw open would make, if terms could name any chain.
func openOnChain(t *testing.T, folder, chain string, event time.Time) {
	t.Helper()
	rand := &fixed{seed: t.Name()}
	signer, err := draw.NewSigner(rand, "slow-miles.example")
	if err != nil {
		t.Fatal(err)
	}
	hash, err := draw.ParseDigest(chain)
	if err != nil {
		t.Fatal(err)
	}
	seal := draw.Seal{Draw: "boots", Signer: signer.Name(), Role: "host"}
	if _, err := rand.Read(seal.Secret[:]); err != nil {
		t.Fatal(err)
	}
	rules := "One entry for each person.\n"
	o := draw.Opening{Draw: "boots", Revision: 1, Signer: signer.VerifierKey(), Winners: 1, Alternates: 1, Beacon: &hash,
		Opens: event.Add(-3 * time.Hour), Closes: event.Add(-time.Hour), Event: event,
		Rules: draw.Hash([]byte(rules)), Seals: []draw.SealHash{{Role: "host", Hash: seal.Hash()}}}
	note, err := signer.Sign(o.Text())
	if err != nil {
		t.Fatal(err)
	}
	moment := func(at time.Time) string {
		return fmt.Sprintf(`{"local": %q, "zone": "UTC"}`, at.Format("2006-01-02T15:04:05"))
	}
	for name, data := range map[string]string{
		filepath.Join(folder, draw.RulesFile):             rules,
		filepath.Join(folder, draw.OpeningFile):           string(note),
		filepath.Join(folder+".private", keyName):         signer.Secret() + "\n",
		filepath.Join(folder+".private", "seal.host.txt"): string(seal.Text()),
		filepath.Join(folder+".private", termsName): fmt.Sprintf(`{"draw": "boots", "channel": "Slow Miles", "title": "Win boots",
			"prize": "Boots", "sponsor": "Larkspur Trail Supply", "opens": %s, "closes": %s, "event": %s,
			"winners": 1, "alternates": 1, "region": {}, "rules": "One entry for each person.\n"}`,
			moment(o.Opens), moment(o.Closes), moment(o.Event)),
	} {
		writeFile(t, name, data)
	}
}
