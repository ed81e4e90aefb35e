//go:build race

package check

// underRace tells that the race detector is on: package draw is then several
// times slower, and these tests look for no races in it.
const underRace = true
