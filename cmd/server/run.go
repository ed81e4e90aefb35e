package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"time"

	"evenhand/claims"
	"evenhand/draw"
	"evenhand/entries"
	"evenhand/giveaway"
	"evenhand/sample"
	"evenhand/store"
	"evenhand/vault"
)

// A world is what the program takes from outside and no setting can change.
// Tests start the program with a world of their own.
type world struct {
	now    func() time.Time
	rand   io.Reader
	relays []string // of the public network, asked in this order
}

// run is the program: it reads the settings, builds everything, serves until
// the context ends, and stops cleanly.
func run(ctx context.Context, args []string, env func(string) string, _ io.Reader, stdout, stderr io.Writer, w world) error {
	set, err := readSettings(args, env, stdout)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", set.Addr)
	if err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	defer listener.Close() // closed already, where serving has begun
	if set.URL == "" {
		set.URL = publicURL(listener.Addr())
	}
	log := slog.New(slog.NewTextHandler(stderr, nil))
	p, err := build(ctx, set, w, log)
	if err != nil {
		return err
	}
	defer p.db.Close()
	if err := p.loadSample(ctx, stdout); err != nil {
		return err
	}
	if err := p.greet(ctx, stdout); err != nil {
		return err
	}
	return p.serve(ctx, listener)
}

// A program is everything that is built at the start.
type program struct {
	settings
	world
	log    *slog.Logger
	vault  *vault.Vault
	db     *store.DB
	signer draw.Signer
	relays beacons
	host   giveaway.Host
	intake entries.Intake
	claims claims.Clerk
}

// build opens the data folder and the database, and puts the rooms together.
func build(ctx context.Context, set settings, w world, log *slog.Logger) (*program, error) {
	p := &program{settings: set, world: w, log: log, relays: newBeacons(w.relays, log)}
	if err := os.MkdirAll(set.Data, 0o700); err != nil {
		return nil, fmt.Errorf("make data folder: %w", err)
	}
	p.warnOfOthers()
	var err error
	if p.vault, err = vault.Load(filepath.Join(set.Data, "master.key"), w.rand); err != nil {
		return nil, err
	}
	p.db, err = store.Open(ctx, store.Config{
		URL: set.Database, File: filepath.Join(set.Data, "evenhand.db"), Vault: p.vault,
	})
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	if err := p.rooms(ctx); err != nil {
		return nil, errors.Join(err, p.db.Close())
	}
	return p, nil
}

// warnOfOthers says if other people of this computer can get at the data
// folder. One that is made here is the owner's alone.
func (p *program) warnOfOthers() {
	if info, err := os.Stat(p.Data); err == nil && info.Mode().Perm()&0o077 != 0 {
		p.log.Warn("others can get at the data folder; it holds the entries. Give it mode 0700 (chmod 700)",
			"folder", p.Data, "mode", fmt.Sprintf("%04o", info.Mode().Perm()))
	}
}

func (p *program) rooms(ctx context.Context) error {
	name, err := signerName(p.URL)
	if err != nil {
		return err
	}
	if p.signer, err = p.db.Installation(ctx, name, p.rand); err != nil {
		return err
	}
	p.host = giveaway.Host{Store: p.db, Outcomes: p.db, Desk: p.db, Data: p.db, Keys: p.db, Beacons: p.relays, Rand: p.rand, Now: p.now}
	p.intake = entries.Intake{Store: p.db, Signer: p.signer, Rand: p.rand, LinkKey: p.vault.Key("private link")}
	p.claims = claims.Clerk{Store: p.db, Entries: p.db, Host: p.host, Seal: p.vault, Rand: p.rand, URL: p.URL}
	return nil
}

func (p *program) sample() sample.Loader {
	return sample.Loader{Host: p.host, Intake: p.intake, Now: p.now, Relays: p.online, Told: func(id string, t sample.Tally) {
		p.log.Info("sample loaded", "draw", id, "sent", t.Sent, "in", t.In, "repeats", t.Repeats, "refused", t.Refused, "withdrawn", t.Withdrawn)
	}}
}

// loadSample loads the sample where it is asked for. Beside a real giveaway it
// stays out, and the program goes on: who starts it anew in a hurry takes the
// command that was there.
func (p *program) loadSample(ctx context.Context, stdout io.Writer) error {
	if !p.Sample {
		return nil
	}
	err := p.sample().Load(ctx)
	if errors.Is(err, sample.ErrReal) {
		_, err = fmt.Fprintln(stdout, "A giveaway of your own is here, so no sample was loaded. Another data folder (-data) can have one.")
	}
	return err
}

// online reports whether the sample's draw can have a public number, and says
// so where it can't.
func (p *program) online(ctx context.Context, now time.Time) bool {
	ok := p.relays.answers(ctx, now)
	if !ok {
		p.log.Info("no network: " + sample.Next + " is drawn without a public number")
	}
	return ok
}

// greet says where to go, and the code for the first start while the desk has
// no passphrase.
func (p *program) greet(ctx context.Context, out io.Writer) error {
	claimed, err := p.db.DeskClaimed(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Open %s/desk\n", p.URL)
	if !claimed {
		fmt.Fprintf(out, "Code for the first start: %s\n", p.code())
	}
	if warning := zoneWarning(); warning != "" {
		fmt.Fprintln(out, warning)
	}
	_, err = fmt.Fprintln(out, "Ready. Stop with Ctrl-C.")
	return err
}

// code is the code for the first start. It comes from the master key, so all
// servers on one database know the same one, and only who sees a terminal of
// theirs can claim the desk.
func (p *program) code() string {
	key := p.vault.Key("first-start code")
	var ticket draw.Ticket
	copy(ticket[:], crockford(key[:]))
	return ticket.Grouped()[:14]
}

// crockford writes the low five bits of each byte as a character; of a uniform
// byte they are uniform.
func crockford(b []byte) []byte {
	const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ" // Crockford base32
	text := make([]byte, len(b))
	for i, c := range b {
		text[i] = alphabet[c&31]
	}
	return text
}
