package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/testsquare"
)

func (a *app) squareRecordCmd() *cobra.Command {
	var f testsquare.Said
	c := &cobra.Command{
		Use: "record DEVICE", Short: "take the measures of a test square, and correct the device by them", Args: cobra.ExactArgs(1),
		Long: "Record takes the measured sides and diagonals: asked one by one on a terminal, by flags, or from a CSV\n" +
			"file with lines of square,side,reading (sides: bottom, right, top, left, rising, falling; square 0 for the\n" +
			"long lines: low-line, high-line, start-apart, end-apart). Readings are in the unit of the workroom unless they or --inches say else;\n" +
			"19 11/16, 19-11/16in and 19.69 are understood. Give every side at least once, better twice.\n\n" + testsquare.AboutSheets,
		Example: "  tracewheel square record roll-plotter\n" +
			"  tracewheel square record roll-plotter --sides 498.5,499,498.5,499 --diagonals 705.5,705 --ruler 0.5mm\n" +
			"  tracewheel square record knife-table --blade 0.45mm",
	}
	s := c.Flags()
	s.IntVar(&f.Plot, "plot", 0, "the number of the test square (default the last)")
	s.StringArrayVar(&f.Sides, "sides", nil, "bottom,right,top,left; again for a second reading, 2:... for the second square")
	s.StringArrayVar(&f.Diagonals, "diagonals", nil, "rising,falling (from the lower left, from the upper left corner)")
	s.StringVar(&f.Sheet.Paper, "paper", "", "a sheet-printer: the paper that was printed on (default the device's)")
	s.StringVar(&f.Sheet.Wanted, "wanted", "", "a sheet-printer: what was measured instead of the test square, as a frame of 186.0x242.0")
	s.IntVar(&f.Sheet.Calibration, "calibration", -1, "a sheet-printer: the one that the sheet says it is corrected by, 0 for none (needed once there is one)")
	s.StringVar(&f.CSV, "csv", "", "a file of readings")
	s.StringVar(&f.Ruler, "ruler", "", "what the ruler is read to (default 0.5mm, with inches 1/16in)")
	s.StringVar(&f.Tape, "tape", "", "what the long lines are read to (default 1mm, with inches 1/16in)")
	s.StringVar(&f.Blade, "blade", "", "the best offset of a ladder")
	s.BoolVar(&f.Inches, "inches", false, "readings without a unit are inches (default as the workroom's units)")
	s.BoolVar(&f.Yes, "yes", false, "record it although something is doubtful; readings that contradict each other are refused all the same")
	s.StringVar(&f.Who, "who", "", "who measured (default the user)")
	s.StringVar(&f.Material, "material", "", "paper or cloth, and which")
	s.StringVar(&f.Humidity, "humidity", "", "of the room, as 45%")
	s.StringVar(&f.Note, "note", "", "whatever else should be known")
	c.RunE = func(_ *cobra.Command, args []string) error {
		return a.squareRecord(args[0], f, s.Changed("inches"))
	}
	return c
}

func (a *app) squareRecord(device string, f testsquare.Said, unitSaid bool) error {
	room, kept, err := a.calibrations(device, false)
	if err != nil {
		return err
	}
	if !unitSaid {
		f.Sheet.Unit = room.Units
	} else if f.Sheet.Unit = "mm"; f.Inches {
		f.Sheet.Unit = "in"
	}
	order, err := a.asker().Order(kept, room, f.Plot, f.Fits, f.Sheet, a.terminal())
	if err != nil {
		return refused(err)
	}
	a.done("%s", order)
	if f.Blade != "" || len(order.Ladder) > 0 {
		return a.recordBlade(room, kept, order, f)
	}
	if !f.Given() && !a.terminal() {
		return usage(errors.New("there is nobody to ask here: give --sides and --diagonals, or --csv FILE"))
	}
	form, err := a.squareForm(order, f)
	if err != nil {
		return err
	}
	form.Kept = kept
	r, err := a.measured(room, form, f)
	if err != nil {
		return err
	}
	e, err := form.Keep(kept, r, time.Now())
	if err != nil {
		return refused(err)
	}
	return a.recorded(room, kept, e)
}

// squareForm is the form for a square, its ruler asked for where a person is asked anyway.
func (a *app) squareForm(order testsquare.Order, f testsquare.Said) (*testsquare.Form, error) {
	unit := pattern.UnitMM(f.Sheet.Unit)
	ruler, tape := testsquare.Graduations(f.Sheet.Unit)
	read := [2]float64{}
	for i, of := range []struct{ name, said, usual string }{{"ruler", f.Ruler, ruler}, {"tape for the long lines", f.Tape, tape}} {
		var err error
		switch {
		case of.said != "":
			read[i], err = length(of.said, unit)
		case !f.Given() && (i == 0 || order.Long > 0):
			read[i], err = a.asker().Length("the "+of.name+" is read to", of.usual, unit)
			err = refusedIf(err)
		default:
			read[i], err = length(of.usual, unit)
		}
		if err != nil {
			return nil, err
		}
	}
	form := testsquare.NewForm(order, read[0], read[1], f.Sheet.Unit)
	f.Sign(form)
	return form, nil
}

// measured takes the readings and gives what they say, once nothing doubtful is left or a person wants
// it recorded all the same.
func (a *app) measured(room *config.Workroom, form *testsquare.Form, f testsquare.Said) (testsquare.Result, error) {
	unlikely, err := form.Order.Unlikely(a.ctx, room, time.Now())
	if err != nil {
		return testsquare.Result{}, refused(err)
	}
	solve := func() (testsquare.Result, error) {
		r, err := form.Solve()
		if unlikely != "" {
			r.Doubts = append(r.Doubts, unlikely)
		}
		return r, err
	}
	if !f.Given() {
		r, err := a.asker().Square(form, solve, f.Yes)
		return r, refusedIf(err)
	}
	if err := f.Fill(form); err != nil {
		return testsquare.Result{}, usage(err)
	}
	r, err := solve()
	if err != nil {
		return r, refused(fmt.Errorf("nothing is recorded:\n%w", err))
	}
	a.printAll(form.Text(r))
	if len(r.Doubts) > 0 && !f.Yes && !a.confirm("record it all the same?") {
		return r, refused(errors.New("nothing is recorded; look at the doubts above, measure again, or say --yes"))
	}
	return r, nil
}

// recordBlade takes the best offset of a ladder.
func (a *app) recordBlade(room *config.Workroom, kept *testsquare.Calibrations, order testsquare.Order, f testsquare.Said) error {
	form := testsquare.NewForm(order, 1, 1, f.Sheet.Unit)
	f.Sign(form)
	unlikely, err := order.Unlikely(a.ctx, room, time.Now())
	if err != nil {
		return refused(err)
	}
	if unlikely != "" {
		a.done("doubt: %s", unlikely)
		if !f.Yes && !a.confirm("record it all the same?") {
			return refused(errors.New("nothing is recorded; look at the doubt above, or say --yes"))
		}
	}
	var v float64
	switch {
	case f.Blade != "":
		v, err = length(f.Blade, 1) // as it stands in the workroom file
	case !a.terminal():
		return usage(errors.New("there is nobody to ask here: give --blade, the best offset of the ladder"))
	default:
		v, err = a.asker().Rung(form)
		err = refusedIf(err)
	}
	if err != nil {
		return err
	}
	e, err := form.KeepBlade(room, kept, v, time.Now())
	if err != nil {
		return refused(err)
	}
	return a.recorded(room, kept, e)
}

func (a *app) recorded(room *config.Workroom, kept *testsquare.Calibrations, e testsquare.Calibrated) error {
	for _, line := range kept.Kept(e) {
		a.done("%s", line)
	}
	return a.madeBefore(room, kept.Device, e)
}

// madeBefore says which jobs do not know what has just been recorded.
func (a *app) madeBefore(room *config.Workroom, device string, changed ...testsquare.Calibrated) error {
	lines, err := testsquare.JobsMadeWithout(a.ctx, room, device, changed...)
	for _, line := range lines {
		a.done("%s", printable(line))
	}
	return refusedIf(err)
}
