package control

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"go.uber.org/zap"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
)

// stockMost is the greatest length that the stock takes, mm: 10 km are a slip of the pen.
const stockMost = 1e7

// StockWish is what a person says of a material's stock. Lengths are mm.
type StockWish struct {
	Material string  `json:"material"`
	Length   float64 `json:"length"`
	// Width is 0 where the workroom file's counts.
	Width float64 `json:"width,omitempty"`
	// New is true for a remnant that is added, Remnant the number of one that is corrected, 0 for the roll.
	New     bool  `json:"new,omitempty"`
	Remnant int64 `json:"remnant,omitempty"`
	// Correct is true for what is measured, else it is brought.
	Correct bool `json:"correct,omitempty"`
}

// Stock is what lies in the workroom of its materials; none where no stock is kept.
func (d *Jobs) Stock(ctx context.Context) ([]ledger.Stock, error) { return d.led.Stock(ctx) }

// Remnants are those that are not used up.
func (d *Jobs) Remnants(ctx context.Context) ([]ledger.Stock, error) {
	all, err := d.led.Stock(ctx)
	return slices.DeleteFunc(all, func(s ledger.Stock) bool { return s.No == 0 || s.Length <= 0 }), err
}

// StockHistory is what was said and booked of a roll or a remnant, the newest first.
func (d *Jobs) StockHistory(ctx context.Context, material string, remnant int64, most int) ([]ledger.StockEvent, error) {
	return d.led.StockHistory(ctx, material, remnant, most)
}

// StockTaken is a roll or remnant as it is after a wish, and what a person should know besides, "" for nothing.
type StockTaken struct {
	ledger.Stock
	Note string `json:"note,omitempty"`
}

// ToBook says of jobs that are under way on a roll or a remnant that what they take is still to be booked.
func (d *Jobs) ToBook(ctx context.Context, material string, remnant int64) (string, error) {
	return d.led.ToBook(ctx, material, remnant)
}

// ToStock takes down what a person says of a material's stock, and gives it as it is from then on.
func (d *Jobs) ToStock(ctx context.Context, w StockWish) (is StockTaken, err error) {
	d.wishes.Lock() // no job is booked meanwhile
	defer d.wishes.Unlock()
	history, err := d.led.StockHistory(ctx, w.Material, w.Remnant, 1)
	if err != nil {
		return is, err
	}
	if is.Stock, err = d.toStock(ctx, w); err != nil {
		return is, err
	}
	if w.Correct {
		is.Note, err = d.ToBook(ctx, w.Material, w.Remnant)
	} else if !w.New && !is.Check && len(history) > 0 && history[0].Check {
		is.Note = "it was used up and to be checked, and counts from what was added now; if more of it lies there, measure it, then: tracewheel stock correct " + w.Material + " LENGTH"
	}
	return is, err
}

func (d *Jobs) toStock(ctx context.Context, w StockWish) (ledger.Stock, error) {
	rolls := d.led.Rolls()
	width, is := rolls.Width[w.Material]
	w.Width = cmp.Or(w.Width, width)
	switch {
	case !is && !w.Correct: // what is left of one that the workroom had may be corrected
		return ledger.Stock{}, refuse("name it in the workroom file, or say one of these", rolls.NoMaterial(w.Material).Error())
	case !w.Correct && !(w.Length > 0), w.Correct && !(w.Length >= 0):
		return ledger.Stock{}, refuse("say how much there is, such as 3m", fmt.Sprintf("%s is no length of material", rolls.Say(w.Length)))
	case w.Length > stockMost:
		return ledger.Stock{}, refuse("say its unit: 12m, 350cm", fmt.Sprintf("%s are more than 10 km", rolls.Say(w.Length)))
	case !w.Correct && !(w.Width > 0 && w.Width <= stockMost):
		return ledger.Stock{}, refuse("say its width, such as --width 140cm", fmt.Sprintf("%s is no width of material", rolls.Say(w.Width)))
	}
	s := ledger.Stock{Material: w.Material, Remnant: ledger.Remnant{Width: w.Width, Length: w.Length}}
	who := asker.Sign(ctx, "")
	var err error
	if w.Correct {
		s, err = d.led.CorrectStock(ctx, w.Material, w.Remnant, w.Length, who)
	} else {
		s, err = d.led.AddStock(ctx, s, w.New, who)
	}
	if err != nil {
		return s, stockRefusal(err)
	}
	what := map[bool]string{true: "stock corrected by a person", false: "stock added by a person"}[w.Correct]
	d.log.Info(what, asker.Fields(ctx, zap.String("material", s.Material), zap.Int64("remnant", s.No), zap.Float64("length_mm", s.Length))...)
	return s, nil
}

// stockRefusal makes an answer to a person of what the ledger says of the stock.
func stockRefusal(err error) error {
	if errors.Is(err, ledger.ErrStock) {
		return refuse("", err.Error())
	}
	return err
}
