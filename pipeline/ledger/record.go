package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
)

// Events is a job's history, the oldest first.
func (l *Ledger) Events(ctx context.Context, job int64) ([]Event, error) {
	return rowsOf(ctx, l.look, eventsOf, job, job)
}

// EventsAfter is what happened to any job after the event seq, the oldest first.
func (l *Ledger) EventsAfter(ctx context.Context, seq int64) ([]Event, error) {
	return rowsOf(ctx, l.look, eventsAfter, seq, int64(math.MaxInt64))
}

// Happened tells whether a job of the device has an event of that kind since then whose text is this one,
// or begins with it and goes on with who asked.
func (l *Ledger) Happened(ctx context.Context, device, kind, text string, since time.Time) (is bool, err error) {
	err = l.look.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM events e JOIN jobs j ON j.id = e.job
		WHERE e.at >= ? AND e.kind = ? AND (e.text = ? OR e.text LIKE ? || ' (login %' ESCAPE '\' OR e.text LIKE ? || ' (on the page%' ESCAPE '\') AND j.device = ?)`, timeText(since), kind, text, likeText.Replace(text), likeText.Replace(text), device).Scan(&is)
	return is, explain(err)
}

// LastEvent is the number of the newest event, 0 where there is none.
func (l *Ledger) LastEvent(ctx context.Context) (seq int64, err error) {
	err = l.look.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0) FROM events").Scan(&seq)
	return seq, explain(err)
}

// LastRun is the last sending on a device of which anything may have been drawn.
type LastRun struct {
	Job int64 // 0 for none
	// Done is true where all was drawn, as the device or a person said.
	Done bool
	// Sent is true where every byte was sent, the end of the page too.
	Sent bool
	// Unseen is true where it was canceled, and whether the tool was up then is Unknown.
	Unseen bool
}

// LastRun finds the last sending on a device before sending no of a job. A sending with the tool up is left out, because
// it draws nothing.
func (l *Ledger) LastRun(ctx context.Context, device string, job int64, no int) (last LastRun, err error) {
	err = l.look.QueryRowContext(ctx, `SELECT s.job, s.end = 'done' OR j.state = ?, s.total > 0 AND s.bytes >= s.total, j.state = ? AND s.tool = ? FROM sends s JOIN jobs j ON j.id = s.job
		WHERE j.device = ? AND NOT (s.job = ? AND s.no = ?) AND (s.bytes > 0 OR s.end IN ('', 'cut short'))`+noTrial+`
		ORDER BY s.began DESC, s.no DESC LIMIT 1`, Completed, Canceled, Unknown, device, job, no).Scan(&last.Job, &last.Done, &last.Sent, &last.Unseen)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return last, explain(err)
}

// Files lists what the store must hold for a job, by name.
func (l *Ledger) Files(ctx context.Context, job int64) ([]File, error) {
	return rowsOf(ctx, l.look, filesOf, job, job)
}

// Sends lists the runs of a job, the first one first.
func (l *Ledger) Sends(ctx context.Context, job int64) ([]Send, error) {
	runs, err := rowsOf(ctx, l.look, sendsOf, job, job)
	var out []Send
	for _, r := range runs {
		out = append(out, r.Send)
	}
	return out, err
}

// Record is all that the ledger knows of one job. Of a job with a Fault it holds only what could be read.
type Record struct {
	Job    Job
	Events []Event
	Files  []File
	Sends  []Send
}

// Records gives the next n jobs after a number, in the order of their numbers, as they were at one moment; none where
// there are no more. A job that is being pruned is left out. Where something of a job cannot be read, the job is read
// alone, and its Job.Fault says what.
func (l *Ledger) Records(ctx context.Context, after int64, n int) ([]Record, error) {
	out, err := l.records(ctx, after, n)
	if err == nil || len(out) == 0 {
		return out, err
	}
	for i := range out {
		one, err := l.records(ctx, out[i].Job.ID-1, 1)
		if len(one) == 1 && one[0].Job.ID == out[i].Job.ID {
			out[i] = one[0]
		}
		if err != nil && out[i].Job.Fault == "" {
			out[i].Job.Fault = fmt.Sprintf("what the ledger holds of it cannot be read (%s)", err)
		}
	}
	return out, nil
}

func (l *Ledger) records(ctx context.Context, after int64, n int) ([]Record, error) {
	tx, err := l.look.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, explain(err)
	}
	defer func() { _ = tx.Rollback() }()
	jobs, err := selectJobs(ctx, tx, "WHERE j.id > ? AND (j.pruning = 0 OR j.sum <> "+rowSum("j", jobSummed)+") ORDER BY j.id LIMIT ?", after, n)
	if err != nil || len(jobs) == 0 {
		return nil, explain(err)
	}
	out, at := make([]Record, len(jobs)), make(map[int64]*Record, len(jobs))
	for i, j := range jobs {
		out[i].Job = j
		at[j.ID] = &out[i]
	}
	first, last := jobs[0].ID, jobs[len(jobs)-1].ID
	events, err1 := rowsOf(ctx, tx, eventsOf, first, last)
	for _, e := range events {
		if r := at[e.Job]; r != nil {
			r.Events = append(r.Events, e)
		}
	}
	files, err2 := rowsOf(ctx, tx, filesOf, first, last)
	for _, f := range files {
		if r := at[f.Job]; r != nil {
			r.Files = append(r.Files, f)
		}
	}
	sends, err3 := rowsOf(ctx, tx, sendsOf, first, last)
	for _, s := range sends {
		if r := at[s.job]; r != nil {
			r.Sends = append(r.Sends, s.Send)
		}
	}
	return out, errors.Join(err1, err2, err3)
}

// kind is a table whose rows belong to jobs; its query takes the first and the last job.
type kind[T any] struct {
	query string
	scan  func(*sql.Rows, *T) error
}

// run is a Send and the job that it belongs to.
type run struct {
	job int64
	Send
}

var (
	eventsOf    = kind[Event]{"SELECT " + eventRow + " FROM events WHERE job BETWEEN ? AND ? ORDER BY job, seq", scanEvent}
	eventsAfter = kind[Event]{"SELECT " + eventRow + " FROM events WHERE seq > ? AND seq <= ? ORDER BY seq", scanEvent}
	filesOf     = kind[File]{"SELECT job, name, size, sha256 FROM files WHERE job BETWEEN ? AND ? ORDER BY job, name",
		func(rows *sql.Rows, f *File) error { return rows.Scan(&f.Job, &f.Name, &f.Size, &f.SHA256) }}
	sendsOf = kind[run]{"SELECT " + strings.Join(sendSummed, ", ") + ", sum = " + rowSum("sends", sendSummed) +
		" FROM sends WHERE job BETWEEN ? AND ? ORDER BY job, no",
		func(rows *sql.Rows, r *run) error {
			var holds bool
			s := &r.Send
			err := rows.Scan(&r.job, &s.No, timeOf{&s.Began}, timeOf{&s.Updated}, timeOf{&s.Ended}, &s.First, &s.Blocks, &s.Total,
				&s.Bytes, &s.Sure, &s.Stroke, &s.Tool, &s.End, &s.Cancel, placeOf{&s.Held}, &holds)
			if err == nil && !holds {
				err = notWritten(s.No)
			}
			return err
		}}
)

const eventRow = "seq, job, at, kind, from_state, to_state, text"

func scanEvent(rows *sql.Rows, e *Event) error {
	return rows.Scan(&e.Seq, &e.Job, timeOf{&e.At}, &e.Kind, &e.From, &e.To, &e.Text)
}

func rowsOf[T any](ctx context.Context, q queryer, k kind[T], args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, k.query, args...)
	if err != nil {
		return nil, explain(err)
	}
	defer func() { _ = rows.Close() }()
	var out []T
	for rows.Next() {
		var one T
		if err := k.scan(rows, &one); err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	return out, explain(rows.Err())
}
