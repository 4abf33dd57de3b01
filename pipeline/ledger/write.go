package ledger

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// Reserve gives the number of a new job, counting from 1 (RFC 8011 section 5.3.2, "job-id"). It is kept in memory until
// the job is entered: after a crash the number was used nowhere, or is in the name of a claim or a folder, and then Above
// skips it.
func (l *Ledger) Reserve() int64 { return l.next.Add(1) - 1 }

// Above makes all later numbers greater than id, which was found elsewhere. It is called before the first Reserve.
func (l *Ledger) Above(id int64) {
	if l.next.Load() <= id {
		l.next.Store(id + 1)
	}
}

// Enter writes a new job down; its files must be durable already. Entering the same job twice is
// refused.
func (l *Ledger) Enter(ctx context.Context, a Arrival) (Job, error) {
	jobs, err := l.EnterAll(ctx, []Arrival{a})
	if err != nil {
		return Job{}, err
	}
	return jobs[0], nil
}

// EnterAll writes new jobs down as Enter does, all of them or none.
func (l *Ledger) EnterAll(ctx context.Context, arrivals []Arrival) ([]Job, error) {
	jobs := make([]Job, len(arrivals))
	err := l.tx(ctx, func(tx *sql.Tx) (err error) {
		for i, a := range arrivals {
			if jobs[i], err = l.enter(ctx, tx, a); err != nil {
				return fmt.Errorf("job %d: %w", a.ID, err)
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("entering in the ledger: %w", explain(err))
	}
	return jobs, nil
}

func (l *Ledger) enter(ctx context.Context, tx *sql.Tx, a Arrival) (Job, error) {
	if len(a.Files) == 0 {
		return Job{}, errors.New("it has no file")
	}
	same, err := sameAs(ctx, tx, a)
	if err != nil {
		return Job{}, err
	}
	// The counter goes with the job, so that the number of a pruned one is not given again.
	if _, err := tx.ExecContext(ctx, "UPDATE counter SET next = max(next, ?)", a.ID+1); err != nil {
		return Job{}, err
	}
	now := l.now()
	answers, err := json.Marshal(a.Answers)
	if err != nil {
		return Job{}, err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO jobs (id, device, file, state, received, size, sha256, same_as,
		again_of, original, ticket, answers, released, lay, remnant, remnant_width, remnant_length) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)`,
		a.ID, a.Device, a.File, Pending, timeText(now), a.Files[0].Size, a.Files[0].SHA256, same,
		a.AgainOf, a.Files[0].Name, a.Ticket, string(answers), a.Released, a.Lay, a.Remnant.No, a.Remnant.Width, a.Remnant.Length)
	if err == nil {
		_, err = tx.ExecContext(ctx, SumJobs+" WHERE id = ?", a.ID)
	}
	if err != nil {
		return Job{}, err
	}
	text := a.Text
	if same != 0 {
		text += fmt.Sprintf("; the same content as job %d", same)
	}
	if err := addEvent(ctx, tx, Event{Job: a.ID, At: now, Kind: "received", To: Pending, Text: text}); err != nil {
		return Job{}, err
	}
	if err := addFiles(ctx, tx, a.ID, a.Files); err != nil {
		return Job{}, err
	}
	return getJob(ctx, tx, a.ID)
}

// sameAs is the newest earlier job with the same draft, ticket and drafts that the ticket names, on the same device; 0 is
// none. A trial is none: nothing came of it. A bed of a job is as the other beds, and repeats none. Only lower numbers count: after a crash jobs may be entered in another order than they were numbered in.
func sameAs(ctx context.Context, tx *sql.Tx, a Arrival) (id int64, err error) {
	if a.Answers[AnswerToolUp]+a.Answers[AnswerBed] != "" {
		return 0, nil
	}
	came := map[string]string{}
	for _, f := range a.Files[1:] {
		if _, with := f.With(); with || f.Name == a.Ticket {
			came[f.Name] = f.SHA256
		}
	}
	sums, err := json.Marshal(came)
	if err != nil {
		return 0, err
	}
	err = tx.QueryRowContext(ctx, `SELECT j.id FROM jobs j WHERE j.sha256 = ? AND j.id < ? AND j.id <> ? AND j.pruning = 0 AND j.device = ? AND j.ticket = ?`+noTrial+`
		AND (SELECT count(*) FROM files f WHERE f.job = j.id AND (f.name = j.ticket OR substr(f.name, 1, ?) = ?)) = ?
		AND (SELECT count(*) FROM json_each(?) e JOIN files f ON f.job = j.id AND f.name = e.key AND f.sha256 = e.value) = ?
		ORDER BY j.id DESC LIMIT 1`, a.Files[0].SHA256, a.ID, a.AgainOf, a.Device, a.Ticket,
		len(withPrefix), withPrefix, len(came), string(sums), len(came)).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return id, err
}

// Step is what is written together with a change of a job.
type Step struct {
	// Kind is the event's short name; without one no event is written.
	Kind, Text string
	// Files are files that the store now holds, in place of those of the same name.
	Files []File
	// Gone are names of files that the store no longer holds.
	Gone []string
	// Send is written as the job's run number Send.No.
	Send *Send
	// DrawnMM is the length of line that the run Send drew and cut, where it ends with this step.
	DrawnMM float64
	// RanMM is how far along its material a job that does not complete surely came in the run Send, mm. GivesUp books it
	// although the job goes on, because it begins anew.
	RanMM   float64
	GivesUp bool
	// Pieces replace all pieces of the job; ticks of a piece of the same name and size stay. Nil changes none.
	Pieces []Piece
	// Ticks are what a person ticked of pieces.
	Ticks []Tick
}

// Change is the only way to change a job's row: fn gets the job, changes it and says what is written with it, all in one
// transaction. A transition that is not in the table is refused with ErrState, and nothing is written. What is returned is
// durable.
func (l *Ledger) Change(ctx context.Context, id int64, fn func(j *Job) (Step, error)) (Job, error) {
	var job Job
	err := l.tx(ctx, func(tx *sql.Tx) error {
		old, err := getJob(ctx, tx, id)
		if err != nil {
			return err
		}
		job = old
		step, err := fn(&job)
		if err != nil {
			return err
		}
		if job.State != old.State && !Allowed(old.State, job.State) {
			return fmt.Errorf("%w: a job that is %s cannot become %s", ErrState, old.State, job.State)
		}
		now := l.now()
		if job.State.Ended() && !old.State.Ended() {
			job.Ended = now
		}
		return l.writeStep(ctx, tx, old, &job, step, now)
	})
	if err != nil {
		if errors.Is(err, ErrState) || errors.Is(err, ErrNoJob) {
			return Job{}, err
		}
		return Job{}, fmt.Errorf("writing job %d down: %w", id, explain(err))
	}
	return job, nil
}

func (l *Ledger) writeStep(ctx context.Context, tx *sql.Tx, old Job, job *Job, step Step, now time.Time) error {
	if step.Send != nil {
		job.Send = *step.Send
		job.Sends = max(job.Sends, step.Send.No)
		if err := putSend(ctx, tx, job.ID, *step.Send); err != nil {
			return err
		}
		if err := putDrawn(ctx, tx, job, step, now); err != nil {
			return err
		}
	}
	answers, err := json.Marshal(job.Answers)
	if err != nil {
		return err
	}
	fits, err := json.Marshal(append([]Rectangle{}, job.Fits...))
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE jobs SET state=?, reason=?, style=?, pieces=?, ended=?, ready=?, asks=?,
		released=?, answers=?, sends=?, pruning=?, stripped=?, production=?, wearer=?, due=?, material=?, lay=?, lay_fixed=?, rank=?,
		laid=?, remnant=?, remnant_width=?, remnant_length=?, fits=? WHERE id=?`, job.State, job.Reason, job.Style, job.Pieces,
		timeText(job.Ended), job.Ready, job.Asks, job.Released, string(answers), job.Sends, job.Pruning, job.Stripped,
		job.Production, job.Wearer, job.Due, job.Material, job.Lay, job.Fixed, job.Rank,
		job.Laid, job.Remnant.No, job.Remnant.Width, job.Remnant.Length, string(fits), job.ID)
	if err == nil {
		_, err = tx.ExecContext(ctx, SumJobs+" WHERE id = ?", job.ID)
	}
	if err != nil {
		return err
	}
	if err := addFiles(ctx, tx, job.ID, step.Files); err != nil {
		return err
	}
	if err := putPieces(ctx, tx, job.ID, step); err != nil {
		return err
	}
	for _, name := range step.Gone {
		if _, err := tx.ExecContext(ctx, "DELETE FROM files WHERE job = ? AND name = ?", job.ID, name); err != nil {
			return err
		}
	}
	if step.Kind == "" {
		if job.State != old.State {
			return errors.New("a transition without an event")
		}
		return nil
	}
	if err := addEvent(ctx, tx, Event{Job: job.ID, At: now, Kind: step.Kind, From: old.State, To: job.State, Text: step.Text}); err != nil {
		return err
	}
	return l.book(ctx, tx, old, job, step, now)
}

// Progress writes how far a run has surely come. It is called now and then, and never takes back what was certain before.
// A row whose sum is wrong keeps a wrong sum: with a new one it would look right.
func (l *Ledger) Progress(ctx context.Context, id int64, s Send) error {
	err := l.tx(ctx, func(tx *sql.Tx) error {
		done, err := tx.ExecContext(ctx, `UPDATE sends SET updated=?, bytes=max(bytes, ?), total=max(total, ?), sure=max(sure, ?),
			stroke=max(stroke, ?), held=coalesce(nullif(?, ''), held), tool=? WHERE job=? AND no=? AND end='' AND sum = `+rowSum("sends", sendSummed),
			timeText(s.Updated), s.Bytes, s.Total, s.Sure, s.Stroke, s.Held.text(), s.Tool, id, s.No)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return err
		}
		return sumSend(ctx, tx, id, s.No)
	})
	return explain(err)
}

// sumSend sets the sum of a run's row after it was written.
func sumSend(ctx context.Context, tx *sql.Tx, job int64, no int) error {
	_, err := tx.ExecContext(ctx, SumSends+" WHERE job = ? AND no = ?", job, no)
	return err
}

// Forget removes a job that was marked as Pruning, with its history.
func (l *Ledger) Forget(ctx context.Context, id int64) error {
	_, err := l.db.ExecContext(ctx, "DELETE FROM jobs WHERE id = ? AND pruning = 1 AND sum = "+rowSum("jobs", jobSummed), id)
	return explain(err)
}

func addEvent(ctx context.Context, tx *sql.Tx, e Event) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO events (job, at, kind, from_state, to_state, text) VALUES (?,?,?,?,?,?)",
		e.Job, timeText(e.At), e.Kind, e.From, e.To, e.Text)
	return err
}

func addFiles(ctx context.Context, tx *sql.Tx, job int64, files []File) error {
	for _, f := range files {
		_, err := tx.ExecContext(ctx, "INSERT OR REPLACE INTO files (job, name, size, sha256) VALUES (?,?,?,?)",
			job, f.Name, f.Size, f.SHA256)
		if err != nil {
			return err
		}
	}
	return nil
}

func putSend(ctx context.Context, tx *sql.Tx, job int64, s Send) error {
	_, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO sends (job, no, began, updated, ended, first, blocks, total,
		bytes, sure, stroke, tool, end, cancel, held) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)`, job, s.No, timeText(s.Began),
		timeText(s.Updated), timeText(s.Ended), s.First, s.Blocks, s.Total, s.Bytes, s.Sure, s.Stroke, s.Tool, s.End, s.Cancel, s.Held.text())
	if err == nil {
		err = sumSend(ctx, tx, job, s.No)
	}
	return err
}
