package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tracewheel/config"
	"tracewheel/pipeline"
)

func (a *app) squareCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "square", Short: "calibrate a device against a measured test square",
		Long: "Square sends a test square to a device, takes what a ruler says of it, and corrects the device's\n" +
			"output by that from then on. Measure with a steel rule from corner to corner, on the material that is\n" +
			"used, after it has stood in the room for a day; measure line centre to line centre.",
		Example: "  tracewheel square plot roll-plotter\n  tracewheel square record roll-plotter\n  tracewheel square show roll-plotter",
	}
	c.AddCommand(a.squarePlotCmd(), a.squareRecordCmd(), a.squareShowCmd(), a.squareWithdrawCmd())
	return c
}

// calibrations loads the workroom and what is kept of one of its devices.
func (a *app) calibrations(device string) (*config.Workroom, *pipeline.Calibrations, error) {
	room, err := a.room(false)
	if err != nil {
		return nil, nil, err
	}
	if _, ok := room.Devices[device]; !ok {
		return nil, nil, usage(fmt.Errorf("there is no device %q; the workroom has %s", device, strings.Join(room.DeviceNames(), ", ")))
	}
	c, err := pipeline.LoadCalibrations(room, device)
	if err != nil {
		return nil, nil, refused(err)
	}
	return room, c, nil
}

func lengths(list string, inches bool) ([]float64, error) {
	var out []float64
	for _, part := range strings.Split(list, ",") {
		v, err := pipeline.ParseLength(part, inches)
		if err != nil {
			return nil, usage(err)
		}
		out = append(out, v)
	}
	return out, nil
}

func (a *app) squarePlotCmd() *cobra.Command {
	var size, long, blade string
	var count int
	c := &cobra.Command{
		Use: "plot DEVICE", Short: "send a test square to a device", Args: cobra.ExactArgs(1),
		Long: "Plot drops a test square into the device's folder. It goes the way of every job; on a cutter it waits\n" +
			"for your go, and is cut with the blade's compensation.",
		Example: "  tracewheel square plot roll-plotter --size 500mm --count 2\n" +
			"  tracewheel square plot roll-plotter --size 500mm --long 4m\n" +
			"  tracewheel square plot knife-table --blade 0.3,0.4,0.5,0.6,0.7",
	}
	c.Flags().StringVar(&size, "size", "500mm", "the side, or width,height")
	c.Flags().IntVar(&count, "count", 1, "how many, spread over the device: 2 stand at both ends of the width")
	c.Flags().StringVar(&long, "long", "", "for a roll: lines of this length (3m to 5m) along both edges as well")
	c.Flags().StringVar(&blade, "blade", "", "for a drag knife: corners with this ladder of blade offsets instead")
	c.RunE = func(_ *cobra.Command, args []string) error {
		sides, err := lengths(size, false)
		if err != nil {
			return err
		}
		if len(sides) > 2 || count < 1 {
			return usage(errors.New("--size takes one side or two, --count one square or more"))
		}
		w := pipeline.SquareWish{Width: sides[0], Height: sides[len(sides)-1], Count: count}
		if long != "" {
			if w.Long, err = pipeline.ParseLength(long, false); err != nil {
				return usage(err)
			}
		}
		if blade != "" {
			if w.Ladder, err = lengths(blade, false); err != nil {
				return err
			}
		}
		return a.squarePlot(args[0], w)
	}
	return c
}

func (a *app) squarePlot(device string, w pipeline.SquareWish) error {
	room, _, err := a.calibrations(device)
	if err != nil {
		return err
	}
	o, file, err := pipeline.PlotSquare(room, device, w, time.Now())
	if err != nil {
		return refused(err)
	}
	a.done("test square %d of %s is dropped as %s", o.No, device, filepath.Base(file))
	for i, at := range o.Places {
		a.done("  square %d: %.0f by %.0f mm, its lower left corner at %.0f, %.0f", i+1, o.Width, o.Height, at[0], at[1])
	}
	a.done("`tracewheel jobs` follows it; once measured: tracewheel square record %s", device)
	return nil
}

type recordFlags struct {
	plot                        int
	sides, diagonals            []string
	csv, ruler, tape            string
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
			"long lines: low-line, high-line, start-apart, end-apart). Readings are mm unless they or --inches say else.",
		Example: "  tracewheel square record roll-plotter\n" +
			"  tracewheel square record roll-plotter --sides 498.5,499,498.5,499 --diagonals 705.5,705 --ruler 0.5mm\n" +
			"  tracewheel square record knife-table --blade 0.45mm",
		RunE: func(_ *cobra.Command, args []string) error { return a.squareRecord(args[0], f) },
	}
	s := c.Flags()
	s.IntVar(&f.plot, "plot", 0, "the number of the test square (default the last)")
	s.StringArrayVar(&f.sides, "sides", nil, "bottom,right,top,left; again for a second reading, 2:... for the second square")
	s.StringArrayVar(&f.diagonals, "diagonals", nil, "rising,falling (from the lower left, from the upper left corner)")
	s.StringVar(&f.csv, "csv", "", "a file of readings")
	s.StringVar(&f.ruler, "ruler", "0.5mm", "what the ruler is read to")
	s.StringVar(&f.tape, "tape", "1mm", "what the long lines are read to")
	s.StringVar(&f.blade, "blade", "", "the best offset of a ladder")
	s.BoolVar(&f.inches, "inches", false, "readings without a unit are inches")
	s.BoolVar(&f.yes, "yes", false, "record it although something is doubtful")
	s.StringVar(&f.who, "who", "", "who measured (default the user)")
	s.StringVar(&f.material, "material", "", "paper or cloth, and which")
	s.StringVar(&f.humid, "humidity", "", "of the room, as 45%")
	s.StringVar(&f.notes, "note", "", "whatever else should be known")
	return c
}

func (a *app) squareRecord(device string, f recordFlags) error {
	_, kept, err := a.calibrations(device)
	if err != nil {
		return err
	}
	order, err := kept.Order(f.plot)
	if err != nil {
		return refused(err)
	}
	ruler, err := lengths(f.ruler+","+f.tape, false)
	if err != nil {
		return err
	}
	form := pipeline.NewSquareForm(order, ruler[0], ruler[1], f.inches)
	form.Who, form.Material, form.Humidity, form.Note = whoever(f.who), f.material, f.humid, f.notes
	if f.blade != "" {
		return a.recordBlade(form, kept, f.blade)
	}
	if err := a.fill(form, f); err != nil {
		return err
	}
	r, err := form.Solve()
	if err != nil {
		return refused(fmt.Errorf("nothing is recorded:\n%w", err))
	}
	a.printAll(pipeline.SquareText(r))
	if len(r.Doubts) > 0 && !f.yes && !a.confirm("record it all the same?") {
		return refused(errors.New("nothing is recorded; look at the doubts above, measure again, or say --yes"))
	}
	e, err := form.Keep(kept, r, time.Now())
	if err != nil {
		return refused(err)
	}
	a.done("calibration %d of %s is in force from the next job on", e.No, device)
	return nil
}

func (a *app) recordBlade(form *pipeline.SquareForm, kept *pipeline.Calibrations, text string) error {
	v, err := pipeline.ParseLength(text, form.Inches)
	if err != nil {
		return usage(err)
	}
	if _, err := form.KeepBlade(kept, v, time.Now()); err != nil {
		return refused(err)
	}
	a.done("a blade offset of %.2f mm is recorded; write it into the workroom file: devices.%s.blade.offset: %.2f", v, kept.Device, v)
	return nil
}

// fill takes the readings from flags, a file, or a person.
func (a *app) fill(form *pipeline.SquareForm, f recordFlags) error {
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
			return refused(err)
		}
		defer file.Close() //nolint:errcheck // only read
		errs = append(errs, form.CSV(file))
	}
	if err := errors.Join(errs...); err != nil {
		return usage(err)
	}
	if len(f.sides)+len(f.diagonals) > 0 || f.csv != "" {
		return nil
	}
	if !a.terminal() {
		return usage(errors.New("there is nobody to ask here: give --sides and --diagonals, or --csv FILE"))
	}
	return a.askAll(form)
}

func (a *app) askAll(form *pipeline.SquareForm) error {
	in := a.lines()
	a.done("several readings of one side are parted by blanks; an empty line leaves it out")
	for _, q := range form.Questions() {
		for {
			where := "long lines"
			if q.Square > 0 {
				where = fmt.Sprintf("square %d", q.Square)
			}
			fmt.Fprintf(a.out, "%s, %s (%.1f mm wanted): ", where, q.Side, q.Nominal)
			line, err := in.ReadString('\n')
			if err != nil {
				return refused(errors.New("nothing is recorded"))
			}
			err = form.Answer(q.Square, q.Side, line)
			if err == nil {
				break
			}
			fmt.Fprintln(a.out, err)
		}
	}
	return nil
}

func whoever(name string) string {
	if name != "" {
		return name
	}
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return ""
}

// terminal tells whether a person can be asked.
func (a *app) terminal() bool {
	f, ok := a.in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// lines reads what a person types, always through one buffer.
func (a *app) lines() *bufio.Reader {
	if a.typed == nil {
		a.typed = bufio.NewReader(a.in)
	}
	return a.typed
}

// confirm asks for yes on a terminal; where nobody sits the answer is no.
func (a *app) confirm(question string) bool {
	if !a.terminal() {
		return false
	}
	fmt.Fprintf(a.out, "%s (yes or no) ", question)
	line, err := a.lines().ReadString('\n')
	return err == nil && strings.EqualFold(strings.TrimSpace(line), "yes")
}

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
	room, kept, err := a.calibrations(device)
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
		a.printAll(pipeline.SquareText(now.Result))
	}
	a.history(kept)
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
	data, err := pipeline.SquarePicture(room, device, *now, filepath.Ext(picture))
	if err != nil {
		return usage(err)
	}
	if err := writeOut(picture, data); err != nil {
		return err
	}
	return nil
}

func circumstances(e pipeline.Calibrated) string {
	s := ""
	for _, part := range []string{e.Material, e.Humidity, e.Note} {
		if part != "" {
			s += ", " + part
		}
	}
	return s
}

func (a *app) history(kept *pipeline.Calibrations) {
	if len(kept.Entries) == 0 {
		return
	}
	a.done("history:")
	for _, e := range kept.Entries {
		what := e.Result.String()
		if e.Blade != nil {
			what = fmt.Sprintf("blade offset %.2f mm", *e.Blade)
		}
		if w := e.Withdrawn; w != nil {
			what += fmt.Sprintf("; withdrawn %s by %s", w.At.Local().Format("2006-01-02"), w.Who)
		}
		a.done("  %d  %s  %s  %s", e.No, e.At.Local().Format("2006-01-02"), printable(e.Who), printable(what+circumstances(e)))
	}
	for _, d := range kept.Drift() {
		a.done("drift: %s", d)
	}
}

func (a *app) wishes(room *config.Workroom, device, wish string) error {
	var percent float64
	if _, err := fmt.Sscanf(strings.TrimSuffix(wish, "%")+"\n", "%g\n", &percent); err != nil || !(percent > 0) {
		return usage(fmt.Errorf("--wish takes an accuracy such as 0.02%%, not %q", wish))
	}
	a.done("%s", pipeline.SquareToReach(room, device, percent))
	return nil
}

func (a *app) printAll(text string) { fmt.Fprint(a.out, text) }

func (a *app) squareWithdrawCmd() *cobra.Command {
	var all bool
	var who string
	c := &cobra.Command{
		Use: "withdraw DEVICE", Short: "take the calibration in force back; the one before it counts again", Args: cobra.ExactArgs(1),
		Example: "  tracewheel square withdraw roll-plotter",
	}
	c.Flags().BoolVar(&all, "all", false, "take every calibration back")
	c.Flags().StringVar(&who, "who", "", "who withdraws it (default the user)")
	c.RunE = func(_ *cobra.Command, args []string) error {
		_, kept, err := a.calibrations(args[0])
		if err != nil {
			return err
		}
		gone, err := kept.Withdraw(whoever(who), all, time.Now())
		for _, e := range gone {
			a.done("calibration %d of %s is withdrawn", e.No, args[0])
		}
		if err != nil {
			return refused(err)
		}
		return nil
	}
	return c
}
