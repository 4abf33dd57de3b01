package making

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"tracewheel/devices"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/sheets"
	"tracewheel/pipeline/testsquare"
)

// makeSheets makes the program for a sheet printer: one block, which is the whole PDF.
func (m *Maker) makeSheets(ctx context.Context, w *Work, s testsquare.Setting) {
	if testsquare.IsOrder(w.Request.Name) {
		w.add(refused(pattern.NewFinding(pattern.RuleUnreadable, "a sheet-printer is sent no test square: the first sheet of every draft has two",
			"print any draft, measure them, then: tracewheel square record "+w.Request.Device)))
		return
	}
	on := m.setup(w.Request.Device, "", s)
	wish := SheetWish{Overlap: on.Profile.Sheets.Overlap, EveryCopy: !on.Profile.Once(), Printer: w.Request.Device}
	if p := w.Request.Answers[AnswerPatterns]; p != "" {
		wish.EveryCopy = devices.Patterns(p) == devices.PatternsEveryCopy
	}
	paper, err := sheets.ParsePaper(on.Profile.Sheets.Paper, on.Profile.Sheets.Free())
	if err != nil {
		w.add(notDrawn(err, "look at the device's keys in the workroom file")) // which was read without this fault
		return
	}
	wish.Paper = paper
	r := w.Request
	r.Device = "" // the draft is read and checked as for any paper
	set, looked, err := m.sheetSet(ctx, []Request{r}, wish)
	r.Device = w.Request.Device
	w.Looked = *looked[0]
	w.Request = r
	if err != nil {
		return // the draft is refused or waits for an answer
	}
	w.prepared = &Prepared{Ready: set.Ready, Once: !wish.EveryCopy}
	book, err := sheets.Make(set, wish.options(s, w.Request.Device))
	if err != nil {
		w.add(notDrawn(err, "look at the device's keys in the workroom file"))
		return
	}
	w.Program = devices.Program{Language: devices.PDF, Strokes: 1, Pieces: len(set.Ready),
		Blocks: []devices.Block{{Bytes: book.PDF, Piece: -1, EndsStroke: true}}}
	for i := range set.Ready {
		w.Program.Names = append(w.Program.Names, set.Ready[i].Name)
	}
	w.add(Judged{Notes: append(s.Notes, book.Told(int(w.Ticket.Copies), !wish.EveryCopy)...)})
}

func notDrawn(err error, mend string) Judged {
	return refused(pattern.NewFinding(pattern.RuleNotDrawn, err.Error(), mend))
}

// SheetWish reads the flags of a person; what they leave open is taken from the sheet printer that they name.
func (m *Maker) SheetWish(f SheetFlags) (SheetWish, error) {
	d, ok := m.Room.Devices[f.Printer]
	switch {
	case f.Printer == "":
		return f.Read()
	case !ok:
		return SheetWish{}, m.Room.NoDevice(f.Printer)
	case !d.Kind.Prints():
		return SheetWish{}, fmt.Errorf("%s is a %s and prints no sheets", f.Printer, d.Kind)
	case f.Projector:
		return SheetWish{}, errors.New("a projector is no printer: leave --printer or --projector out")
	}
	if f.Paper == "" {
		f.Paper = d.Sheets.Paper
		if f.Margin == "" && d.Sheets.Margin > 0 {
			f.Margin = fmt.Sprint(d.Sheets.Margin)
		}
	}
	f.Overlap = cmp.Or(f.Overlap, fmt.Sprint(d.Sheets.Overlap))
	return f.Read()
}
