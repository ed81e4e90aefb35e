package store

import (
	"context"
	"database/sql"
	"time"

	"evenhand/claims"
	"evenhand/giveaway"
)

// ShowSkill writes when the winner saw the sum, once a try.
func (db *DB) ShowSkill(ctx context.Context, drawID string, place, again int, at time.Time) error {
	return db.skill(ctx, "show the sum", drawID, place, false, func(tx *sql.Tx) (int64, error) {
		return exec(ctx, tx, `
			UPDATE claims SET skill_shown = $4
			WHERE draw = $1 AND place = $2 AND skill_again = $3 AND skill_shown IS NULL`,
			drawID, place, again, unix(at))
	})
}

// AnswerSkill writes what came of the sum, once a try.
func (db *DB) AnswerSkill(ctx context.Context, drawID string, place, again int, outcome string, at time.Time) error {
	return db.skill(ctx, "answer the sum", drawID, place, false, func(tx *sql.Tx) (int64, error) {
		return exec(ctx, tx, `
			UPDATE claims SET skill_answered = $4, skill_outcome = $5
			WHERE draw = $1 AND place = $2 AND skill_again = $3 AND skill_shown IS NOT NULL AND skill_answered IS NULL`,
			drawID, place, again, unix(at), outcome)
	})
}

// SkillAgain begins another try, and writes the line into the log. A right
// answer that came meanwhile stands.
func (db *DB) SkillAgain(ctx context.Context, drawID string, place, again int, line giveaway.LogLine) error {
	return db.skill(ctx, "give another sum", drawID, place, true, func(tx *sql.Tx) (int64, error) {
		n, err := exec(ctx, tx, `
			UPDATE claims SET skill_again = $3 + 1, skill_allowed = $4, skill_shown = NULL, skill_answered = NULL, skill_outcome = NULL
			WHERE draw = $1 AND place = $2 AND skill_again = $3 AND skill_shown IS NOT NULL
				AND (skill_outcome IS NULL OR skill_outcome <> $5)`,
			drawID, place, again, unix(line.At), claims.SkillRight)
		if err != nil || n == 0 {
			return n, err
		}
		return n, note(ctx, tx, drawID, line.At, line.What)
	})
}

// skill makes one step of a claim's skill question. One that writes into the log
// has the giveaway's row alone, from its start: who shares it never gets it so.
func (db *DB) skill(ctx context.Context, what, drawID string, place int, logs bool, step func(tx *sql.Tx) (int64, error)) error {
	return db.tx(ctx, what, func(tx *sql.Tx) error {
		if logs {
			if err := db.dialect.turn(ctx, tx, drawID, true); err != nil {
				return err
			}
		}
		if err := db.unerased(ctx, tx, drawID, place); err != nil {
			return err
		}
		n, err := step(tx)
		if err != nil || n == 1 {
			return err
		}
		return claimThere(ctx, tx, drawID, place)
	})
}
