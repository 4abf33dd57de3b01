package check

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// sewnLine is the line along which a piece is sewn, for what is cut or marked inside it. A fold is no part of it.
type sewnLine struct {
	line  *geom.Path
	whole *geom.Index // with the folds
	seams *geom.Index // without them, nil where all is fold
	folds []pattern.Segment
}

// sewnLine is the closed sew line of the piece, else its outline.
func (s *subject) sewnLine() *sewnLine {
	w := &sewnLine{line: s.outline, folds: s.p.Folds()}
	if s.p.Cut != nil {
		most := s.outline.Area() / 2 // a smaller one is sewn within the piece, as round an opening
		for i := range s.p.Sew {
			if l := &s.p.Sew[i]; l.Closed && l.Area() > most {
				w.line, most = l, l.Area()
			}
		}
	}
	var seams []geom.Path
	for i := range w.line.Segments() {
		if a, b := w.line.Segment(i); !w.onFold(a, b) {
			seams = append(seams, geom.Path{Points: []orb.Point{a, b}})
		}
	}
	w.whole = geom.NewIndex(*w.line)
	if len(seams) > 0 {
		w.seams = geom.NewIndex(seams...)
	}
	return w
}

func (w *sewnLine) onFold(a, b orb.Point) bool {
	return slices.ContainsFunc(w.folds, func(f pattern.Segment) bool { return f.Holds(a, b) })
}

// gap is how far in mm a place lies inside the sewn line, below 0 outside it. A part that reaches over a fold is opened out with
// the piece and lies as far inside as its mirror image.
func (w *sewnLine) gap(q orb.Point) float64 {
	d := w.oneGap(q)
	for _, f := range w.folds {
		d = math.Max(d, w.oneGap(geom.MirrorLine(f.A, f.B).Apply(q)))
	}
	return d
}

func (w *sewnLine) oneGap(q orb.Point) float64 {
	_, edge := w.whole.Nearest(q)
	inside := edge.Dist <= plateau || w.line.Contains(q)
	if !inside {
		return -edge.Dist
	}
	if w.seams == nil {
		return math.Inf(1)
	}
	_, seam := w.seams.Nearest(q)
	return seam.Dist
}

// atCorner tells whether a place is where two edges of the sewn line meet.
func (w *sewnLine) atCorner(s *subject, q orb.Point) bool {
	for _, e := range s.p.EdgesOf(w.line) {
		if geom.Dist(w.line.Points[e.First], q) <= plateau {
			return true
		}
	}
	return false
}

// leastGap is the place of a line at which it lies least far inside the sewn line.
func (w *sewnLine) leastGap(line geom.Path) (least float64, at orb.Point) {
	least = math.Inf(1)
	for _, q := range samples(line) {
		if d := w.gap(q); d < least-geom.Tiny {
			least, at = d, q
		}
	}
	return least, at
}

// Places of a line are looked at so far apart in mm, and no more of them than mostLooked.
const (
	sampleStep = 1.0
	mostLooked = 4000
)

// samples are places all along a line, its vertices with them.
func samples(line geom.Path) []orb.Point {
	step := math.Max(sampleStep, line.Length()/mostLooked)
	var out []orb.Point
	for i := range line.Segments() {
		a, b := line.Segment(i)
		n := math.Max(1, math.Ceil(geom.Dist(a, b)/step))
		for k := range int(n) {
			out = append(out, geom.Lerp(a, b, float64(k)/n))
		}
	}
	if !line.Closed && len(line.Points) > 0 {
		out = append(out, line.Points[len(line.Points)-1])
	}
	return out
}

// crossed are places all along a line that crosses the outline, also where it leaves it between two samples; else its
// vertices tell enough.
func (s *subject) crossed(line geom.Path) []orb.Point {
	meets := geom.Crossings(line, *s.outline)
	if len(meets) < 2 {
		return line.Points
	}
	out := samples(line)
	ruler := line.Ruler()
	for i := 1; i < len(meets); i++ {
		a, b := line.Nearest(meets[i-1].At).S, line.Nearest(meets[i].At).S
		mid, _ := ruler.At((a + b) / 2)
		out = append(out, mid)
	}
	return out
}

// seamClear is how far in mm a buttonhole stays inside the sewn line, so that the seam does not run into its
// stitching: common practice.
const seamClear = 3.0

// buttonholeFault tells what is wrong with where a buttonhole lies, "" if nothing; spoils is true where it is on the sewn
// line or outside it.
func (s *subject) buttonholeFault(w *sewnLine, name string, line geom.Path) (text, mend string, at orb.Point, spoils bool) {
	if n := len(line.Points); n > 1 && w.onFold(line.Points[0], line.Points[n-1]) {
		return name + " lies along the fold, from " + s.place(line.Points[0]) + " to " + s.place(line.Points[n-1]),
			"draw it across the fold, or beside it", line.Points[0], true
	}
	gap, at := w.leastGap(line)
	if gap >= seamClear-plateau/10 {
		return "", "", at, false
	}
	mend = "move it " + s.say.length(seamClear) + " or more inside the seam lines; of a row say from X to Y, both inside them"
	switch where := s.place(at); {
	case gap < -plateau:
		text, spoils = name+" reaches "+s.say.length(-gap)+" beyond the seam line at "+where, true
	case gap <= plateau:
		text, spoils = name+" lies on the seam line at "+where, true
	default:
		text = name + " lies only " + s.say.length(gap) + " inside the seam line at " + where + ": a seam wants " + s.say.length(seamClear)
	}
	return text, mend, at, spoils
}

// slitFault tells what is wrong with a slit: it begins at an edge, or inside, and runs inward. A part of a seam may be
// left open, the whole of one may not.
func (s *subject) slitFault(w *sewnLine, name string, line geom.Path) (text, mend string) {
	n := len(line.Points)
	if n < 2 {
		return "", ""
	}
	from, to := line.Points[0], line.Points[n-1]
	within := func(q orb.Point) bool { // more than on the sewn line, from which a slit is taken through the allowance
		_, near := w.whole.Nearest(q)
		return near.Dist > plateau && w.line.Contains(q)
	}
	if within(from) || within(to) {
		return "", ""
	}
	ends := "from " + s.place(from) + " to " + s.place(to)
	mend = "begin it at an edge and end it inside the piece"
	for _, q := range samples(line) {
		if within(q) {
			return name + " runs from edge to edge, " + ends + ": it cuts the piece in two", mend
		}
	}
	if w.atCorner(s, from) && w.atCorner(s, to) {
		return name + " runs along the whole edge, " + ends, mend + "; where a seam stays open, end it before the corner"
	}
	return "", ""
}
