package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/testsquare"
)

func (a *app) squareShowCmd() *cobra.Command {
	var wish, picture string
	c := &cobra.Command{
		Use: "show DEVICE", Short: "show a device's calibration, its history, and what would make it surer", Args: cobra.ExactArgs(1),
		Example: "  tracewheel square show roll-plotter --wish 0.02% --picture square.svg",
	}
	a.formatFlag(c)
	c.Flags().StringVar(&wish, "wish", "", "an accuracy such as 0.02%: which square and ruler reach it")
	c.Flags().StringVar(&picture, "picture", "", "write a picture of the square with its error enlarged (.svg or .png)")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.squareShow(args[0], wish, picture) }
	return c
}

func (a *app) squareShow(device, wish, picture string) error {
	asJSON, err := a.asJSON()
	if err != nil {
		return err
	}
	room, kept, err := a.calibrations(device, asJSON)
	if err != nil {
		return err
	}
	if asJSON {
		return a.printJSON(kept)
	}
	now := kept.InForce()
	if now == nil {
		a.done("%s has no calibration in force", device)
	} else {
		a.done("%s, calibration %d in force, %s by %s%s", device, now.No, now.At.Local().Format("2006-01-02 15:04"),
			printable(now.Who), printable(circumstances(*now)))
		a.printAll(now.Text(room.Units == "in"))
	}
	a.history(kept)
	a.unmeasured(kept)
	if wish != "" {
		if err := a.wishes(room, device, wish); err != nil {
			return err
		}
	}
	if picture == "" {
		return nil
	}
	if now == nil {
		return refused(errors.New("there is nothing to make a picture of"))
	}
	data, err := testsquare.Picture(room, device, *now, filepath.Ext(picture))
	if err != nil {
		return usage(err)
	}
	return a.wrote(picture, data, "a picture")
}

func (a *app) history(kept *testsquare.Calibrations) {
	if len(kept.Entries) == 0 {
		return
	}
	a.done("history:")
	for _, e := range kept.Entries {
		what := e.Result.String()
		if e.Blade != nil {
			what = fmt.Sprintf("blade offset %.2f mm, the workroom file's was %.2f", *e.Blade, e.BladeBefore)
		}
		if w := e.Withdrawn; w != nil {
			what += fmt.Sprintf("; withdrawn %s by %s", w.At.Local().Format("2006-01-02"), w.Who)
		}
		a.done("  %d  test square %d  %s  %s  %s", e.No, e.Plot, e.At.Local().Format("2006-01-02"), printable(e.Who), printable(what+circumstances(e)))
	}
	for _, d := range kept.Drift() {
		a.done("drift: %s", d)
	}
}

// unmeasured lists the squares that were sent for and never recorded.
func (a *app) unmeasured(kept *testsquare.Calibrations) {
	done := map[int]bool{}
	for _, e := range kept.Entries {
		done[e.Plot] = true
	}
	for _, o := range kept.Orders {
		if !done[o.No] {
			a.done("not recorded: %s (tracewheel square record %s --plot %d)", o, o.Device, o.No)
		}
	}
}

func (a *app) wishes(room *config.Workroom, device, wish string) error {
	var percent float64
	if _, err := fmt.Sscanf(strings.TrimSuffix(wish, "%")+"\n", "%g\n", &percent); err != nil || !(percent > 0) {
		return usage(fmt.Errorf("--wish takes an accuracy such as 0.02%%, not %q", wish))
	}
	a.done("%s", testsquare.ToReach(room, device, percent))
	return nil
}

func circumstances(e testsquare.Calibrated) string {
	s := ""
	for _, part := range []string{e.Material, e.Humidity, e.Note} {
		if part != "" {
			s += ", " + part
		}
	}
	return s
}
