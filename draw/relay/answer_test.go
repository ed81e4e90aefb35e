package relay_test

import (
	"fmt"
	"strings"
	"testing"

	"evenhand/draw/beacon"
	"evenhand/draw/relay"
)

// Source: the sample answer at https://docs.drand.love/developer/http-api
// (version 2 of the interface, quicknet, round 42).
const documented = `{
  "round": 42,
  "signature": "95a9f9f5b231b7714de1553105d8ffdf3dcda24cfdb1e689319bccf79a9c8ce430a91b811fbfaf763900bc998b5d686a"
}`

func TestParseDocumentedAnswer(t *testing.T) {
	round, sig, err := relay.ParseAnswer([]byte(documented))
	if err != nil || round != 42 {
		t.Fatalf("got round %d, %v", round, err)
	}
	if err := beacon.Quicknet().Verify(round, sig); err != nil {
		t.Error(err)
	}
}

func TestParseAnswerRefuses(t *testing.T) {
	r := load(t).Rounds[0]
	for name, bad := range map[string]string{
		"round 0":           body(0, r.Signature),
		"round too great":   body(beacon.MaxRound+1, r.Signature),
		"round negative":    strings.Replace(body(1, r.Signature), "1", "-1", 1),
		"round broken":      strings.Replace(body(1, r.Signature), "1", "1.5", 1),
		"round as text":     strings.Replace(body(1, r.Signature), "1", `"1"`, 1),
		"null round":        strings.Replace(body(1, r.Signature), "1", "null", 1),
		"upper case":        body(1, strings.ToUpper(r.Signature)),
		"spaces":            body(1, r.Signature[:48]+" "+r.Signature[48:]),
		"no signature":      `{"round":1}`,
		"other randomness":  fmt.Sprintf(`{"round":1,"signature":%q,"randomness":"00"}`, r.Signature),
		"bare digits":       r.Signature,
		"list":              "[" + body(1, r.Signature) + "]",
		"something behind":  body(1, r.Signature) + "x",
		"null":              "null",
		"48 bytes and more": body(1, r.Signature+"00"),
	} {
		if round, sig, err := relay.ParseAnswer([]byte(bad)); err == nil || round != 0 || sig != nil {
			t.Errorf("%s: got %d, %x, %v", name, round, sig, err)
		}
	}
}

func TestParsePasted(t *testing.T) {
	r := load(t).Rounds[3]
	full := fmt.Sprintf(`{"round":%d,"randomness":%q,"signature":%q}`, r.Round, r.Randomness, r.Signature)
	grouped := r.Signature[:32] + " " + r.Signature[32:64] + "\r\n\t" + r.Signature[64:]
	for _, test := range []struct {
		name, text string
		round      uint64
	}{
		{"an answer", full, r.Round},
		{"an answer with space around", "\n  " + full + "\r\n", r.Round},
		{"hex in upper case", strings.ReplaceAll(full, r.Signature, strings.ToUpper(r.Signature)), r.Round},
		{"an answer without round", fmt.Sprintf(`{"signature":%q}`, r.Signature), 0},
		{"bare digits", r.Signature, 0},
		{"upper case", strings.ToUpper(r.Signature), 0},
		{"line end", r.Signature + "\n", 0},
		{"groups", grouped, 0},
		{"no-break space", "\u00a0" + r.Signature + "\u00a0", 0},
	} {
		round, sig, err := relay.ParsePasted(test.text)
		if err != nil || round != test.round || fmt.Sprintf("%x", sig) != r.Signature {
			t.Errorf("%s: got %d, %x, %v", test.name, round, sig, err)
		}
	}
}

func TestParsePastedRefuses(t *testing.T) {
	r := load(t).Rounds[3]
	for name, bad := range map[string]string{
		"empty":            "",
		"space":            " \n",
		"randomness":       r.Randomness,
		"too long":         r.Signature + "00",
		"letters":          strings.Repeat("xy", 48),
		"round 0":          body(0, r.Signature),
		"not closed":       body(1, r.Signature)[:60],
		"two":              body(1, r.Signature) + "\n" + body(2, r.Signature),
		"other randomness": fmt.Sprintf(`{"signature":%q,"randomness":%q}`, r.Signature, load(t).Rounds[0].Randomness),
		"oversize":         r.Signature + strings.Repeat(" ", 4096),
	} {
		if round, sig, err := relay.ParsePasted(bad); err == nil || round != 0 || sig != nil {
			t.Errorf("%s: got %d, %x, %v", name, round, sig, err)
		}
	}
}

// An answer that parses, written anew, parses to the same.
func FuzzParseAnswer(f *testing.F) {
	f.Add([]byte(documented))
	f.Add([]byte(body(1, load(f).Rounds[0].Signature)))
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		round, sig, err := relay.ParseAnswer(data)
		if err != nil {
			return
		}
		if round < 1 || round > beacon.MaxRound || len(sig) != beacon.SignatureSize {
			t.Fatalf("got round %d, %d bytes", round, len(sig))
		}
		again, sigAgain, err := relay.ParseAnswer([]byte(body(round, fmt.Sprintf("%x", sig))))
		if err != nil || again != round || string(sigAgain) != string(sig) {
			t.Errorf("again: %d, %x, %v", again, sigAgain, err)
		}
		pasted, sigPasted, err := relay.ParsePasted(string(data))
		if len(data) <= 4096 && (err != nil || pasted != round || string(sigPasted) != string(sig)) {
			t.Errorf("pasted: %d, %x, %v", pasted, sigPasted, err)
		}
	})
}

func FuzzParsePasted(f *testing.F) {
	f.Add(documented)
	f.Add(strings.ToUpper(load(f).Rounds[0].Signature))
	f.Add(" 95 a9\n")
	f.Fuzz(func(t *testing.T, text string) {
		round, sig, err := relay.ParsePasted(text)
		if err != nil {
			return
		}
		if round > beacon.MaxRound || len(sig) != beacon.SignatureSize {
			t.Fatalf("got round %d, %d bytes", round, len(sig))
		}
		_, again, err := relay.ParsePasted(fmt.Sprintf("%X", sig))
		if err != nil || string(again) != string(sig) {
			t.Errorf("again: %x, %v", again, err)
		}
	})
}
