package relay

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"unicode"

	"evenhand/draw/beacon"
)

// answer is a relay's JSON for a round. Fields that we don't need are left
// out and not looked at.
type answer struct {
	Round      *uint64 `json:"round"`
	Signature  string  `json:"signature"`
	Randomness string  `json:"randomness"`
}

// ParseAnswer reads a relay's JSON answer for a round: "round", "signature"
// in 96 lower-case hex digits and, if there, a "randomness" that fits the
// signature. The signature is 48 bytes and not verified yet.
func ParseAnswer(body []byte) (round uint64, sig []byte, err error) {
	round, sig, err = parse(body, func(hex string) string { return hex })
	if err == nil && round == 0 {
		err = errors.New("no round")
	}
	if err != nil {
		return 0, nil, fmt.Errorf("read relay's answer: %w", err)
	}
	return round, sig, nil
}

// ParsePasted reads a round's value as a person pastes it: a relay's JSON
// answer or the signature alone, 96 hex digits. White space around and between
// the digits and upper case are forgiven. The round is 0 if the text names
// none. The signature is 48 bytes and not verified yet.
func ParsePasted(text string) (round uint64, sig []byte, err error) {
	if len(text) > maxAnswer {
		return 0, nil, fmt.Errorf("read pasted beacon value: longer than %d bytes", maxAnswer)
	}
	text = strings.TrimSpace(text)
	if strings.HasPrefix(text, "{") {
		round, sig, err = parse([]byte(text), tidy)
	} else {
		sig, err = beacon.ParseSignature(tidy(text))
	}
	if err != nil {
		return 0, nil, fmt.Errorf("read pasted beacon value: %w", err)
	}
	return round, sig, nil
}

// parse reads the JSON form; the hex in it is read after the clean-up. The
// round is 0 if absent.
func parse(body []byte, cleanUp func(string) string) (uint64, []byte, error) {
	var a answer
	if err := json.Unmarshal(body, &a); err != nil {
		return 0, nil, errors.New("not a round in JSON")
	}
	var round uint64
	if a.Round != nil {
		round = *a.Round
		if round < 1 || round > beacon.MaxRound {
			return 0, nil, fmt.Errorf("round %d is not from 1 to %d", round, uint64(beacon.MaxRound))
		}
	}
	sig, err := beacon.ParseSignature(cleanUp(a.Signature))
	if err != nil {
		return 0, nil, err
	}
	if a.Randomness != "" && cleanUp(a.Randomness) != fmt.Sprintf("%x", beacon.Randomness(sig)) {
		return 0, nil, errors.New("randomness does not fit the signature")
	}
	return round, sig, nil
}

// tidy drops white space and lowers the letters A to F.
func tidy(hex string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return -1
		case 'A' <= r && r <= 'F':
			return r + 'a' - 'A'
		}
		return r
	}, hex)
}
