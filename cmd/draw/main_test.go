package main

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	if os.Getenv("DRAW_STUCK") != "" {
		stuck()
	}
	testscript.Main(m, map[string]func(){"draw": drawWithTestClock})
}

// drawWithTestClock is the command with a clock that starts at $CLOCK and runs
// on from there, and with fixed random bytes where $SEED is set. Only the test
// binary has these.
func drawWithTestClock() {
	start, base := time.Now(), time.Now()
	if s := os.Getenv("CLOCK"); s != "" {
		t, err := time.Parse(time.RFC3339, s)
		if err != nil {
			fmt.Fprintln(os.Stderr, "CLOCK:", err)
			os.Exit(99)
		}
		base = t
	}
	now := func() time.Time { return base.Add(time.Since(start)) }
	random := rand.Reader
	if seed := os.Getenv("SEED"); seed != "" {
		random = &fixed{seed: seed}
	}
	os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr, now, random))
}

// fixed are the SHA-256 values of a seed with a counter, one after the other.
type fixed struct {
	seed string
	n    uint64
	left []byte
}

func (f *fixed) Read(b []byte) (int, error) {
	if len(f.left) == 0 {
		sum := sha256.Sum256(binary.BigEndian.AppendUint64([]byte(f.seed), f.n))
		f.left, f.n = sum[:], f.n+1
	}
	n := copy(b, f.left)
	f.left = f.left[n:]
	return n, nil
}

var _ io.Reader = (*fixed)(nil)

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       os.Getenv("UPDATE_SCRIPTS") != "",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": cmdStatus,
			"mode":   cmdMode,
			"serve":  cmdServe,
			"relay":  cmdRelay,
		},
		Setup: func(env *testscript.Env) error {
			vectors, err := vectorsPath()
			env.Setenv("VECTORS", vectors)
			env.Setenv("GORACE", "atexit_sleep_ms=0") // or each command waits a second under -race
			return err
		},
	})
}

func sha256Of(s string) [32]byte { return sha256.Sum256([]byte(s)) }
