//go:build race

package draw_test

// underRace tells that the race detector is on, which makes the beacon's
// pairing some ten times slower.
const underRace = true
