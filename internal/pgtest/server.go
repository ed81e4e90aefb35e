package pgtest

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"os"
	osexec "os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"evenhand/internal/child"
)

// server is a running PostgreSQL that this process started.
type server struct {
	url    string
	folder string // everything it writes
	cmd    *osexec.Cmd
	log    *os.File
	exited <-chan struct{} // closed when the process has ended
}

// programs returns the folder of a PostgreSQL whose initdb answers: Debian's
// newest first, then whatever PATH holds.
func programs() (string, error) {
	dirs, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	slices.SortFunc(dirs, func(a, b string) int { return major(b) - major(a) })
	if path, err := osexec.LookPath("initdb"); err == nil {
		dirs = append(dirs, filepath.Dir(path))
	}
	cause := errors.New("no PostgreSQL: no initdb in /usr/lib/postgresql/*/bin or PATH")
	for _, dir := range dirs {
		if err := answers(dir); err != nil {
			cause = fmt.Errorf("no PostgreSQL that works: %w", err)
			continue
		}
		return dir, nil
	}
	return "", cause
}

// major reads the 15 of /usr/lib/postgresql/15/bin, 0 if there is none.
func major(dir string) int {
	n, _ := strconv.Atoi(filepath.Base(filepath.Dir(dir)))
	return n
}

// answers asks both programs for their version.
func answers(dir string) error {
	for _, name := range []string{"initdb", "postgres"} {
		if err := osexec.Command(filepath.Join(dir, name), "--version").Run(); err != nil {
			return fmt.Errorf("%s --version: %w", filepath.Join(dir, name), err)
		}
	}
	return nil
}

// start makes a cluster and runs a server on it. Another process can take the
// free port between finding and using it, so a few ports are tried.
func start(bin string) (*server, error) {
	folder, err := os.MkdirTemp("", "evenhand-pg-")
	if err != nil {
		return nil, err
	}
	s := &server{folder: folder}
	password := rand.Text()
	if err := s.initialise(bin, password); err != nil {
		return nil, errors.Join(err, os.RemoveAll(folder))
	}
	for range 3 {
		if err = s.run(bin, password); err == nil {
			return s, nil
		}
	}
	return nil, errors.Join(err, os.RemoveAll(folder))
}

// initialise runs initdb as the user that the server will run as.
func (s *server) initialise(bin, password string) error {
	secret := filepath.Join(s.folder, "password")
	if err := os.WriteFile(secret, []byte(password), 0o600); err != nil {
		return err
	}
	for _, path := range []string{s.folder, secret} {
		if err := handOver(path); err != nil {
			return fmt.Errorf("hand the folder to the server's user: %w", err)
		}
	}
	cmd, err := command(s.folder, filepath.Join(bin, "initdb"), "--pgdata=data", "--username=evenhand",
		"--pwfile="+secret, "--auth=scram-sha-256", "--encoding=UTF8", "--locale=C", "--no-sync")
	if err != nil {
		return err
	}
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, out)
	}
	return nil
}

// run starts the server and waits until it answers.
func (s *server) run(bin, password string) error {
	port, err := freePort()
	if err != nil {
		return err
	}
	s.url = fmt.Sprintf("postgres://evenhand:%s@127.0.0.1:%d/postgres?sslmode=disable", password, port)
	if s.log, err = os.Create(filepath.Join(s.folder, "server.log")); err != nil {
		return err
	}
	s.cmd, err = command(s.folder, filepath.Join(bin, "postgres"), "-D", "data", "-p", strconv.Itoa(port),
		"-c", "listen_addresses=127.0.0.1", "-c", "unix_socket_directories=", "-c", "max_connections=200",
		"-c", "fsync=on", "-c", "synchronous_commit=on", "-c", "full_page_writes=on")
	if err != nil {
		return err
	}
	s.cmd.Stdout, s.cmd.Stderr = s.log, s.log
	if s.exited, err = child.Start(s.cmd); err != nil {
		return err
	}
	return s.waitReady()
}

// waitReady returns when the server takes a connection, or with its log when
// it ended or took too long.
func (s *server) waitReady() error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	for {
		conn, err := pgx.Connect(ctx, s.url)
		if err == nil {
			return conn.Close(ctx)
		}
		select {
		case <-s.exited:
			return fmt.Errorf("the server ended: %s", s.readLog())
		case <-ctx.Done():
			return errors.Join(fmt.Errorf("the server does not answer: %w: %s", err, s.readLog()), s.end())
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func (s *server) readLog() string {
	b, _ := os.ReadFile(s.log.Name())
	return string(b)
}

// stop ends the server and removes its folder.
func (s *server) stop() error {
	return errors.Join(s.end(), s.log.Close(), os.RemoveAll(s.folder))
}

// end asks for a fast shutdown by process id, and kills what does not heed it.
// Source of the signals: PostgreSQL manual, "Shutting Down the Server".
func (s *server) end() error {
	if err := s.cmd.Process.Signal(syscall.SIGINT); err != nil && !errors.Is(err, os.ErrProcessDone) {
		return err
	}
	select {
	case <-s.exited:
		return nil
	case <-time.After(patience):
		return errors.Join(errors.New("the server did not heed SIGINT"), s.cmd.Process.Signal(syscall.SIGQUIT))
	}
}

// freePort asks the system for a loopback port that nothing listens on.
func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	port := l.Addr().(*net.TCPAddr).Port
	return port, l.Close()
}
