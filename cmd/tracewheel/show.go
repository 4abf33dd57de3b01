package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/returned"
)

func (a *app) showCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "show JOB", Short: "tell all about one job", Args: cobra.ExactArgs(1),
		Example: "  tracewheel show 12",
	}
	a.formatFlag(c)
	c.RunE = func(_ *cobra.Command, args []string) error {
		id, err := jobID(args[0])
		if err != nil {
			return err
		}
		return a.show(id)
	}
	return c
}

func (a *app) show(id int64) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	return a.named(asJSON, func(led reading.Reader) error {
		if led == nil {
			return refused(fmt.Errorf("there is no job %d", id))
		}
		j, err := led.Job(a.ctx, id)
		events, unread := led.Events(a.ctx, id)
		if err != nil && !asJSON { // of a damaged line the history may still tell
			a.printEvents(events)
		}
		if err := cmp.Or(err, unread); err != nil {
			return refused(err)
		}
		made := a.piecesMade(j)
		if asJSON {
			return a.printJSON(struct {
				Job    ledger.Job     `json:"job"`
				Pieces []places.Piece `json:"pieces,omitempty"`
				Events []ledger.Event `json:"events"`
			}{j, made, events})
		}
		a.printJob(j, made, events)
		return nil
	})
}

// piecesMade is how far each piece of a job came that stands stopped or was canceled; none where there is one
// piece, nothing was sent, or its program is gone.
func (a *app) piecesMade(j ledger.Job) []places.Piece {
	room, _ := a.whereabouts()
	if room == nil || j.Sends == 0 || j.State != ledger.Stopped && j.State != ledger.Canceled {
		return nil
	}
	list, _ := reading.Pieces(a.ctx, room, j.ID)
	return list
}

func (a *app) printJob(j ledger.Job, made []places.Piece, events []ledger.Event) {
	fmt.Fprintf(a.out, "job %d: %s for %s, %s\n", j.ID, printable(j.File), j.Device, j.State.Plain())
	row := func(name, value string) {
		if value != "" {
			fmt.Fprintf(a.out, "  %-10s %s\n", name, printable(value))
		}
	}
	row("why", j.Reason)
	if j.State == ledger.Aborted {
		if room, _ := a.whereabouts(); room != nil {
			row("report in", returned.Folder(room, j))
		}
	}
	row("question", j.Asks)
	row("style", j.Style)
	switch {
	case len(made) > 0:
		row("pieces", fmt.Sprintf("%d, in the order in which they are made, numbered as in the lay's picture and for --from-piece:", len(made)))
		for _, r := range places.Rows(made) {
			row(r[0], r[1])
		}
	case j.Pieces > 0:
		row("pieces", strconv.Itoa(j.Pieces))
	}
	if how := j.Answers[control.AnswerToolUp]; how != "" {
		row("trial", fmt.Sprintf("%s of job %d, with the tool up", how, j.AgainOf))
	} else if j.SameAs != 0 {
		row("same as", fmt.Sprintf("job %d had the same content", j.SameAs))
	}
	if now := a.now(j); now != "" {
		row("now", now)
	} else if j.Sends > 0 {
		row("sent", fmt.Sprintf("%d of %d bytes, tool %s", j.Send.Bytes, j.Send.Total, j.Send.Tool))
		switch {
		case j.State != ledger.Stopped || j.Send.End == "" || j.Send.Bytes == 0:
		case control.AllSent(j.Send):
			row("to end", fmt.Sprintf("all was sent; see whether the sheet is whole, then: tracewheel whole %d, or: tracewheel spoilt %d; tracewheel resume %d lists the places to make it again from", j.ID, j.ID, j.ID))
		default:
			row("to go on", fmt.Sprintf("tracewheel resume %d lists the places; --from-piece N where you see which pieces are made", j.ID))
		}
	}
	a.printEvents(events)
}

func (a *app) printEvents(events []ledger.Event) {
	for _, e := range events {
		fmt.Fprintf(a.out, "  %s  %s\n", e.At.Local().Format("2006-01-02 15:04:05"), printable(strings.TrimSuffix(e.Kind+": "+e.Text, ": ")))
	}
}

// now is how far a job that is being sent has come by the daemon's word, "" where it is not or no daemon
// runs.
func (a *app) now(j ledger.Job) string {
	if j.State != ledger.Processing && j.State != ledger.Stopped {
		return ""
	}
	room, _ := a.whereabouts()
	if room == nil {
		return ""
	}
	client, err := control.Dial(a.ctx, room.Path(room.Folders.Store))
	if err != nil {
		return ""
	}
	defer client.Close() //nolint:errcheck // only asked
	all, err := client.Now(a.ctx)
	i := slices.IndexFunc(all, func(p control.Progress) bool { return p.Job == j.ID })
	if err != nil || i < 0 {
		return ""
	}
	p := all[i]
	text := fmt.Sprintf("%d of %d bytes sent", p.Bytes, p.Total)
	if p.Stroke >= 0 {
		text += fmt.Sprintf(", stroke %d", p.Stroke+1)
	}
	if p.Piece >= 0 {
		text += fmt.Sprintf(" of piece %d", p.Piece+1)
	}
	if p.Waiting != "" {
		text += "; waiting: " + p.Waiting
	}
	return text
}

// jobsListed is how many jobs are listed where nobody says otherwise.
const jobsListed = 100

func (a *app) jobsCmd() *cobra.Command {
	f := ledger.Filter{Newest: true, Faulty: true}
	var since string
	c := &cobra.Command{
		Use: "jobs", Short: "list jobs, the newest first", Args: notOneJob,
		Long:    fmt.Sprintf("Jobs lists the jobs of the ledger, the newest first and at most %d, as text and as JSON; --limit 0 lists all.", jobsListed),
		Example: "  tracewheel jobs\n  tracewheel jobs --style cloak --since 30d\n  tracewheel jobs --device knife-table --limit 0 --format json",
	}
	a.formatFlag(c)
	c.Flags().StringVar(&f.Style, "style", "", "only jobs whose style has this in its name")
	c.Flags().StringVar(&f.Device, "device", "", "only jobs of this device")
	c.Flags().StringVar(&since, "since", "", "only jobs received since then: a day such as 2026-03-01, or how long ago, such as 7d or 12h")
	c.Flags().IntVar(&f.Limit, "limit", jobsListed, "how many at most; 0 lists all")
	_ = c.RegisterFlagCompletionFunc("device", a.completeDevices)
	c.RunE = func(*cobra.Command, []string) (err error) {
		if f.Limit < 0 {
			return usage(fmt.Errorf("--limit is a number of jobs, 0 for all, not %d", f.Limit))
		}
		if f.Since, err = config.Since(since, time.Now()); err != nil {
			return usage(err)
		}
		return a.jobs(f)
	}
	return c
}

func (a *app) jobs(f ledger.Filter) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	limit := f.Limit
	if limit > 0 && !asJSON {
		f.Limit++ // one more tells whether any are left out
	}
	return a.named(asJSON, func(led reading.Reader) error {
		list, fault := []ledger.Job{}, error(nil)
		if led != nil {
			list, fault = led.Jobs(a.ctx, f)
		}
		var untaken []ledger.Untaken
		if room, _ := a.whereabouts(); room != nil && f.Style == "" && f.Since.IsZero() {
			untaken = ofDevice(reading.Untaken(a.ctx, room), f.Device)
		}
		switch {
		case asJSON && len(untaken) > 0:
			err = a.printJSON(withUntaken(list, untaken))
		case asJSON:
			err = a.printJSON(list)
		default:
			err = errors.Join(a.jobTable(led, list, limit, f), a.untakenTable(untaken))
		}
		if fault != nil {
			return refused(fault) // what could be read stands above
		}
		return err
	})
}

func (a *app) jobTable(led reading.Reader, list []ledger.Job, limit int, f ledger.Filter) error {
	if len(list) == 0 {
		if f.Style != "" || f.Device != "" || !f.Since.IsZero() {
			fmt.Fprintln(a.out, "no job is like that")
		} else {
			fmt.Fprintln(a.out, "no jobs yet; drop a draft into a folder of the inbox")
		}
		return nil
	}
	more := limit > 0 && len(list) > limit
	if more {
		list = list[:limit]
	}
	ahead := a.firstStopped(led, list)
	daemon := a.daemonRuns()
	t := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "JOB\tDEVICE\tFILE\tSTATE\tWHY")
	for _, j := range list {
		fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\n", j.ID, pattern.Short(j.Device), pattern.Short(j.File), printable(stateWords(j)), printable(why(j, ahead[j.Device], daemon)))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if more {
		fmt.Fprintf(a.out, "the newest %d; older ones are left out: --limit 0 lists all\n", limit)
	}
	return nil
}

// firstStopped are the first jobs that stand stopped on the devices of a list. Each device is asked for
// alone: thousands may stand stopped on another.
func (a *app) firstStopped(led reading.Reader, list []ledger.Job) map[string]int64 {
	ahead := map[string]int64{}
	for _, j := range list {
		if _, asked := ahead[j.Device]; asked {
			continue
		}
		ahead[j.Device] = 0
		stopped, err := led.Jobs(a.ctx, ledger.Filter{Device: j.Device, States: []ledger.State{ledger.Stopped}, Faulty: true, Limit: 1})
		if err == nil && len(stopped) > 0 { // else the list itself has told
			ahead[j.Device] = stopped[0].ID
		}
	}
	return ahead
}

// stateWords is a job's state for people. Of a line that is not what was written nobody knows it.
func stateWords(j ledger.Job) string {
	if j.Fault != "" {
		return ledger.Unknown
	}
	return j.State.Plain()
}

// why tells what a job's state does not: its reason, or which stopped job of its device it waits
// behind, 0 for none.
func why(j ledger.Job, behind int64, daemon bool) string {
	switch {
	case j.Fault != "":
		return j.Fault + ledger.MendRow
	case j.State == ledger.Processing && !daemon:
		return "no daemon runs any more; see to the machine, then start `tracewheel run`, which says how far it surely came"
	case j.State == ledger.Processing && j.Send.Cancel:
		return "a person canceled it; waits for the device to confirm that it has stopped"
	case j.State == ledger.Pending && j.Reason == "" && !daemon:
		return "no daemon runs: tracewheel run"
	case j.State == ledger.Pending && j.Reason == "" && behind != 0:
		return fmt.Sprintf("waits behind job %d, which needs you", behind)
	}
	if how := j.Answers[control.AnswerToolUp]; j.Reason == "" && how != "" {
		return fmt.Sprintf("%s of job %d, with the tool up", how, j.AgainOf)
	}
	if j.Reason == "" && j.SameAs != 0 {
		return fmt.Sprintf("the same content as job %d", j.SameAs)
	}
	return j.Reason
}
