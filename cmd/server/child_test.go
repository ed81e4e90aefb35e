package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"os"
	"strings"
	"time"
)

// childClock names the file with the time for a server that a test starts as a
// process of its own; its content is read at each look at the clock. Only the
// test program knows it.
const (
	childClock = "EVENHAND_TEST_CLOCK"
	childRelay = "EVENHAND_TEST_RELAY"
)

// serveAsChild runs the program in this process until it is killed.
func serveAsChild() {
	now := func() time.Time {
		b, err := os.ReadFile(os.Getenv(childClock))
		if err != nil {
			panic(err)
		}
		at, err := time.Parse(time.RFC3339, strings.TrimSpace(string(b)))
		if err != nil {
			panic(err)
		}
		return at
	}
	w := world{now: now, rand: rand.Reader, relays: []string{os.Getenv(childRelay)}}
	if err := run(context.Background(), os.Args[1:], os.Getenv, os.Stdin, os.Stdout, os.Stderr, w); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}
