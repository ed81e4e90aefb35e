package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"

	"evenhand/draw"
)

// Limits of reading a publication over HTTP. The lists may be of any length,
// but must keep coming.
const (
	maxNote   = 1 << 20 // bytes of a note, by the protocol
	maxRules  = 16 << 20
	idleLimit = 30 * time.Second
	redirects = 3
)

// An address is a publication read over HTTP. It is a file system without a
// listing: only the protocol's names are asked for, each once. 404 and 410
// mean "not there"; anything else but 200 is an error, which ends a check with
// status 2 (draw protocol, "The publication").
type address struct {
	ctx    context.Context // of the one check that this value serves
	base   *url.URL
	client *http.Client
	notes  map[string]kept      // what was answered for a note
	opened map[string]*bodyFile // lists whose answer nobody has read from yet
}

// kept is a note as it was answered, so that one check sees one version of it.
type kept struct {
	data []byte
	err  error
}

// giveawayPage is the address that people pass around; its files are below.
var giveawayPage = regexp.MustCompile(`^/g/[a-z0-9-]+/?$`)

func newAddress(ctx context.Context, where string) (*address, error) {
	u, err := url.Parse(where)
	if err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" {
		return nil, errors.New("want an address such as https://slow-miles.example/g/trail-boots/fair/")
	}
	if giveawayPage.MatchString(u.Path) {
		u = u.JoinPath("fair")
	}
	if !strings.HasSuffix(u.Path, "/") {
		u = u.JoinPath("/")
	}
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.DisableCompression = true // the bytes that were signed, as they are
	transport.ResponseHeaderTimeout = idleLimit
	transport.DialContext = (&net.Dialer{Timeout: idleLimit}).DialContext
	a := &address{ctx: ctx, base: u, notes: map[string]kept{}, opened: map[string]*bodyFile{}}
	a.client = &http.Client{Transport: transport, CheckRedirect: a.stay}
	return a, nil
}

// stay follows redirects on the same host only.
func (a *address) stay(req *http.Request, via []*http.Request) error {
	switch {
	case req.URL.Host != a.base.Host || req.URL.Scheme != a.base.Scheme:
		return errors.New("redirects to another host")
	case len(via) > redirects:
		return errors.New("redirects too often")
	}
	return nil
}

// Close ends what is still open.
func (a *address) Close() error {
	for _, f := range a.opened {
		f.end()
	}
	a.client.CloseIdleConnections()
	return nil
}

// known are the names that the protocol has.
var known = regexp.MustCompile(`^(opening|rules|outcome)(\.[1-9][0-9]{0,14})?\.txt$|^(roll|excluded|freeze|record|cancelled)\.txt$`)

// replaced are the names of the notes before the last revision.
var replaced = regexp.MustCompile(`\.[0-9]+\.txt$`)

// Open asks for a file.
func (a *address) Open(name string) (fs.File, error) {
	if !known.MatchString(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	if f := a.opened[name]; f != nil {
		delete(a.opened, name)
		return f, nil
	}
	switch {
	case name == draw.RollFile || name == draw.ExcludedFile:
		return a.get(name, 1<<62)
	case strings.HasPrefix(name, "rules."):
		return a.get(name, maxRules)
	}
	return a.note(name)
}

// note reads a note whole, once. One that a later revision replaced is asked
// for once by each check and not held: there may be many.
func (a *address) note(name string) (fs.File, error) {
	k, ok := a.notes[name]
	if !ok {
		k.data, k.err = a.readNote(name)
		k.data = bytes.Clone(k.data)
	}
	if !replaced.MatchString(name) {
		a.notes[name] = k
	}
	if k.err != nil {
		return nil, k.err
	}
	return &memoryFile{Reader: bytes.NewReader(k.data), name: name}, nil
}

func (a *address) readNote(name string) ([]byte, error) {
	f, err := a.get(name, maxNote)
	if err != nil {
		return nil, err
	}
	defer f.end()
	return io.ReadAll(f)
}

// get asks for a file and returns its body.
func (a *address) get(name string, limit int64) (*bodyFile, error) {
	ctx, cancel := context.WithCancel(a.ctx)
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, a.base.JoinPath(name).String(), nil)
	if err != nil {
		cancel()
		return nil, err
	}
	resp, err := a.client.Do(req)
	if err != nil {
		cancel()
		return nil, fmt.Errorf("not read: %w", plain(err))
	}
	f := &bodyFile{a: a, name: name, resp: resp, left: limit, cancel: cancel}
	if err := answered(name, resp); err != nil {
		f.end()
		return nil, err
	}
	return f, nil
}

// answered tells what an answer's header means.
func answered(name string, resp *http.Response) error {
	switch code := resp.StatusCode; {
	case code == http.StatusNotFound || code == http.StatusGone:
		return &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	case code != http.StatusOK:
		return fmt.Errorf("not read: the server answered with status %d", code)
	case resp.Header.Get("Content-Encoding") != "":
		return errors.New("not read: the server changed its form (Content-Encoding)")
	}
	return nil
}

// plain strips the address from an error, since the file is named anyway.
func plain(err error) error {
	if wrapped, ok := errors.AsType[*url.Error](err); ok {
		return wrapped.Err
	}
	return err
}

// A bodyFile is an answer's body as a file.
type bodyFile struct {
	a      *address
	name   string
	resp   *http.Response
	left   int64 // bytes that may still come
	begun  bool
	cancel context.CancelFunc
}

// Read fails if nothing comes for a while, or too much.
func (f *bodyFile) Read(b []byte) (int, error) {
	f.begun = true
	idle := time.AfterFunc(idleLimit, f.cancel)
	n, err := f.resp.Body.Read(b)
	if !idle.Stop() && err != nil && !errors.Is(err, io.EOF) {
		err = fmt.Errorf("not read: nothing came for %s", idleLimit)
	}
	if f.left -= int64(n); f.left < 0 {
		return 0, errors.New("not read: longer than it may be")
	}
	return n, err
}

// Close keeps an answer that nobody has read from: a check first asks whether
// a list is there and then reads it.
func (f *bodyFile) Close() error {
	if !f.begun && f.a.opened[f.name] == nil {
		f.a.opened[f.name] = f
		return nil
	}
	return f.end()
}

func (f *bodyFile) end() error {
	f.cancel()
	return f.resp.Body.Close()
}

func (f *bodyFile) Stat() (fs.FileInfo, error) { return fileInfo{f.name, f.resp.ContentLength}, nil }
