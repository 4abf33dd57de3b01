package sheets

import (
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// shape is what is laid: a piece, or the same piece in several sizes on top of one another. Ready is the piece as the
// lay search knows it.
type shape struct {
	pattern.Ready
	members []member
}

// member is one size of a shape.
type member struct {
	ready int // index into Set.Ready
	piece *pattern.Ready
	align geom.Affine // maps it to the place of the first one
	layer int         // 1 is the first size; 0 where there is one alone
}

// nest puts the same piece of several sizes on top of one another. Sizes that the draft draws on top of one another
// stay so; others are aligned at the lower left corners of their boxes. sizes are those that are nested.
func nest(set Set) (shapes []shape, sizes []string) {
	groups := map[[2]any][]int{}
	for i := range set.Ready {
		r := &set.Ready[i]
		k := [2]any{r.Name, r.Copy}
		if slices.ContainsFunc(groups[k], func(n int) bool { return set.Ready[n].Size == r.Size }) {
			k[1] = -i // a second piece of one name and size: by itself
		}
		groups[k] = append(groups[k], i)
	}
	for i := range set.Ready {
		r := &set.Ready[i]
		group := groups[[2]any{r.Name, r.Copy}]
		if !slices.Contains(group, i) {
			group = []int{i}
		}
		if group[0] != i {
			continue
		}
		if len(group) == 1 {
			shapes = append(shapes, shape{*r, []member{{i, r, geom.Identity, 0}}})
			continue
		}
		s := shape{Ready: *r}
		s.Lines, s.Fold, s.Second, s.Size = nil, nil, nil, ""
		var all []orb.Point
		first := r.Outline.Bound()
		for _, n := range group {
			m := member{ready: n, piece: &set.Ready[n], align: geom.Identity}
			b := m.piece.Outline.Bound()
			if in, ok := meet(first, b); !ok || area(in) < 0.5*math.Min(area(first), area(b)) {
				m.align = geom.Translate(first.Min[0]-b.Min[0], first.Min[1]-b.Min[1])
			}
			if m.layer = slices.Index(sizes, m.piece.Size) + 1; m.layer == 0 {
				sizes = append(sizes, m.piece.Size)
				m.layer = len(sizes)
			}
			all = append(all, m.piece.Outline.Apply(m.align).Points...)
			for _, ln := range m.piece.Lines {
				ln.Path = ln.Path.Apply(m.align)
				s.Lines = append(s.Lines, ln)
			}
			s.members = append(s.members, m)
		}
		s.Outline = hull(all)
		shapes = append(shapes, s)
	}
	return shapes, sizes
}

func area(b orb.Bound) float64 { return (b.Max[0] - b.Min[0]) * (b.Max[1] - b.Min[1]) }

// hull is the convex hull of some points, counter-clockwise (the monotone chain of A. M. Andrew, 1979).
func hull(points []orb.Point) geom.Path {
	pts := slices.Clone(points)
	sort.Slice(pts, func(i, k int) bool { return pts[i][0] < pts[k][0] || pts[i][0] == pts[k][0] && pts[i][1] < pts[k][1] })
	chain := func(from []orb.Point) []orb.Point {
		var out []orb.Point
		for _, p := range from {
			for n := len(out); n > 1 && geom.Cross(geom.Sub(out[n-1], out[n-2]), geom.Sub(p, out[n-2])) <= 0; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	low := chain(pts)
	slices.Reverse(pts)
	return geom.Path{Closed: true, Points: append(low, chain(pts)...)}
}

// nested are the kinds of line that are drawn for each of several sizes. Others, such as sew and grain lines, are
// drawn once: one for each size would hide them.
var nested = map[look.Kind]bool{look.Cut: true, look.Cutout: true, look.Slit: true, look.Notch: true, look.Drill: true, look.Loop: true,
	look.Dart: true, look.Fold: true, look.PleatFold: true, look.Placement: true, look.Mark: true}

const (
	sizeHigh  = 2.6   // letters of a size on its line, mm
	sizeEvery = 200.0 // along the line
	sizeFrom  = 8.0   // from the end of an edge
)

// sizeWords writes the name of a size along its cut line: at both ends of each edge and every 20 cm. The names of
// several sizes stand one after another, so that they stay readable where the lines coincide.
func sizeWords(line geom.Path, name string, layer int) []word {
	w := pattern.Word{Text: name, Height: sizeHigh}
	wide := strokeWidth(&w)
	ruler := line.Ruler()
	starts := line.Starts()
	var corners []float64
	for i := range line.Points {
		if line.Corner(i) || !line.Closed && (i == 0 || i == len(line.Points)-1) {
			corners = append(corners, starts[min(i, len(starts)-1)])
		}
	}
	if len(corners) == 0 {
		corners = []float64{0}
	}
	if line.Closed {
		corners = append(corners, ruler.Length()+corners[0])
	} else {
		corners[len(corners)-1] = ruler.Length()
	}
	var out []word
	put := func(s float64) {
		at, dir := ruler.At(ruler.Within(s))
		in := geom.Left(dir)
		if dir[0] < -1e-9 || math.Abs(dir[0]) <= 1e-9 && dir[1] < 0 { // read from below or from the right
			at = geom.Add(geom.Add(at, geom.Mul(in, 1+sizeHigh)), geom.Mul(dir, wide/2))
			dir = geom.Mul(dir, -1)
		} else {
			at = geom.Sub(geom.Add(at, geom.Mul(in, 1)), geom.Mul(dir, wide/2))
		}
		out = append(out, word{pattern.Word{Text: name, Height: sizeHigh, At: at, Along: dir}, wide, layer})
	}
	for i := 1; i < len(corners); i++ {
		from, to := corners[i-1], corners[i]
		before := sizeFrom + wide/2 + float64(layer-1)*(wide+2)
		switch long := to - from; {
		case long < wide+4: // no room
		case long < 2*before+wide:
			put((from + to) / 2)
		default:
			n := math.Max(1, math.Ceil((long-2*before)/sizeEvery))
			for k := 0.0; k <= n; k++ {
				put(from + before + (long-2*before)*k/n)
			}
		}
	}
	return out
}
