package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// Stock is what lies in the workroom of a material: its roll, or one of its remnants. Lengths are mm.
type Stock struct {
	Material string `json:"material"`
	Remnant
	// Check is true where a person should measure it, because what was booked last is in doubt.
	Check bool `json:"to_be_checked,omitempty"`
}

// Remnant is a rectangle of a material with its number, from 1; 0 is the roll. No number is given twice.
type Remnant struct {
	No     int64   `json:"remnant,omitempty"`
	Width  float64 `json:"width_mm"`
	Length float64 `json:"length_mm"`
}

// Rectangle is a piece of material on which a job can be laid; Length runs along the grain, mm.
type Rectangle struct {
	Width  float64 `json:"width"`
	Length float64 `json:"length"`
}

// holds tells whether a remnant is at least as wide and as long as one of some rectangles.
func (r Remnant) holds(some []Rectangle) bool {
	return slices.ContainsFunc(some, func(o Rectangle) bool { return r.Width+slack >= o.Width && r.Length+slack >= o.Length })
}

// StockEvent is one line of the history of a roll or a remnant. Change is what was added to its length, less than 0 for
// what was taken, and Length the result.
type StockEvent struct {
	At     time.Time `json:"at"`
	Kind   string    `json:"what"`
	Change float64   `json:"change_mm"`
	Length float64   `json:"length_mm"`
	Check  bool      `json:"to_be_checked,omitempty"`
	Job    int64     `json:"job,omitempty"`
	Who    string    `json:"who,omitempty"`
}

// The kinds of StockEvent.
const (
	StockAdded     = "added"
	StockCorrected = "corrected"
	StockBooked    = "booked"
	StockCutOff    = "kept as a remnant"
	StockRestored  = "to be checked"
	StockAddedAnew = "added to a roll that was used up and to be checked, which it no longer is"
)

// Rolls is what the workroom file says of its materials; Unit is the unit in which people are told lengths.
type Rolls struct {
	Unit string
	// Width is the width of each material in mm; Least is the shortest length that stays a roll: a shorter rest is kept as
	// a remnant.
	Width, Least map[string]float64
}

// KeepRolls sets what the workroom file says of materials; it may be called again.
func (l *Ledger) KeepRolls(r Rolls) { l.rolls.Store(&r) }

// Rolls gives what KeepRolls set last.
func (l *Ledger) Rolls() Rolls {
	if r := l.rolls.Load(); r != nil {
		return *r
	}
	return Rolls{Unit: "mm"}
}

// NoMaterial says that the workroom has no material of a name, and which it has.
func (r Rolls) NoMaterial(name string) error {
	return config.NoMaterial(name, slices.Sorted(maps.Keys(r.Width)))
}

// Say gives a length for people, with its unit.
func (r Rolls) Say(mm float64) string { return pattern.SayLength(mm, r.Unit) + " " + r.Unit }

// ErrStock means that the stock does not hold what was asked for, or cannot take it.
var ErrStock = errors.New("not in stock")

// notStock is an ErrStock with a text of its own.
type notStock string

func (e notStock) Error() string      { return string(e) }
func (notStock) Is(target error) bool { return target == ErrStock }

const stockRow = "material, remnant, width, length, to_check"

func scanStock(rows *sql.Rows, s *Stock) error {
	return rows.Scan(&s.Material, &s.No, &s.Width, &s.Length, &s.Check)
}

func stockWhere(ctx context.Context, q queryer, where string, args ...any) ([]Stock, error) {
	return rowsOf(ctx, q, kind[Stock]{"SELECT " + stockRow + " FROM stock " + where + " ORDER BY material, remnant", scanStock}, args...)
}

// Stock lists each roll, also a used-up one, and the remnants that are not surely used up.
func (l *Ledger) Stock(ctx context.Context) ([]Stock, error) {
	return stockWhere(ctx, l.look, "WHERE remnant = 0 OR length > 0 OR to_check = 1")
}

// StockHistory is the history of a roll or a remnant, the newest line first and at most so many, 0 for all.
func (l *Ledger) StockHistory(ctx context.Context, material string, remnant int64, most int) ([]StockEvent, error) {
	if most <= 0 {
		most = -1
	}
	return rowsOf(ctx, l.look, kind[StockEvent]{"SELECT at, kind, change, length, to_check, job, who FROM stock_events WHERE material = ? AND remnant = ? ORDER BY seq DESC LIMIT ?",
		func(rows *sql.Rows, e *StockEvent) error {
			return rows.Scan(timeOf{&e.At}, &e.Kind, &e.Change, &e.Length, &e.Check, &e.Job, &e.Who)
		}}, material, remnant, most)
}

// putStock writes a roll or remnant as it is from now on, and the line of its history.
func putStock(ctx context.Context, tx *sql.Tx, s Stock, e StockEvent) error {
	s.Length = math.Round(s.Length*1000) / 1000 // the rest of two lengths given in inches is not 1e-13
	_, err := tx.ExecContext(ctx, "INSERT OR REPLACE INTO stock ("+stockRow+") VALUES (?,?,?,?,?)", s.Material, s.No, s.Width, s.Length, s.Check)
	if err == nil {
		_, err = tx.ExecContext(ctx, "INSERT INTO stock_events (material, remnant, at, kind, change, length, to_check, job, who) VALUES (?,?,?,?,?,?,?,?,?)",
			s.Material, s.No, timeText(e.At), e.Kind, e.Change, s.Length, s.Check, e.Job, e.Who)
	}
	return err
}

// nextRemnant is the number of a new remnant.
func nextRemnant(ctx context.Context, tx *sql.Tx) (no int64, err error) {
	err = tx.QueryRowContext(ctx, "SELECT 1 + max(coalesce((SELECT max(remnant) FROM stock), 0), coalesce((SELECT max(remnant) FROM stock_events), 0))").Scan(&no)
	return no, err
}

// AddStock enters what a person brought: so much more of a material's roll, or a new remnant, which gets a number. A roll
// has one width: another is refused until the roll is used up.
func (l *Ledger) AddStock(ctx context.Context, s Stock, remnant bool, who string) (is Stock, err error) {
	err = l.tx(ctx, func(tx *sql.Tx) (err error) {
		is = s
		if remnant {
			if is.No, err = nextRemnant(ctx, tx); err != nil {
				return err
			}
			return putStock(ctx, tx, is, StockEvent{At: l.now(), Kind: StockAdded, Change: s.Length, Who: who})
		}
		had, err := stockWhere(ctx, tx, "WHERE material = ? AND remnant = 0", s.Material)
		if err != nil {
			return err
		}
		if len(had) == 1 {
			if had[0].Length > 0 && math.Abs(had[0].Width-s.Width) > 0.5 {
				say := l.Rolls().Say
				return notStock(fmt.Sprintf("the roll of %s is %s wide and has %s left: a roll of %s wide does not belong to it; add that one as a remnant, or as a material of its own",
					s.Material, say(had[0].Width), say(had[0].Length), say(s.Width)))
			}
			is.Length, is.Check = s.Length+had[0].Length, had[0].Check && had[0].Length > 0
		}
		kind := StockAdded
		if len(had) == 1 && had[0].Check && !is.Check {
			kind = StockAddedAnew
		}
		return putStock(ctx, tx, is, StockEvent{At: l.now(), Kind: kind, Change: s.Length, Who: who})
	})
	return is, l.stockFault(err)
}

// CorrectStock enters the length that a person measured of a material's roll or of a remnant, 0 where nothing is left. It
// is not in doubt any more.
func (l *Ledger) CorrectStock(ctx context.Context, material string, remnant int64, length float64, who string) (is Stock, err error) {
	err = l.tx(ctx, func(tx *sql.Tx) error {
		had, err := stockWhere(ctx, tx, "WHERE material = ? AND remnant = ?", material, remnant)
		switch {
		case err != nil:
			return err
		case len(had) == 0 && remnant == 0:
			if known := l.Rolls().Width; len(known) > 0 && known[material] == 0 {
				return notStock(l.Rolls().NoMaterial(material).Error())
			}
			return notStock(fmt.Sprintf("no roll of %s is in stock yet: tracewheel stock add %s LENGTH", material, material))
		case len(had) == 0:
			return l.noRemnant(ctx, tx, material, remnant)
		}
		is = had[0]
		is.Length, is.Check = length, false
		return putStock(ctx, tx, is, StockEvent{At: l.now(), Kind: StockCorrected, Change: length - had[0].Length, Who: who})
	})
	return is, l.stockFault(err)
}

// noRemnant says what a number is that is no remnant of a material.
func (l *Ledger) noRemnant(ctx context.Context, q queryer, material string, no int64) error {
	is, err := stockWhere(ctx, q, "WHERE remnant = ?", no)
	switch {
	case err != nil:
		return err
	case no < 1:
		return notStock(fmt.Sprintf("%d is no number of a remnant: they count from 1, and `tracewheel stock` lists them", no))
	case len(is) == 0:
		return notStock(fmt.Sprintf("there is no remnant %d; `tracewheel stock` lists them", no))
	}
	return notStock(fmt.Sprintf("remnant %d is of %s, not of %s; `tracewheel stock` lists them", no, is[0].Material, material))
}

// RemnantOf gives a remnant of a material that is not used up; otherwise ErrStock.
func (l *Ledger) RemnantOf(ctx context.Context, material string, no int64) (Stock, error) {
	is, err := stockWhere(ctx, l.look, "WHERE material = ? AND remnant = ?", material, no)
	switch {
	case err != nil:
		return Stock{}, err
	case no < 1 || len(is) == 0:
		return Stock{}, l.noRemnant(ctx, l.look, material, no)
	case is[0].Length <= 0:
		return Stock{}, notStock(fmt.Sprintf("remnant %d is used up; `tracewheel stock` lists those that are left", no))
	}
	return is[0], nil
}

// StockToCheck marks all stock as to be measured, and gives how many there are. In a copy of a workroom that is brought
// back, what was used since the copy was taken is not known.
func (l *Ledger) StockToCheck(ctx context.Context) (n int, err error) {
	err = l.tx(ctx, func(tx *sql.Tx) error {
		all, err := stockWhere(ctx, tx, "WHERE to_check = 0 AND length > 0")
		for i := 0; i < len(all) && err == nil; i++ {
			all[i].Check = true
			err = putStock(ctx, tx, all[i], StockEvent{At: l.now(), Kind: StockRestored})
		}
		n = len(all)
		return err
	})
	return n, explain(err)
}

func (l *Ledger) stockFault(err error) error {
	if err == nil || errors.Is(err, ErrStock) {
		return err
	}
	return fmt.Errorf("writing the stock down: %w", explain(err))
}

// StockFaults are the rolls and remnants whose length differs from the sum of their history.
func (l *Ledger) StockFaults(ctx context.Context) (faults []string, err error) {
	doubted, err := rowsOf(ctx, l.look, kind[Stock]{`SELECT material, remnant FROM (
		SELECT s.material, s.remnant FROM stock s WHERE s.length < 0 OR s.width <= 0 OR coalesce((SELECT e.length <> s.length OR e.to_check <> s.to_check
			FROM stock_events e WHERE e.material = s.material AND e.remnant = s.remnant ORDER BY e.seq DESC LIMIT 1), 1)
		UNION SELECT e.material, e.remnant FROM stock_events e WHERE NOT EXISTS (SELECT 1 FROM stock s WHERE s.material = e.material AND s.remnant = e.remnant)
	) ORDER BY 1, 2`,
		func(rows *sql.Rows, s *Stock) error { return rows.Scan(&s.Material, &s.No) }})
	for _, s := range doubted {
		faults = append(faults, s.Called()+" is not what its history came to")
	}
	return faults, err
}

// Called is what people call it.
func (s Stock) Called() string {
	if s.No == 0 {
		return "the roll of " + s.Material
	}
	return fmt.Sprintf("remnant %d of %s", s.No, s.Material)
}
