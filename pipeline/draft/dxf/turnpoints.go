package dxf

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// corners are the turn points (layer 2) and curve points (layer 3) of a block, in its own units:
// they say which vertices of its lines are meant as corners.
type corners struct {
	cells map[[2]int64][]turnPoint
}

type turnPoint struct {
	at   orb.Point
	turn bool
}

// turnTol is how near, in units of the drawing, a turn or curve point lies to its vertex. Files are
// written with four decimals at least; in inches it is a quarter of a millimetre.
const turnTol = 0.01

// chordTurn is the turn from which a vertex that is listed on neither layer is a corner: twice the
// step of a coarsely drawn curve.
const chordTurn = 20 * math.Pi / 180

func cellOf(p orb.Point) [2]int64 {
	return [2]int64{int64(math.Floor(p[0] / turnTol)), int64(math.Floor(p[1] / turnTol))}
}

// cornersIn are the turn and curve points of a block, gathered once.
func (r *reader) cornersIn(b *block) *corners {
	cs, known := r.cornersOf[b]
	if !known {
		cs = r.cornerPoints(b.list)
		r.cornersOf[b] = cs
	}
	return cs
}

// cornerPoints gathers the points on layers 2 and 3; nil where there are none.
func (r *reader) cornerPoints(list []entity) *corners {
	var cs *corners
	for _, e := range list {
		if e.kind != "POINT" {
			continue
		}
		turn := r.onLayer(e, "2")
		if !turn && !r.onLayer(e, "3") {
			continue
		}
		v := r.values(e)
		p := v.point(10)
		if v.failed() || math.Abs(p[0]) > 1e9 || math.Abs(p[1]) > 1e9 {
			continue
		}
		if cs == nil {
			cs = &corners{map[[2]int64][]turnPoint{}}
		}
		c := cellOf(p)
		if len(cs.cells[c]) < 16 { // more in one place say nothing more
			cs.cells[c] = append(cs.cells[c], turnPoint{p, turn})
		}
	}
	return cs
}

// find looks for a listed point at a vertex; a turn point comes before a curve point.
func (c *corners) find(p orb.Point) (turn, listed bool) {
	if math.Abs(p[0]) > 1e9 || math.Abs(p[1]) > 1e9 {
		return false, false
	}
	at := cellOf(p)
	for dx := int64(-1); dx <= 1; dx++ {
		for dy := int64(-1); dy <= 1; dy++ {
			for _, t := range c.cells[[2]int64{at[0] + dx, at[1] + dy}] {
				if geom.Dist(t.at, p) <= turnTol {
					listed = true
					turn = turn || t.turn
				}
			}
		}
	}
	return turn, listed
}

// mark sets the corners of a line of straight stretches; own are its vertices in the block's units.
// A line of which no vertex is listed keeps every vertex a corner, as drawn.
func (c *corners) mark(path geom.Path, own []orb.Point) geom.Path {
	if c == nil || len(own) < len(path.Points) {
		return path
	}
	var guessed geom.Path
	is := make([]bool, len(path.Points))
	some := false
	for i := range path.Points {
		turn, listed := c.find(own[i])
		if listed {
			is[i], some = turn, true
			continue
		}
		if guessed.Points == nil {
			guessed = geom.MarkCorners(path, chordTurn)
		}
		is[i] = guessed.Corner(i)
	}
	if some {
		path.Corners = is
	}
	return path
}
