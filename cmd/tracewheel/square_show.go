package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/testsquare"
)

func (a *app) squareShowCmd() *cobra.Command {
	var wish, picture, paper string
	c := &cobra.Command{
		Use: "show DEVICE", Short: "show a device's calibration, its history, and what would make it surer", Args: cobra.ExactArgs(1),
		Example: "  tracewheel square show roll-plotter --wish 0.02% --picture square.svg",
	}
	a.formatFlag(c)
	c.Flags().StringVar(&wish, "wish", "", "an accuracy such as 0.02%: which square and ruler reach it")
	c.Flags().StringVar(&picture, "picture", "", "write a picture of the square with its error enlarged (.svg or .png)")
	c.Flags().StringVar(&paper, "paper", "", "a sheet-printer: only what was measured on this paper")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.squareShow(args[0], wish, picture, paper) }
	return c
}

func (a *app) squareShow(device, wish, picture, paper string) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	room, kept, err := a.calibrations(device, asJSON)
	if err != nil {
		return err
	}
	if kept, err = kept.OnlyOn(paper); err != nil {
		return refused(err)
	}
	if asJSON {
		return a.printJSON(kept)
	}
	for _, s := range kept.Standing(room.Units) {
		a.done("%s", printable(s.Heading))
		a.printAll(s.Text)
	}
	for _, line := range kept.Past() {
		a.done("%s", printable(line))
	}
	if wish != "" {
		if err := a.wishes(room, device, wish); err != nil {
			return err
		}
	}
	if picture == "" {
		return nil
	}
	now, err := kept.OneInForce(paper)
	if err != nil {
		return refused(fmt.Errorf("no picture was made: %w", err))
	}
	data, err := testsquare.Picture(room, device, *now, filepath.Ext(picture))
	if err != nil {
		return usage(err)
	}
	return a.wrote(picture, data, "a picture")
}

func (a *app) wishes(room *config.Workroom, device, wish string) error {
	percent, err := testsquare.Accuracy(wish)
	if err != nil {
		return usage(fmt.Errorf("--wish: %w", err))
	}
	a.done("%s", testsquare.ToReach(room, device, percent))
	return nil
}
