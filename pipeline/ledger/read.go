package ledger

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// timeForm has a fixed width, so that text sorts as time does.
const timeForm = "2006-01-02T15:04:05.000Z"

func timeText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(timeForm)
}

// timeOf scans what timeText writes.
type timeOf struct{ t *time.Time }

func (s timeOf) Scan(v any) error {
	text, _ := v.(string)
	if text == "" {
		*s.t = time.Time{}
		return nil
	}
	t, err := time.Parse(timeForm, text)
	*s.t = t
	return err
}

// zeroIfNull scans a number that may be missing.
type zeroIfNull struct{ n *int64 }

func nullable(n *int64) zeroIfNull { return zeroIfNull{n} }

func (z zeroIfNull) Scan(v any) error {
	*z.n, _ = v.(int64)
	return nil
}

type queryer interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

var jobColumns = `j.id, j.device, j.file, j.state, j.reason, j.style, j.pieces, j.received, j.ended, j.size, j.sha256,
	j.same_as, j.again_of, j.original, j.ticket, j.ready, j.asks, j.released, j.answers, j.sends, j.pruning, j.stripped,
	j.production, j.wearer, j.due, j.material, j.lay, j.lay_fixed, j.rank, j.laid, j.remnant, j.remnant_width, j.remnant_length, j.fits,
	coalesce(s.no, 0), coalesce(s.began, ''), coalesce(s.updated, ''), coalesce(s.ended, ''), coalesce(s.first, 0),
	coalesce(s.blocks, 0), coalesce(s.total, 0), coalesce(s.bytes, 0), coalesce(s.sure, -1), coalesce(s.stroke, -1),
	coalesce(s.tool, ''), coalesce(s.end, ''), coalesce(s.cancel, 0), coalesce(s.held, ''),
	j.sum = ` + rowSum("j", jobSummed) + `, CASE WHEN s.no IS NULL THEN j.sends = 0 ELSE s.sum = ` + rowSum("s", sendSummed) + ` END`

func selectJobs(ctx context.Context, q queryer, tail string, args ...any) ([]Job, error) {
	rows, err := q.QueryContext(ctx, "SELECT "+jobColumns+
		" FROM jobs j LEFT JOIN sends s ON s.job = j.id AND s.no = j.sends "+tail, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var jobs []Job
	for rows.Next() {
		var j Job
		if err := scanJob(rows, &j); err != nil {
			j.Fault = err.Error()
		}
		jobs = append(jobs, j)
	}
	return jobs, rows.Err()
}

// scanJob reads a row as far as it can be read: its number, device, file and state come first.
func scanJob(rows *sql.Rows, j *Job) error {
	var answers, fits string
	var jobHolds, sendHolds bool
	err := rows.Scan(&j.ID, &j.Device, &j.File, &j.State, &j.Reason, &j.Style, &j.Pieces, timeOf{&j.Received},
		timeOf{&j.Ended}, &j.Size, &j.SHA256, &j.SameAs, &j.AgainOf, &j.Original, &j.Ticket, &j.Ready, &j.Asks,
		&j.Released, &answers, &j.Sends, &j.Pruning, &j.Stripped,
		&j.Production, &j.Wearer, &j.Due, &j.Material, &j.Lay, &j.Fixed, &j.Rank,
		&j.Laid, &j.Remnant.No, &j.Remnant.Width, &j.Remnant.Length, &fits, &j.Send.No, timeOf{&j.Send.Began}, timeOf{&j.Send.Updated},
		timeOf{&j.Send.Ended}, &j.Send.First, &j.Send.Blocks, &j.Send.Total, &j.Send.Bytes, &j.Send.Sure,
		&j.Send.Stroke, &j.Send.Tool, &j.Send.End, &j.Send.Cancel, placeOf{&j.Send.Held}, &jobHolds, &sendHolds)
	if err == nil && !j.State.Known() {
		err = fmt.Errorf("%q is no state of a job", j.State)
	}
	if err == nil {
		if err = json.Unmarshal([]byte(answers), &j.Answers); err != nil {
			err = fmt.Errorf("its answers: %w", err)
		}
	}
	if err == nil {
		if err = json.Unmarshal([]byte(fits), &j.Fits); err != nil {
			if json.Unmarshal([]byte(fits), &[]int64{}) == nil { // an earlier release wrote numbers, which do not say how much it needs
				j.Fits, err = nil, nil
			} else {
				err = fmt.Errorf("the remnants that hold it: %w", err)
			}
		}
		if len(j.Fits) == 0 {
			j.Fits = nil
		}
	}
	switch {
	case err != nil:
		return fmt.Errorf("its line in the ledger cannot be read (%w)", err)
	case !jobHolds:
		return errors.New("its line in the ledger is not what was written")
	case !sendHolds && j.Send.No == 0:
		return fmt.Errorf("the ledger has no line of its sending %d", j.Sends)
	case !sendHolds:
		return notWritten(j.Sends)
	}
	return nil
}

func notWritten(sending int) error {
	return fmt.Errorf("what the ledger holds of its sending %d is not what was written", sending)
}

func getJob(ctx context.Context, q queryer, id int64) (Job, error) {
	jobs, err := selectJobs(ctx, q, "WHERE j.id = ?", id)
	if err != nil {
		return Job{}, err
	}
	if len(jobs) > 0 && jobs[0].Fault != "" {
		return Job{}, fmt.Errorf("%w: job %d: %s", ErrRow, id, jobs[0].Fault+MendRow)
	}
	if len(jobs) == 0 || jobs[0].Pruning {
		return Job{}, fmt.Errorf("%w: job %d is not in the ledger (tracewheel jobs lists them)", ErrNoJob, id)
	}
	return jobs[0], nil
}

// MendRow is added to a Job.Fault: what mends a row that cannot be read.
const MendRow = ": bring the ledger back from a copy"

// Job is one job; ErrNoJob where there is none.
func (l *Ledger) Job(ctx context.Context, id int64) (Job, error) {
	j, err := getJob(ctx, l.look, id)
	if err == nil {
		one := []Job{j}
		err = l.supply(ctx, one)
		j = one[0]
	}
	if err != nil && !errors.Is(err, ErrNoJob) {
		if gone := l.StillThere(); gone != nil { // SQLite's own message of a replaced journal is of no help
			return j, gone
		}
		err = fmt.Errorf("reading job %d: %w", id, explain(err))
	}
	return j, err
}

// Filter picks jobs; the zero Filter picks all that are not being pruned.
type Filter struct {
	Device string
	// Style is a part of the style's name, in small or capital letters.
	Style string
	// Production, Wearer, Material and Piece, the name of one of the pieces, are parts of a name too.
	Production, Wearer, Material, Piece string
	// For is the whole name of a production.
	For string
	// Due is the day of the fitting, such as 2026-03-14.
	Due string
	// Word stands in the name of style, file, production, wearer, material or a piece.
	Word string
	// Since picks jobs that were received at that time or later.
	Since  time.Time
	States []State
	// Unended picks all that have not ended, and rows with an unknown state.
	Unended bool
	// BegunOn picks the jobs that have begun on a device and not ended, in the order of their numbers, and each row that
	// may be one of them because its state is unknown or its device is damaged.
	BegunOn string
	// Released picks those that a person released.
	Released bool
	// Ready picks those whose program is in the store, Unready the others.
	Ready, Unready bool
	// EndedBefore picks jobs that ended before that time; Below those with a smaller number, 0 for all; Above those with a
	// greater one.
	EndedBefore  time.Time
	Below, Above int64
	// Whole picks those of which nothing was removed yet, Stripping those of which some files may be gone.
	Whole, Stripping bool
	// Pruning picks those that are being pruned instead.
	Pruning bool
	// Unseen picks those that were refused since then and of which no person has said that they saw it.
	Unseen time.Time
	// TrialsOf picks those that ran a job with the tool up.
	TrialsOf int64
	// Newest lists the last job first.
	Newest bool
	// Turn lists jobs in the order of their turns on a device: by the greatest rank first, then the oldest. Above and
	// Below cannot be used with it.
	Turn bool
	// Limit is how many at most, 0 for all.
	Limit int
	// Faulty lists also the jobs whose row cannot be read, as far as it can, with Job.Fault.
	Faulty bool
}

// Sought tells whether the filter picks by what jobs are, not only by device and state.
func (f Filter) Sought() bool {
	return f.Style+f.Production+f.Wearer+f.Material+f.Piece+f.Due+f.Word != "" || !f.Since.IsZero()
}

// EventSeen is the event of a person who has seen why a job was refused.
const EventSeen = "seen"

// likeText escapes what LIKE takes for other than itself: https://www.sqlite.org/lang_expr.html#like
var likeText = strings.NewReplacer(`\`, `\\`, "%", `\%`, "_", `\_`)

// begun picks every state but those that wait or have ended; unended every state but those that have ended.
var (
	begun   = notIn(Aborted, Canceled, Completed, Pending, Held)
	unended = notIn(Aborted, Canceled, Completed)
)

// notIn picks every state but some, which are given in the order of their letters: as ranges between them, for which the
// index is used.
func notIn(states ...State) string {
	term, after := "(", ""
	for _, s := range states {
		term += fmt.Sprintf("%sj.state < '%s' OR ", after, s)
		after = fmt.Sprintf("j.state > '%s' AND ", s)
	}
	return term + strings.TrimSuffix(after, " AND ") + ")"
}

// where gives the conditions and their parameters. Conditions for which there is an index are literals, so that SQLite
// uses it.
func (f Filter) where() (string, []any) {
	where, args := []string{"j.pruning = 0"}, []any{}
	if f.Pruning {
		where[0] = "j.pruning <> 0"
	}
	if f.Unended || f.BegunOn != "" {
		where[0] = "1" // only ended jobs are pruned; a row that says otherwise must not be hidden
	}
	add := func(is bool, term string, values ...any) {
		if is {
			where, args = append(where, term), append(args, values...)
		}
	}
	add(f.Device != "", "j.device = ?", f.Device)
	// LIKE knows small and capital letters of ASCII as the same: https://www.sqlite.org/lang_expr.html#like
	has := func(part, term string, times int) {
		like := slices.Repeat([]any{"%" + likeText.Replace(part) + "%"}, times)
		add(part != "", strings.ReplaceAll(term, "LIKE ?", `LIKE ? ESCAPE '\'`), like...)
	}
	const aPiece = "j.id IN (SELECT p.job FROM pieces p WHERE p.name LIKE ?)"
	has(f.Style, "j.style <> '' AND j.style LIKE ?", 1)
	has(f.Production, "j.production <> '' AND j.production LIKE ?", 1)
	has(f.Wearer, "j.wearer <> '' AND j.wearer LIKE ?", 1)
	has(f.Material, "j.material LIKE ?", 1)
	has(f.Piece, aPiece, 1)
	has(f.Word, "(j.style LIKE ? OR j.file LIKE ? OR j.production LIKE ? OR j.wearer LIKE ? OR j.material LIKE ? OR "+aPiece+")", 6)
	add(f.For != "", "j.production <> '' AND j.production = ?", f.For)
	add(f.Due != "", "j.due <> '' AND j.due = ?", f.Due)
	add(!f.Since.IsZero(), "j.received >= ?", timeText(f.Since))
	add(f.Unended, unended)
	add(f.BegunOn != "", begun+" AND (j.device = ? OR j.sum = "+sumAs+")", f.BegunOn, f.BegunOn)
	add(f.Ready, "j.ready = 1")
	add(f.Unready, "j.ready = 0")
	add(!f.EndedBefore.IsZero(), "j.ended <> '' AND j.ended < ?", timeText(f.EndedBefore))
	add(!f.Unseen.IsZero(), "j.state = 'aborted' AND j.id IN (SELECT e.job FROM events e WHERE e.kind = 'refused' AND e.at >= ?)", timeText(f.Unseen))
	add(!f.Unseen.IsZero(), "NOT EXISTS (SELECT 1 FROM events e WHERE e.job = j.id AND e.kind = '"+EventSeen+"')")
	// A trial has its job's content, by which there is an index.
	add(f.TrialsOf != 0, "j.sha256 = (SELECT o.sha256 FROM jobs o WHERE o.id = ?) AND j.again_of = ? AND NOT (1"+noTrial+")", f.TrialsOf, f.TrialsOf)
	add(f.Below != 0, "j.id < ?", f.Below)
	add(f.Above != 0, "j.id > ?", f.Above)
	add(f.Whole, "j.stripped = 0")
	add(f.Stripping, "j.stripped = 1")
	add(f.Released, "j.released = 1")
	switch {
	case len(f.States) == 1 && f.States[0] == Pending:
		where = append(where, "j.state = '"+string(Pending)+"'")
	case len(f.States) > 0:
		// Nearly all jobs have ended: they are read by their numbers, because the index of states would sort them all.
		plain := ""
		if !slices.ContainsFunc(f.States, func(s State) bool { return !s.Ended() }) {
			plain = "+"
		}
		where = append(where, plain+"j.state IN ("+strings.TrimSuffix(strings.Repeat("?,", len(f.States)), ",")+")")
		for _, s := range f.States {
			args = append(args, s)
		}
	}
	return strings.Join(where, " AND "), args
}

// Jobs lists jobs in the order of their numbers unless the filter says otherwise, never nil. A row that cannot be read is
// left out where its job has ended; one that has not ended is an error, because the state of its machine is not known,
// unless the filter has Faulty. Where the database fails in the middle, what was read comes with the error.
func (l *Ledger) Jobs(ctx context.Context, f Filter) ([]Job, error) {
	where, args := f.where()
	if none, err := l.none(ctx, f); none || err != nil {
		return []Job{}, err
	}
	id := "j.id"
	if f.Unended { // they are few: they are found by their state, and sorted
		id = "+j.id"
	}
	tail := "WHERE " + where + " ORDER BY " + id
	if f.Turn {
		tail = "WHERE " + where + " ORDER BY j.rank DESC, " + id
	} else if f.Newest {
		tail += " DESC"
	}
	if f.Limit > 0 {
		tail += fmt.Sprintf(" LIMIT %d", f.Limit)
	}
	read, err := selectJobs(ctx, l.look, tail, args...)
	if err == nil && !f.Ready && !f.Unready { // a worker looks for its next job by these among thousands
		err = l.supply(ctx, read)
	}
	if err != nil {
		err = fmt.Errorf("listing jobs: %w", explain(err))
	}
	return Readable(read, f.Faulty, err)
}

// mostNames is up to how many different names are gone through to find out that a search finds nothing.
const mostNames = 5000

// none tells that no job has a style, a wearer or a production that is sought, without reading a job: each different name
// is asked once, which its index gives one after the other. It is false where there are too many.
func (l *Ledger) none(ctx context.Context, f Filter) (bool, error) {
	for _, of := range [][2]string{{"style", f.Style}, {"wearer", f.Wearer}, {"production", f.Production}} {
		if of[1] == "" {
			continue
		}
		var rows, names int
		err := l.look.QueryRowContext(ctx, "SELECT count(*), count(name) FROM ("+namesLike(of[0])+")", "%"+likeText.Replace(of[1])+"%").Scan(&rows, &names)
		if err != nil || names == 0 && rows == 1 { // the row after the last name alone
			return err == nil, explain(err)
		}
	}
	return false, nil
}

// namesLike picks the different names in a column that are like a pattern, and at the end a row without a name, unless
// there are more than mostNames. Each name is the next one in the column's index.
func namesLike(column string) string {
	return strings.ReplaceAll(fmt.Sprintf(`WITH RECURSIVE names (name) AS (
	SELECT (SELECT min(COL) FROM jobs WHERE COL <> '')
	UNION ALL SELECT (SELECT min(COL) FROM jobs WHERE COL <> '' AND COL > name) FROM names WHERE name IS NOT NULL LIMIT %d)
	SELECT name FROM names WHERE name IS NULL OR name LIKE ? ESCAPE '\'`, mostNames), "COL", column)
}

// Readable leaves out the jobs whose row cannot be read, as Jobs does, unless faulty is true; err is the error of reading
// them.
func Readable(read []Job, faulty bool, err error) ([]Job, error) {
	jobs := []Job{}
	for _, j := range read {
		switch {
		case j.Fault == "" || faulty:
			jobs = append(jobs, j)
		case !j.State.Ended():
			err = errors.Join(err, fmt.Errorf("%w: job %d: %s", ErrRow, j.ID, j.Fault+MendRow))
		}
	}
	return jobs, err
}

// FirstRank is the greatest rank of the jobs that wait for a device, 0 where none was put first.
func (l *Ledger) FirstRank(ctx context.Context, device string) (rank int64, err error) {
	err = l.look.QueryRowContext(ctx, "SELECT max(rank) FROM jobs WHERE state IN (?,?) AND device = ? AND sum = "+rowSum("jobs", jobSummed),
		Pending, Held, device).Scan(nullable(&rank))
	return rank, explain(err)
}

// LastReceived is when the job with the highest number of those received before a time was received; zero where there is
// none.
func (l *Ledger) LastReceived(ctx context.Context, before time.Time) (at time.Time, err error) {
	err = l.look.QueryRowContext(ctx, "SELECT received FROM jobs WHERE received < ? ORDER BY id DESC LIMIT 1", timeText(before)).Scan(timeOf{&at})
	if errors.Is(err, sql.ErrNoRows) {
		return time.Time{}, nil
	}
	return at, explain(err)
}

// FirstReceived is the lowest number of a job that was received in a span of time, 0 where there is none.
func (l *Ledger) FirstReceived(ctx context.Context, from, to time.Time) (id int64, err error) {
	err = l.look.QueryRowContext(ctx, "SELECT min(id) FROM jobs WHERE received >= ? AND received <= ?", timeText(from), timeText(to)).Scan(nullable(&id))
	return id, explain(err)
}

// Known tells whether a job was entered; it may have been pruned lately.
func (l *Ledger) Known(ctx context.Context, id int64) (bool, error) {
	var n int
	err := l.look.QueryRowContext(ctx, "SELECT count(*) FROM jobs WHERE id = ?", id).Scan(&n)
	return n > 0, explain(err)
}

// Numbers are the numbers of all jobs that were entered, those that are being pruned included.
func (l *Ledger) Numbers(ctx context.Context) (map[int64]bool, error) {
	rows, err := l.look.QueryContext(ctx, "SELECT id FROM jobs")
	if err != nil {
		return nil, explain(err)
	}
	defer func() { _ = rows.Close() }()
	all := map[int64]bool{}
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		all[id] = true
	}
	return all, explain(rows.Err())
}

// Check has the database check itself.
func (l *Ledger) Check(ctx context.Context) error {
	var word string
	if err := l.look.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&word); err != nil {
		return fmt.Errorf("checking the ledger: %w", explain(err))
	}
	if word != "ok" {
		return fmt.Errorf("%w: %s", ErrDamaged, word)
	}
	return nil
}
