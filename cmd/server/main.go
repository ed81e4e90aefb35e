// Command server is the service: the form, the private pages, the desk and the
// publication of each giveaway, from one database.
//
//	go run ./cmd/server -sample
//
// prints the address to open. See server -h for the settings.
package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // for a computer without zone data; the desk warns when what is used is old

	"evenhand/draw/relay"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	w := world{now: time.Now, rand: rand.Reader, relays: relay.Default()}
	err := run(ctx, os.Args[1:], os.Getenv, os.Stdin, os.Stdout, os.Stderr, w)
	switch {
	case errors.Is(err, flag.ErrHelp):
	case err != nil:
		fmt.Fprintln(os.Stderr, "server:", err)
		os.Exit(1)
	}
}
