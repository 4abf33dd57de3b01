package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// steps bring the tables from one version to the next: steps[0] makes version 1 of an empty database,
// steps[n] makes version n+1 of version n. A step that was released is never altered, because ledgers
// stand that took it; every later change of the tables is a step of its own at the end, with a ledger
// of the version before as a test file.
var steps = []string{tables1, tables2, tables3, tables4, tables5, tables6, tables7, tables8, tables9, tables10, tables11}

// upgrade brings a ledger to the last version. Each step is one transaction together with the version
// number (the database's user_version), so that a crash leaves the version before or the one after.
func (l *Ledger) upgrade(ctx context.Context, steps []string) error {
	got, err := l.version(ctx)
	if err != nil {
		return err
	}
	if got > len(steps) {
		return wrongVersion(l.path, got, len(steps))
	}
	for n := got; n < len(steps); n++ {
		if err := l.tx(ctx, func(tx *sql.Tx) error { return step(ctx, tx, steps[n], n+1) }); err != nil {
			return fmt.Errorf("bringing its tables from version %d to %d, which left them as they were: %w", n, n+1, err)
		}
	}
	// Reading does not prove that one can write.
	_, err = l.db.ExecContext(ctx, "UPDATE counter SET next = next")
	return err
}

func step(ctx context.Context, tx *sql.Tx, text string, to int) error {
	if _, err := tx.ExecContext(ctx, text); err != nil {
		return err
	}
	var orphans int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM pragma_foreign_key_check").Scan(&orphans); err != nil {
		return err
	}
	if orphans > 0 {
		return fmt.Errorf("%d rows belong to no job", orphans)
	}
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", to))
	return err
}

// errOlder says what mends tables of an earlier version.
var errOlder = errors.New("`tracewheel run` brings them up and keeps every job; start it, or, if it has just begun, ask again")

// wrongVersion says that a ledger's tables, of version got, cannot be used by a program that knows the versions up to
// known.
func wrongVersion(path string, got, known int) error {
	have := fmt.Sprintf("the ledger %q has version %d of its tables and this program knows %d: ", path, got, known)
	if got < known {
		return fmt.Errorf("%s%w", have, errOlder)
	}
	return fmt.Errorf("%s", have+"use the tracewheel that wrote it, or a newer one")
}
