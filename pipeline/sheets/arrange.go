package sheets

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Lay places pieces on a material, as pipeline/lay does.
type Lay func(ready []pattern.Ready, m pattern.Material) (pattern.Lay, []pattern.Finding)

// gap is kept between two pieces, mm.
const gap = 5.0

// widest bounds how many sheets side by side are tried.
const widest = 12

// arranged is a lay divided into sheets.
type arranged struct {
	grid   grid
	pieces []laid
	sheets []cell
	joins  []join
	worth  float64 // notches, corners and words that a sheet's edge cuts; fewer are better
}

// arrange lays the pieces so that few sheets are needed. A piece that fits on one sheet lies whole on one. Larger
// pieces are laid on a strip that is one, two, three or more sheets wide, across and down; the strip with the fewest
// sheets is taken.
func arrange(ready []shape, g grid, most int, lay Lay) (arranged, error) {
	var large, small []int
	for i := range ready {
		if _, ok := together(ready, []int{i}, g, lay); ok {
			small = append(small, i)
		} else {
			large = append(large, i)
		}
	}
	best := arranged{grid: g}
	if len(large) > 0 {
		shapes := map[int]laid{}
		for _, i := range large {
			shapes[i] = rough(ready, i)
		}
		found := false
		for n := 1; n <= most; n++ {
			for _, down := range []bool{true, false} {
				a, ok := strip(ready, large, shapes, g, n, down, lay)
				if ok && (!found || len(a.sheets) < len(best.sheets)) {
					best, found = a, true
				}
			}
		}
		if !found {
			return best, fmt.Errorf("the largest piece does not fit on %d sheets beside one another: take a larger paper", most)
		}
		best.shift()
		for i, p := range best.pieces {
			best.pieces[i] = newLaid(ready, p.ready, p.place)
		}
		best.sheets, best.joins = g.share(best.pieces)
	}
	if err := best.fill(ready, small, lay); err != nil {
		return best, err
	}
	best.sheets, best.joins = g.share(best.pieces)
	return best, nil
}

// better reports whether a lay needs fewer sheets than another, or as many and cuts fewer notches, corners and words.
func (a arranged) better(b arranged) bool {
	if len(a.sheets) != len(b.sheets) {
		return len(a.sheets) < len(b.sheets)
	}
	return a.worth < b.worth-1e-9
}

// strip lays the pieces that do not fit on one sheet on a strip of n sheets, which runs down the plane, or to its right.
func strip(ready []shape, large []int, shapes map[int]laid, g grid, n int, down bool, lay Lay) (arranged, bool) {
	sx, sy := g.step()
	width := float64(n-1)*sx + g.wide
	if !down {
		width = float64(n-1)*sy + g.high
	}
	some := pick(ready, large)
	l, found := lay(some, pattern.Material{Name: "paper", Width: width - 2*edge, Gap: gap})
	if pattern.Worst(found) == pattern.Error || len(l.Placements) < len(large) {
		return arranged{}, false
	}
	toPlane := geom.Affine{B: -1, C: 1} // along the strip is down, across it to the right
	if !down {
		toPlane = geom.Identity // along the strip is to the right, across it up
	}
	a := arranged{grid: g}
	for _, p := range l.Placements {
		a.pieces = append(a.pieces, shapes[large[p.Ready]].moved(toPlane.After(p.Map)))
	}
	if turned(a.pieces...) {
		a.move(geom.Rotate(math.Pi))
	}
	all := a.box()
	a.move(geom.Translate(edge-all.Min[0], -edge-all.Max[1]))
	a.sheets, a.joins = g.share(a.pieces)
	return a, true
}

// turned reports whether most words on some pieces are upside down.
func turned(pieces ...laid) bool {
	var right float64
	for i := range pieces {
		for _, w := range pieces[i].words {
			if x := w.Along[0]; math.Abs(x) > 0.1 {
				right += x
			} else {
				right += w.Along[1] // read from the right
			}
		}
	}
	return right < 0
}

func (a *arranged) move(by geom.Affine) {
	for i, p := range a.pieces {
		a.pieces[i] = p.moved(by)
	}
}

// box is the bounding box of all ink.
func (a *arranged) box() orb.Bound {
	all := emptyBox()
	for i := range a.pieces {
		all = all.Union(a.pieces[i].box)
	}
	return all
}

// shifts is how many positions are tried in each direction.
const shifts = 6

// shift moves all pieces within the free space of the last column and row, to the position at which the sheets' edges
// cut the fewest notches, corners and words.
func (a *arranged) shift() {
	all := a.box()
	sx, sy := a.grid.step()
	room := func(long, frame, step float64) float64 {
		n := math.Max(0, math.Ceil((long-frame)/step-1e-9))
		return math.Max(0, n*step+frame-long)
	}
	dx, dy := room(all.Max[0]-all.Min[0]+2*edge, a.grid.wide, sx), room(all.Max[1]-all.Min[1]+2*edge, a.grid.high, sy)
	base := a.pieces
	var best arranged
	for i := range shifts {
		for k := range shifts {
			try := arranged{grid: a.grid}
			for _, p := range base {
				try.pieces = append(try.pieces, p.moved(geom.Translate(edge-all.Min[0]+dx*float64(i)/(shifts-1), -edge-all.Max[1]-dy*float64(k)/(shifts-1))))
			}
			try.sheets, try.joins = a.grid.share(try.pieces)
			try.worth = try.cut()
			if best.sheets == nil || try.better(best) {
				best = try
			}
			if dy < 1 {
				break
			}
		}
		if dx < 1 {
			break
		}
	}
	*a = best
}

// near is the distance from a sheet's edge that notches, corners and letters should keep, mm.
const near = 6.0

// cut counts notches, corners and words on or near the edge of a joined sheet.
func (a *arranged) cut() float64 {
	var sum float64
	for _, j := range a.joins {
		strip, _ := meet(a.grid.box(j.a), a.grid.box(j.b))
		wide := orb.Bound{Min: geom.Sub(strip.Min, orb.Point{near, near}), Max: geom.Add(strip.Max, orb.Point{near, near})}
		for i := range a.pieces {
			p := &a.pieces[i]
			if p.home != nil || !p.box.Intersects(wide) {
				continue
			}
			for _, ln := range p.lines {
				if ln.kind != look.Notch && ln.kind != look.Drill {
					continue
				}
				for _, path := range ln.paths {
					if path.Bound().Intersects(wide) {
						sum++
					}
				}
			}
			for k, at := range p.outline.Points {
				if p.outline.Corner(k) && wide.Contains(at) {
					sum += 0.5
				}
			}
			for k := range p.words {
				if p.words[k].box().Bound().Intersects(strip) {
					sum += 0.5
				}
			}
		}
	}
	return sum
}

// fill lays the pieces that fit on one sheet: in the free space on sheets in use, else on sheets of their own below.
func (a *arranged) fill(ready []shape, small []int, lay Lay) error {
	sort.SliceStable(small, func(i, k int) bool { return ready[small[i]].Outline.Area() > ready[small[k]].Outline.Area() })
	var groups [][]int
	for _, i := range a.tuck(ready, small) {
		at := slices.IndexFunc(groups, func(group []int) bool {
			_, ok := together(ready, append(slices.Clone(group), i), a.grid, lay)
			return ok
		})
		if at < 0 {
			groups = append(groups, []int{i})
			continue
		}
		groups[at] = append(groups[at], i)
	}
	columns, row := 1, 0
	for _, c := range a.sheets {
		columns, row = max(columns, c.col+1), max(row, c.row+1)
	}
	if len(a.sheets) == 0 {
		columns = max(1, int(math.Ceil(math.Sqrt(float64(len(groups))))))
	}
	for n, group := range groups {
		home := cell{n % columns, row + n/columns}
		l, ok := together(ready, group, a.grid, lay)
		if !ok {
			return fmt.Errorf("pieces that lay on one sheet do not any more") // the lay's code is not the same twice
		}
		box := a.grid.box(home)
		for _, p := range l.Placements {
			toPlane := geom.Affine{B: -1, C: 1, E: box.Min[0], F: box.Max[1]}
			piece := newLaid(ready, group[p.Ready], toPlane.After(p.Map))
			piece.home = &home
			a.pieces = append(a.pieces, piece)
		}
	}
	return nil
}

// together lays pieces on one sheet, and reports whether they fit.
func together(ready []shape, which []int, g grid, lay Lay) (pattern.Lay, bool) {
	some := pick(ready, which)
	m := pattern.Material{Name: "paper", Width: g.wide - 2*edge, Gap: gap}
	l, found := lay(some, m)
	if l.LengthUsed > g.high-2*edge && g.high < office {
		m.Length = g.high - 2*edge // a given length makes the lay search longer, which takes too long on a roll
		l, found = lay(some, m)
	}
	if pattern.Worst(found) == pattern.Error || len(l.Placements) < len(which) || l.LengthUsed > g.high-2*edge+1e-6 {
		return l, false
	}
	for i := range l.Placements {
		l.Placements[i].Map = geom.Translate(edge, edge).After(l.Placements[i].Map)
	}
	return l, true
}

// office is the longest sheet, mm, on which small pieces are laid closely; on longer ones the search would take too long.
const office = 500.0

// edge is kept between the pieces and the frame round them, mm.
const edge = 1.0

func pick(ready []shape, which []int) []pattern.Ready {
	out := make([]pattern.Ready, 0, len(which))
	for _, i := range which {
		out = append(out, ready[i].Ready)
	}
	return out
}
