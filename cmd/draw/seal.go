package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"evenhand/draw"
	"evenhand/giveaway"
)

// seal makes a seal and prints its line for the opening.
func (p *program) seal(_ context.Context, args []string) (int, error) {
	set := p.flags()
	s := draw.Seal{}
	set.StringVar(&s.Draw, "draw", "", "")
	set.StringVar(&s.Signer, "signer", "", "")
	set.StringVar(&s.Role, "role", giveaway.HostRole, "")
	out := set.String("out", "", "")
	if _, err := p.parse(set, args, 0, 0); err != nil {
		return 0, err
	}
	switch {
	case !draw.ValidID(s.Draw):
		return 0, p.usage("--draw: want a draw id: a-z, 0-9 and inner hyphens")
	case !draw.ValidSigner(s.Signer):
		return 0, p.usage("--signer: want the host name under which the giveaway is served, such as slow-miles.example")
	case !draw.ValidRole(s.Role):
		return 0, p.usage("--role: want a-z first, then a-z, 0-9 and inner hyphens")
	}
	if *out == "" {
		*out = s.Draw + "." + sealName(s.Role)
	}
	if err := p.newSeal(&s, *out); err != nil {
		return 0, err
	}
	p.say("the secret is in %s: keep it, show it to nobody before the event", *out)
	p.print("seal %s %s\n", s.Role, s.Hash())
	return statusDone, nil
}

// newSeal fills in the secret and writes the seal where only its owner reads.
func (p *program) newSeal(s *draw.Seal, path string) error {
	if _, err := io.ReadFull(p.rand, s.Secret[:]); err != nil {
		return fmt.Errorf("make secret: %w", err)
	}
	return writeNew(path, s.Text(), privateMode)
}

// hostSeal reads the host's seal, or makes one where there is none.
func (p *program) hostSeal(f folder, drawID, signer string) (draw.Seal, error) {
	s, err := f.seal(giveaway.HostRole)
	if errors.Is(err, fs.ErrNotExist) {
		s = draw.Seal{Draw: drawID, Signer: signer, Role: giveaway.HostRole}
		return s, p.newSeal(&s, f.private(sealName(giveaway.HostRole)))
	}
	if err == nil && (s.Draw != drawID || s.Signer != signer || s.Role != giveaway.HostRole) {
		err = fmt.Errorf("%s is not the host's seal for draw %s by %s", f.private(sealName(giveaway.HostRole)), drawID, signer)
	}
	return s, err
}

// parseSealHash reads "ROLE HASH" as draw seal prints it, with or without the
// word seal before it; "=" may stand for the space.
func parseSealHash(s string) (draw.SealHash, error) {
	parts := strings.Fields(strings.TrimPrefix(strings.Replace(s, "=", " ", 1), "seal "))
	if len(parts) != 2 || !draw.ValidRole(parts[0]) {
		return draw.SealHash{}, errors.New(`want "ROLE HASH", as draw seal prints it`)
	}
	hash, err := draw.ParseDigest(parts[1])
	return draw.SealHash{Role: parts[0], Hash: hash}, err
}
