package hpgl

import (
	"cmp"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// page is one sheet, frame or roll page: its lines, in mm from its own lower left corner.
type page struct {
	index  int     // position along the plot; blank pages count
	from   float64 // start along the plot, mm
	length float64 // mm, 0 where it is not known
	parts  []part
}

// part is a line drawn without lifting the pen: a stroke, or the part of it on one page.
type part struct {
	stroke int // index into the strokes, -1 for registration crosses
	last   bool
	pts    []orb.Point
	label  *devices.Label
}

// seamTol is how far, in plotter units, a line may extend past the end of a page and still count as on it.
const seamTol = 0.25

// paginate distributes the parts of strokes to pages.
func paginate(parts []part, strokes []devices.Stroke, p devices.Profile) ([]page, []string, error) {
	end := extent(parts)
	if p.Plot.Long == LongFrames || p.Plot.Long == LongSheets {
		return tile(parts, strokes, end, p)
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

// rollPage is the page length that is sent to a device, mm.
func rollPage(end float64, p devices.Profile) (float64, []string) {
	least := cmp.Or(p.Plot.MinPage, p.Width)
	length := end*p.Correction.ScaleX + p.Plot.EndMargin
	if length >= least {
		return wholeUnits(length, p.Plot.Unit), nil
	}
	return wholeUnits(least, p.Plot.Unit), []string{fmt.Sprintf("the roll will feed %.0f mm although the drawing needs %.0f mm, because plotters may turn a shorter page sideways. If yours does not, set plot.min_page lower", least, end)}
}

// greatestLength is the longest drawing that fits on one page, mm. The page length sent to the device must itself be
// in its range of numbers.
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

// add puts points on the page, in its own frame.
func (g *page) add(from part, pts []orb.Point, last bool) {
	moved := make([]orb.Point, len(pts))
	for i, q := range pts {
		moved[i] = orb.Point{q[0] - g.from, q[1]}
	}
	from.pts, from.last = moved, last
	g.parts = append(g.parts, from)
}

// between clips a line to a range of x. A line along a seam belongs to the side on its right.
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

// inside gives the part of the segment from a to b that lies in [lo, hi).
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

// wholeUnits rounds a length up to plotter units.
func wholeUnits(mm, unit float64) float64 { return math.Ceil(mm/unit-seamTol) * unit }

// Fed is the length of roll that a device that draws on one page feeds for a drawing of a length, mm.
func Fed(p devices.Profile, end float64) float64 {
	if p.Language != devices.HPGL && p.Language != devices.HPGL2 || p.Plot.Long != LongPageSize {
		return end
	}
	length, _ := rollPage(end, p)
	return length
}
