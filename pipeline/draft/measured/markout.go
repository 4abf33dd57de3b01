package measured

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
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
func (pc *piece) marking() MarkingOut {
	var rows []markRow
	var m MarkingOut
	for _, ed := range pc.edges {
		r := pc.edgeRows(ed)
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
	m.Across, m.Down = pc.plumbAt(lo[0], rows[left]), "a level line through "+rows[top].words()
	for i := range m.line {
		m.line[i] = geom.Sub(m.line[i], lo)
	}
	for i, k := 0, 0; i < len(rows); i = k {
		k = pc.reach(rows, i, lo)
		m.Outline = append(m.Outline, pc.markOut(rows[i], lo))
	}
	whole := geom.Path{Points: m.line, Closed: true}
	for _, l := range pc.letters() {
		if q := geom.Sub(l.at, lo); whole.Contains(q) || whole.Nearest(q).Dist < tiny {
			m.Points = append(m.Points, pc.markOut(markRow{point: l.name, at: l.at}, lo))
		}
	}
	for _, n := range pc.notches {
		m.Inside = append(m.Inside, pc.markOut(markRow{edge: "notch on " + pc.edges[n.edge].name, at: n.at}, lo))
	}
	for _, l := range pc.marks {
		name := cmp.Or(l.name, "line")
		m.Inside = append(m.Inside, pc.markOut(markRow{edge: name + ", from", at: l.a}, lo), pc.markOut(markRow{edge: name + ", to", at: l.b}, lo))
	}
	for _, d := range pc.drills {
		m.Inside = append(m.Inside, pc.markOut(markRow{edge: "drill mark", at: d}, lo))
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
func (pc *piece) plumbAt(x float64, r markRow) string {
	for _, ed := range pc.edges {
		if ed.fold && math.Abs(ed.c.start()[0]-x) < tiny && math.Abs(ed.c.end()[0]-x) < tiny {
			return "the fold, " + ed.name
		}
	}
	return "a plumb line through " + r.words()
}

// edgeRows divides an edge finely, without its end. Its corners and its lettered points are kept.
func (pc *piece) edgeRows(ed outlineEdge) []markRow {
	e := pc.sc.eng
	rows := []markRow{{at: ed.c.start(), edge: ed.name, first: true, keep: true}}
	for i, s := range ed.c {
		if i > 0 {
			in, out := ed.c[i-1].dir(1), s.dir(0)
			rows[len(rows)-1].keep = math.Abs(math.Atan2(geom.Cross(in, out), geom.Dot(in, out))) > 0.02
		}
		for _, q := range s.flatten(nil, geom.FlattenTol/e.unitMM) {
			rows = append(rows, markRow{at: q, edge: ed.name})
		}
	}
	for _, l := range pc.letters() {
		rows = letter(rows, l.name, l.at)
	}
	return rows[:len(rows)-1]
}

type lettered struct {
	name string
	at   orb.Point
}

// letters are the drafter's points where they lie on the piece as cut, in the order of drafting.
func (pc *piece) letters() []lettered {
	if pc.d == nil {
		return nil
	}
	var out []lettered
	for _, n := range pc.d.sc.order {
		if d := pc.d.sc.defs[n]; d.kind == isPoint && pc.holds(d.pt) {
			out = append(out, lettered{n, pc.flat(d.pt)})
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
func (pc *piece) reach(rows []markRow, i int, lo orb.Point) int {
	e := pc.sc.eng
	taped := func(q orb.Point) orb.Point {
		return orb.Point{e.taped(q[0] - lo[0]), e.taped(q[1] - lo[1])}
	}
	tol := 0.9 / e.perUnit()
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

func (pc *piece) markOut(r markRow, lo orb.Point) MarkOut {
	q := geom.Sub(r.at, lo)
	return MarkOut{r.point, r.edge, r.first, pc.sc.eng.tape(q[0]), pc.sc.eng.tape(q[1]), q[0], q[1]}
}

// perUnit is into how many parts a tape divides the draft's unit: an inch into sixteenths, centimetres
// and millimetres to the half millimetre.
func (e *engine) perUnit() float64 { return map[string]float64{"in": 16, "cm": 20, "mm": 2}[e.unit] }

// taped is a length as it is read off a tape.
func (e *engine) taped(v float64) float64 { return math.Round(v*e.perUnit()) / e.perUnit() }

// tape writes a length as it is read off a tape.
func (e *engine) tape(v float64) string {
	if e.unit != "in" {
		return strconv.FormatFloat(e.taped(v)+0, 'f', -1, 64)
	}
	sixteenths := int(math.Round(math.Abs(v) * 16))
	whole, part, den := sixteenths/16, sixteenths%16, 16
	for part > 0 && part%2 == 0 {
		part, den = part/2, den/2
	}
	var words []string
	if whole > 0 || part == 0 {
		words = append(words, strconv.Itoa(whole))
	}
	if part > 0 {
		words = append(words, fmt.Sprintf("%d/%d", part, den))
	}
	if v < 0 && sixteenths > 0 {
		words[0] = "-" + words[0]
	}
	return strings.Join(words, " ")
}
