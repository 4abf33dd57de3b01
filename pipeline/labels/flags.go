package labels

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
)

// Flags say what labels are wanted as a person writes it.
type Flags struct {
	// Out and Card are the files: the labels, and the card of all pieces.
	Out, Card         string
	Grid, Roll, Paper string
	First             int
}

// Read takes the flags apart: the labels, and the size of the card's paper in mm. The error names the flag.
func (f Flags) Read() (stock Stock, paper [2]float64, err error) {
	for _, file := range []string{f.Out, f.Card} {
		if file != "" && !strings.EqualFold(filepath.Ext(file), ".pdf") {
			return stock, paper, fmt.Errorf("%s: labels and card are written as .pdf", file)
		}
	}
	if f.Out == "" && f.Card == "" {
		return stock, paper, errors.New("say where to write: --out labels.pdf, --card card.pdf or both")
	}
	grid := "3x8"
	switch f.Paper {
	case "", "a4":
		paper = [2]float64{210, 297}
	case "letter":
		paper, grid = [2]float64{215.9, 279.4}, "letter 3x10"
	default:
		return stock, paper, fmt.Errorf("--paper is a4 or letter, not %q", f.Paper)
	}
	switch {
	case f.Roll != "" && f.Grid != "":
		return stock, paper, errors.New("--grid and --roll name two kinds of labels; leave one of them out")
	case f.Roll != "":
		stock, err = ParseRoll(f.Roll)
	default:
		stock, err = ParseGrid(cmp.Or(f.Grid, grid))
	}
	return stock, paper, err
}
