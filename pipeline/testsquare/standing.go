package testsquare

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// Standing describes a calibration in force for people.
type Standing struct {
	// On is the paper that it is valid for, "" for other devices than printers.
	On string
	// Heading says which it is, Text its result; Drift is an SVG of the changes, "" where there is none.
	Heading, Text, Drift string
	// Square is the number of the calibration whose square Picture shows, 0 without one.
	Square int
}

// Standing describes what is in force on a device, on a printer for each paper, or says that nothing is.
func (c *Calibrations) Standing(unit string) []Standing {
	var out []Standing
	for _, e := range c.AllInForce() {
		square := 0
		if len(e.Measured.Squares) > 0 {
			square = e.No
		}
		out = append(out, Standing{Square: square, On: e.onPaper(), Text: e.Text(unit), Drift: c.driftPicture(e),
			Heading: fmt.Sprintf("%s, calibration %d in force%s, %s %s%s", c.Device, e.No, on(e.onPaper()), e.At.Local().Format("2006-01-02 15:04"), by(e.Who), e.circumstances())})
	}
	if len(out) == 0 {
		out = []Standing{{Heading: c.Device + " has no calibration in force"}}
	}
	return out
}

// Square describes the measured test square in a line of the history; sheets have none.
func (e Calibrated) Square() string {
	if e.Plot == 0 {
		return ""
	}
	return fmt.Sprintf("test square %d", e.Plot)
}

// What is a calibration's result, its withdrawal and the circumstances, in one line.
func (e Calibrated) What() string {
	what := e.Result.String()
	if e.Blade != nil {
		what = fmt.Sprintf("blade offset %.2f mm, the workroom file's was %.2f", *e.Blade, e.BladeBefore)
	}
	if e.Paper != "" {
		what += ", on a sheet of " + e.Paper
		if e.Carried > 0 || e.Measured.InForce.IsZero() { // early records do not have it
			what += " printed " + with(e.Carried)
		}
	}
	if w := e.Withdrawn; w != nil {
		what += fmt.Sprintf("; withdrawn %s %s", day(w.At), by(w.Who))
	}
	return what + e.circumstances()
}

// Day is the day on which a calibration was recorded.
func (e Calibrated) Day() string { return day(e.At) }

func (e Calibrated) circumstances() string {
	s := ""
	for _, part := range []string{e.Material, e.Humidity, e.Note} {
		if part != "" {
			s += ", " + part
		}
	}
	return s
}

// Unrecorded are the squares that were ordered and never recorded.
func (c *Calibrations) Unrecorded() []Order {
	done := map[int]bool{}
	for _, e := range c.Entries {
		done[e.Plot] = true
	}
	var out []Order
	for _, o := range c.Orders {
		if !done[o.No] {
			out = append(out, o)
		}
	}
	return out
}

// Lines say of an order, in a unit, where each square is, or how the squares of a ladder are told apart.
func (o Order) Lines(unit string) []string {
	var out []string
	bare := func(mm float64) string {
		text, _, _ := strings.Cut(inUnits(mm, unit), " ")
		return text
	}
	for i, at := range o.Places {
		out = append(out, fmt.Sprintf("square %d: %s by %s, its lower left corner at %s, %s", i+1, bare(o.Width), inUnits(o.Height, unit), bare(at[0]), inUnits(at[1], unit)))
	}
	for i, offset := range o.Ladder {
		out = append(out, fmt.Sprintf("the square with so many nicks under it: %d, cut for an offset of %s", i+1, pattern.FineLength(offset, unit)))
	}
	return out
}

// Kept says what a calibration that was just recorded does.
func (c *Calibrations) Kept(e Calibrated) []string {
	if e.Blade == nil {
		what := "job"
		if p := e.onPaper(); p != "" {
			what = "sheet of " + p
		}
		return []string{fmt.Sprintf("%s is in force: every %s made from now on is corrected by it", c.Name(&e), what)}
	}
	out := []string{
		fmt.Sprintf("a blade offset of %.2f mm is recorded: every job made from now on is cut with it, in place of the workroom file's %.2f", *e.Blade, e.BladeBefore),
		fmt.Sprintf("after a new blade write its offset there (devices.%s.blade.offset): once that is changed, it counts again", c.Device),
	}
	if o, err := c.Order(e.Plot, nil); err == nil && (&Form{Order: o}).AtEnd(*e.Blade) {
		out = append(out, "it stands at the end of the ladder: a better one may lie beyond, so cut another further out")
	}
	return out
}

// JobsMadeWithout says which jobs of a device do not use what was just recorded or withdrawn; none where that is for a
// paper that the printer does not use.
func JobsMadeWithout(ctx context.Context, room *config.Workroom, device string, changed ...Calibrated) ([]string, error) {
	if room.Devices[device].Kind.Prints() {
		p, err := paperOf(room, device, "")
		if err == nil && !slices.ContainsFunc(changed, func(e Calibrated) bool { return e.isOn(p) }) {
			return nil, nil
		}
	}
	jobs, err := MadeBefore(ctx, room, device)
	if err != nil {
		return nil, fmt.Errorf("it is recorded, but the ledger cannot be read: %w", err)
	}
	var out []string
	for _, j := range jobs {
		if j.State == ledger.Processing || j.State == ledger.Stopped {
			out = append(out, fmt.Sprintf("job %d (%s) is %s: it ends as it began, without this", j.ID, j.File, j.State.Plain()))
			continue
		}
		out = append(out, fmt.Sprintf("job %d (%s) is made already and goes without this: `tracewheel cancel %d`, then `tracewheel again %d`, make it anew", j.ID, j.File, j.ID, j.ID))
	}
	return out, nil
}

// Accuracy reads the argument of `square show --wish`, such as 0.02%, in per cent.
func Accuracy(text string) (float64, error) {
	var percent float64
	if _, err := fmt.Sscanf(strings.TrimSuffix(text, "%")+"\n", "%g\n", &percent); err != nil || !(percent > 0) {
		return 0, fmt.Errorf("an accuracy is written as 0.02%%, not %q", text)
	}
	return percent, nil
}

// by says who did it: a login's name, or that it was done on the page.
func by(who string) string {
	if strings.HasPrefix(who, "on the page") {
		return who
	}
	return "by " + who
}
