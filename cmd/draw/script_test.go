package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"

	"github.com/rogpeppe/go-internal/testscript"
)

// vectors is where the sample publications lie.
const vectors = "../../testdata/vectors"

func vectorsPath() (string, error) { return filepath.Abs(vectors) }

// cmdStatus runs a command and wants this exit status: status 2 draw verify x
func cmdStatus(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command [argument ...]")
	}
	got := 0
	err := ts.Exec(args[1], args[2:]...)
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if strconv.Itoa(got) != args[0] {
		ts.Fatalf("exit status %d, want %s", got, args[0])
	}
}

// cmdMode wants this mode of every file that a pattern matches: mode 600 x/*
func cmdMode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: mode OCTAL pattern")
	}
	files, err := filepath.Glob(ts.MkAbs(args[1]))
	ts.Check(err)
	if len(files) == 0 {
		ts.Fatalf("nothing matches %s", args[1])
	}
	for _, name := range files {
		info, err := os.Lstat(name)
		ts.Check(err)
		if got := fmt.Sprintf("%o", info.Mode().Perm()); got != args[0] {
			ts.Fatalf("%s has the mode %s, want %s", name, got, args[0])
		}
	}
}

// cmdServe serves a folder over HTTP and puts its address into a variable.
// Rules NAME=STATUS answer for single files; NAME=elsewhere redirects to
// another host, NAME=here to the same file on this one:
//
//	serve URL folder freeze.txt=410 roll.txt=500
//
// PAGE becomes the address of a giveaway's page, whose files are below it.
func cmdServe(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: serve VARIABLE folder [name=status ...]")
	}
	dir, rules := os.DirFS(ts.MkAbs(args[1])), map[string]string{}
	for _, a := range args[2:] {
		name, what, _ := strings.Cut(a, "=")
		rules["/fair/"+name] = what
	}
	plain := http.FileServerFS(dir)
	files := http.NewServeMux()
	files.Handle("/fair/", http.StripPrefix("/fair/", plain))
	files.Handle("/g/trail-boots/fair/", http.StripPrefix("/g/trail-boots/fair/", plain)) // as the service has it
	other := httptest.NewServer(files)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch what := rules[r.URL.Path]; what {
		case "":
			files.ServeHTTP(w, r)
		case "elsewhere":
			http.Redirect(w, r, other.URL+r.URL.Path, http.StatusFound)
		case "here":
			delete(rules, r.URL.Path)
			http.Redirect(w, r, r.URL.Path, http.StatusFound)
		case "endless":
			for _, err := fmt.Fprint(w, strings.Repeat("x", 1<<16)); err == nil; {
				_, err = fmt.Fprint(w, strings.Repeat("x", 1<<16))
			}
		default:
			code, _ := strconv.Atoi(what)
			w.WriteHeader(code)
		}
	}))
	ts.Defer(func() { server.Close(); other.Close() })
	ts.Setenv(args[0], server.URL+"/fair")
	ts.Setenv("PAGE", server.URL+"/g/trail-boots")
}

// cmdRelay stands in for a relay and puts its address into a variable. It
// knows one round and its signature, in the form of the relays' HTTP interface
// (https://docs.drand.love/developer/http-api). A fourth argument is how many
// times it says first that it has not got the round yet:
//
//	relay URL 31543812 a517… 2
func cmdRelay(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 || len(args) > 4 {
		ts.Fatalf("usage: relay VARIABLE round signature [times]")
	}
	var late atomic.Int64
	if len(args) == 4 {
		n, err := strconv.Atoi(args[3])
		ts.Check(err)
		late.Store(int64(n))
	}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		sig, err := hex.DecodeString(args[2])
		if !strings.HasSuffix(r.URL.Path, "/public/"+args[1]) || err != nil || late.Add(-1) >= 0 {
			w.WriteHeader(http.StatusNotFound)
			return
		}
		fmt.Fprintf(w, `{"round":%s,"randomness":"%x","signature":"%s"}`, args[1], sha256.Sum256(sig), args[2])
	}))
	ts.Defer(server.Close)
	ts.Setenv(args[0], server.URL)
}
