package figures

import (
	"cmp"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// TapeLine is one step: the tape lies along one straight line, and lettered places are chalked beside it.
type TapeLine struct {
	Along  string `json:"along"` // where it lies, and from which of its ends is measured
	Places []Spot `json:"places"`
}

// Spot is a place on a line, so far from where the line begins.
type Spot struct {
	Point string  `json:"point"`
	At    string  `json:"at"`
	L     float64 `json:"l"` // the same unrounded, in the draft's unit
}

// Words say the places in a row: "F 9, W 45, E 71".
func (l TapeLine) Words() string {
	var out []string
	for _, s := range l.Places {
		out = append(out, s.Point+" "+s.At)
	}
	return strings.Join(out, ", ")
}

// Letters are those of the places: "F, W, E".
func (l TapeLine) Letters() string {
	var out []string
	for _, s := range l.Places {
		out = append(out, s.Point)
	}
	return strings.Join(out, ", ")
}

// rest is a lettered place within a straight stretch of the outline, where nothing turns.
type rest struct {
	row      markRow
	from, to markRow // the places between which it lies
}

// straightened joins stretches of an edge that lie on one straight line within a tolerance; what was told between them is
// given apart.
func straightened(all []stretch, tol float64) (out []stretch, rests []rest) {
	straight := func(s stretch) bool { return len(s.curve) == 1 && !s.curve[0].Cubic && !s.curve[0].IsArc() }
	var open []int // rests of the last stretch of out
	for k, s := range all {
		n := len(out) - 1
		if n >= 0 && !s.row.first && s.row.point != "" && straight(out[n]) && straight(s) && offLine(out[n].curve.Start(), s.curve.End(), s.curve.Start()) < tol {
			open = append(open, len(rests))
			rests = append(rests, rest{row: s.row, from: out[n].row})
			one := out[n].curve[0]
			one.To = s.curve.End()
			out[n].curve = append(out[n].curve[:0:0], one)
		} else {
			out = append(out, s)
			open = nil
		}
		for _, i := range open {
			rests[i].to = all[(k+1)%len(all)].row
		}
	}
	return out, rests
}

// offLine is how far a place lies from the straight line from a to b.
func offLine(a, b, at orb.Point) float64 {
	return (geom.Path{Points: []orb.Point{a, b}}).Nearest(at).Dist
}

// lines tells the lettered places of the outline, and the points round which the tape is swung, in as few steps as
// there are lines on which they lie: level and plumb ones first, the longest row first, then straight edges. A place of the
// outline that is alone on its line is told where the outline is joined.
func (m *MarkingOut) lines(rests []rest) {
	m.told = map[string]bool{}
	type wanted struct {
		MarkOut
		alone bool // it is told even where no other place lies on its line
	}
	var all []wanted
	put := func(r MarkOut, alone bool) {
		if r.Point != "" && !m.told[r.Point] {
			m.told[r.Point] = true
			all = append(all, wanted{r, alone})
		}
	}
	for _, r := range m.Outline {
		put(r, false)
	}
	for _, r := range m.Outline {
		if r.Swing != nil {
			put(MarkOut{Point: r.Swing.Point, Across: r.Swing.Across, Down: r.Swing.Down, X: r.Swing.X, Y: r.Swing.Y}, true)
		}
	}
	for _, r := range rests {
		put(m.markOut(r.row), false)
	}
	told := map[string]bool{}
	for {
		var best []wanted
		var along string
		least := 2
		look := func(level bool) {
			rows := map[string][]wanted{}
			var order []string
			for _, w := range all {
				at := w.Across
				if level {
					at = w.Down
				}
				if rows[at] == nil {
					order = append(order, at)
				}
				if !told[w.Point] {
					rows[at] = append(rows[at], w)
				}
			}
			for _, at := range order {
				if row := rows[at]; len(row) > len(best) && (len(row) >= least || row[0].alone) {
					best, along = row, m.tapeLies(at, level)
				}
			}
		}
		look(true)
		look(false)
		if best == nil {
			break
		}
		level := best[0].Down == best[len(best)-1].Down && strings.HasSuffix(along, "across")
		l := TapeLine{Along: along}
		for _, w := range best {
			told[w.Point] = true
			if level {
				l.Places = append(l.Places, Spot{w.Point, w.Across, w.X})
			} else {
				l.Places = append(l.Places, Spot{w.Point, w.Down, w.Y})
			}
		}
		slices.SortStableFunc(l.Places, func(a, b Spot) int { return cmp.Compare(a.L, b.L) })
		m.Lines = append(m.Lines, l)
	}
	for _, r := range rests {
		if told[r.row.point] {
			continue
		}
		along := "from " + m.corner(r.from) + " straight to " + m.corner(r.to)
		i := slices.IndexFunc(m.Lines, func(l TapeLine) bool { return l.Along == along })
		if i < 0 {
			i = len(m.Lines)
			m.Lines = append(m.Lines, TapeLine{Along: along})
		}
		d := geom.Dist(r.from.at, r.row.at)
		m.Lines[i].Places = append(m.Lines[i].Places, Spot{r.row.point, m.place(d), d})
	}
}

// corner says a place of the outline by its letters, or how far it lies across and down.
func (m *MarkingOut) corner(r markRow) string {
	if r.point != "" {
		return r.point
	}
	q := m.markOut(r)
	return across(q.Across) + ", " + down(q.Down)
}

// tapeLies says a level or a plumb line so far down or across.
func (m *MarkingOut) tapeLies(at string, level bool) string {
	switch {
	case level && at == "0":
		return "along the level line, across"
	case level:
		return "level, " + down(at) + ": across"
	case at == "0" && strings.HasPrefix(m.Across, "the fold"):
		return "along the fold, down"
	case at == "0":
		return "along the plumb line, down"
	}
	return "plumb, " + at + " across: down"
}
