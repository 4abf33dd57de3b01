package separation

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// field looks up how deep a place lies in a no-fit outline. A grid over the outline holds for each cell the segments
// that can be the nearest to a place in it, two or three of them, so that the answer is exact and takes some
// nanoseconds.
type field struct {
	x0, y0, x1, y1 float64 // area of the grid
	inv            float64 // cells per mm
	nx, ny         int
	cells          []uint32  // 0: free; else the start of the cell's list in lists, with its kind in the top bits
	mid            []float32 // depth at the middle of each cell
	lists          []uint16  // for each list its length, then the numbers of segments
	lines          []stretch
	gap            float64
}

const (
	cellInside = 1 << 31 // every place of the cell is in conflict
	cellMixed  = 1 << 30 // the nearest segment tells on which side a place is
	cellAt     = cellMixed - 1
)

func (f *field) bytes() int { return 8*len(f.cells) + 2*cap(f.lists) + 40*cap(f.lines) + 200 }

// newField makes the field of a pair: b turned and moved against a, with a gap between them. grid is the number of
// cells along its longer side.
func newField(a, b [][]orb.Point, gap float64, grid int) *field {
	lines, sums := noFit(a, b)
	f := &field{lines: lines, gap: gap}
	box := orb.Ring(sums[0]).Bound()
	for _, s := range sums[1:] {
		box = box.Union(orb.Ring(s).Bound())
	}
	side := max(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]) + 2*gap
	size := side / float64(grid)
	f.inv = 1 / size
	f.x0, f.y0, f.x1, f.y1 = box.Min[0]-gap, box.Min[1]-gap, box.Max[0]+gap, box.Max[1]+gap
	f.nx, f.ny = int((f.x1-f.x0)*f.inv)+1, int((f.y1-f.y0)*f.inv)+1
	f.cells, f.mid = make([]uint32, f.nx*f.ny), make([]float32, f.nx*f.ny)
	f.lists = make([]uint16, 1, len(f.cells)*2)
	half := size / math.Sqrt2 // from a cell's middle to its corner
	var some []uint16
	dist2 := make([]float64, len(lines))
	sides := make([]int8, len(f.cells)) // of cells without a segment near: 1 inside, -1 outside
	for iy := range f.ny {
		for ix := range f.nx {
			k := iy*f.nx + ix
			c := orb.Point{f.x0 + (float64(ix)+0.5)*size, f.y0 + (float64(iy)+0.5)*size}
			near2 := math.Inf(1)
			for l := range lines {
				dist2[l] = lines[l].dist2(c[0], c[1])
				near2 = min(near2, dist2[l])
			}
			near := math.Sqrt(near2)
			state := uint32(cellMixed)
			if near > half {
				// No segment lies between the middles of two such neighbouring cells.
				switch {
				case ix > 0 && sides[k-1] != 0:
					sides[k] = sides[k-1]
				case iy > 0 && sides[k-f.nx] != 0:
					sides[k] = sides[k-f.nx]
				case inAny(sums, c):
					sides[k] = 1
				default:
					sides[k] = -1
				}
				if sides[k] > 0 {
					state = cellInside
				} else if near > half+gap {
					continue
				}
			}
			some = some[:0]
			reach := near + 2*half + coverEps
			for l := range lines {
				if dist2[l] <= reach*reach {
					some = append(some, uint16(l))
				}
			}
			if state == cellInside && len(some) > 2 {
				some = f.likely(some, c, size)
			}
			f.cells[k] = state | uint32(len(f.lists))
			f.lists = append(append(f.lists, uint16(len(some))), some...)
			f.mid[k] = float32(f.depth(c[0], c[1]))
		}
	}
	f.lists = slices.Clip(f.lists)
	return f
}

// likely keeps the segments that are the nearest to some of 25 places of a cell, which is exact enough deep inside.
func (f *field) likely(some []uint16, c orb.Point, size float64) []uint16 {
	var kept []uint16
	for i := range 25 {
		x, y := c[0]+size*float64(i%5-2)/4, c[1]+size*float64(i/5-2)/4
		best, d := uint16(0), math.Inf(1)
		for _, k := range some {
			if e := f.lines[k].dist2(x, y); e < d {
				best, d = k, e
			}
		}
		seen := false
		for _, k := range kept {
			seen = seen || k == best
		}
		if !seen {
			kept = append(kept, best)
		}
	}
	return kept
}

func inAny(sums [][]orb.Point, q orb.Point) bool {
	for _, s := range sums {
		inside := true
		for i, a := range s {
			if b := s[(i+1)%len(s)]; geom.Cross(geom.Sub(b, a), geom.Sub(q, a)) < 0 {
				inside = false
				break
			}
		}
		if inside {
			return true
		}
	}
	return false
}

func (s *stretch) dist2(x, y float64) float64 {
	dx, dy := x-s.x, y-s.y
	t := max(0, min(s.length, dx*s.ux+dy*s.uy))
	dx, dy = dx-t*s.ux, dy-t*s.uy
	return dx*dx + dy*dy
}

// nearer reports whether one squared distance is less than another by more than the rounding of segment ends.
func nearer(d, than float64) bool {
	if d > 0.999*than {
		return d < than-1e-13 && d < than-8*coverEps*math.Sqrt(than)
	}
	return d < than-1e-13
}

// tells decides between two segments at the same distance, as at a corner: the one whose line is farther away tells on
// which side a place is. On a slit both sides are in conflict.
func tells(left, than float64) bool {
	a, b := math.Abs(left), math.Abs(than)
	return a > b+1e-9 || a > b-1e-9 && left > 0
}

// depth is how deep in mm a place lies in conflict, gap included; 0 where it is below free.
func (f *field) depth(x, y float64) float64 {
	fx, fy := (x-f.x0)*f.inv, (y-f.y0)*f.inv
	if fx < 0 || fy < 0 || x > f.x1 || y > f.y1 {
		return 0
	}
	c := f.cells[int(fy)*f.nx+int(fx)]
	if c == 0 {
		return 0
	}
	at := c & cellAt
	list := f.lists[at+1 : at+1+uint32(f.lists[at])]
	if c&cellInside != 0 {
		best := math.Inf(1)
		for _, k := range list {
			best = min(best, f.lines[k].dist2(x, y))
		}
		return conflict(math.Sqrt(best) + f.gap)
	}
	best, side := math.Inf(1), 0.0
	for _, k := range list {
		s := &f.lines[k]
		dx, dy := x-s.x, y-s.y
		t := max(0, min(s.length, dx*s.ux+dy*s.uy))
		left := s.ux*dy - s.uy*dx
		dx, dy = dx-t*s.ux, dy-t*s.uy
		switch d := dx*dx + dy*dy; {
		case nearer(d, best):
			best, side = d, left
		case !nearer(best, d):
			if tells(left, side) {
				side = left
			}
			best = min(best, d)
		}
	}
	d := math.Sqrt(best)
	if side < 0 {
		d = -d
	}
	return conflict(d + f.gap)
}

// free is the depth in mm up to which a place counts as free: rounding must not exclude a place in which a piece fits
// exactly.
const free = 5e-6

func conflict(depth float64) float64 {
	if depth < free {
		return 0
	}
	return depth
}

// rough is the depth at the middle of a place's cell, exact enough to choose among places.
func (f *field) rough(x, y float64) float64 {
	fx, fy := (x-f.x0)*f.inv, (y-f.y0)*f.inv
	if fx < 0 || fy < 0 || x > f.x1 || y > f.y1 {
		return 0
	}
	return float64(f.mid[int(fy)*f.nx+int(fx)])
}

// near is the signed depth of a place and the unit vector of the shortest way out. For places in free cells ok is
// false.
func (f *field) near(x, y float64) (depth, nx, ny float64, ok bool) {
	fx, fy := (x-f.x0)*f.inv, (y-f.y0)*f.inv
	if fx < 0 || fy < 0 || x > f.x1 || y > f.y1 {
		return 0, 0, 0, false
	}
	c := f.cells[int(fy)*f.nx+int(fx)]
	if c == 0 {
		return 0, 0, 0, false
	}
	at := c & cellAt
	best, side := math.Inf(1), 0.0
	var vx, vy float64
	var line *stretch
	for _, k := range f.lists[at+1 : at+1+uint32(f.lists[at])] {
		s := &f.lines[k]
		dx, dy := x-s.x, y-s.y
		t := max(0, min(s.length, dx*s.ux+dy*s.uy))
		left := s.ux*dy - s.uy*dx
		dx, dy = t*s.ux-dx, t*s.uy-dy
		d := dx*dx + dy*dy
		if nearer(d, best) {
			best, side, vx, vy, line = d, left, dx, dy, s
		} else if !nearer(best, d) {
			if tells(left, side) {
				side, vx, vy, line = left, dx, dy, s
			}
			best = min(best, d)
		}
	}
	d := math.Sqrt(best)
	inside := c&cellInside != 0 || side >= 0
	switch {
	case d < 1e-9:
		nx, ny = line.uy, -line.ux
	case inside:
		nx, ny = vx/d, vy/d
	default:
		nx, ny = -vx/d, -vy/d
	}
	if !inside {
		d = -d
	}
	return d + f.gap, nx, ny, true
}
