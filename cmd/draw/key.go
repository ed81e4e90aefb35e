package main

import (
	"fmt"
	"strings"

	"evenhand/draw"
)

// key reads the folder's signing key, takes the one given, or makes one.
func (p *program) key(f folder, name, file string) (draw.Signer, error) {
	have, err := f.signer()
	switch {
	case err == nil && file == "" && (name == "" || name == have.Name()):
		return have, nil
	case err == nil && file == "":
		return have, fmt.Errorf("--signer: %s holds the key of another name, %s", f.private(keyName), have.Name())
	case file != "":
		return p.givenKey(f, name, file)
	case name == "":
		return have, p.usage("--signer: want the host name under which the giveaway is served, such as slow-miles.example")
	}
	s, err := draw.NewSigner(p.rand, name)
	if err != nil {
		return s, err
	}
	return s, writeNew(f.private(keyName), []byte(s.Secret()+"\n"), privateMode)
}

// givenKey copies a key of the host's into the folder.
func (p *program) givenKey(f folder, name, file string) (draw.Signer, error) {
	b, err := readSmall(file)
	if err != nil {
		return draw.Signer{}, fmt.Errorf("--key: %w", err)
	}
	s, err := draw.ParseSigner(strings.TrimSuffix(string(b), "\n"))
	if err != nil {
		return s, fmt.Errorf("--key %s: %w", file, err)
	}
	if name != "" && name != s.Name() {
		return s, fmt.Errorf("--signer: %s holds the key of another name, %s", file, s.Name())
	}
	return s, writeNew(f.private(keyName), []byte(s.Secret()+"\n"), privateMode)
}
