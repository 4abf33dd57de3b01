// Package stock reads what a person says of rolls and remnants, for commands and pages alike, and lists what is kept.
package stock

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"text/tabwriter"

	"tracewheel/config"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// Said is what a person says of a material's stock, as it was written.
type Said struct {
	Material, Length, Width string
	// New wants a remnant added; Remnant is the number of one that is corrected, "" for the roll. Correct is true for what
	// is measured.
	New     bool
	Remnant string
	Correct bool
}

// Read reads it: lengths in mm, cm, m, in with fractions or yd, a bare number in mm, as `lay` has it. The error says which
// word is wrong and what would be right.
func (s Said) Read(room *config.Workroom) (w control.StockWish, err error) {
	w = control.StockWish{Material: strings.TrimSpace(s.Material), New: s.New, Correct: s.Correct}
	if _, is := room.Materials[w.Material]; !is && !s.Correct {
		return w, room.NoMaterial(w.Material)
	}
	if w.Length, err = Length(s.Length, room.Units); err != nil {
		return w, err
	}
	if w.Length == 0 && !s.Correct {
		return w, errors.New("a length of nought adds nothing; say how much there is, such as 3m")
	}
	if s.Width != "" {
		if w.Width, err = Length(s.Width, room.Units); err != nil {
			return w, fmt.Errorf("the width: %w", err)
		}
		if w.Width == 0 {
			return w, errors.New("a width of nought holds nothing; say it as 140cm, or leave it out for the workroom file's")
		}
	}
	if s.Remnant = strings.TrimSpace(s.Remnant); s.Remnant != "" {
		w.Remnant, err = Number(s.Remnant)
	}
	return w, err
}

// Number reads the number of a remnant.
func Number(text string) (int64, error) {
	no, err := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
	if err != nil || no < 1 {
		return 0, fmt.Errorf("%q is no number of a remnant: they count from 1, and `tracewheel stock` lists them", text)
	}
	return no, nil
}

// belowNought is a length below nought that was taken for a flag.
var belowNought = regexp.MustCompile(`in (-[0-9.,½¼¾].*)$`)

// NoFlag says of a length below nought that it is one, where a command line took it for a flag.
func NoFlag(err error) error {
	if m := belowNought.FindStringSubmatch(err.Error()); m != nil {
		_, err = Length(m[1], "mm")
	}
	return err
}

// Length reads one length of material, mm. A bare number is mm, as it is for `lay`; it is refused in a workroom that has
// inches or cm, and where so little is hardly meant.
func Length(text, unit string) (float64, error) {
	text = strings.TrimSpace(text)
	if minus, is := strings.CutPrefix(strings.Replace(text, "−", "-", 1), "-"); is {
		return 0, fmt.Errorf("%q is a length below nought; say how much there is, such as %s", text, cmp.Or(minus, "3m"))
	}
	mm, err := pattern.ParseLength(text)
	switch {
	case err != nil:
		return 0, fmt.Errorf("%q is not a length; write it as %s", text, cmp.Or(pattern.LengthMeant(text), "3m, 120cm or 47 1/2in"))
	case pattern.Bare(text) && (unit == "in" || unit == "cm"):
		return 0, fmt.Errorf("%q has no unit, and a bare number is mm: say %s%s, or %smm if that is meant", text, text, unit, text)
	case pattern.Bare(text) && mm < leastBare:
		return 0, fmt.Errorf("%q has no unit, and %s mm is hardly meant: say %sm, %scm, or %smm if it is", text, text, text, text, text)
	}
	return mm, nil
}

// leastBare is the shortest length of material that is taken without its unit, mm.
const leastBare = 50

// Kept is a roll or a remnant with its history, the newest first.
type Kept struct {
	ledger.Stock
	History []ledger.StockEvent `json:"history"`
}

// Reader is what the stock is read from.
type Reader interface {
	Stock(context.Context) ([]ledger.Stock, error)
	StockHistory(ctx context.Context, material string, remnant int64, most int) ([]ledger.StockEvent, error)
}

// Of lists what is kept, each with at most so many lines of its history, 0 for all.
func Of(ctx context.Context, from Reader, most int) ([]Kept, error) {
	all, err := from.Stock(ctx)
	out := make([]Kept, 0, len(all))
	for i := 0; i < len(all) && err == nil; i++ {
		k := Kept{Stock: all[i]}
		k.History, err = from.StockHistory(ctx, k.Material, k.No, most)
		out = append(out, k)
	}
	return out, err
}

// Is says what a roll or remnant is, "roll" or "remnant 3".
func (k Kept) Is() string {
	if k.No == 0 {
		return "roll"
	}
	return fmt.Sprintf("remnant %d", k.No)
}

// Checked says what is in doubt, "" for nothing.
func (k Kept) Checked() string {
	if k.Check {
		return "to be checked: measure it"
	}
	return ""
}

// Line says one line of a history, in a unit.
func Line(e ledger.StockEvent, unit string) string {
	say := ledger.Rolls{Unit: unit}.Say
	text := e.Kind
	switch {
	case e.Change == 0 && e.Kind == ledger.StockBooked:
		text = "nothing booked"
	case e.Change > 0:
		text += ", " + say(e.Change) + " more"
	case e.Change < 0:
		text += ", " + say(-e.Change) + " less"
	}
	if e.Job != 0 {
		text += fmt.Sprintf(" by job %d", e.Job)
	}
	text += ": " + say(e.Length)
	if e.Check {
		text += ", to be checked"
	}
	if e.Who != "" {
		text += " (" + e.Who + ")"
	}
	return text
}

// Table lists what is kept for a terminal; history adds what was said and booked of each.
func Table(out io.Writer, all []Kept, unit string, history bool) error {
	if len(all) == 0 {
		_, err := fmt.Fprintln(out, "no stock is kept: `tracewheel stock add MATERIAL LENGTH` begins with a roll, --remnant with a remnant")
		return err
	}
	say := ledger.Rolls{Unit: unit}.Say
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "material\tis\tlength\twidth\t")
	for _, k := range all {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", pattern.Printable(k.Material), k.Is(), say(k.Length), say(k.Width), k.Checked())
	}
	err := w.Flush()
	for i := 0; history && i < len(all); i++ {
		fmt.Fprintf(out, "\n%s:\n", pattern.Printable(all[i].Called()))
		for _, e := range all[i].History {
			fmt.Fprintf(out, "  %s  %s\n", e.At.Local().Format("2006-01-02 15:04"), pattern.Printable(Line(e, unit)))
		}
	}
	return err
}

// Taken says what a wish has done.
func Taken(s control.StockTaken, w control.StockWish, unit string) string {
	say := ledger.Rolls{Unit: unit}.Say
	k := Kept{Stock: s.Stock}
	text := fmt.Sprintf("%s of %s: %s long, %s wide", k.Is(), s.Material, say(s.Length), say(s.Width))
	switch {
	case s.Length == 0:
		text = fmt.Sprintf("%s of %s: used up", k.Is(), s.Material)
	case w.New:
		text += "; write its number on it"
	}
	if k.Check {
		text += "; " + k.Checked()
	}
	if s.Note != "" {
		text += "; " + s.Note
	}
	return pattern.Printable(text)
}

// Long is the help of the command.
const Long = "Stock lists what is kept of materials: of each one roll, and remnants, which are rectangles with a number. Each job that ends books what it took. " +
	"A material of which nothing was said is not counted.\n" +
	"The length runs along the grain. Lengths are 350cm, 3.5m, 3500 (a bare number is mm), 47 1/2in or 3yd."
