package pattern

import (
	"math"

	"tracewheel/geom"
)

// Ring is the closed line by which the piece is measured and cut: the cut line where there is one,
// else the sew line. Lines that are open where the piece lies on the fold are closed along it; sew
// lines drawn one a seam are joined at their ends. cut tells which of the two it is. Where no such
// line closes, ok is false and the ring empty.
func (p *Piece) Ring() (ring geom.Path, cut, ok bool) {
	if p.Cut != nil {
		ring, ok = p.closeByFold(*p.Cut)
		return ring, true, ok
	}
	ring, ok = p.SewRing()
	return ring, false, ok
}

// SewRing is the sew line closed: the greatest closed one, else the open ones joined at their ends
// and closed along the fold.
func (p *Piece) SewRing() (ring geom.Path, ok bool) {
	var open []geom.Path
	best := -1.0
	for _, line := range p.Sew {
		if len(line.Points) < 2 {
			continue
		}
		if !line.Closed {
			open = append(open, line)
		} else if a := line.Area(); a > best {
			best, ring = a, line
		}
	}
	if best >= 0 {
		return ring, true
	}
	return p.closeByFold(chain(open))
}

// closeByFold closes an open line whose ends meet, or both lie on the fold.
func (p *Piece) closeByFold(line geom.Path) (geom.Path, bool) {
	n := len(line.Points)
	if line.Closed {
		return line, n >= 3
	}
	if n < 3 {
		return geom.Path{}, false
	}
	first, last := line.Points[0], line.Points[n-1]
	fold := p.FoldLine()
	meet := geom.Dist(first, last) <= geom.CloseTol
	if !meet && (fold == nil || !fold.Holds(first, last)) {
		return geom.Path{}, false
	}
	ring := line.Clone()
	ring.Closed = true
	if ring.Corners != nil {
		ring.Corners[0], ring.Corners[n-1] = true, true
	}
	if meet {
		ring.Points = ring.Points[:n-1]
		if ring.Corners != nil {
			ring.Corners = ring.Corners[:n-1]
		}
	}
	return ring, true
}

// chain joins open lines end to end into one, turning them where needed; each joint is a corner.
// It is empty when some line finds no end within BridgeTol. There are as many lines as a piece has
// seams, so looking at all of them for each joint costs nothing.
func chain(lines []geom.Path) geom.Path {
	if len(lines) == 0 {
		return geom.Path{}
	}
	left := append([]geom.Path(nil), lines[1:]...)
	out := marked(lines[0].Clone())
	for len(left) > 0 {
		k, turn, front := nearestEnd(out, left)
		if k < 0 {
			return geom.Path{}
		}
		next := marked(left[k])
		if turn {
			next = next.Reversed()
		}
		if front {
			out = join(next, out)
		} else {
			out = join(out, next)
		}
		left = append(left[:k], left[k+1:]...)
	}
	return out
}

func marked(p geom.Path) geom.Path {
	if p.Corners == nil {
		return geom.MarkCorners(p, cornerTurn)
	}
	return p
}

// nearestEnd finds the line with an end nearest to an end of out: turn tells that it must be
// reversed, front that it goes before out.
func nearestEnd(out geom.Path, left []geom.Path) (k int, turn, front bool) {
	head, tail := out.Points[0], out.Points[len(out.Points)-1]
	best := math.Nextafter(geom.BridgeTol, 1)
	k = -1
	for i, line := range left {
		a, b := line.Points[0], line.Points[len(line.Points)-1]
		for _, c := range []struct {
			d           float64
			turn, front bool
		}{
			{geom.Dist(tail, a), false, false}, {geom.Dist(tail, b), true, false},
			{geom.Dist(head, b), false, true}, {geom.Dist(head, a), true, true},
		} {
			if c.d < best {
				best, k, turn, front = c.d, i, c.turn, c.front
			}
		}
	}
	return k, turn, front
}

func join(a, b geom.Path) geom.Path {
	a.Corners[len(a.Corners)-1] = true
	skip := 0
	if geom.Dist(a.Points[len(a.Points)-1], b.Points[0]) <= geom.CloseTol {
		skip = 1
	}
	a.Points = append(a.Points, b.Points[skip:]...)
	a.Corners = append(a.Corners, b.Corners[skip:]...)
	if skip == 0 {
		a.Corners[len(a.Corners)-len(b.Corners)] = true
	}
	return a
}
