package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"evenhand/draw"
)

// compare looks for proof of two faces in two folders, addresses or notes.
func (p *program) compare(ctx context.Context, args []string) (int, error) {
	set := p.flags()
	key := set.String("signer", "", "")
	asJSON := set.Bool("json", false, "")
	rest, err := p.parse(set, args, 2, 2)
	if err != nil {
		return 0, err
	}
	if *key != "" {
		if _, err := draw.ParseVerifier(*key); err != nil {
			return 0, p.usage("--signer: %v", err)
		}
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	a, errA := side(ctx, rest[0])
	b, errB := side(ctx, rest[1])
	if err := errors.Join(errA, errB); err != nil {
		return 0, err
	}
	c := draw.Compare(a, b, *key)
	if *asJSON {
		return c.Status, p.printJSON(c)
	}
	p.print("%s\n", c.Result)
	for _, why := range c.Why {
		p.print("%s\n", oneLine(why))
	}
	return c.Status, nil
}

// side opens what is to be compared: a folder, an address, or one note.
func side(ctx context.Context, where string) (draw.Side, error) {
	isAddress := strings.HasPrefix(where, "http://") || strings.HasPrefix(where, "https://")
	if info, err := os.Stat(where); !isAddress && err == nil && info.Mode().IsRegular() {
		data, err := readSmall(where)
		return draw.Side{Name: filepath.Base(where), Note: data}, err
	}
	fsys, _, err := openPublication(ctx, where)
	return draw.Side{FS: fsys}, err
}
