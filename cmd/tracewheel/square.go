package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/testsquare"
)

func (a *app) squareCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "square", Short: "calibrate a device against a measured test square",
		Long: "Square sends a test square to a device, takes your ruler measurements, and corrects the device's\n" +
			"output by them from then on. Measure with a steel rule from corner to corner, on the material that is\n" +
			"used, after it has stood in the room for a day; measure line centre to line centre.",
		Example: "  tracewheel square plot roll-plotter\n  tracewheel square record roll-plotter\n  tracewheel square show roll-plotter",
	}
	c.AddCommand(a.squarePlotCmd(), a.squareRecordCmd(), a.squareShowCmd(), a.squareWithdrawCmd())
	return c
}

func (a *app) squarePlotCmd() *cobra.Command {
	var size, long, blade string
	var count int
	c := &cobra.Command{
		Use: "plot DEVICE", Short: "send a test square to a device", Args: cobra.ExactArgs(1),
		Long: "Plot drops a test square into the device's folder. It goes the way of every job; on a cutter it waits\n" +
			"for your release, and is cut with the blade's compensation.",
		Example: "  tracewheel square plot roll-plotter --size 500mm --count 2\n" +
			"  tracewheel square plot roll-plotter --size 500mm --long 4m\n" +
			"  tracewheel square plot knife-table --blade 0.3,0.4,0.5,0.6,0.7",
	}
	c.Flags().StringVar(&size, "size", "500mm", "the side, or two: along x,across (along the roll first)")
	c.Flags().IntVar(&count, "count", 1, "how many, spread over the device: 2 stand at both ends of the width")
	c.Flags().StringVar(&long, "long", "", "for a roll: lines of this length (3m to 5m) along both edges as well")
	c.Flags().StringVar(&blade, "blade", "", "for a drag knife: corners with this ladder of blade offsets instead")
	c.RunE = func(_ *cobra.Command, args []string) error {
		w, err := testsquare.NewWish(size, count, long, blade)
		if err != nil {
			return usage(err)
		}
		return a.squarePlot(args[0], w)
	}
	return c
}

func (a *app) squarePlot(device string, w testsquare.Wish) error {
	room, _, err := a.calibrations(device, false)
	if err != nil {
		return err
	}
	o, file, err := testsquare.Plot(room, device, w, time.Now())
	if err != nil {
		return refused(err)
	}
	a.done("test square %d of %s is dropped as %s", o.No, device, filepath.Base(file))
	for _, line := range o.Lines(room.Units) {
		a.done("  %s", line)
	}
	if len(o.Ladder) > 0 {
		a.done("%s", testsquare.LadderWords)
	}
	a.done("`tracewheel jobs` follows it; once measured: tracewheel square record %s", device)
	return nil
}

func (a *app) squareWithdrawCmd() *cobra.Command {
	var all, blade bool
	var who, paper string
	c := &cobra.Command{
		Use: "withdraw DEVICE", Short: "undo the current calibration; the previous one applies again", Args: cobra.ExactArgs(1),
		Example: "  tracewheel square withdraw roll-plotter\n  tracewheel square withdraw knife-table --blade",
	}
	c.Flags().BoolVar(&all, "all", false, "undo every calibration")
	c.Flags().BoolVar(&blade, "blade", false, "undo the recorded blade offset instead")
	c.Flags().StringVar(&paper, "paper", "", "a sheet-printer: the one on this paper")
	c.Flags().StringVar(&who, "who", "", "who undoes it (default the user)")
	c.RunE = func(_ *cobra.Command, args []string) error {
		what := testsquare.WithdrawLast
		switch {
		case all && blade:
			return usage(errors.New("--all undoes calibrations, --blade the blade offset: say one of them"))
		case all:
			what = testsquare.WithdrawAll
		case blade:
			what = testsquare.WithdrawBlade
		}
		room, kept, err := a.calibrations(args[0], false)
		if err != nil {
			return err
		}
		gone, err := kept.Withdraw(testsquare.NameOrLogin(who), what, paper, time.Now())
		for _, e := range gone {
			a.done("%s is withdrawn", kept.Name(&e))
		}
		if err != nil {
			return refused(err)
		}
		for _, line := range kept.CountNow(gone) {
			a.done("%s", line)
		}
		return a.madeBefore(room, args[0], gone...)
	}
	return c
}

// calibrations loads the workroom, names it, and loads what is kept of one of its devices.
func (a *app) calibrations(device string, asJSON bool) (*config.Workroom, *testsquare.Calibrations, error) {
	room, err := a.room(false)
	if err != nil {
		return nil, nil, err
	}
	nameRoom(a.beside(asJSON), room)
	if _, ok := room.Devices[device]; !ok {
		return nil, nil, usage(room.NoDevice(device))
	}
	c, err := testsquare.Load(room, device)
	if err != nil {
		return nil, nil, refused(err)
	}
	return room, c, nil
}

// length is the one length of a flag.
func length(text string, unit float64) (float64, error) {
	mm, err := testsquare.Length(text, unit)
	if err != nil {
		err = usage(err)
	}
	return mm, err
}

func (a *app) printAll(text string) { fmt.Fprint(a.out, text) }
