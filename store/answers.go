package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
)

// EachAnswer passes on what each entry in the draw answered to the creator's
// own questions, the newest first, and says nothing of whose it is. Tickets
// that are not in the draw, and those whose data was deleted, are passed over.
func (db *DB) EachAnswer(ctx context.Context, drawID string, see func(answers map[string]string)) (err error) {
	rows, err := db.read.QueryContext(ctx, `
		SELECT answers FROM entries WHERE draw = $1 AND reason IS NULL AND erased IS NULL
		ORDER BY entered DESC, ticket`, drawID)
	if err != nil {
		return fmt.Errorf("read answers: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return fmt.Errorf("read answers: %w", err)
		}
		var answers map[string]string
		if json.Unmarshal([]byte(text), &answers) != nil {
			return errors.New("read answers: they can not be read") // the cause may show them
		}
		see(answers)
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read answers: %w", err)
	}
	return nil
}
