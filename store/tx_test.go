package store

import (
	"database/sql"
	"errors"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
)

// A transaction that the database refused is tried again from its start, and
// nothing of the refused try stays; any other error ends it.
func TestTransactionIsTriedAgain(t *testing.T) {
	each(t, func(t *testing.T, s *suite) {
		refused, fault := errors.New("refused"), errors.New("fault")
		s.dialect.again = func(err error) bool { return errors.Is(err, refused) }
		tries := 0
		run := func(fails int, with error) error {
			tries = 0
			return s.tx(bg(), "claim", func(tx *sql.Tx) error {
				tries++
				if _, err := exec(bg(), tx, `UPDATE installation SET desk = $1`, fmt.Sprint("try ", tries)); err != nil {
					return err
				}
				if tries <= fails {
					return with
				}
				return nil
			})
		}
		s.must(run(2, refused))
		if hash, err := s.DeskHash(bg()); err != nil || hash != "try 3" || tries != 3 {
			t.Errorf("%d tries left %q, %v", tries, hash, err)
		}
		if s.want(run(1, fault), fault); tries != 1 {
			t.Errorf("a fault was tried %d times", tries)
		}
		if s.want(run(1000, refused), refused); tries != attempts {
			t.Errorf("tried %d times, want %d", tries, attempts)
		}
		if hash, err := s.DeskHash(bg()); err != nil || hash != "try 3" {
			t.Errorf("what failed left %q, %v", hash, err)
		}
	})
}

// Source: PostgreSQL documentation, appendix A (error codes).
func TestWhatPostgresLetsTryAgain(t *testing.T) {
	for code, want := range map[string]bool{
		"40001": true,  // serialization_failure
		"40P01": true,  // deadlock_detected
		"23505": false, // unique_violation
		"57014": false, // query_canceled
	} {
		if got := postgresAgain(fmt.Errorf("write: %w", &pgconn.PgError{Code: code})); got != want {
			t.Errorf("%s: again %v, want %v", code, got, want)
		}
	}
}
