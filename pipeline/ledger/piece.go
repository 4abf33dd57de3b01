package ledger

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Piece is one piece of a job's garment, once for each time that it is cut, with what a person ticked.
type Piece struct {
	Job                        int64
	Name, Size                 string
	Quantity                   int
	Cut, Bundled, Sewn, Fitted bool
}

// Ticks are the steps that can be ticked of a piece, in the order of the work.
var Ticks = []string{"cut", "bundled", "sewn", "fitted"}

// Ticked tells whether one of Ticks is said of a piece.
func (p Piece) Ticked(what string) bool {
	i := slices.Index(Ticks, what)
	return i >= 0 && [...]bool{p.Cut, p.Bundled, p.Sewn, p.Fitted}[i]
}

// Tick says that a step of a piece is done, or not done after all.
type Tick struct {
	Name, Size string
	What       string // one of Ticks
	Is         bool
}

// Pieces gives a job's pieces, by name; none where its draft could not be read, or an older program made it that kept no
// names.
func (l *Ledger) Pieces(ctx context.Context, job int64) ([]Piece, error) {
	return rowsOf(ctx, l.look, piecesOf, job, job)
}

var piecesOf = kind[Piece]{"SELECT job, name, size, quantity, cut, bundled, sewn, fitted FROM pieces WHERE job BETWEEN ? AND ? ORDER BY job, name, size",
	func(rows *sql.Rows, p *Piece) error {
		return rows.Scan(&p.Job, &p.Name, &p.Size, &p.Quantity, &p.Cut, &p.Bundled, &p.Sewn, &p.Fitted)
	}}

// putPieces writes the pieces and ticks of a step.
func putPieces(ctx context.Context, tx *sql.Tx, job int64, step Step) error {
	if step.Pieces != nil {
		if _, err := tx.ExecContext(ctx, "UPDATE pieces SET quantity = 0 WHERE job = ?", job); err != nil {
			return err
		}
		for _, p := range step.Pieces {
			_, err := tx.ExecContext(ctx, `INSERT INTO pieces (job, name, size, quantity) VALUES (?,?,?,?)
				ON CONFLICT DO UPDATE SET quantity = quantity + excluded.quantity`, job, p.Name, p.Size, p.Quantity)
			if err != nil {
				return err
			}
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM pieces WHERE job = ? AND quantity = 0", job); err != nil {
			return err
		}
	}
	for _, t := range step.Ticks {
		if !slices.Contains(Ticks, t.What) {
			return fmt.Errorf("%w: nobody ticks %q of a piece", ErrState, t.What)
		}
		done, err := tx.ExecContext(ctx, "UPDATE pieces SET "+t.What+" = ? WHERE job = ? AND name = ? AND size = ?", t.Is, job, t.Name, t.Size)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return cmp.Or(err, fmt.Errorf("%w: job %d has no piece %q", ErrState, job, t.Name))
		}
	}
	return nil
}

// Unnumbered says why the pieces of an ended job have no numbers by which they could be chosen, and what mends it.
func (l *Ledger) Unnumbered(ctx context.Context, j Job) (text, mend string) {
	if j.State != Aborted {
		return fmt.Sprintf("job %d ended before it was made, so its pieces have no numbers", j.ID), fmt.Sprintf("tracewheel again %d makes all of them", j.ID)
	}
	list, _ := l.Pieces(ctx, j.ID) // without them no names are given
	var names []string
	for _, p := range list {
		if !slices.Contains(names, p.Name) {
			names = append(names, p.Name)
		}
	}
	if len(names) == 0 {
		return fmt.Sprintf("job %d was refused before its pieces were known: %s", j.ID, j.Reason), "mend the draft and drop it again"
	}
	return fmt.Sprintf("job %d was refused before its pieces had numbers (%s); they are %s", j.ID, j.Reason, strings.Join(names, ", ")),
		fmt.Sprintf("mend the draft and drop it again; where only some are wanted, with a ticket that says %s", pattern.PiecesLine(names[:1]))
}

// Production is a show that jobs are made for.
type Production struct {
	Name string
	Jobs int
	// Due is the day of its last fitting, empty where there is none.
	Due string
}

// Productions gives the shows of the newest jobs, the newest first, at most so many.
func (l *Ledger) Productions(ctx context.Context, most int) ([]Production, error) {
	return rowsOf(ctx, l.look, kind[Production]{`SELECT production, count(*), max(due) FROM jobs WHERE production <> '' AND pruning = 0
		GROUP BY production ORDER BY max(id) DESC LIMIT ?`,
		func(rows *sql.Rows, p *Production) error { return rows.Scan(&p.Name, &p.Jobs, &p.Due) }}, most)
}
