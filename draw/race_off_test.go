//go:build !race

package draw_test

const underRace = false
