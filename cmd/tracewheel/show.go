package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
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
	return a.withLedger(func(led *ledger.Ledger) error {
		if led == nil {
			return refused(fmt.Errorf("there is no job %d", id))
		}
		j, err := led.Job(a.ctx, id)
		if err != nil {
			return refused(err)
		}
		events, err := led.Events(a.ctx, id)
		if err != nil {
			return refused(err)
		}
		if asJSON {
			return a.printJSON(struct {
				Job    ledger.Job     `json:"job"`
				Events []ledger.Event `json:"events"`
			}{j, events})
		}
		a.printJob(j, events)
		return nil
	})
}

func (a *app) printJob(j ledger.Job, events []ledger.Event) {
	fmt.Fprintf(a.out, "job %d: %s for %s, %s\n", j.ID, printable(j.File), j.Device, j.State.Plain())
	row := func(name, value string) {
		if value != "" {
			fmt.Fprintf(a.out, "  %-10s %s\n", name, printable(value))
		}
	}
	row("why", j.Reason)
	row("question", j.Asks)
	row("style", j.Style)
	if j.Pieces > 0 {
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
	}
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
