package web_test

import (
	"context"
	"errors"
	"io/fs"
	"testing/fstest"
	"time"

	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/web"
)

// rebuild makes the site anew from the changed config.
func (r *rig) rebuild() { handlers.Store(r, web.New(r.config)) }

func changeRules(text string) giveaway.Change { return giveaway.Change{Rules: &text} }

// tight lets few requests through.
func tight(c *web.Config) {
	c.Limits = web.Limits{Posts: web.Limit{Every: time.Minute, Burst: 3}, Private: web.Limit{Every: time.Minute, Burst: 3}}
}

// tampered serves another roll than the one that was signed for.
type tampered struct{ giveaway.Store }

func (s tampered) Publication(id string) fs.FS {
	files := fstest.MapFS{}
	list, err := fs.ReadDir(s.Store.Publication(id), ".")
	if err != nil {
		return files
	}
	for _, f := range list {
		b, err := fs.ReadFile(s.Store.Publication(id), f.Name())
		if err == nil && f.Name() == draw.RollFile {
			b[len(b)-2] ^= 1
		}
		files[f.Name()] = &fstest.MapFile{Data: b}
	}
	return files
}

// broken can't write, and panics when it reads.
type broken struct{ web.Intake }

func (broken) Enter(context.Context, time.Time, giveaway.Giveaway, entries.Form) (entries.Entered, error) {
	return entries.Entered{}, errors.New("enter boots: the disk is full")
}

func (broken) Mine(context.Context, string, string) (entries.Private, error) {
	panic("a planted value")
}
