package blade

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Tolerances say what a simulated cut may leave the wanted line by. The zero value takes the
// design's promise: 0.05 mm along edges, 0.1 mm at corners.
type Tolerances struct {
	Edge, Corner float64
	// CornerReach is how far from a corner the corner's tolerance holds, mm; 0 means 1 mm.
	CornerReach float64
	// Through is the height at and under which a cut goes through the material; 0 takes the
	// deepest that was cut.
	Through float64
	// Waste are lines along which the tip may do as it likes, within WasteReach mm of them: the
	// pivot's way on the alignment stroke.
	Waste      []geom.Path
	WasteReach float64
}

func (t Tolerances) filled(cuts []Cut) Tolerances {
	t.Edge = cmp.Or(t.Edge, 0.05)
	t.Corner = cmp.Or(t.Corner, 0.1)
	t.CornerReach = cmp.Or(t.CornerReach, 1)
	if t.Through == 0 {
		t.Through = Lowest(cuts)
	}
	return t
}

// Departure is a place where the cut and the wanted line differ by more than is allowed.
type Departure struct {
	// At is on the tip's path where it strays, on the wanted line where that stays uncut.
	At orb.Point
	// By is the distance in mm; +Inf where nothing at all was cut.
	By float64
	// Stroke is the wanted stroke, for a stray the nearest; -1 where nothing was wanted.
	Stroke int
	// Uncut tells a wanted line that stays whole from a cut where none was wanted.
	Uncut bool
	// Bridge is a closed line that is cut within the tolerance all round and yet holds its piece:
	// no closed way in the cuts winds round it. At is its start then, and By is 0.
	Bridge bool
}

func (d Departure) String() string {
	if d.Bridge {
		return fmt.Sprintf("the piece is not cut free, stroke %d from (%.1f, %.1f)", d.Stroke, d.At[0], d.At[1])
	}
	what := "the tip leaves the line"
	if d.Uncut {
		what = "the line stays uncut"
	}
	return fmt.Sprintf("%s by %.3f mm at (%.1f, %.1f), stroke %d", what, d.By, d.At[0], d.At[1], d.Stroke)
}

// sampling is the greatest distance in mm between two compared points of a line.
const sampling = 0.5

// Compare holds the cuts against the wanted strokes, both ways: every point that the tip touches
// must lie by a wanted stroke, every point of a wanted stroke by a cut that goes through, and every
// closed wanted line that was cut must be Severed. Each
// stretch that departs is named once, at its worst point, worst first.
func Compare(cuts []Cut, wanted []devices.Stroke, t Tolerances) []Departure {
	t = t.filled(cuts)
	c := comparison{tol: t, waste: lines(t.Waste)}
	paths := make([]geom.Path, len(wanted))
	for i, s := range wanted {
		paths[i] = s.Path
		c.corners = append(c.corners, cornersOf(s.Path))
	}
	c.through = throughCuts(cuts, t.Through)
	through := make([]geom.Path, len(c.through))
	for i, r := range c.through {
		through[i] = r.path
	}
	c.line = lines(paths)
	for _, cut := range cuts {
		c.strays(cut.Path)
	}
	c.cut = lines(through)
	for i, p := range paths {
		c.uncut(i, p)
		c.bridged(i, p)
	}
	slices.SortStableFunc(c.found, func(a, b Departure) int { return cmp.Compare(b.By, a.By) })
	return c.found
}

type comparison struct {
	tol              Tolerances
	corners          [][]orb.Point
	line, cut, waste *nearestLine
	through          []reach
	found            []Departure
}

// strays walks one tip path.
func (c *comparison) strays(p geom.Path) {
	run := worst{}
	walk(p, func(q orb.Point) {
		i, by := c.line.at(q)
		if by <= c.allowed(i, q) || c.inWaste(q) {
			run.end(&c.found)
			return
		}
		run.add(Departure{At: q, By: by, Stroke: i})
	})
	run.end(&c.found)
}

// uncut walks one wanted stroke.
func (c *comparison) uncut(i int, p geom.Path) {
	run := worst{}
	walk(p, func(q orb.Point) {
		_, by := c.cut.at(q)
		if by <= c.allowed(i, q) {
			run.end(&c.found)
			return
		}
		run.add(Departure{At: q, By: by, Stroke: i, Uncut: true})
	})
	run.end(&c.found)
}

// bridged names a closed line that holds its piece though nothing of it was found uncut.
func (c *comparison) bridged(i int, p geom.Path) {
	if !p.Closed || slices.ContainsFunc(c.found, func(d Departure) bool { return d.Uncut && d.Stroke == i }) {
		return
	}
	if in, encloses := insidePoint(p); encloses && !severed(c.through, p, in) {
		c.found = append(c.found, Departure{At: p.Points[0], Stroke: i, Bridge: true})
	}
}

func (c *comparison) inWaste(q orb.Point) bool {
	_, by := c.waste.at(q)
	return by <= c.tol.WasteReach
}

// allowed is the tolerance at a place by stroke i.
func (c *comparison) allowed(i int, q orb.Point) float64 {
	if i < 0 {
		return c.tol.Edge
	}
	for _, v := range c.corners[i] {
		if math.Abs(v[0]-q[0]) <= c.tol.CornerReach && dist(v, q) <= c.tol.CornerReach {
			return c.tol.Corner
		}
	}
	return c.tol.Edge
}

func cornersOf(p geom.Path) []orb.Point {
	var out []orb.Point
	for i, v := range p.Points {
		if p.Corner(i) {
			out = append(out, v)
		}
	}
	return out
}

// worst keeps the worst of a run of departures.
type worst struct {
	d  Departure
	on bool
}

func (w *worst) add(d Departure) {
	if !w.on || d.By > w.d.By {
		w.d, w.on = d, true
	}
}

func (w *worst) end(out *[]Departure) {
	if w.on {
		*out = append(*out, w.d)
	}
	w.on = false
}

// walk visits the vertices and points between them, none more than sampling apart.
func walk(p geom.Path, visit func(orb.Point)) {
	if len(p.Points) == 0 {
		return
	}
	visit(p.Points[0])
	for i := range p.Segments() {
		a, b := p.Segment(i)
		n := int(math.Ceil(dist(a, b) / sampling))
		for k := 1; k <= n; k++ {
			visit(geom.Lerp(a, b, float64(k)/float64(n)))
		}
	}
}

// nearestLine finds the nearest of some lines, of which some may be single points.
type nearestLine struct {
	index *geom.Index
	of    []int // which line a path of the index is
	stabs []orb.Point
	stab  []int
}

func lines(paths []geom.Path) *nearestLine {
	n := &nearestLine{}
	var kept []geom.Path
	for i, p := range paths {
		switch {
		case p.Segments() > 0:
			kept, n.of = append(kept, p), append(n.of, i)
		case len(p.Points) == 1:
			n.stabs, n.stab = append(n.stabs, p.Points[0]), append(n.stab, i)
		}
	}
	if len(kept) > 0 {
		n.index = geom.NewIndex(kept...)
	}
	return n
}

// at gives the nearest line and its distance, -1 and +Inf where there is none.
func (n *nearestLine) at(q orb.Point) (line int, by float64) {
	line, by = -1, math.Inf(1)
	if n.index != nil {
		i, near := n.index.Nearest(q)
		line, by = n.of[i], near.Dist
	}
	for k, s := range n.stabs {
		if d := dist(s, q); d < by {
			line, by = n.stab[k], d
		}
	}
	return line, by
}
