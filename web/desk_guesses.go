package web

import (
	"maps"
	"slices"
	"sync"
	"time"
)

// How wrong guesses slow down: a second after the first, twice as long after
// each more, five minutes at most. Common practice, no source.
const (
	firstDelay = time.Second
	mostDelay  = 5 * time.Minute
	maxGuessed = 10_000 // keys; when full those start afresh that waited longest
)

// guesses slow down those who guess, by a key: one for all, or a network. They
// are kept in memory, for one process.
type guesses struct {
	mu    sync.Mutex // guards byKey
	byKey map[string]*guessing
}

// guessing is one key's history. Whoever holds mu is judging a guess; others
// with the same key wait, so that many at once can't pass together.
type guessing struct {
	mu    sync.Mutex // guards what follows
	wrong int
	until time.Time // no guess is looked at before
}

func newGuesses() *guesses { return &guesses{byKey: map[string]*guessing{}} }

func (g *guesses) of(key string) *guessing {
	g.mu.Lock()
	defer g.mu.Unlock()
	one := g.byKey[key]
	if one == nil {
		if len(g.byKey) >= maxGuessed {
			g.forget()
		}
		one = &guessing{}
		g.byKey[key] = one
	}
	return one
}

// forget drops an eighth of the keys: those that may guess again soonest. One
// that is being judged stays.
func (g *guesses) forget() {
	until := map[string]time.Time{}
	for key, one := range g.byKey {
		if one.mu.TryLock() {
			until[key] = one.until
			one.mu.Unlock()
		}
	}
	order := slices.SortedFunc(maps.Keys(until), func(a, b string) int { return until[a].Compare(until[b]) })
	for _, key := range order[:min(len(order), maxGuessed/8)] {
		delete(g.byKey, key)
	}
}

// wrong notes a wrong guess under each key, and says how long the longest wait
// is where one of them has to wait already.
func (g *guesses) wrong(now time.Time, keys ...string) (wait time.Duration) {
	for _, key := range keys {
		_, one, _ := g.try(key, now, func() (bool, error) { return false, nil })
		wait = max(wait, one)
	}
	return wait
}

// try judges a guess made at now with right, unless the key has to wait: then
// wait is how long, and right is not asked. An error of right is no guess.
func (g *guesses) try(key string, now time.Time, right func() (bool, error)) (ok bool, wait time.Duration, err error) {
	one := g.of(key)
	one.mu.Lock()
	defer one.mu.Unlock()
	if wait := one.until.Sub(now); wait > 0 {
		return false, wait, nil
	}
	ok, err = right()
	switch {
	case err != nil:
	case ok:
		one.wrong, one.until = 0, time.Time{}
	default:
		one.until = now.Add(min(firstDelay<<min(one.wrong, 20), mostDelay))
		one.wrong++
	}
	return ok, 0, err
}
