package figures

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/tree"
)

// MarkingOut is the list by which a piece is chalked: its places in the order of its outline, each with the way to the
// next, and then what is marked inside it.
type MarkingOut struct {
	// Across and Down say where the two measures are taken from: the fold or a plumb line, and a level line.
	Across string `json:"across_from"`
	Down   string `json:"down_from"`

	Lines   []TapeLine `json:"lines"` // on each of which the tape lies once, for several lettered places
	Outline []MarkOut  `json:"outline"`
	Inside  []MarkOut  `json:"inside"` // lines and the notches at their ends, other notches, drill marks
	// Exactly says what stands in brackets, where many of the piece are joined: see tape.go.
	Exactly string `json:"exactly,omitempty"`

	told   map[string]bool // the letters in it
	line   []orb.Point     // the outline, fine, from the same two lines
	origin orb.Point       // where they cross
	turn   float64         // which way the outline runs
	unit   tapeUnit
	scale  float64 // tape units in the draft's
	joined float64 // so many of the piece make a girth
}

// MarkOut is one place: across and down as written for the tape.
type MarkOut struct {
	Point  string `json:"point,omitempty"` // the drafter's letters, where the place has any
	Edge   string `json:"edge,omitempty"`  // of the outline, the edge that leaves here or runs through; else what is marked
	First  bool   `json:"first,omitempty"` // the edge begins here
	Across string `json:"across"`
	Down   string `json:"down"`
	// X and Y are the same unrounded, in the draft's unit.
	X float64 `json:"x"`
	Y float64 `json:"y"`
	// Swing and Offsets are the way to the next place, where it is no straight stroke.
	Swing   *Swing   `json:"swing,omitempty"`
	Offsets []Offset `json:"offsets,omitempty"`

	beside []Offset // of an arc that is swung, the same told from the straight line
}

// marking lists a piece, for a tape of a unit.
func marking(pc *pieces.Piece, unit tapeUnit) MarkingOut {
	m := MarkingOut{unit: unit, turn: curve.Orientation(pc.Edges), scale: pc.Scope.Context.UnitMM / unit.mm, joined: joined(pc)}
	named := letters(pc)
	var all []stretch
	for _, ed := range pc.Edges {
		for _, s := range ed.Curve {
			m.line = append(m.line, s.From)
			if fine := s.Flatten(nil, geom.FlattenTol/pc.Scope.Context.UnitMM); len(fine) > 1 {
				m.line = append(m.line, fine[:len(fine)-1]...)
			}
		}
		all = append(all, stretches(pc, ed, named)...)
	}
	all, rests := straightened(all, 1/(4*unit.parts*m.scale))
	left, top := m.line[0], m.line[0]
	for _, q := range m.line {
		if q[0] < left[0]-tiny {
			left = q
		}
		if q[1] < top[1]-tiny {
			top = q
		}
	}
	lo := orb.Point{left[0], top[1]}
	m.origin = lo
	m.Across, m.Down = plumbAt(pc, lo[0], rowAt(all, left)), "a level line through "+rowAt(all, top).words()
	for i := range m.line {
		m.line[i] = geom.Sub(m.line[i], lo)
	}
	for _, s := range all {
		row := m.markOut(s.row)
		m.chalkStretch(pc, s, named, &row)
		m.Outline = append(m.Outline, row)
	}
	m.lines(rests)
	m.markInside(pc, named)
	return m
}

// tiny is less than any tape shows, in the draft's unit.
const tiny = 1e-4

// markRow is a place that is told.
type markRow struct {
	at    orb.Point
	point string
	edge  string
	first bool
}

// rowAt is the place that is told at a point, or the stretch nearest to it.
func rowAt(all []stretch, q orb.Point) markRow {
	var best markRow
	least := math.Inf(1)
	for _, s := range all {
		if d := geom.Dist(s.row.at, q); d < tiny {
			return s.row
		}
		line := geom.Path{Points: []orb.Point{s.curve.Start()}}
		for _, part := range s.curve {
			line.Points = part.Flatten(line.Points, 10*tiny)
		}
		if d := line.Nearest(q).Dist; d < least {
			least, best = d, markRow{at: q, edge: s.row.edge}
		}
	}
	return best
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

type lettered struct {
	name string
	at   orb.Point
}

// letters are the drafter's points where they lie on the piece as cut, in the order of drafting.
func letters(pc *pieces.Piece) []lettered {
	if pc.Drawing == nil {
		return nil
	}
	holds := func(orb.Point) bool { return true }
	if pc.Panel != nil { // it has only some of them
		e := pc.Scope.Context
		line, _ := e.FlattenTo(pc.Worn, 0.2)
		holds = func(p orb.Point) bool {
			q := e.ToMM(p)
			return line.Contains(q) || line.Nearest(q).Dist < 1
		}
	}
	var out []lettered
	for _, n := range pc.Drawing.Scope.Order {
		if d := pc.Drawing.Scope.Definitions[n]; d.Kind == tree.PointKind && holds(d.Point) {
			out = append(out, lettered{n, pc.Flat(d.Point)})
		}
	}
	return out
}

func (m *MarkingOut) markOut(r markRow) MarkOut {
	q := geom.Sub(r.at, m.origin)
	return MarkOut{Point: r.point, Edge: r.edge, First: r.first, Across: m.place(q[0]), Down: m.place(q[1]), X: q[0], Y: q[1]}
}

// say writes a length of the draft for the tape.
func (m *MarkingOut) say(v float64) string { return m.unit.say(v * m.scale) }
