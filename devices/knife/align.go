package knife

import (
	"fmt"
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

const (
	// alignOffsets is the least length of the straight alignment stroke in blade offsets. A
	// straight pull of s leaves tan(theta/2) = tan(a/2) exp(-s/d) of a misalignment a: after
	// fifteen, fewer than one heading in 40,000 is off by more than a degree.
	alignOffsets = 15
	// hookOffsets and hookAngle are a short pull at a slant before it. A blade that stands exactly
	// against a straight pull stays so; the slant frees it.
	hookOffsets, hookAngle = 3, 40 * math.Pi / 180
	// alignClear is how far from any wanted line the blade must stay in waste, mm, beyond what it
	// can reach.
	alignClear = 1.0
	// alignStep is the grid on which a free place is sought, mm.
	alignStep = 4.0
)

// align makes the alignment stroke, from where the blade's heading is known.
func (w *writer) align(strokes []devices.Stroke, jobs []job) error {
	way, err := w.alignPlace(strokes, jobs)
	if err != nil {
		return err
	}
	w.rep.Align = geom.Path{Points: way}
	w.name = ""
	w.travel(way[0])
	w.plunge(w.depth(1))
	for _, pt := range way[1:] {
		w.emit(devices.Motion{Kind: devices.AlignStart, To: pt, Feed: w.feedCut})
	}
	w.heading = geom.Unit(geom.Sub(way[2], way[1]))
	w.leave()
	return nil
}

// alignPlace finds the place for the alignment stroke: where the profile names one, otherwise in waste as near to the
// first stroke as possible.
func (w *writer) alignPlace(strokes []devices.Stroke, jobs []job) ([]orb.Point, error) {
	s := newWaste(strokes, w.p)
	length := math.Max(w.p.Blade.Align, alignOffsets*w.d)
	dirs := []orb.Point{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}
	if t := jobs[0].first(); t != (orb.Point{}) {
		dirs = append([]orb.Point{t}, dirs...)
	}
	named := s.inside(orb.Point(w.p.Blade.AlignAt))
	if way, ok := s.wayFrom([]orb.Point{named}, dirs, length, w.d); ok {
		return way, nil
	}
	if way, ok := s.wayFrom(s.grid(strokes[0].Path.Points[0], length), dirs, length, w.d); ok {
		return way, nil
	}
	return nil, fmt.Errorf("device %q: no waste is left for the stroke of %v mm that turns the blade into its direction, neither at blade.align_at (%v, %v) nor beside the pieces; move the pieces apart or keep a margin free",
		w.p.Name, geom.Rounded(length+hookOffsets*w.d, 1), named[0], named[1])
}

// wayFrom gives the first way without wanted lines from one of the places in one of the directions.
func (s *waste) wayFrom(places, dirs []orb.Point, length, d float64) ([]orb.Point, bool) {
	for _, at := range places {
		for _, dir := range dirs {
			if way := alignWay(at, dir, length, d); s.free(way) {
				return way, true
			}
		}
	}
	return nil, false
}

// alignWay is the pivot's way: the slanted hook, then the straight.
func alignWay(at, dir orb.Point, length, d float64) []orb.Point {
	bend := geom.Add(at, geom.Mul(turned(dir, hookAngle), hookOffsets*d))
	return []orb.Point{at, bend, geom.Add(bend, geom.Mul(dir, length))}
}

// waste tells which places lie inside the bed and keep clear of wanted lines.
type waste struct {
	lo, hi orb.Point // where the pivot may go
	clear  float64
	index  *geom.Index
	stabs  []orb.Point
	pieces []geom.Path
	bounds []orb.Bound
	used   orb.Bound // round all strokes
}

func newWaste(strokes []devices.Stroke, p devices.Profile) *waste {
	d := p.Blade.Offset
	s := &waste{clear: d + alignClear, lo: orb.Point{d, d}, hi: orb.Point{p.Length - d, p.Width - d}}
	if p.Length <= 0 {
		s.hi[0] = math.Inf(1)
	}
	var paths []geom.Path
	for i, st := range strokes {
		b := st.Path.Bound()
		if i == 0 {
			s.used = b
		}
		s.used = s.used.Union(b)
		if st.Path.Segments() == 0 {
			s.stabs = append(s.stabs, st.Path.Points...)
			continue
		}
		paths = append(paths, st.Path)
		if st.Path.Closed {
			s.pieces, s.bounds = append(s.pieces, st.Path), append(s.bounds, b)
		}
	}
	if len(paths) > 0 {
		s.index = geom.NewIndex(paths...)
	}
	return s
}

// inside is the place of the bed nearest to one asked for.
func (s *waste) inside(at orb.Point) orb.Point {
	for k := range at {
		at[k] = math.Max(s.lo[k], math.Min(at[k], s.hi[k]))
	}
	return at
}

// grid gives places on and around the lay, the nearest to a point first.
func (s *waste) grid(from orb.Point, length float64) []orb.Point {
	box := s.used.Pad(length + 2*s.clear)
	lo, hi := s.inside(box.Min), s.inside(box.Max)
	var out []orb.Point
	for x := lo[0]; x <= hi[0]; x += alignStep {
		for y := lo[1]; y <= hi[1]; y += alignStep {
			out = append(out, orb.Point{x, y})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return geom.Dist(out[i], from) < geom.Dist(out[j], from) })
	return out
}

// free tells whether the blade can be pulled along a way without touching wanted lines.
func (s *waste) free(way []orb.Point) bool {
	for i := 1; i < len(way); i++ {
		n := int(math.Ceil(geom.Dist(way[i-1], way[i]) / (alignClear / 2)))
		for k := 0; k <= n; k++ {
			if !s.freeAt(geom.Lerp(way[i-1], way[i], float64(k)/float64(n))) {
				return false
			}
		}
	}
	return true
}

func (s *waste) freeAt(q orb.Point) bool {
	for k := range q {
		if q[k] < s.lo[k] || q[k] > s.hi[k] {
			return false
		}
	}
	if s.index != nil {
		if _, n := s.index.Nearest(q); n.Dist < s.clear {
			return false
		}
	}
	for _, st := range s.stabs {
		if geom.Dist(st, q) < s.clear {
			return false
		}
	}
	for i, b := range s.bounds {
		if b.Contains(q) && s.pieces[i].Contains(q) {
			return false
		}
	}
	return true
}
