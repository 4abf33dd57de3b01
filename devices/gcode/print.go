package gcode

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/devices"
)

// spot is a place on the written grid, in steps of the last decimal.
type spot [2]int64

// place is a place in mm.
type place = orb.Point

// printer writes numbers: plain decimals without exponent, without -0 and without trailing zeros.
type printer struct {
	dec  int
	grid float64 // steps to a millimetre
}

func newPrinter(dec int) printer { return printer{dec, math.Pow10(dec)} }

func (p printer) steps(v float64) int64 { return int64(math.Round(v * p.grid)) }

func (p printer) spot(q place) spot { return spot{p.steps(q[0]), p.steps(q[1])} }

func (p printer) point(s spot) place {
	return place{float64(s[0]) / p.grid, float64(s[1]) / p.grid}
}

func (p printer) mm(v float64) string { return p.step(p.steps(v)) }

func (p printer) step(n int64) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	unit := int64(p.grid)
	whole, part := n/unit, n%unit
	if part == 0 {
		return sign + strconv.FormatInt(whole, 10)
	}
	return sign + strconv.FormatInt(whole, 10) + "." + strings.TrimRight(fmt.Sprintf("%0*d", p.dec, part), "0")
}

// remark makes a comment of fixed first words and a name. Of the name it keeps only what no controller acts on: some
// act on ?, !, ~ and bytes from 0x80 even inside a comment, a bracket ends the comment, and some first words are
// instructions.
func remark(word, name string) string {
	const longest = 40
	var b strings.Builder
	for _, r := range name {
		if b.Len() == longest {
			break
		}
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', strings.ContainsRune(" .,_+-", r):
			b.WriteRune(r)
		default:
			b.WriteByte('_')
		}
	}
	return "(" + strings.TrimSpace(word+" "+b.String()) + ")"
}

// checkOwnLines reports every line of the workroom file that cannot be sent to a controller as it is.
func checkOwnLines(p devices.Profile) []error {
	var errs []error
	g := p.Gantry
	for _, set := range []struct {
		key   string
		lines []string
	}{{"header", g.Header}, {"footer", g.Footer}, {"pen_up", g.PenUp}, {"pen_down", g.PenDown}} {
		for i, l := range set.lines {
			if why := devices.BadLine(p.Kind, set.key, l); why != "" {
				errs = append(errs, fmt.Errorf("device %q: gantry.%s, line %d, %q: %s", p.Name, set.key, i+1, l, why))
			}
		}
	}
	return errs
}
