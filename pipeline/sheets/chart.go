package sheets

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pdf"
)

// largestMap is the largest scale of the map. A larger one could be taken for the pattern.
const largestMap = 0.3

// mapper draws the map of the sheets.
type mapper struct {
	*book
	k, turn float64     // its scale; how far it is turned, degrees
	high    float64     // height of the part of the plane that is shown, mm
	to      geom.Affine // from the plane to the page
	taken   []orb.Bound // boxes in which words stand already
	frames  []orb.Bound // sides of the sheets; a name crosses one only where it has no other place
}

// draw draws the sheets, the pieces and, where they do not overprint one another, their names.
func (m *mapper) draw() {
	a, k := &m.arranged, m.k
	sx, sy := a.grid.step()
	for row := range m.Rows {
		for col := range m.Columns {
			c := cell{col, row}
			part := a.grid.box(c)
			if col < m.Columns-1 { // the strip that the next sheet overlaps is shown once
				part.Max[0] = part.Min[0] + sx
			}
			if row < m.Rows-1 {
				part.Min[1] = part.Max[1] - sy
			}
			part.Min[1] = math.Max(part.Min[1], -m.high)
			if !slices.Contains(a.sheets, c) {
				l := pdf.Lettering{Height: math.Min(2.2, 36*k), Shade: 0.35, From: 0.5, Most: a.grid.wide * k * 0.9, Angle: m.turn}
				at := m.to.Apply(part.Center())
				m.d.Text(at, l, "blank")
				m.taken = append(m.taken, covers(at, l, "blank"))
				continue
			}
			shown := pdf.Box(part).Apply(m.to)
			m.d.Stroke(thin, shown)
			for i := range shown.Segments() {
				p, q := shown.Segment(i)
				m.frames = append(m.frames, (orb.Bound{Min: p, Max: p}).Extend(q))
			}
			l := pdf.Lettering{Bold: true, Shade: 0.5, Height: math.Min(3.5, 34*k), Angle: m.turn}
			at := m.to.Apply(orb.Point{part.Min[0] + 0.8/k, part.Max[1] - 0.8/k - l.Height/k})
			m.d.Text(at, l, c.name())
			m.taken = append(m.taken, covers(at, l, c.name()))
		}
	}
	var outlines [][]geom.Path
	for i := range a.pieces {
		p := &a.pieces[i]
		var lines []geom.Path
		for _, s := range m.shapes[p.ready].members {
			lines = append(lines, s.piece.Outline.Apply(m.to.After(p.place).After(s.align)).Thin(0.05))
		}
		m.d.Stroke(thick, lines...)
		outlines = append(outlines, lines)
	}
	for i := range a.pieces {
		m.name(outlines[i], m.shapes[a.pieces[i].ready].Name)
	}
}

// name writes a piece's name inside the piece, across or along it, clear of other words and smaller where needed;
// where it does not fit, beside the piece with a line to it.
func (m *mapper) name(lines []geom.Path, words string) {
	largest := slices.MaxFunc(lines, func(a, b geom.Path) int { return int(math.Abs(a.Area()) - math.Abs(b.Area())) })
	around := largest.Bound()
	centre := around.Center()
	clear := func(b orb.Bound, of []orb.Bound) bool {
		return !slices.ContainsFunc(of, func(t orb.Bound) bool { return t.Intersects(b) })
	}
	// Places from the middle outwards, on a grid.
	var places []orb.Point
	const most = 30
	dx, dy := math.Max(1, (around.Max[0]-around.Min[0])/most), math.Max(1, (around.Max[1]-around.Min[1])/most)
	for x := around.Min[0] + dx/2; x <= around.Max[0]; x += dx {
		for y := around.Min[1] + dy/2; y <= around.Max[1]; y += dy {
			places = append(places, orb.Point{x, y})
		}
	}
	slices.SortStableFunc(places, func(a, b orb.Point) int {
		return int(100 * (geom.Dist(a, centre) - geom.Dist(b, centre)))
	})
	for _, frames := range [][]orb.Bound{m.frames, nil} {
		for _, height := range []float64{2.2, 1.8, 1.4} {
			for _, angle := range []float64{m.turn, m.turn + 90} {
				l := pdf.Lettering{Height: height, From: 0.5, Angle: angle}
				for _, at := range places {
					if b := covers(at, l, words); clear(b, m.taken) && clear(b, frames) && holds(largest, b) {
						m.write(at, l, words, b)
						return
					}
				}
			}
		}
	}
	l := pdf.Lettering{Height: 1.6, From: 0.5, Angle: m.turn}
	for far := 2.0; far < 30; far++ {
		for step := range 24 {
			u := geom.Rotate(float64(step) * math.Pi / 12).Apply(orb.Point{1, 0})
			at := geom.Add(largest.Nearest(geom.Add(centre, geom.Mul(u, 1000))).Point, geom.Mul(u, far))
			if b := covers(at, l, words); clear(b, m.taken) && !holds(largest, b) && m.shown().Contains(b.Min) && m.shown().Contains(b.Max) {
				m.d.Line(thin, largest.Nearest(b.Center()).Point, at)
				m.write(at, l, words, b)
				return
			}
		}
	}
}

// shown is the part of the page that the map takes.
func (m *mapper) shown() orb.Bound {
	sx, sy := m.arranged.grid.step()
	plane := orb.Bound{Min: orb.Point{0, -math.Max(m.high, float64(m.Rows)*sy)}, Max: orb.Point{float64(m.Columns) * sx, 0}}
	if m.Rows == 1 {
		plane.Min[1] = -m.high
	}
	return pdf.Box(plane).Apply(m.to).Bound()
}

func (m *mapper) write(at orb.Point, l pdf.Lettering, words string, b orb.Bound) {
	m.d.Text(at, l, words)
	m.taken = append(m.taken, b)
}

// covers is the box of words as they are written, with a small margin.
func covers(at orb.Point, l pdf.Lettering, words string) orb.Bound {
	w := l.Width(words)
	b := pdf.Box(orb.Bound{Min: orb.Point{-l.From * w, -0.35 * l.Height}, Max: orb.Point{(1 - l.From) * w, 1.15 * l.Height}})
	return b.Apply(geom.Translate(at[0], at[1]).After(geom.Rotate(l.Angle * math.Pi / 180))).Bound().Pad(0.3)
}

// holds reports whether a box lies within a closed line.
func holds(outline geom.Path, b orb.Bound) bool {
	for _, p := range pdf.Box(b).Points {
		if !outline.Contains(p) {
			return false
		}
	}
	for i := range outline.Segments() {
		p, q := outline.Segment(i)
		if (orb.Bound{Min: p, Max: p}).Extend(q).Intersects(b) && crosses(p, q, b) {
			return false
		}
	}
	return true
}

// crosses reports whether a straight line meets a box.
func crosses(p, q orb.Point, b orb.Bound) bool {
	n := int(geom.Dist(p, q)/0.3) + 1
	for i := range n + 1 {
		if b.Contains(geom.Lerp(p, q, float64(i)/float64(n))) {
			return true
		}
	}
	return false
}
