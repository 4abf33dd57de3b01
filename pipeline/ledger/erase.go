package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// ForgottenWord stands in a forgotten job's row in place of its file and its reason, and is the kind of its last
// event.
const ForgottenWord = "forgotten"

// Erase removes what the ledger knows of ended jobs in one transaction, the texts of their events too. Their numbers,
// devices, states, dates and sendings stay, and that a job was a trial, because a trial draws nothing.
func (l *Ledger) Erase(ctx context.Context, jobs []int64) error {
	err := l.tx(ctx, func(tx *sql.Tx) error {
		for _, id := range jobs {
			j, err := getJob(ctx, tx, id)
			if err != nil {
				return err
			}
			if !j.State.Ended() {
				return fmt.Errorf("%w: job %d has not ended", ErrState, id)
			}
			if err := erase(ctx, tx, j); err != nil {
				return err
			}
			if j.Stripped == Forgotten {
				continue
			}
			if err := addEvent(ctx, tx, Event{Job: id, At: l.now(), Kind: ForgottenWord, From: j.State, To: j.State}); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, ErrState) || errors.Is(err, ErrNoJob) {
		return err
	}
	return explain(err)
}

func erase(ctx context.Context, tx *sql.Tx, j Job) error {
	for _, one := range []struct {
		query string
		args  []any
	}{
		{`UPDATE jobs SET file = ?, reason = ?, style = '', pieces = 0, size = 0, sha256 = '', original = '', ticket = '', asks = '',
			ready = 0, production = '', wearer = '', due = '', material = '', lay = '', lay_fixed = 0, rank = 0,
			laid = 0, remnant = 0, remnant_width = 0, remnant_length = 0, fits = '[]', stripped = ?,
			answers = CASE WHEN json_extract(answers, '$."tool-up"') IS NULL THEN '{}' ELSE json_object('tool-up', json_extract(answers, '$."tool-up"')) END
			WHERE id = ?`, []any{ForgottenWord, ForgottenWord, Forgotten, j.ID}},
		{SumJobs + " WHERE id = ?", []any{j.ID}},
		{"DELETE FROM files WHERE job = ?", []any{j.ID}},
		{"DELETE FROM pieces WHERE job = ?", []any{j.ID}},
		{"UPDATE events SET text = '' WHERE job = ?", []any{j.ID}},
		{"UPDATE stock_events SET who = '' WHERE job = ?", []any{j.ID}},
		{"UPDATE sends SET held = '' WHERE job = ?", []any{j.ID}},
		{SumSends + " WHERE job = ?", []any{j.ID}},
	} {
		if _, err := tx.ExecContext(ctx, one.query, one.args...); err != nil {
			return err
		}
	}
	return nil
}

// Scrub writes the whole file anew without the bytes of removed rows, and empties the journal
// (https://sqlite.org/lang_vacuum.html, https://sqlite.org/pragma.html#pragma_wal_checkpoint). No other program may have
// the ledger open.
func (l *Ledger) Scrub(ctx context.Context) error {
	empty := func() error {
		var busy, pages, done int
		if err := l.db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &done); err != nil {
			return err
		}
		if busy != 0 {
			return errors.New("somebody reads the ledger; end that, and say it again")
		}
		return nil
	}
	if err := errors.Join(l.look.Close(), empty()); err != nil {
		return explain(err)
	}
	if _, err := l.db.ExecContext(ctx, "PRAGMA secure_delete = ON"); err != nil {
		return explain(err)
	}
	if _, err := l.db.ExecContext(ctx, "VACUUM"); err != nil {
		return explain(err)
	}
	return explain(empty())
}
