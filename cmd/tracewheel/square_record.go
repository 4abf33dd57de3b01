package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"tracewheel/config"
	"tracewheel/pipeline/testsquare"
)

type recordFlags struct {
	plot                        int
	sides, diagonals            []string
	csv, ruler, tape            string
	sheet                       testsquare.OnPaper
	blade                       string
	inches, yes                 bool
	who, material, humid, notes string
}

func (a *app) squareRecordCmd() *cobra.Command {
	var f recordFlags
	c := &cobra.Command{
		Use: "record DEVICE", Short: "take the measures of a test square, and correct the device by them", Args: cobra.ExactArgs(1),
		Long: "Record takes the measured sides and diagonals: asked one by one on a terminal, by flags, or from a CSV\n" +
			"file with lines of square,side,reading (sides: bottom, right, top, left, rising, falling; square 0 for the\n" +
			"long lines: low-line, high-line, start-apart, end-apart). Readings are mm unless they or --inches say else;\n" +
			"19 11/16, 19-11/16in and 19.69 are understood. Give every side at least once, better twice.\n\n" + testsquare.AboutSheets,
		Example: "  tracewheel square record roll-plotter\n" +
			"  tracewheel square record roll-plotter --sides 498.5,499,498.5,499 --diagonals 705.5,705 --ruler 0.5mm\n" +
			"  tracewheel square record knife-table --blade 0.45mm",
	}
	s := c.Flags()
	s.IntVar(&f.plot, "plot", 0, "the number of the test square (default the last)")
	s.StringArrayVar(&f.sides, "sides", nil, "bottom,right,top,left; again for a second reading, 2:... for the second square")
	s.StringArrayVar(&f.diagonals, "diagonals", nil, "rising,falling (from the lower left, from the upper left corner)")
	s.StringVar(&f.sheet.Paper, "paper", "", "a sheet-printer: the paper that was printed on (default the device's)")
	s.StringVar(&f.sheet.Wanted, "wanted", "", "a sheet-printer: what was measured instead of the test square, as a frame of 186.0x242.0")
	s.IntVar(&f.sheet.Calibration, "calibration", -1, "a sheet-printer: the one that the sheet says it is corrected by, 0 for none (needed once there is one)")
	s.StringVar(&f.csv, "csv", "", "a file of readings")
	s.StringVar(&f.ruler, "ruler", "", "what the ruler is read to (default 0.5mm, with inches 1/16in)")
	s.StringVar(&f.tape, "tape", "", "what the long lines are read to (default 1mm, with inches 1/16in)")
	s.StringVar(&f.blade, "blade", "", "the best offset of a ladder")
	s.BoolVar(&f.inches, "inches", false, "readings without a unit are inches (default as the workroom's units)")
	s.BoolVar(&f.yes, "yes", false, "record it although something is doubtful; readings that contradict each other are refused all the same")
	s.StringVar(&f.who, "who", "", "who measured (default the user)")
	s.StringVar(&f.material, "material", "", "paper or cloth, and which")
	s.StringVar(&f.humid, "humidity", "", "of the room, as 45%")
	s.StringVar(&f.notes, "note", "", "whatever else should be known")
	c.RunE = func(_ *cobra.Command, args []string) error {
		return a.squareRecord(args[0], f, s.Changed("inches"))
	}
	return c
}

// given tells that the readings of squares come from the command line.
func (f recordFlags) given() bool { return len(f.sides)+len(f.diagonals) > 0 || f.csv != "" }

// fits tells which of the squares sent for is meant where no number says so.
func (f recordFlags) fits(o testsquare.Order) bool {
	switch ladder := len(o.Ladder) > 0; {
	case f.blade != "":
		return ladder
	case f.given():
		return !ladder
	}
	return true
}

func (a *app) squareRecord(device string, f recordFlags, unitSaid bool) error {
	room, kept, err := a.calibrations(device, false)
	if err != nil {
		return err
	}
	if !unitSaid {
		f.inches = room.Units == "in"
	}
	f.sheet.Inches = f.inches
	order, err := a.asker().Order(kept, room, f.plot, f.fits, f.sheet, a.terminal())
	if err != nil {
		return refused(err)
	}
	a.done("%s", order)
	if f.blade != "" || len(order.Ladder) > 0 {
		return a.recordBlade(room, kept, order, f)
	}
	if !f.given() && !a.terminal() {
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
func (a *app) squareForm(order testsquare.Order, f recordFlags) (*testsquare.Form, error) {
	unit, ruler, tape := 1.0, "0.5mm", "1mm"
	if f.inches {
		unit, ruler, tape = 25.4, "1/16in", "1/16in"
	}
	read := [2]float64{}
	for i, of := range []struct{ name, said, usual string }{{"ruler", f.ruler, ruler}, {"tape for the long lines", f.tape, tape}} {
		var err error
		switch {
		case of.said != "":
			read[i], err = length(of.said, unit)
		case !f.given() && (i == 0 || order.Long > 0):
			read[i], err = a.asker().Length("the "+of.name+" is read to", of.usual, unit)
			err = refusedIf(err)
		default:
			read[i], err = length(of.usual, unit)
		}
		if err != nil {
			return nil, err
		}
	}
	form := testsquare.NewForm(order, read[0], read[1], f.inches)
	form.Who, form.Material, form.Humidity, form.Note = whoever(f.who), f.material, f.humid, f.notes
	return form, nil
}

// measured takes the readings and gives what they say, once nothing doubtful is left or a person wants
// it recorded all the same.
func (a *app) measured(room *config.Workroom, form *testsquare.Form, f recordFlags) (testsquare.Result, error) {
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
	if !f.given() {
		r, err := a.asker().Square(form, solve, f.yes)
		return r, refusedIf(err)
	}
	if err := fill(form, f); err != nil {
		return testsquare.Result{}, usage(err)
	}
	r, err := solve()
	if err != nil {
		return r, refused(fmt.Errorf("nothing is recorded:\n%w", err))
	}
	a.printAll(form.Text(r))
	if len(r.Doubts) > 0 && !f.yes && !a.confirm("record it all the same?") {
		return r, refused(errors.New("nothing is recorded; look at the doubts above, measure again, or say --yes"))
	}
	return r, nil
}

// fill takes the readings from flags or a file.
func fill(form *testsquare.Form, f recordFlags) error {
	var errs []error
	for _, s := range f.sides {
		errs = append(errs, form.Sides(s))
	}
	for _, s := range f.diagonals {
		errs = append(errs, form.Diagonals(s))
	}
	if f.csv != "" {
		file, err := os.Open(f.csv)
		if err != nil {
			return err
		}
		defer file.Close() //nolint:errcheck // only read
		errs = append(errs, form.CSV(file))
	}
	return errors.Join(errs...)
}

// recordBlade takes the best offset of a ladder.
func (a *app) recordBlade(room *config.Workroom, kept *testsquare.Calibrations, order testsquare.Order, f recordFlags) error {
	form := testsquare.NewForm(order, 1, 1, f.inches)
	form.Who, form.Material, form.Humidity, form.Note = whoever(f.who), f.material, f.humid, f.notes
	unlikely, err := order.Unlikely(a.ctx, room, time.Now())
	if err != nil {
		return refused(err)
	}
	if unlikely != "" {
		a.done("doubt: %s", unlikely)
		if !f.yes && !a.confirm("record it all the same?") {
			return refused(errors.New("nothing is recorded; look at the doubt above, or say --yes"))
		}
	}
	var v float64
	switch {
	case f.blade != "":
		v, err = length(f.blade, 1) // as it stands in the workroom file
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
	lines, err := testsquare.WithoutIt(a.ctx, room, device, changed...)
	for _, line := range lines {
		a.done("%s", printable(line))
	}
	return refusedIf(err)
}
