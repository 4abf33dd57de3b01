package plan

import (
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Numbers of the test square, mm.
const (
	squareClear  = 5.0 // kept free round it
	squareLetter = 5.0 // height of the lettering
	squareCell   = 5.0 // of the search for free space
	squareLeast  = 20.0
)

// square draws a test square of a stated size in free space, so that the scale of every plot can be checked with a
// ruler. Where the full size does not fit a smaller one is tried, down to 20 mm; the report says so.
func square(ready []pattern.Ready, l pattern.Lay, p devices.Profile, opt Options, rep *Report) []devices.Stroke {
	if opt.Square < 0 {
		return nil
	}
	free := newSpace(ready, l, p)
	for side := opt.Square; side >= math.Min(squareLeast, opt.Square); side -= 10 {
		at, ok := free.find(side + 2*squareClear)
		if !ok {
			continue
		}
		if side < opt.Square {
			rep.note("the test square is %.0f mm instead of %.0f mm: there is no more free space", side, opt.Square)
		}
		at = geom.Add(at, orb.Point{squareClear, squareClear})
		rep.Square = &orb.Bound{Min: at, Max: geom.Add(at, orb.Point{side, side})}
		return squareAt(at, side, p)
	}
	rep.note("no test square: there is no free space of %.0f mm on the material", squareLeast+2*squareClear)
	return nil
}

// squareAt is the square and its size in letters, in the middle.
func squareAt(at orb.Point, side float64, p devices.Profile) []devices.Stroke {
	stroke := func(role pattern.Role, path geom.Path) devices.Stroke {
		return devices.Stroke{Tool: devices.Pen, Role: string(role), Kind: string(look.Check), Path: path, Piece: -1, Name: "test square"}
	}
	out := []devices.Stroke{stroke(pattern.RoleCheck, geom.Path{
		Points: []orb.Point{at, {at[0] + side, at[1]}, {at[0] + side, at[1] + side}, {at[0], at[1] + side}}, Closed: true,
	})}
	height := math.Min(squareLetter, side/8)
	text := strconv.FormatFloat(side, 'f', -1, 64) + " mm"
	lines, width := letters.Strokes(text, height)
	to := geom.Translate(at[0]+(side-width)/2, at[1]+(side-height)/2)
	if lettersItself(p) {
		word := pattern.Word{Text: text, Along: orb.Point{1, 0}, Height: height}
		return append(out, worded(stroke(pattern.RoleCheck, geom.Path{}), word, to))
	}
	for _, line := range lines {
		out = append(out, stroke(pattern.RoleCheck, line.Apply(to)))
	}
	return out
}

// space is the material divided into cells, each taken or free.
type space struct {
	low  orb.Point
	w, h int
	sum  [][]int // how many taken cells lie below and left
}

// newSpace marks the cells that the pieces take. A roll is as long as the lay plus the length of one square.
func newSpace(ready []pattern.Ready, l pattern.Lay, p devices.Profile) *space {
	m := l.Material
	width, length := m.Width, m.Length
	if width == 0 || p.Width > 0 && p.Width < width {
		width = p.Width
	}
	if p.Length > 0 && (length == 0 || p.Length < length) && p.Plot.Long != "frames" && p.Plot.Long != "sheets" {
		length = p.Length
	}
	outlines, used := placed(ready, l)
	switch {
	case length == 0 && m.Pages.Step > 0: // no sheet is begun for the square alone
		length = math.Max(0, math.Ceil((used-m.Pages.Room)/m.Pages.Step))*m.Pages.Step + m.Pages.Room
	case length == 0:
		length = used + 200
	}
	s := &space{low: orb.Point{m.Margin, m.Margin}}
	s.w, s.h = cells(length-2*m.Margin), cells(width-2*m.Margin)
	taken := make([][]bool, s.w)
	for i := range taken {
		taken[i] = make([]bool, s.h)
	}
	for _, o := range outlines {
		s.mark(taken, o)
	}
	for from := m.Pages.Step; from > 0 && from < length; from += m.Pages.Step { // the strip that two sheets share
		to := from + m.Pages.Room - m.Pages.Step
		s.mark(taken, geom.Path{Closed: true, Points: orb.Bound{Min: orb.Point{from, 0}, Max: orb.Point{to, width}}.ToRing()[:4]})
	}
	s.accumulate(taken)
	return s
}

// cells is how many cells fit in a length: none in an invalid length, and at most those of 200 m.
func cells(mm float64) int {
	if !(mm > 0) {
		return 0
	}
	return int(math.Min(mm, 200_000) / squareCell)
}

// placed gives the outlines at their places and the length that they reach.
func placed(ready []pattern.Ready, l pattern.Lay) (outlines []geom.Path, used float64) {
	used = l.LengthUsed
	for _, pl := range l.Placements {
		if pl.Ready < 0 || pl.Ready >= len(ready) || len(ready[pl.Ready].Outline.Points) == 0 {
			continue
		}
		o := ready[pl.Ready].Outline.Apply(pl.Map)
		outlines = append(outlines, o)
		used = math.Max(used, o.Bound().Max[0])
		for _, line := range ready[pl.Ready].Lines { // lines beside a piece
			if b := line.Path.Apply(pl.Map).Bound(); !b.IsEmpty() && !(o.Bound().Contains(b.Min) && o.Bound().Contains(b.Max)) {
				outlines = append(outlines, geom.Path{Closed: true, Points: b.ToRing()[:4]})
			}
		}
	}
	return outlines, used
}

// mark takes the cells that an outline covers: column by column the cells inside it, and every cell that its line
// touches.
func (s *space) mark(taken [][]bool, o geom.Path) {
	for i := range o.Segments() {
		a, b := o.Segment(i)
		steps := int(geom.Dist(a, b)/(squareCell/2)) + 1
		for k := 0; k <= steps; k++ {
			q := geom.Lerp(a, b, float64(k)/float64(steps))
			x, y := s.cell(q)
			if x >= 0 && x < s.w && y >= 0 && y < s.h {
				taken[x][y] = true
			}
		}
	}
	b := o.Bound()
	x0, _ := s.cell(b.Min)
	x1, _ := s.cell(b.Max)
	for x := max(0, x0); x <= min(s.w-1, x1); x++ {
		s.markColumn(taken[x], o, s.low[0]+(float64(x)+0.5)*squareCell)
	}
}

// markColumn takes the cells of a column whose middle lies inside an outline.
func (s *space) markColumn(column []bool, o geom.Path, x float64) {
	turns := make([]int, s.h+1) // changes of the winding number below each cell's middle
	for i := range o.Segments() {
		a, b := o.Segment(i)
		if (a[0] <= x) == (b[0] <= x) {
			continue
		}
		y := a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
		k := int(math.Ceil((y-s.low[1])/squareCell - 0.5))
		turns[min(max(k, 0), s.h)]++
	}
	in := 0
	for y := range column {
		in += turns[y]
		if in%2 == 1 {
			column[y] = true
		}
	}
}

func (s *space) cell(q orb.Point) (x, y int) {
	return int(math.Floor((q[0] - s.low[0]) / squareCell)), int(math.Floor((q[1] - s.low[1]) / squareCell))
}

func (s *space) accumulate(taken [][]bool) {
	s.sum = make([][]int, s.w+1)
	s.sum[0] = make([]int, s.h+1)
	for x := range s.w {
		s.sum[x+1] = make([]int, s.h+1)
		for y := range s.h {
			s.sum[x+1][y+1] = s.sum[x][y+1] + s.sum[x+1][y] - s.sum[x][y]
			if taken[x][y] {
				s.sum[x+1][y+1]++
			}
		}
	}
}

// find is the lower left corner of a free square of a side, the first along the material.
func (s *space) find(side float64) (orb.Point, bool) {
	n := int(math.Ceil(side / squareCell))
	for x := 0; x+n <= s.w; x++ {
		for y := 0; y+n <= s.h; y++ {
			if s.sum[x+n][y+n]-s.sum[x][y+n]-s.sum[x+n][y]+s.sum[x][y] == 0 {
				return orb.Point{s.low[0] + float64(x)*squareCell, s.low[1] + float64(y)*squareCell}, true
			}
		}
	}
	return orb.Point{}, false
}
