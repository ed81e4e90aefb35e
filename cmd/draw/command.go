package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"time"
)

// Exit statuses.
const (
	statusDone  = 0 // done, or valid
	statusFault = 1 // checked, and not valid; or proof of two faces
	statusNot   = 2 // not done, not read, or not checked; wrong usage too
)

// A program is one run of the command. The clock and the random source come
// from main; tests give their own.
type program struct {
	stdin  io.Reader
	stdout io.Writer
	stderr io.Writer
	now    func() time.Time
	rand   io.Reader
	help   string // of the command being run
}

// A command does its work and returns the exit status. An error is printed,
// and is status 2.
type command func(p *program, ctx context.Context, args []string) (int, error)

// commands by name. A map literal here would refer to itself through usage.
func commands(name string) (command, string) {
	switch name {
	case "seal":
		return (*program).seal, sealUsage
	case "open":
		return (*program).open, openUsage
	case "import":
		return (*program).importEntries, importUsage
	case "freeze":
		return (*program).freeze, freezeUsage
	case "run":
		return (*program).runDraw, runUsage
	case "recover":
		return (*program).recover, recoverUsage
	case "outcome":
		return (*program).outcome, outcomeUsage
	case "cancel":
		return (*program).cancel, cancelUsage
	case "verify":
		return (*program).verify, verifyUsage
	case "compare":
		return (*program).compare, compareUsage
	case "find":
		return (*program).find, findUsage
	}
	return nil, ""
}

// helpOf is the help of a command, "" where there is none of that name.
func helpOf(name string) string {
	_, help := commands(name)
	return help
}

// run is the whole program but for what only a process has: the real clock,
// the real random source, signals and the exit.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer, now func() time.Time, rand io.Reader) int {
	p := &program{stdin: stdin, stdout: stdout, stderr: stderr, now: now, rand: rand}
	if len(args) == 0 {
		fmt.Fprint(stderr, usage)
		return statusNot
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		help := usage
		if len(args) > 1 {
			help = cmp.Or(helpOf(args[1]), usage)
		}
		fmt.Fprint(stdout, help)
		return statusDone
	}
	cmd, help := commands(args[0])
	if cmd == nil {
		p.say("there is no command %q; run draw without arguments for a list", args[0])
		return statusNot
	}
	p.help = help
	status, err := cmd(p, ctx, args[1:])
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(stdout, help)
		return statusDone
	case err != nil:
		p.say("%s: %v", args[0], err)
		return statusNot
	}
	return status
}

// say writes words for a person, each line with the program's name. Nothing
// in them reaches a terminal as a control.
func (p *program) say(format string, args ...any) {
	for line := range strings.SplitSeq(strings.TrimRight(visible(fmt.Sprintf(format, args...)), "\n"), "\n") {
		fmt.Fprintf(p.stderr, "draw: %s\n", line)
	}
}

// print writes data, without controls but LF.
func (p *program) print(format string, args ...any) {
	io.WriteString(p.stdout, visible(fmt.Sprintf(format, args...)))
}

// clock is the time in whole seconds, UTC, as all stamps are.
func (p *program) clock() time.Time { return p.now().UTC().Truncate(time.Second) }

// flags is an empty set that prints nothing by itself.
func (p *program) flags() *flag.FlagSet {
	set := flag.NewFlagSet("", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.Usage = func() {}
	return set
}

// parse reads flags and arguments in any order and wants from least to most
// arguments.
func (p *program) parse(set *flag.FlagSet, args []string, least, most int) ([]string, error) {
	var rest []string
	for len(args) > 0 {
		if err := set.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, p.usage("%v", err)
		}
		args = set.Args()
		if len(args) > 0 {
			rest, args = append(rest, args[0]), args[1:]
		}
	}
	if len(rest) < least || len(rest) > most {
		return nil, p.usage("wrong number of arguments: %d", len(rest))
	}
	return rest, nil
}

// usage is an error about how the command was called, with the command's first
// usage lines.
func (p *program) usage(format string, args ...any) error {
	form, _, _ := strings.Cut(p.help, "\n\n")
	return fmt.Errorf("%s\n%s", fmt.Sprintf(format, args...), form)
}

// list is a flag that may be given more than once.
type list []string

func (l *list) String() string     { return strings.Join(*l, " ") }
func (l *list) Set(s string) error { *l = append(*l, s); return nil }
