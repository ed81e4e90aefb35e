package claims

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"evenhand/draw"
)

// confirmedOnce says which places that are passed now were confirmed before.
// Only the outcomes that were replaced say so, and what is passed stays so:
// where nothing is passed none is read.
func (c Clerk) confirmedOnce(ctx context.Context, id string, places []Place) (map[int]bool, error) {
	once := map[int]bool{}
	passed := false
	for _, p := range places {
		passed = passed || p.Passed != nil
	}
	if !passed {
		return once, nil
	}
	signer, err := c.Host.Keys.Signer(ctx)
	if err != nil {
		return nil, fmt.Errorf("signing key: %w", err)
	}
	key, err := draw.ParseVerifier(signer.VerifierKey())
	if err != nil {
		return nil, err
	}
	files := c.Host.Store.Publication(id)
	for n := 1; ; n++ {
		name := fmt.Sprintf("outcome.%d.txt", n)
		data, err := fs.ReadFile(files, name)
		if errors.Is(err, fs.ErrNotExist) {
			return once, nil
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		text, err := draw.OpenNote(name, data, key)
		if err != nil {
			return nil, err
		}
		before, err := draw.ParseOutcome(name, text)
		if err != nil {
			return nil, err
		}
		for _, one := range before.Confirmed {
			once[one.Place] = true
		}
	}
}
