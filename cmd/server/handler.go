package main

import (
	"context"
	"net/http"
	"net/url"
	"time"

	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/show"
	"evenhand/web"
)

// handler puts the web together. Streams end when ends is closed.
func (p *program) handler(ends <-chan struct{}) (http.Handler, error) {
	public, err := url.Parse(p.URL)
	if err != nil {
		return nil, err
	}
	load := p.sample()
	practice := show.Rehearsals{Store: p.db, Host: p.host, Names: p.db, Rand: p.rand, Enter: func(ctx context.Context, now time.Time, g giveaway.Giveaway, f entries.Form) error {
		_, err := p.intake.Enter(ctx, now, g, f)
		return err
	}}
	return web.New(web.Config{
		Host: p.host, Intake: p.intake, Claims: &p.claims, MarkedKey: p.vault.Key("parcel marked"),
		Event:     &web.Event{Show: show.Show{Store: p.db, Host: p.host}, Live: p.db, Keys: p.db, Names: p.db, Rehearsals: &practice, Ends: ends, WordsKey: p.vault.Key("winner words"), Clock: p.db.Clock(), Disk: p.diskFree},
		PublicURL: public, Now: p.now, Rand: p.rand, Log: p.log, Ready: p.db.Ping, Proxies: p.Proxies,
		Desk: web.Desk{
			Store: p.db, Sessions: p.db.Sessions(p.now), Code: p.code(), KnownKey: p.vault.Key("known browsers"),
			Counts: p.db.EntryCounts, Answers: p.db.EachAnswer, Entry: p.db.EntryByTicket, Sample: load.Load, Uploads: p.db, Forms: p.db, Copy: p.db.Copies(),
			Door: entries.Door{Store: p.db, Signer: p.signer, Rand: p.rand, Key: p.vault.Key("door")}, Warning: zoneWarning(),
		},
	}), nil
}
