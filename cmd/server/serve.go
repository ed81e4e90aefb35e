package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"
)

// Limits of the server. Common practice, no source.
const (
	headerTime = 10 * time.Second
	readTime   = 30 * time.Second
	writeTime  = 10 * time.Minute // a roll of a million tickets over a slow line takes a while
	idleTime   = 2 * time.Minute
	stopTime   = 10 * time.Second // for what is under way when the server stops
)

// serve answers requests and ticks until the context ends; then it lets what
// is under way come to its end.
func (p *program) serve(ctx context.Context, listener net.Listener) error {
	handler, err := p.handler(ctx.Done())
	if err != nil {
		return fmt.Errorf("build the pages: %w", err)
	}
	server := &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: headerTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: 64 << 10,
		// The stop does not cut requests off: a lock under way is finished.
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) },
	}
	ticking, stopTicking := context.WithCancel(context.WithoutCancel(ctx))
	defer stopTicking()
	var ticks sync.WaitGroup
	ticks.Go(func() { p.tick(ctx, ticking) })

	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	p.log.Info("serving", "addr", listener.Addr().String(), "url", p.URL)
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	p.log.Info("stopping")
	stopping, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer cancel()
	err = server.Shutdown(stopping)
	if errors.Is(err, context.DeadlineExceeded) {
		err = server.Close()
	}
	stopTicking()
	ticks.Wait()
	if err != nil {
		return fmt.Errorf("stop: %w", err)
	}
	return nil
}

// tick asks once a second what is due and does it, until the first context
// ends; the second one is that of the work. Any number of servers may tick:
// each duty is a compare-and-swap.
func (p *program) tick(until, work context.Context) {
	beat := time.NewTicker(time.Second)
	defer beat.Stop()
	for n := 0; ; n++ {
		select {
		case <-until.Done():
			return
		case <-beat.C:
			p.duties(work)
			if n%uploadBeats == 0 {
				p.dropUploads(work)
			}
		}
	}
}

func (p *program) duties(ctx context.Context) {
	due, err := p.host.Due(ctx, p.now())
	if err != nil {
		p.log.Error("look for duties", "error", err) // the others are done all the same
	}
	for _, d := range due {
		if err := p.host.Do(ctx, p.now(), d); err != nil {
			p.log.Error("duty failed", "draw", d.ID, "move", d.Move, "error", err)
			continue
		}
		p.log.Info("duty done", "draw", d.ID, "move", d.Move)
	}
}

// uploadBeats is after how many beats files that nobody brought in are looked
// for.
const uploadBeats = 600

// dropUploads forgets files that waited a day.
func (p *program) dropUploads(ctx context.Context) {
	if err := p.db.DropOldUploads(ctx, p.now()); err != nil {
		p.log.Error("drop old uploads", "error", err)
	}
}
