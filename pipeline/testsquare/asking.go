package testsquare

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// Asker asks a person for readings.
type Asker struct {
	// Ask puts a question and gives the answer without surrounding blanks, Say prints a line.
	Ask func(question string) (string, error)
	Say func(format string, args ...any)
	// Out is where tables and readings go.
	Out io.Writer
}

// ErrNothing ends the questions where the input ends or the person gives up.
var ErrNothing = errors.New("nothing is recorded")

// Square asks for every side, then again for the readings that do not fit, until there is no doubt left, the person
// wants the result recorded all the same, or gives up.
func (a Asker) Square(form *Form, solve func() (Result, error), yes bool) (Result, error) {
	a.Say("readings are %s unless they say else; part several of one side by blanks; an empty line leaves it out", form.UnitWord())
	for _, q := range form.Questions() {
		if err := a.askSide(form, q); err != nil {
			return Result{}, a.giveUp(form)
		}
	}
	for {
		r, err := solve()
		question := "which is to be read again, as 1 top? (nothing gives up)"
		if err != nil {
			fmt.Fprintln(a.Out, err)
		} else {
			fmt.Fprint(a.Out, form.Text(r))
			if len(r.Doubts) == 0 || yes {
				return r, a.circumstances(form)
			}
			question = "record it all the same (yes), or which is to be read again, as 1 top? (nothing gives up)"
		}
		again, all := a.askAgain(form, question, err == nil)
		if all {
			return r, a.circumstances(form)
		}
		if again == nil {
			return r, a.giveUp(form)
		}
		form.Forget(*again)
		if err := a.askSide(form, *again); err != nil {
			return r, a.giveUp(form)
		}
	}
}

// askAgain asks which side is to be read again, nil for none; all is true where the person accepts everything, if may
// allows it.
func (a Asker) askAgain(form *Form, question string, may bool) (side *Question, all bool) {
	for {
		line, err := a.Ask(question)
		switch {
		case err != nil || line == "" || strings.EqualFold(line, "no"):
			return nil, false
		case may && strings.EqualFold(line, "yes"):
			return nil, true
		}
		if q, known := whichSide(form, line); known {
			return &q, false
		}
		a.Say("  there is no side %q here", line)
	}
}

// giveUp prints the readings so far, so that they are not lost.
func (a Asker) giveUp(form *Form) error {
	a.Say("\nyour readings, for another time with --csv:")
	return errors.Join(form.WriteCSV(a.Out), ErrNothing)
}

// askSide asks for the readings of one side until they are plausible.
func (a Asker) askSide(form *Form, q Question) error {
	where := "long lines"
	if q.Square > 0 {
		where = fmt.Sprintf("square %d", q.Square)
	}
	where += ", " + string(q.Side)
	if w := q.Side.Words(); w != "" {
		where += ", " + w
	}
	for {
		line, err := a.Ask(fmt.Sprintf("%s (%s wanted):", where, form.Length(q.Nominal)))
		if err != nil {
			return err
		}
		fault := ""
		if err := form.Answer(q.Square, q.Side, line); err != nil {
			fault = err.Error()
		} else {
			fault = form.Slip(q)
		}
		if fault == "" {
			return nil
		}
		form.Forget(q)
		a.Say("  %s", fault)
	}
}

// whichSide reads "1 top", or "top" where there is only one square.
func whichSide(form *Form, line string) (Question, bool) {
	square, side := -1, ""
	for _, word := range strings.Fields(strings.ToLower(line)) {
		if n, err := strconv.Atoi(word); err == nil {
			square = n
		} else if word != "square" {
			side = word
		}
	}
	var found []Question
	for _, q := range form.Questions() {
		if string(q.Side) == side && (square < 0 || q.Square == square) {
			found = append(found, q)
		}
	}
	if len(found) != 1 {
		return Question{}, false
	}
	return found[0], true
}

// circumstances asks for what no flag gave.
func (a Asker) circumstances(form *Form) error {
	for _, c := range []struct {
		question string
		into     *string
	}{
		{"paper or cloth, and which (may be left empty):", &form.Material},
		{"humidity of the room, as 45% (may be left empty):", &form.Humidity},
		{"anything else to be known (may be left empty):", &form.Note},
	} {
		if *c.into != "" {
			continue
		}
		line, err := a.Ask(c.question)
		if err != nil {
			return a.giveUp(form)
		}
		*c.into = line
	}
	return nil
}

// Length asks until it gets a length; an empty line means the usual one.
func (a Asker) Length(question, usual string, unit float64) (float64, error) {
	for {
		line, err := a.Ask(fmt.Sprintf("%s (empty for %s):", question, usual))
		if err != nil {
			return 0, ErrNothing
		}
		line = cmp.Or(line, usual)
		if v, err := pattern.ParseLengthIn(line, unit); err == nil && v > 0 {
			return v, nil
		}
		a.Say("  %q is not a length", line)
	}
}

// Order gives the order of Calibrations.Asked. It asks for the calibration that a sheet carries where that must be
// said and a person is there.
func (a Asker) Order(c *Calibrations, room *config.Workroom, no int, fits func(Order) bool, sheet OnPaper, there bool) (Order, error) {
	o, err := c.Asked(room, no, fits, sheet)
	if !there || !errors.Is(err, ErrUnsaid) {
		return o, err
	}
	a.Say("%s", err)
	for {
		line, err := a.Ask("which calibration does the sheet say it is corrected by? (0 for none)")
		if err != nil || line == "" {
			return o, ErrNothing
		}
		if n, err := strconv.Atoi(line); err == nil && n >= 0 {
			sheet.Calibration = n
			return c.Asked(room, no, fits, sheet)
		}
		a.Say("  %q is no number of a calibration", line)
	}
}

// Rung asks which square of a ladder is the best.
func (a Asker) Rung(form *Form) (float64, error) {
	a.Say("%s", LadderWords)
	for {
		line, err := a.Ask("how many nicks stand under the best square?")
		if err != nil || line == "" {
			return 0, ErrNothing
		}
		n, err := strconv.Atoi(line)
		if err != nil {
			n = -1
		}
		v, err := form.Rung(n)
		if err == nil {
			return v, nil
		}
		a.Say("  %v", err)
	}
}

// LadderWords explain how to find the best square of a ladder.
const LadderWords = "look at the corners through a glass: the best ones are sharp; rounded or cut short means that the offset\n" +
	"is too small, a spur that runs past the corner that it is too large"
