package main

import (
	"errors"
	"fmt"
	"strings"

	"evenhand/draw"
)

// A sheet is what a recovery sheet holds: the host's sealed secret and the
// signing key.
type sheet struct {
	seal   draw.Seal
	signer draw.Signer
}

// What the two blocks of a sheet begin with.
const (
	sealBegins = "evenhand/seal/v1"
	keyBegins  = "PRIVATE+KEY+"
)

// Lengths in characters: 32 bytes in hex; a key id in hex; base64 of the
// algorithm's byte and a seed of 32 bytes (C2SP signed-note).
const (
	secretChars = 64
	idChars     = 8
	seedChars   = 44
)

// parseSheet reads a recovery sheet, the text file or what was typed from
// paper. It looks for the two blocks and passes over everything else. Within
// them line ends and blanks don't matter, and capitals don't in the secret.
func parseSheet(text string) (s sheet, err error) {
	if s.seal, err = sheetSeal(text); err != nil {
		return s, fmt.Errorf("the secret number: %w", err)
	}
	if s.signer, err = sheetKey(text); err != nil {
		return s, fmt.Errorf("the key: %w", err)
	}
	if s.signer.Name() != s.seal.Signer {
		return s, fmt.Errorf("the key is that of %s, the secret number that of %s", s.signer.Name(), s.seal.Signer)
	}
	return s, nil
}

// sheetSeal reads the seal's lines, in whatever lines they were typed.
func sheetSeal(text string) (draw.Seal, error) {
	words := strings.Fields(text)
	var label [3]string // of draw, signer and by
	at := -1
	for i, w := range words {
		if w == sealBegins {
			at = i + 1
			break
		}
	}
	if at < 0 {
		return draw.Seal{}, errors.New("want a line " + sealBegins)
	}
	for i, name := range []string{"draw", "signer", "by"} {
		if at+1 >= len(words) || words[at] != name {
			return draw.Seal{}, fmt.Errorf("want the word %q and what follows it", name)
		}
		label[i], at = words[at+1], at+2
	}
	if at >= len(words) || words[at] != "secret" {
		return draw.Seal{}, errors.New(`want the word "secret" and its 64 characters`)
	}
	secret, err := hexRun(words[at+1:])
	if err != nil {
		return draw.Seal{}, err
	}
	exact := fmt.Sprintf("%s\ndraw %s\nsigner %s\nby %s\nsecret %s\n", sealBegins, label[0], label[1], label[2], secret)
	return draw.ParseSeal("sheet", []byte(exact))
}

// hexRun joins words to 64 hex digits.
func hexRun(words []string) (string, error) {
	run := ""
	for _, w := range words {
		if len(run) == secretChars || strings.Trim(w, "0123456789abcdefABCDEF") != "" {
			break
		}
		run += strings.ToLower(w)
	}
	if len(run) != secretChars {
		return "", fmt.Errorf("want 64 characters of 0-9 and a-f after \"secret\", got %d", len(run))
	}
	return run, nil
}

// sheetKey reads the signing key: PRIVATE+KEY+name+id+base64 of known length.
func sheetKey(text string) (draw.Signer, error) {
	_, rest, ok := strings.Cut(strings.Join(strings.Fields(text), ""), keyBegins)
	if !ok {
		return draw.Signer{}, errors.New("want a line that begins with " + keyBegins)
	}
	name, rest, ok := strings.Cut(rest, "+")
	if !ok || len(rest) < idChars+1+seedChars {
		return draw.Signer{}, errors.New("it is cut short")
	}
	s, err := draw.ParseSigner(keyBegins + name + "+" + rest[:idChars+1+seedChars])
	if err != nil {
		return s, fmt.Errorf("%w; capital and small letters count", err)
	}
	if id := rest[:idChars]; !strings.HasPrefix(s.VerifierKey(), name+"+"+id+"+") {
		return s, errors.New("it does not fit its own number: a character is wrong; capital and small letters count")
	}
	return s, nil
}
