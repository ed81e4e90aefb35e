// Command draw makes and checks the draw of a giveaway by itself: on a folder
// of files and a CSV of entries from any form, without a server or database.
//
// A draw's folder is its publication: every file in it is meant to be copied
// to where the public can read it, and nothing else is put there. Beside it,
// FOLDER.private holds what only the host may read: the signing key, the
// sealed secret, receipts and entry texts.
//
// Run draw without arguments for a list of commands, draw COMMAND -h for each
// one's use. Data go to standard output, words to standard error. The exit
// status is 0 for done or valid, 1 for checked and not valid, 2 for anything
// that could not be done, read or checked.
package main

import (
	"context"
	"crypto/rand"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // for systems without zone data of their own
)

func main() {
	ctx, stop := interruptible()
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr, time.Now, rand.Reader)
	stop()
	os.Exit(status)
}

// interruptible is a context that the first Ctrl-C ends. The second one ends
// the process, as if the first had never been caught.
func interruptible() (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}
