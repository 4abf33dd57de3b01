package figures

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// MarkingOut is the list by which a piece is chalked: its places in the order of its outline, each to be
// joined with the next by a straight stroke, and then what is marked inside it.
type MarkingOut struct {
	// Across and Down say where the two measures are taken from: the fold or a plumb line, and a level line.
	Across string `json:"across_from"`
	Down   string `json:"down_from"`

	Points  []MarkOut `json:"points"` // the drafter's lettered points on the piece, in the order of drafting
	Outline []MarkOut `json:"outline"`
	Inside  []MarkOut `json:"inside"` // notches, folds, lines, drill marks

	line []orb.Point // the outline, fine, from the same two lines
}

// MarkOut is one place: across and down as written for the tape.
type MarkOut struct {
	Point  string `json:"point,omitempty"` // the drafter's letters, where the place has any
	Edge   string `json:"edge,omitempty"`  // of the outline, the edge that leaves here or runs through; else what is marked
	First  bool   `json:"first,omitempty"` // the edge begins here
	Across string `json:"across"`
	Down   string `json:"down"`
	// X and Y are the same unrounded.
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// marking lists a piece. A curve is given by as few places as keep straight strokes between them, read
// off a tape, within the tape's last digit of it.
func marking(pc *pieces.Piece) MarkingOut {
	var rows []markRow
	var m MarkingOut
	for _, ed := range pc.Edges {
		r := edgeRows(pc, ed)
		for _, q := range r {
			m.line = append(m.line, q.at)
		}
		rows = append(rows, r...)
	}
	left, top := 0, 0
	for i, r := range rows {
		if r.at[0] < rows[left].at[0]-tiny {
			left = i
		}
		if r.at[1] < rows[top].at[1]-tiny {
			top = i
		}
	}
	lo := orb.Point{rows[left].at[0], rows[top].at[1]}
	m.Across, m.Down = plumbAt(pc, lo[0], rows[left]), "a level line through "+rows[top].words()
	for i := range m.line {
		m.line[i] = geom.Sub(m.line[i], lo)
	}
	for i, k := 0, 0; i < len(rows); i = k {
		k = reach(pc, rows, i, lo)
		m.Outline = append(m.Outline, markOut(pc, rows[i], lo))
	}
	whole := geom.Path{Points: m.line, Closed: true}
	for _, l := range letters(pc) {
		if q := geom.Sub(l.at, lo); whole.Contains(q) || whole.Nearest(q).Dist < tiny {
			m.Points = append(m.Points, markOut(pc, markRow{point: l.name, at: l.at}, lo))
		}
	}
	for _, n := range pc.Notches {
		m.Inside = append(m.Inside, markOut(pc, markRow{edge: "notch on " + pc.Edges[n.Edge].Name, at: n.At}, lo))
	}
	for _, l := range pc.Marks {
		name := cmp.Or(l.Name, "line")
		m.Inside = append(m.Inside, markOut(pc, markRow{edge: name + ", from", at: l.From}, lo), markOut(pc, markRow{edge: name + ", to", at: l.To}, lo))
	}
	for _, d := range pc.Drills {
		m.Inside = append(m.Inside, markOut(pc, markRow{edge: "drill mark", at: d}, lo))
	}
	return m
}

// tiny is less than any tape shows, in the draft's unit.
const tiny = 1e-4

// markRow is a place of a finely divided outline.
type markRow struct {
	at    orb.Point
	point string
	edge  string
	first bool
	keep  bool // listed in any case
}

func (r markRow) words() string {
	switch {
	case r.point != "":
		return r.point
	case r.first:
		return "the beginning of the " + r.edge
	}
	return "the outermost place of the " + r.edge
}

// plumbAt says what the line at the left, at x, is.
func plumbAt(pc *pieces.Piece, x float64, r markRow) string {
	for _, ed := range pc.Edges {
		if ed.Fold && math.Abs(ed.Curve.Start()[0]-x) < tiny && math.Abs(ed.Curve.End()[0]-x) < tiny {
			return "the fold, " + ed.Name
		}
	}
	return "a plumb line through " + r.words()
}

// edgeRows divides an edge finely, without its end. Its corners and its lettered points are kept.
func edgeRows(pc *pieces.Piece, ed curve.Edge) []markRow {
	e := pc.Scope.Context
	rows := []markRow{{at: ed.Curve.Start(), edge: ed.Name, first: true, keep: true}}
	for i, s := range ed.Curve {
		if i > 0 {
			in, out := ed.Curve[i-1].Dir(1), s.Dir(0)
			rows[len(rows)-1].keep = math.Abs(math.Atan2(geom.Cross(in, out), geom.Dot(in, out))) > 0.02
		}
		for _, q := range s.Flatten(nil, geom.FlattenTol/e.UnitMM) {
			rows = append(rows, markRow{at: q, edge: ed.Name})
		}
	}
	for _, l := range letters(pc) {
		rows = letter(rows, l.name, l.at)
	}
	return rows[:len(rows)-1]
}

type lettered struct {
	name string
	at   orb.Point
}

// letters are the drafter's points where they lie on the piece as cut, in the order of drafting.
func letters(pc *pieces.Piece) []lettered {
	if pc.Drawing == nil {
		return nil
	}
	var out []lettered
	for _, n := range pc.Drawing.Scope.Order {
		if d := pc.Drawing.Scope.Definitions[n]; d.Kind == tree.PointKind && holds(pc, d.Point) {
			out = append(out, lettered{n, pc.Flat(d.Point)})
		}
	}
	return out
}

// letter names the place of an edge where a point lies, which is put in where there is none.
func letter(rows []markRow, name string, q orb.Point) []markRow {
	var line geom.Path
	for _, r := range rows {
		line.Points = append(line.Points, r.at)
	}
	near := line.Nearest(q)
	if near.Dist > tiny {
		return rows
	}
	for k := near.Segment; k <= near.Segment+1 && k < len(rows); k++ {
		if geom.Dist(rows[k].at, q) <= tiny {
			if rows[k].point != "" {
				name = rows[k].point + " = " + name
			}
			rows[k].point, rows[k].keep = name, true
			return rows
		}
	}
	return slices.Insert(rows, near.Segment+1, markRow{at: q, point: name, edge: rows[0].edge, keep: true})
}

// reach is the place to which a straight stroke from row i, both read off a tape, keeps to the outline.
func reach(pc *pieces.Piece, rows []markRow, i int, lo orb.Point) int {
	e := pc.Scope.Context
	taped := func(q orb.Point) orb.Point {
		return orb.Point{taped(e, q[0]-lo[0]), taped(e, q[1]-lo[1])}
	}
	tol := 0.9 / perUnit(e)
	best, from := i+1, taped(rows[i].at)
	for k := i + 2; k <= len(rows) && !rows[k-1].keep; k++ {
		stroke := geom.Path{Points: []orb.Point{from, taped(rows[k%len(rows)].at)}}
		for _, r := range rows[i+1 : k] {
			if stroke.Nearest(geom.Sub(r.at, lo)).Dist > tol {
				return best
			}
		}
		best = k
	}
	return best
}

func markOut(pc *pieces.Piece, r markRow, lo orb.Point) MarkOut {
	q := geom.Sub(r.at, lo)
	return MarkOut{r.point, r.edge, r.first, tape(pc.Scope.Context, q[0]), tape(pc.Scope.Context, q[1]), q[0], q[1]}
}

// perUnit is into how many parts a tape divides the draft's unit: an inch into sixteenths, centimetres
// and millimetres to the half millimetre.
func perUnit(e *tree.Context) float64 {
	return map[string]float64{"in": 16, "cm": 20, "mm": 2}[e.Unit]
}

// taped is a length as it is read off a tape.
func taped(e *tree.Context, v float64) float64 { return math.Round(v*perUnit(e)) / perUnit(e) }

// tape writes a length as it is read off a tape.
func tape(e *tree.Context, v float64) string {
	if e.Unit != "in" {
		return strconv.FormatFloat(taped(e, v)+0, 'f', -1, 64)
	}
	return fraction(v)
}

// fraction writes inches to the nearest sixteenth.
func fraction(v float64) string {
	return pattern.Inches(math.Round(v*16) / 16 * 25.4)
}
