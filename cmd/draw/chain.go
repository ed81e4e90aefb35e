package main

import (
	"flag"
	"fmt"

	"evenhand/draw"
	"evenhand/draw/beacon"
)

// parseWithChains parses a command's flags and arguments, and reads the chains
// that its flag --chain gives.
func (p *program) parseWithChains(set *flag.FlagSet, args []string, least, most int) (rest []string, chains []beacon.Chain, err error) {
	var files list
	set.Var(&files, "chain", "")
	if rest, err = p.parse(set, args, least, most); err != nil {
		return nil, nil, err
	}
	chains, err = readChains(files)
	return rest, chains, err
}

// readChains reads chain info files, as a beacon's relays serve them.
func readChains(files list) ([]beacon.Chain, error) {
	var out []beacon.Chain
	for _, name := range files {
		b, err := readSmall(name)
		if err != nil {
			return nil, fmt.Errorf("--chain: %w", err)
		}
		c, err := beacon.ParseInfo(b)
		if err != nil {
			return nil, fmt.Errorf("--chain %s: %w", name, err)
		}
		out = append(out, c)
	}
	return out, nil
}

// chainOf is the chain that an opening names, nil where it names none.
func chainOf(o draw.Opening, given []beacon.Chain) (*beacon.Chain, error) {
	if o.Beacon == nil {
		return nil, nil
	}
	for _, c := range append([]beacon.Chain{beacon.Quicknet()}, given...) {
		if draw.Digest(c.Hash) == *o.Beacon {
			return &c, nil
		}
	}
	return nil, fmt.Errorf("the opening names the beacon chain %s, which is not known here: give its info with --chain FILE", o.Beacon)
}
