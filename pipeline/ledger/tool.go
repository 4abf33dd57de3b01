package ledger

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"time"
)

// Tool is how far a device's pen or blade has drawn since it was changed.
type Tool struct {
	MM int64 `json:"mm"`
	// Since is when it was put in or, where no change was entered, when its first run ended; zero for neither.
	Since time.Time `json:"since,omitzero"`
	// Changes are all changes, the first one first.
	Changes []ToolChange `json:"changes,omitempty"`
}

// ToolChange is one change of a pen or blade: MM is what the one taken out had drawn.
type ToolChange struct {
	Seq int64     `json:"-"`
	At  time.Time `json:"at"`
	Who string    `json:"who,omitempty"`
	MM  int64     `json:"mm"`
}

// putDrawn enters what a run drew, once for each run however often its end is written.
func putDrawn(ctx context.Context, tx *sql.Tx, job *Job, step Step, now time.Time) error {
	mm := int64(math.Round(step.DrawnMM))
	if mm <= 0 {
		return nil
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO tools (device, at, changed, mm, job, no) VALUES (?,?,0,?,?,?) ON CONFLICT DO NOTHING",
		job.Device, timeText(now), mm, job.ID, step.Send.No)
	return err
}

// since is SQL for the number of a device's last change, 0 where there was none. The device is a parameter.
const since = "(SELECT coalesce(max(seq), 0) FROM tools WHERE device = ? AND changed = 1)"

// ChangeTool enters that a device's pen or blade was changed, by whom, and how far the old one had drawn. last is the
// number of the last change that the person saw, -1 for any: ErrState where there was another one since.
func (l *Ledger) ChangeTool(ctx context.Context, device, who string, last int64) error {
	err := l.tx(ctx, func(tx *sql.Tx) error {
		var is, mm int64
		if err := tx.QueryRowContext(ctx, "SELECT "+since, device).Scan(&is); err != nil {
			return err
		}
		if last >= 0 && is != last {
			return fmt.Errorf("%w: it was changed meanwhile", ErrState)
		}
		if err := tx.QueryRowContext(ctx, "SELECT sum(mm) FROM tools WHERE device = ? AND changed = 0 AND seq > ?", device, is).Scan(nullable(&mm)); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO tools (device, at, changed, mm, who) VALUES (?,?,1,?,?)", device, timeText(l.now()), mm, who)
		return err
	})
	if err != nil {
		return fmt.Errorf("noting a change on %q: %w", device, explain(err))
	}
	return nil
}

// Tool gives how far a device's pen or blade has drawn.
func (l *Ledger) Tool(ctx context.Context, device string) (t Tool, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("how far the tool of %q has come: %w", device, explain(err))
		}
	}()
	tx, err := l.look.BeginTx(ctx, &sql.TxOptions{ReadOnly: true}) // a change between the two readings would mix old and new
	if err != nil {
		return t, err
	}
	defer func() { _ = tx.Rollback() }()
	var first string
	err = tx.QueryRowContext(ctx, "SELECT coalesce(sum(mm), 0), coalesce(min(at), '') FROM tools WHERE device = ? AND changed = 0 AND seq > "+since, device, device).Scan(&t.MM, &first)
	if err == nil {
		err = timeOf{&t.Since}.Scan(first)
	}
	if err != nil {
		return t, err
	}
	rows, err := tx.QueryContext(ctx, "SELECT seq, at, who, mm FROM tools WHERE device = ? AND changed = 1 ORDER BY seq", device)
	if err != nil {
		return t, err
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var c ToolChange
		if err := rows.Scan(&c.Seq, timeOf{&c.At}, &c.Who, &c.MM); err != nil {
			return t, err
		}
		t.Changes, t.Since = append(t.Changes, c), c.At
	}
	return t, rows.Err()
}

// Drawn is what the tool taken out had drawn, for people, in the unit of the workroom.
func (c ToolChange) Drawn(unit string) string { return drawn(c.MM, unit) }

// Last is the number of the last change, 0 where there was none.
func (t Tool) Last() int64 {
	if len(t.Changes) == 0 {
		return 0
	}
	return t.Changes[len(t.Changes)-1].Seq
}

// Said says it to people, in the unit of the workroom, for a blade or a pen; "" where nothing is known.
func (t Tool) Said(cuts bool, unit string) string {
	tool, did := "pen", "drawn"
	if cuts {
		tool, did = "blade", "cut"
	}
	text := fmt.Sprintf("its %s has %s %s", tool, did, drawn(t.MM, unit))
	switch n := len(t.Changes); {
	case n > 0 && t.Changes[n-1].Who != "":
		return fmt.Sprintf("%s since it was changed on %s (%s)", text, t.Since.Local().Format("2 Jan 2006"), t.Changes[n-1].Who)
	case n > 0:
		return fmt.Sprintf("%s since it was changed on %s", text, t.Since.Local().Format("2 Jan 2006"))
	case !t.Since.IsZero():
		return fmt.Sprintf("%s since %s, when counting began", text, t.Since.Local().Format("2 Jan 2006"))
	}
	return ""
}

// drawn gives a length of line in metres, in yards where lengths are read in inches.
func drawn(mm int64, unit string) string {
	if unit == "in" {
		return fmt.Sprintf("%.1f yd", float64(mm)/914.4)
	}
	return fmt.Sprintf("%.1f m", float64(mm)/1000)
}
