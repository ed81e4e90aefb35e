package web

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"sync"

	"evenhand/draw"
)

// keptRanks is of how many draws the order is kept: 8 bytes a ticket each.
const keptRanks = 8

// ranks keep the order of the newest draws that were asked about.
type ranks struct {
	mu     sync.Mutex // guards bySeed, and makes one order at a time
	bySeed map[draw.Digest][]uint64
}

// rank returns the place of a ticket in the order of the whole roll, from 1.
// Scores are compared by their first 64 bits: among a million tickets two of
// them are alike about once in 40 million draws, and then both ranks are the
// same.
func (r *ranks) rank(pub fs.FS, seed draw.Digest, t draw.Ticket) (int64, error) {
	order, err := r.order(pub, seed)
	if err != nil {
		return 0, err
	}
	before, _ := slices.BinarySearch(order, scorePrefix(seed, t))
	return int64(before) + 1, nil
}

// order returns the first 64 bits of all scores of a roll, ascending. The first
// question about a draw reads the roll once. Nobody changes what it returns.
func (r *ranks) order(pub fs.FS, seed draw.Digest) ([]uint64, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	order, ok := r.bySeed[seed]
	if !ok {
		var err error
		if order, err = scoreOrder(pub, seed); err != nil {
			return nil, fmt.Errorf("rank tickets: %w", err)
		}
		if r.bySeed == nil || len(r.bySeed) >= keptRanks {
			r.bySeed = map[draw.Digest][]uint64{}
		}
		r.bySeed[seed] = order
	}
	return order, nil
}

func scorePrefix(seed draw.Digest, t draw.Ticket) uint64 {
	score := draw.Score(seed, t)
	return binary.BigEndian.Uint64(score[:8])
}

// scoreOrder reads the roll and sorts the beginnings of its scores.
func scoreOrder(pub fs.FS, seed draw.Digest) ([]uint64, error) {
	f, err := pub.Open(draw.RollFile)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var order []uint64
	lines := bufio.NewReaderSize(f, 64<<10)
	for {
		line, err := lines.ReadSlice('\n')
		if errors.Is(err, io.EOF) && len(line) == 0 {
			slices.Sort(order)
			return order, nil
		}
		if err != nil {
			return nil, err
		}
		t, _, err := draw.RollLine(line)
		if err != nil {
			return nil, err
		}
		order = append(order, scorePrefix(seed, t))
	}
}
