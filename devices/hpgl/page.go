package hpgl

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// page is one sheet, frame or roll page: what is drawn on it, in mm from its own lower left corner.
type page struct {
	from   float64 // where it begins along the plot, mm
	length float64 // mm, 0 where nobody says
	parts  []part
}

// part is a line drawn without lifting the pen: a stroke, or what of it lies on one page.
type part struct {
	stroke int // index into the strokes, -1 for registration crosses
	last   bool
	pts    []orb.Point
	label  *devices.Label
}

// seamTol is how far, in plotter units, a line may reach past the end of a page and still be on it.
const seamTol = 0.25

// paginate spreads the parts over pages.
func paginate(parts []part, p devices.Profile) ([]page, []string, error) {
	end := extent(parts)
	if p.Plot.Long == LongFrames || p.Plot.Long == LongSheets {
		return tile(parts, end, p)
	}
	if greatest := greatestLength(p); end > greatest+seamTol*p.Plot.Unit {
		return nil, nil, fmt.Errorf("the plot is %v mm long and the greatest length that would do is %v mm: "+
			"lay the pieces shorter, or set plot.long to %q or %q", geom.Rounded(end, 1), math.Floor(greatest*10)/10, LongFrames, LongSheets)
	}
	if p.Plot.Long == LongRefuse {
		return []page{{length: p.Length, parts: parts}}, nil, nil
	}
	length, notes := rollPage(end, p)
	return []page{{length: length, parts: parts}}, notes, nil
}

// rollPage is the length that a device is told, mm.
func rollPage(end float64, p devices.Profile) (float64, []string) {
	least := p.Plot.MinPage
	if least == 0 {
		least = p.Width
	}
	length := end*p.Correction.ScaleX + p.Plot.EndMargin
	if length >= least {
		return wholeUnits(length, p.Plot.Unit), nil
	}
	return wholeUnits(least, p.Plot.Unit), []string{fmt.Sprintf("the roll will feed %.0f mm although the drawing needs %.0f mm, because plotters may turn a shorter page sideways. If yours does not, set plot.min_page lower", least, end)}
}

// greatestLength is the longest drawing that goes on one page, mm. The length that a device is told
// must itself be a number in its range.
func greatestLength(p devices.Profile) float64 {
	q := p.Plot
	top := float64(q.MaxCoord) * q.Unit
	if q.Long == LongPageSize {
		top -= q.EndMargin
	} else if q.CentreOrigin {
		top += p.Length / 2
	}
	if p.Length > 0 {
		top = math.Min(top, p.Length)
	}
	return top / p.Correction.ScaleX
}

// extent is the greatest x of all parts.
func extent(parts []part) float64 {
	var end float64
	for _, pt := range parts {
		for _, q := range pt.pts {
			end = math.Max(end, q[0])
		}
	}
	return end
}

// tile cuts the plot into frames or sheets. A line that fits on a page whole, overlap included, is
// drawn there whole; a longer one is cut in the middle of the overlap.
func tile(parts []part, end float64, p devices.Profile) ([]page, []string, error) {
	t, err := newTiling(p)
	if err != nil {
		return nil, nil, err
	}
	n := 1
	if over := end - t.room - t.slack; over > 0 {
		n += int(math.Ceil(over / t.step))
	}
	if n > maxPages {
		return nil, nil, fmt.Errorf("the plot is %.0f mm long and would need %d frames of %v mm: the greatest length that would do is %.0f mm", end, n, geom.Rounded(t.room, 1), maxPages*t.step)
	}
	pages := make([]page, n)
	for i := range pages {
		pages[i] = page{from: float64(i) * t.step, length: p.Plot.FrameLength}
	}
	if n > 1 && t.overlap() >= 2*crossArm {
		for i := range pages {
			t.crosses(pages, i, p.Width)
		}
	}
	for _, pt := range parts {
		t.deal(pages, pt)
	}
	if n == 1 {
		return pages, nil, nil
	}
	return pages, t.notes(n, end, p), nil
}

// tiling is how pages follow each other along the plot, in mm of the plot: room is what one page can
// bear, step the way from one to the next.
type tiling struct{ room, step, slack float64 }

func (t tiling) overlap() float64 { return t.room - t.step }

// Pages tells how a device's sheets or frames follow one another along a plot, every step mm, and how much of it each
// bears, mm; 0 where it draws on one page, or has none that will do.
func Pages(p devices.Profile) (step, room float64) {
	if p.Language != devices.HPGL || p.Plot.Long != LongFrames && p.Plot.Long != LongSheets {
		return 0, 0
	}
	p, err := settle(p)
	if err != nil { // told when the plot is encoded
		return 0, 0
	}
	t, err := newTiling(p)
	if err != nil {
		return 0, 0
	}
	return t.step, t.room
}

// newTiling takes what the frame's length and the range of coordinates leave once the correction is
// applied. Frames advance by the device's own measure, which the correction turns into true mm; sheets
// are laid together by hand, so that they may follow as closely as they reach.
func newTiling(p devices.Profile) (tiling, error) {
	q, scale := p.Plot, p.Correction.ScaleX
	reach := q.FrameLength
	if !q.CentreOrigin {
		reach = math.Min(reach, float64(q.MaxCoord)*q.Unit)
	}
	t := tiling{slack: seamTol * q.Unit, room: (reach - math.Max(0, p.Correction.Skew)*p.Width) / scale}
	t.step = t.room - q.FrameOverlap
	if q.Long == LongFrames {
		t.step = (q.FrameLength - q.FrameOverlap) / scale
	}
	switch {
	case t.step < 1:
		return t, fmt.Errorf("one frame reaches %v mm and plot.frame_overlap takes %v mm of it: nothing is left to draw on", geom.Rounded(t.room, 1), q.FrameOverlap)
	case t.overlap() < 0:
		return t, fmt.Errorf("frames follow each other by %v mm and the coordinates reach %v mm: a gap would stay undrawn; make plot.frame_length shorter", geom.Rounded(t.step, 1), geom.Rounded(t.room, 1))
	}
	return t, nil
}

// maxPages is more than anybody would join by hand.
const maxPages = 1000

func (t tiling) notes(n int, end float64, p devices.Profile) []string {
	what := "frames"
	if p.Plot.Long == LongSheets {
		what = "sheets"
	}
	notes := []string{fmt.Sprintf("the plot is %.0f mm long and drawn on %d %s of %v mm, %v mm of which two share", end, n, what, geom.Rounded(t.room, 1), geom.Rounded(t.overlap(), 1))}
	if p.Plot.Long == LongFrames {
		notes = append(notes, "a plot in frames that was stopped after its first frame is best begun again: devices differ in what they keep of the frame")
	}
	if t.overlap() < 2*crossArm {
		notes = append(notes, fmt.Sprintf("an overlap under %d mm has no room for registration crosses", 2*crossArm))
	}
	return notes
}

// deal puts a part on the first page that holds it whole, or cuts it at the seams.
func (t tiling) deal(pages []page, pt part) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range pt.pts {
		lo, hi = math.Min(lo, q[0]), math.Max(hi, q[0])
	}
	for i := range pages {
		if lo >= pages[i].from-t.slack && hi <= pages[i].from+t.room+t.slack {
			pages[i].add(pt, pt.pts, pt.last)
			return
		}
	}
	pieces := make([][][]orb.Point, len(pages))
	last := 0
	for i := range pages {
		a, b := t.seam(i), t.seam(i+1)
		if i == 0 {
			a = math.Inf(-1)
		}
		if i == len(pages)-1 {
			b = math.Inf(1)
		}
		pieces[i] = between(pt.pts, a, b)
		if len(pieces[i]) > 0 {
			last = i
		}
	}
	for i, list := range pieces {
		for j, pts := range list {
			pages[i].add(pt, pts, pt.last && i == last && j == len(list)-1)
		}
	}
}

// seam is where lines are cut between page i-1 and page i.
func (t tiling) seam(i int) float64 { return float64(i)*t.step + t.overlap()/2 }

// add puts points on the page, in its own frame.
func (g *page) add(from part, pts []orb.Point, last bool) {
	moved := make([]orb.Point, len(pts))
	for i, q := range pts {
		moved[i] = orb.Point{q[0] - g.from, q[1]}
	}
	from.pts, from.last = moved, last
	g.parts = append(g.parts, from)
}

// between cuts out what of a line lies between two values of x. A line along a seam goes to the
// side on its right.
func between(pts []orb.Point, lo, hi float64) [][]orb.Point {
	var out [][]orb.Point
	var run []orb.Point
	flush := func() {
		if len(run) > 1 {
			out = append(out, run)
		}
		run = nil
	}
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		t0, t1, ok := inside(a[0], b[0], lo, hi)
		if !ok {
			flush()
			continue
		}
		if run == nil || t0 > 0 {
			flush()
			run = []orb.Point{geom.Lerp(a, b, t0)}
		}
		run = append(run, geom.Lerp(a, b, t1))
		if t1 < 1 {
			flush()
		}
	}
	flush()
	return out
}

// inside gives the stretch of the way from a to b that lies in [lo, hi).
func inside(a, b, lo, hi float64) (t0, t1 float64, ok bool) {
	if a == b {
		return 0, 1, a >= lo && a < hi
	}
	t0, t1 = (lo-a)/(b-a), (hi-a)/(b-a)
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	t0, t1 = math.Max(t0, 0), math.Min(t1, 1)
	return t0, t1, t0 < t1
}

// crossArm is half of a registration cross, mm.
const crossArm = 5

// crosses draws the registration marks of a page: two in the middle of each overlap, on both pages
// that share it, so that they lie on each other when the pages are true.
func (t tiling) crosses(pages []page, i int, width float64) {
	g := &pages[i]
	var marks []part
	for k := i; k <= i+1; k++ {
		if k == 0 || k == len(pages) {
			continue
		}
		x := t.seam(k) - g.from
		for _, y := range []float64{2 * crossArm, math.Max(width-2*crossArm, 4*crossArm)} {
			marks = append(marks,
				part{stroke: -1, pts: []orb.Point{{x - crossArm, y}, {x + crossArm, y}}},
				part{stroke: -1, pts: []orb.Point{{x, y - crossArm}, {x, y + crossArm}}})
		}
	}
	g.parts = append(g.parts, marks...)
}

// wholeUnits rounds a length up to plotter units.
func wholeUnits(mm, unit float64) float64 { return math.Ceil(mm/unit-seamTol) * unit }
