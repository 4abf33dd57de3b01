package main

import (
	"errors"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/pipeline/testsquare"
)

func (a *app) squareWithdrawCmd() *cobra.Command {
	var all, blade bool
	var who string
	c := &cobra.Command{
		Use: "withdraw DEVICE", Short: "undo the current calibration; the previous one applies again", Args: cobra.ExactArgs(1),
		Example: "  tracewheel square withdraw roll-plotter\n  tracewheel square withdraw knife-table --blade",
	}
	c.Flags().BoolVar(&all, "all", false, "undo every calibration")
	c.Flags().BoolVar(&blade, "blade", false, "undo the recorded blade offset instead")
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
		gone, err := kept.Withdraw(whoever(who), what, time.Now())
		for _, e := range gone {
			a.done("calibration %d of %s is withdrawn", e.No, args[0])
		}
		if err != nil {
			return refused(err)
		}
		return a.madeBefore(room, args[0])
	}
	return c
}
