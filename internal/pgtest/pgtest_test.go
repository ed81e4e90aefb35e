package pgtest

import (
	"context"
	"errors"
	"os"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
)

func TestMain(m *testing.M) {
	if os.Getenv("PGTEST_CHILD") == "" {
		os.Exit(m.Run()) // here the last user ends the server
	}
	Main(m)
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(context.Background(), url)
	if err != nil {
		t.Fatalf("connect: %v", err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func show(t *testing.T, conn *pgx.Conn, setting string) (value string) {
	t.Helper()
	if err := conn.QueryRow(context.Background(), "SHOW "+setting).Scan(&value); err != nil {
		t.Fatalf("show %s: %v", setting, err)
	}
	return value
}

// Each database is its own, empty, and durable: a measurement or a crash test
// on a server with fsync off would prove nothing.
func TestDatabase(t *testing.T) {
	ctx := context.Background()
	one, two := connect(t, Database(t)), connect(t, Database(t))
	if _, err := one.Exec(ctx, "CREATE TABLE mark (n bigint)"); err != nil {
		t.Fatalf("create a table: %v", err)
	}
	var tables int
	const count = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
	if err := two.QueryRow(ctx, count).Scan(&tables); err != nil || tables != 0 {
		t.Errorf("a fresh database has %d tables (%v), want 0", tables, err)
	}
	for _, setting := range []string{"fsync", "synchronous_commit", "full_page_writes"} {
		if got := show(t, one, setting); got != "on" {
			t.Errorf("%s is %s, want on", setting, got)
		}
	}
	if got := show(t, one, "server_encoding"); got != "UTF8" {
		t.Errorf("server_encoding is %s, want UTF8", got)
	}
}

// Nothing is left of a server that its last user has left, and the next test
// gets another.
func TestEnds(t *testing.T) {
	if os.Getenv("EVENHAND_TEST_POSTGRES") != "" {
		t.Skip("a server from outside is not ours to end")
	}
	var pid int
	var folder string
	for range 2 {
		t.Run("use", func(t *testing.T) {
			Start(t)
			pid, folder = shared.server.cmd.Process.Pid, shared.server.folder
		})
		if syscall.Kill(pid, 0) == nil {
			t.Errorf("the server %d is still there after its last user", pid)
		}
		if _, err := os.Stat(folder); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("its folder is still there: %v", err)
		}
	}
}
