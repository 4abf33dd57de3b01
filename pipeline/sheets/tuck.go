package sheets

import (
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// square is the side of the squares, mm, in which free space is looked for.
const square = 3.0

// room records which squares of a plane are taken.
type room struct {
	at         orb.Point // upper left corner
	cols, rows int
	taken      []bool
	sums       []int // for each corner, the number of taken squares above and left of it
}

// newRoom covers a box; all squares are free at first.
func newRoom(b orb.Bound) *room {
	r := &room{at: orb.Point{b.Min[0], b.Max[1]}}
	r.cols, r.rows = int(math.Ceil((b.Max[0]-b.Min[0])/square)), int(math.Ceil((b.Max[1]-b.Min[1])/square))
	r.taken = make([]bool, r.cols*r.rows)
	return r
}

// mark takes the squares between two corners.
func (r *room) mark(b orb.Bound) {
	c0, c1 := r.col(b.Min[0]), r.col(b.Max[0])
	r0, r1 := r.row(b.Max[1]), r.row(b.Min[1])
	for row := max(r0, 0); row <= min(r1, r.rows-1); row++ {
		for col := max(c0, 0); col <= min(c1, r.cols-1); col++ {
			r.taken[row*r.cols+col] = true
		}
	}
}

func (r *room) col(x float64) int { return int(math.Floor((x - r.at[0]) / square)) }
func (r *room) row(y float64) int { return int(math.Floor((r.at[1] - y) / square)) }

// piece takes the squares that a piece and its lines cover, and the gap round them.
func (r *room) piece(p *laid) {
	round := func(line geom.Path) {
		for i := range line.Segments() {
			a, b := line.Segment(i)
			n := math.Ceil(geom.Dist(a, b)/square) + 1
			for k := 0.0; k <= n; k++ {
				at := geom.Lerp(a, b, k/n)
				r.mark(orb.Bound{Min: geom.Sub(at, orb.Point{gap, gap}), Max: geom.Add(at, orb.Point{gap, gap})})
			}
		}
	}
	round(p.outline)
	for _, ln := range p.lines {
		for _, path := range ln.paths {
			round(path)
		}
	}
	for _, w := range p.words {
		round(w.box())
	}
	for row := range r.rows { // the squares within the outline
		y := r.at[1] - (float64(row)+0.5)*square
		var xs []float64
		for i := range p.outline.Segments() {
			a, b := p.outline.Segment(i)
			if (a[1] > y) != (b[1] > y) {
				xs = append(xs, a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
			}
		}
		sort.Float64s(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			r.mark(orb.Bound{Min: orb.Point{xs[i], y}, Max: orb.Point{xs[i+1], y}})
		}
	}
}

// count makes the sums, so that a box is looked up in one step.
func (r *room) count() {
	w := r.cols + 1
	r.sums = make([]int, w*(r.rows+1))
	for row := range r.rows {
		for col := range r.cols {
			n := 0
			if r.taken[row*r.cols+col] {
				n = 1
			}
			r.sums[(row+1)*w+col+1] = n + r.sums[row*w+col+1] + r.sums[(row+1)*w+col] - r.sums[row*w+col]
		}
	}
}

// free reports whether no square of a box is taken.
func (r *room) free(b orb.Bound) bool {
	c0, c1, r0, r1 := r.col(b.Min[0]), r.col(b.Max[0])+1, r.row(b.Max[1]), r.row(b.Min[1])+1
	if c0 < 0 || r0 < 0 || c1 > r.cols || r1 > r.rows {
		return false
	}
	w := r.cols + 1
	return r.sums[r1*w+c1]-r.sums[r0*w+c1]-r.sums[r1*w+c0]+r.sums[r0*w+c0] == 0
}

// tuck lays pieces that fit on one sheet in the free space on sheets in use, where no neighbour is laid on them, and
// gives the pieces for which there is no space. The larger ones come first.
func (a *arranged) tuck(ready []shape, small []int) (left []int) {
	if len(a.sheets) == 0 {
		return small
	}
	all := emptyBox()
	for _, c := range a.sheets {
		all = all.Union(a.grid.box(c))
	}
	r := newRoom(all)
	for i := range a.pieces {
		r.piece(&a.pieces[i])
	}
	r.count()
	for _, i := range small {
		flat := rough(ready, i)
		if !a.tuckOne(ready, flat, r) {
			left = append(left, i)
			continue
		}
		r.piece(&a.pieces[len(a.pieces)-1])
		r.count()
	}
	return left
}

// places are the sheets in use, then those that are blank between them.
func (a *arranged) places() []cell {
	out := slices.Clone(a.sheets)
	cols, rows := 0, 0
	for _, c := range a.sheets {
		cols, rows = max(cols, c.col+1), max(rows, c.row+1)
	}
	for row := range rows {
		for col := range cols {
			if c := (cell{col, row}); !slices.Contains(a.sheets, c) {
				out = append(out, c)
			}
		}
	}
	return out
}

func (a *arranged) tuckOne(ready []shape, flat laid, r *room) bool {
	for _, c := range a.places() {
		f := inset(a.grid.box(c), edge)
		for _, j := range a.joins {
			if j.a == c && j.below() {
				f.Min[1] = math.Max(f.Min[1], a.grid.box(j.b).Max[1])
			} else if j.a == c {
				f.Max[0] = math.Min(f.Max[0], a.grid.box(j.b).Min[0])
			}
		}
		for _, turn := range []float64{0, math.Pi / 2} {
			p := flat.moved(geom.Rotate(turn))
			if turned(p) {
				p = p.moved(geom.Rotate(math.Pi))
			}
			w, h := p.box.Max[0]-p.box.Min[0], p.box.Max[1]-p.box.Min[1]
			for y := f.Max[1]; y-h >= f.Min[1]; y -= square {
				for x := f.Min[0]; x+w <= f.Max[0]; x += square {
					if !r.free(orb.Bound{Min: orb.Point{x, y - h}, Max: orb.Point{x + w, y}}) {
						continue
					}
					piece := newLaid(ready, flat.ready, geom.Translate(x-p.box.Min[0], y-p.box.Max[1]).After(p.place))
					piece.home = &cell{c.col, c.row}
					a.pieces = append(a.pieces, piece)
					if !slices.Contains(a.sheets, c) {
						a.sheets, a.joins = a.grid.share(a.pieces)
					}
					return true
				}
			}
		}
	}
	return false
}

func inset(b orb.Bound, by float64) orb.Bound {
	return orb.Bound{Min: orb.Point{b.Min[0] + by, b.Min[1] + by}, Max: orb.Point{b.Max[0] - by, b.Max[1] - by}}
}
