package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/reading"
	"tracewheel/pipeline/sending"
)

// confirmations are what a person said by flags before a cutter moves.
type confirmations struct{ bedClear, notShifted, cautions bool }

func (w *confirmations) flag(c *cobra.Command, into *bool, word control.Confirmation) {
	c.Flags().BoolVar(into, string(word), false, "on a cutter: say that "+word.Text())
	if c.Flags().Lookup("cautions") == nil {
		c.Flags().BoolVar(&w.cautions, "cautions", false, "on a gantry: show all cautions, after the day's first release too")
	}
}

// saying asks the daemon for something that may move a machine. A gantry's cautions are shown first: a pen's
// at once, as its release is the word itself; a cutter's once the daemon wants a person's word, which is
// taken from a flag or asked for on a terminal, and all is asked again.
func (a *app) saying(id int64, w confirmations, wish func(said control.Confirmation) error) error {
	m := a.moves(id)
	if !m.kind.Cuts() {
		a.cautions(m, w.cautions)
	}
	err := wish("")
	var needs *control.Refusal
	if !errors.As(err, &needs) || needs.Say == "" {
		return err
	}
	if m.kind.Cuts() {
		a.cautions(m, w.cautions)
	}
	if needs.Lies != "" && (w.bedClear || w.notShifted) { // else the question says it
		fmt.Fprintf(a.err, "caution: %s must lie there\n", printable(needs.Lies))
	}
	switch {
	case needs.Say == control.BedClear && w.bedClear, needs.Say == control.NotShifted && w.notShifted:
		return wish(needs.Say)
	case w.notShifted: // which is enough to begin anew
		return wish(control.NotShifted)
	case a.confirm(needs.Say.Asks(needs.Lies)):
		return wish(needs.Say)
	}
	return err
}

// moved is the machine that a wish moves. Where the workroom file or the ledger cannot tell it is taken for
// a cutter of which nothing was released today.
type moved struct {
	device  string
	kind    devices.Kind
	already bool // let go today
}

func (a *app) moves(id int64) moved {
	m := moved{kind: devices.DragKnife}
	room, err := a.room(false)
	if err != nil {
		return m
	}
	_ = a.withLedger(func(led reading.Reader) error {
		if led == nil {
			return nil
		}
		j, err := led.Job(a.ctx, id)
		if err != nil {
			return err
		}
		m.device = j.Device
		if d, ok := room.Devices[j.Device]; ok {
			m.kind = d.Kind
		}
		now := time.Now()
		today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
		m.already, err = led.Happened(a.ctx, j.Device, "release", control.ReleaseSaid(m.kind.Cuts()), today)
		return err
	}) // what it could not tell is said above
	return m
}

// cautions shows all of them before the device's first release of a day, where the ledger cannot tell, and
// where a person asks for them; else one line that says where they stand.
func (a *app) cautions(m moved, all bool) {
	for _, c := range sending.Shown(m.kind, m.device, m.already && !all) {
		fmt.Fprintf(a.err, "caution: %s\n", printable(c))
	}
}

func (a *app) dryCmd() *cobra.Command {
	return a.toolUpCmd("dry JOB", "Dry runs the whole job with the tool up.", control.ToolUpDry, "run a waiting job with the tool up", "  tracewheel dry 12\n  tracewheel dry 12 --bed-clear")
}

func (a *app) boundsCmd() *cobra.Command {
	return a.toolUpCmd("bounds JOB", "Bounds traces the job's outer rectangle once with the tool up.", control.ToolUpBounds, "trace the job's outer rectangle once, tool up", "  tracewheel bounds 12 --bed-clear")
}

func (a *app) toolUpCmd(use, long, how, short, example string) *cobra.Command {
	var w confirmations
	c := a.act(use, short, example, func(ctx context.Context, c *remote.Client, id int64) error {
		return a.saying(id, w, func(said control.Confirmation) error {
			n, err := c.ToolUp(ctx, id, how, said)
			if err == nil {
				a.done("job %d moves with the tool up; job %d is held until you release it", n, id)
			}
			return err
		})
	})
	c.Long = long + " It is entered as a separate job; the original stays on hold. The head moves: keep hands and cords away. It does not show that the bed is clear, and the machine's manual and local rules come first."
	w.flag(c, &w.bedClear, control.BedClear)
	return c
}
