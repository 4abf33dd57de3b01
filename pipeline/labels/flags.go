package labels

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"tracewheel/devices/paper"
)

// Flags say what labels are wanted as a person writes it.
type Flags struct {
	// Out and Card are the files: the labels, and the card of all pieces.
	Out, Card         string
	Grid, Roll, Paper string
	First             int
}

// Read takes the flags apart: the labels, and the size of the card's paper in mm. The error names the flag.
func (f Flags) Read() (stock Stock, page [2]float64, err error) {
	for _, file := range []string{f.Out, f.Card} {
		if file != "" && !strings.EqualFold(filepath.Ext(file), ".pdf") {
			return stock, page, fmt.Errorf("%s: labels and card are written as .pdf", file)
		}
	}
	if f.Out == "" && f.Card == "" {
		return stock, page, errors.New("say where to write: --out labels.pdf, --card card.pdf or both")
	}
	grid := "3x8"
	switch f.Paper {
	case "", paper.A4.Name:
		page = [2]float64{paper.A4.Width, paper.A4.Height}
	case paper.Letter.Name:
		page, grid = [2]float64{paper.Letter.Width, paper.Letter.Height}, "letter 3x10"
	default:
		return stock, page, fmt.Errorf("--paper is a4 or letter, not %q", f.Paper)
	}
	switch {
	case f.Roll != "" && f.Grid != "":
		return stock, page, errors.New("--grid and --roll name two kinds of labels; leave one of them out")
	case f.Roll != "":
		stock, err = ParseRoll(f.Roll)
	default:
		stock, err = ParseGrid(cmp.Or(f.Grid, grid))
	}
	return stock, page, err
}
