package board

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/leftout"
	"tracewheel/pipeline/jobpicture"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/returned"
	"tracewheel/pipeline/testsquare"
	"tracewheel/pipeline/web"
)

// listed bounds the jobs of each sort on one page; doneShown those in a device's column that ended today.
const (
	listed    = 100
	doneShown = 6
)

// refusedShown is how long a refused job is listed among those that need a person, unless one said that it was seen.
const refusedShown = 14 * 24 * time.Hour

// progress is the progress of a job, for people.
type progress struct {
	Job     int64  `json:"job"`
	Percent int    `json:"percent"`
	Text    string `json:"text"`
	// Person is true where it waits for a person.
	Person bool `json:"person"`
	// Pausing is true until the machine confirms that it stands still.
	Pausing bool `json:"pausing,omitempty"`
}

func progressOf(p control.Progress) progress {
	out := progress{Job: p.Job, Person: p.Person, Pausing: p.Pausing}
	if p.Total > 0 {
		out.Percent = int(100 * p.Bytes / p.Total)
	}
	out.Text = fmt.Sprintf("%d %% sent", out.Percent)
	if p.Piece >= 0 {
		out.Text += fmt.Sprintf(", piece %d", p.Piece+1)
	}
	if left := pattern.TimeLeft(p.Left); left != "" && !p.Person {
		out.Text += ", " + left
	}
	waits := p.Waiting
	if waits != "" && !p.Person {
		waits = "waits for " + waits
	}
	for _, more := range []string{waits, p.Remark} {
		if more != "" {
			out.Text += "; " + onPage(more)
		}
	}
	return out
}

// card is a job in a list.
type card struct {
	ledger.Job
	Mark, Word, Why string
	// Takes is the length of material that it takes, "" where it is not known.
	Takes string
	// NeedsYou is true where nothing continues without a person.
	NeedsYou bool
	// Warnings are what a person must know before a release: too little material, pieces that name another cloth.
	Warnings []string
	Progress *progress
	Picture  bool
	// Over is the address of the overlay of its picture that shows the progress; "" before anything is sent and after
	// the end.
	Over string
}

// Called is the name of a job in a list: its style, a test square by its number, else its file.
func (c card) Called() string {
	return cmp.Or(c.Style, testsquare.Called(c.File), c.File)
}

// marks are the signs of states beside their words, which differ in form and not only in colour.
var marks = map[ledger.State]string{
	ledger.Pending: "○", ledger.Held: "◐", ledger.Processing: "▶", ledger.Stopped: "▮▮",
	ledger.Completed: "●", ledger.Aborted: "✕", ledger.Canceled: "–",
}

// pictured reports whether a job has a picture: a job that is drawn or cut has one; for a refused draft or sheets its
// files say so.
func (b *Board) pictured(ctx context.Context, j ledger.Job) bool {
	if j.Ready && j.State != ledger.Aborted && !b.kind(j.Device).Prints() {
		return true
	}
	files, err := b.o.Jobs.Files(ctx, j.ID)
	return err == nil && jobpicture.Has(files)
}

func (b *Board) cardOf(ctx context.Context, j ledger.Job, now map[int64]progress) card {
	c := card{Job: j, Mark: marks[j.State], Word: j.State.Plain(), Why: returned.Why(b.o.Room(), j),
		NeedsYou: j.State == ledger.Held || j.State == ledger.Stopped || j.State == ledger.Aborted || j.Fault != "",
		Picture:  b.pictured(ctx, j), Takes: j.LaidSaid(b.o.Room().Units)}
	if j.Ready && j.Sends > 0 && !j.State.Ended() && !b.kind(j.Device).Prints() {
		c.Over = fmt.Sprintf("/job/%d/over?small&at=%s", j.ID, j.State)
	}
	if short, _ := j.StockSaid(b.o.Room().Units); short != "" {
		c.Warnings = append(c.Warnings, short)
	}
	if j.Ready && (j.State == ledger.Held || j.State == ledger.Pending) && b.kind(j.Device).Cuts() {
		if other := pattern.OtherCloth(leftout.Findings(ctx, b.o.Jobs, j.ID)); other != "" {
			c.Warnings = append(c.Warnings, other)
		}
	}
	if j.Fault != "" {
		c.Mark, c.Word, c.Why = "?", ledger.Unknown, j.Fault+ledger.MendRow
	}
	if j.Asks != "" && !j.State.Ended() {
		c.Word, c.Why = "asks a question", j.Asks
	}
	if j.Rank > 0 && c.Why == "" && j.State == ledger.Pending {
		c.Why = "goes before the others"
	}
	c.Why = onPage(c.Why)
	if j.Ready && b.kind(j.Device).Cuts() && !b.web.Door.Paired(web.SessionIn(ctx).ID) {
		c.Why = elsewhere.Replace(c.Why)
	}
	if p, ok := now[j.ID]; ok && !j.State.Ended() {
		c.Progress = &p
		if p.Person {
			c.NeedsYou = true
		}
		if p.Pausing && j.State == ledger.Processing {
			c.Word = "pausing"
		}
		if strings.Contains(p.Text, c.Why) { // the reason is not repeated
			c.Why = ""
		}
	}
	return c
}

// sentNow is the progress of all jobs that are being sent.
func (b *Board) sentNow() map[int64]progress {
	now := map[int64]progress{}
	for _, p := range b.o.Jobs.Now() {
		now[p.Job] = progressOf(p)
	}
	return now
}

// column is one device's part of the list.
type column struct {
	Device                 string
	Running, Waiting, Done []card
	Needs                  []card // listed above all devices, and named here, since they occupy the device
	More                   int    // jobs that ended today and are not listed
}

func (b *Board) list(w http.ResponseWriter, r *http.Request) {
	data, err := b.lists(r.Context())
	if err != nil {
		b.problem(w, r, err)
		return
	}
	b.show(w, r, "Jobs", "list.html", data, nil)
}

// lists are the lists of the first page: the jobs that need a person, then those of each device.
func (b *Board) lists(ctx context.Context) (data struct {
	Needs   []card
	Runs    []card // below the jobs that need a person where there are any, so a line above them names these too
	Columns []column
	Untaken []ledger.Untaken
	Nothing bool
}, err error) {
	today := midnight(b.o.Now())
	refused, err := b.o.Jobs.Jobs(ctx, ledger.Filter{Newest: true, Faulty: true, Limit: listed, Unseen: b.o.Now().Add(-refusedShown)})
	if err != nil {
		return data, err
	}
	unended, err := b.o.Jobs.Jobs(ctx, ledger.Filter{Unended: true, Faulty: true, Newest: true, Limit: listed})
	if err != nil {
		return data, err
	}
	ended, err := b.o.Jobs.Jobs(ctx, ledger.Filter{Newest: true, Faulty: true, Limit: listed,
		States: []ledger.State{ledger.Completed, ledger.Canceled, ledger.Aborted}})
	if err != nil {
		return data, err
	}
	now := b.sentNow()
	for _, name := range b.o.Room().DeviceNames() {
		data.Columns = append(data.Columns, column{Device: name})
	}
	at := func(device string) *column {
		i := slices.IndexFunc(data.Columns, func(c column) bool { return c.Device == device })
		if i < 0 { // its device is no longer in the workroom file
			data.Columns = append(data.Columns, column{Device: device})
			i = len(data.Columns) - 1
		}
		return &data.Columns[i]
	}
	slices.Reverse(unended) // what has waited longest first
	for _, j := range unended {
		c := b.cardOf(ctx, j, now)
		col := at(j.Device)
		switch {
		case c.NeedsYou:
			data.Needs, col.Needs = append(data.Needs, c), append(col.Needs, c)
		case j.State == ledger.Processing:
			col.Running = append(col.Running, c)
		default:
			col.Waiting = append(col.Waiting, c)
		}
	}
	for _, j := range refused {
		data.Needs = append(data.Needs, b.cardOf(ctx, j, now))
	}
	for _, j := range ended {
		if j.Ended.Before(today) && j.Fault == "" || slices.ContainsFunc(refused, func(o ledger.Job) bool { return o.ID == j.ID }) {
			continue
		}
		c := b.cardOf(ctx, j, now)
		if j.Fault != "" {
			data.Needs = append(data.Needs, c)
			continue
		}
		if col := at(j.Device); len(col.Done) < doneShown {
			col.Done = append(col.Done, c)
		} else {
			col.More++
		}
	}
	for _, col := range data.Columns {
		slices.SortStableFunc(col.Waiting, func(a, c card) int { return cmp.Compare(c.Rank, a.Rank) })
	}
	slices.SortStableFunc(data.Needs, func(a, c card) int { return cmp.Compare(urgency(a), urgency(c)) })
	if len(data.Needs) > 0 {
		for _, col := range data.Columns {
			data.Runs = append(data.Runs, col.Running...)
		}
	}
	data.Untaken = b.o.Jobs.Untaken()
	data.Nothing = len(unended) == 0 && len(ended)+len(refused) == 0 && len(data.Untaken) == 0
	return data, nil
}

// urgency orders the jobs that need a person: those on a machine that stands still, those that can be released, those
// that were refused.
func urgency(c card) int {
	switch c.State {
	case ledger.Processing, ledger.Stopped:
		return 0
	case ledger.Held:
		return 1
	}
	return 2
}

func midnight(t time.Time) time.Time {
	t = t.Local()
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}
