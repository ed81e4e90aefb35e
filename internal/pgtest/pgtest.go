// Package pgtest gives tests a real PostgreSQL server.
//
// [Database] is where to start: it returns the URL of a fresh, empty database
// that is dropped when the test ends. One server serves all tests of a test
// process. It listens on a free loopback port, keeps its data in a temporary
// folder, and has fsync on, so that what is durable in a test is durable.
//
// A package with several such tests calls [Main] from its TestMain; then the
// server lives until the last test is over. Without it the server is ended
// whenever no test uses it, and started again for the next. When the test
// process is killed the system ends the server too (on Linux).
//
// PostgreSQL refuses to run as root. Under root the server runs as the user
// postgres. With EVENHAND_TEST_POSTGRES set to a URL whose user may create
// databases, that server is used and none is started. Where there is no
// PostgreSQL the test is skipped, and failed under CI=true.
package pgtest

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"evenhand/internal/testneed"
)

// patience is how long one step (start, create, drop) may take on a slow machine.
const patience = time.Minute

// shared is the one server of this test process.
var shared struct {
	mu     sync.Mutex
	server *server // nil when none runs
	users  int     // tests that have called Start and not ended
	keep   bool    // Main ends it, not the last user
}

// Main runs the tests and ends the server after them. It does not return:
//
//	func TestMain(m *testing.M) { pgtest.Main(m) }
func Main(m *testing.M) {
	shared.keep = true
	code := m.Run()
	if err := stopShared(); err != nil {
		fmt.Fprintln(os.Stderr, "pgtest:", err)
		code = max(code, 1)
	}
	os.Exit(code)
}

// Start returns the URL of the server's own database postgres, for a user who
// may do everything. It starts the server on first use. Most tests want
// [Database] instead.
func Start(t testing.TB) string {
	t.Helper()
	if given := os.Getenv("EVENHAND_TEST_POSTGRES"); given != "" {
		return given
	}
	shared.mu.Lock()
	defer shared.mu.Unlock()
	if shared.server == nil {
		bin, err := programs()
		if err != nil {
			testneed.Missing(t, err.Error())
		}
		if shared.server, err = start(bin); err != nil {
			t.Fatalf("start PostgreSQL: %v", err)
		}
	}
	shared.users++
	t.Cleanup(func() { release(t) })
	return shared.server.url
}

// release ends the server with its last user, unless Main does.
func release(t testing.TB) {
	shared.mu.Lock()
	shared.users--
	last := shared.users == 0 && !shared.keep
	shared.mu.Unlock()
	if !last {
		return
	}
	if err := stopShared(); err != nil {
		t.Errorf("stop PostgreSQL: %v", err)
	}
}

func stopShared() error {
	shared.mu.Lock()
	defer shared.mu.Unlock()
	if shared.server == nil {
		return nil
	}
	err := shared.server.stop()
	shared.server = nil
	return err
}

// Database returns the URL of a fresh, empty database. It is dropped, with
// whatever is still connected to it, when the test ends.
func Database(t testing.TB) string {
	t.Helper()
	admin := Start(t)
	name := "evenhand_test_" + strings.ToLower(rand.Text())
	if err := exec(admin, "CREATE DATABASE "+name); err != nil {
		t.Fatalf("create a test database: %v", err)
	}
	t.Cleanup(func() {
		if err := exec(admin, "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Errorf("drop the test database: %v", err)
		}
	})
	u, err := url.Parse(admin)
	if err != nil {
		t.Fatalf("read the server's URL: %v", err)
	}
	u.Path = "/" + name
	return u.String()
}

// exec runs one statement on its own connection.
func exec(url, statement string) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, statement)
	return err
}
