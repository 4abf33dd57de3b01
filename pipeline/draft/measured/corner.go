package measured

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// cornerOf is the inner angle between an edge and its neighbour at one end, and the neighbour.
type cornerOf struct {
	deg   float64
	cross outlineEdge
	at    orb.Point
}

func (r sewnRef) corners() [2]cornerOf {
	n := len(r.pc.worn)
	prev, next := (r.i+n-1)%n, (r.i+1)%n
	turn := ccw(r.pc.worn)
	return [2]cornerOf{
		{angleAt(r.pc.worn, prev, turn), r.pc.worn[prev], r.pc.worn[r.i].c.start()},
		{angleAt(r.pc.worn, r.i, turn), r.pc.worn[next], r.pc.worn[r.i].c.end()},
	}
}

// trueCorners adds the two corners at each end of a seam: the edge that crosses must run on without
// a point. Which corners meet is told by the names of the crossing edges.
func (e *sewing) trueCorners(s *sentence, a, b []sewnRef, pointed string) bool {
	good := true
	if len(a) == 1 && len(b) == 1 && a[0].pc == b[0].pc && a[0].i == b[0].i {
		return true // two alike, one on the other
	}
	for _, ra := range a {
		for _, ca := range ra.corners() {
			if ca.cross.fold {
				continue
			}
			for _, rb := range b {
				for _, cb := range rb.corners() {
					if !sameKind(ca.cross.name, cb.cross.name) || cb.cross.fold || ca.cross.name == pointed {
						continue
					}
					what := fmt.Sprintf("the %s where %s is sewn to %s", ca.cross.name, sideWords([]sewnRef{ra}), sideWords([]sewnRef{rb}))
					good = e.tellCorner(s, rb.pc, what, ca.deg+cb.deg, cb.at, "let the edge leave the seam square on both pieces, or say pointed at and the edge if a point is meant") && good
				}
			}
		}
	}
	return good
}

// sameKind compares edges by the last word of their names: "side waist" and "waist" are both waist.
func sameKind(a, b string) bool {
	last := func(s string) string { f := strings.Fields(s); return f[len(f)-1] }
	return a == b || last(a) == last(b)
}

// tellCorner says by how much joined corners miss 180 degrees.
func (e *garment) tellCorner(s *sentence, pc *piece, what string, deg float64, at orb.Point, mend string) bool {
	off := deg - 180
	if math.Abs(off) <= cornerFine {
		return true
	}
	f := e.note(s, pattern.RuleCornerNotTrue, pattern.Warning,
		fmt.Sprintf("%s makes a point: the corners add to %.2f degrees, %.2f off 180", what, deg, math.Abs(off)),
		mend)
	f.Piece, f.Index = pc.name, e.indexOf(pc)
	f.At = pattern.Place(e.mm(pc.opened(at)))
	return false
}

// foldCorners looks at the ends of folds, where each corner meets its own mirror image.
func (e *sewing) foldCorners() {
	for _, pc := range e.pieces {
		for i, ed := range pc.worn {
			if !ed.fold {
				continue
			}
			for _, c := range (sewnRef{pc, i, 1}).corners() {
				e.tellCorner(pc.s, pc, fmt.Sprintf("the %s of %s at the fold", c.cross.name, pc.name), 2*c.deg, c.at, "let the edge leave the fold square")
			}
		}
	}
}

func angleBetween(u, v orb.Point) float64 {
	return math.Abs(math.Atan2(geom.Cross(u, v), geom.Dot(u, v))) * 180 / math.Pi
}
