package hpgl

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/geom/letters"
)

// The only escape sequences that the encoder writes, each where the profile asks for it.
const (
	enterHPGL2 = "\x1b%-12345X\x1bE\x1b%-1B"
	leaveHPGL2 = "\x1b%0A\x1bE\x1b%-12345X"
	emptyAll   = "\x1b.J\x1b.K"
	etx        = "\x03"
)

// Encode writes strokes, in mm and in the order given, as a program for the plotter of profile p. Every coordinate is
// rounded once, from mm, after the profile's correction; relative numbers are differences of rounded places, so that
// rounding errors do not add up along a line. A stroke that rounds to one place becomes a dot. The pen of a stroke is
// that of its role.
//
// Encode refuses places off the page or out of the range of coordinates, and names pieces and places: a device drops
// such points silently and joins their neighbours (7470A manual, 3-6).
func Encode(strokes []devices.Stroke, p devices.Profile) (devices.Program, error) {
	p, err := settle(p)
	if err != nil {
		return devices.Program{}, err
	}
	for _, s := range strokes {
		if s.Tool == devices.Knife {
			return devices.Program{}, fmt.Errorf("%q has a line for a knife, and a plotter has none: choose a cutter", s.Name)
		}
	}
	pages, notes, err := paginate(partsOf(strokes, p), strokes, p)
	if err != nil {
		return devices.Program{}, err
	}
	e := &encoder{p: p, strokes: strokes, limit: p.Plot.InstructionBytes}
	e.out.Language, e.out.Notes = p.Language, notes
	e.begin(pages[0])
	for i, g := range pages {
		if i > 0 {
			e.nextPage(i, len(pages))
		}
		e.drawPage(g)
	}
	e.end()
	if err := e.refusal(); err != nil {
		return devices.Program{}, err
	}
	e.sum()
	return e.out, nil
}

// partsOf makes a part of every stroke; a label that the device cannot letter becomes several.
func partsOf(strokes []devices.Stroke, p devices.Profile) []part {
	parts := make([]part, 0, len(strokes))
	for i, s := range strokes {
		switch {
		case len(s.Path.Points) == 0:
		case s.Label != nil && p.Plot.ToolUp:
			parts = append(parts, part{stroke: i, last: true, pts: s.Path.Points})
		case s.Label != nil && p.Plot.Labels == "text":
			parts = append(parts, part{stroke: i, last: true, pts: baseline(s), label: s.Label})
		case s.Label != nil:
			lines := lettering(s)
			for j, line := range lines {
				parts = append(parts, part{stroke: i, last: j == len(lines)-1, pts: line})
			}
		default:
			pts := s.Path.Points
			if s.Path.Closed && len(pts) > 1 {
				pts = append(append(make([]orb.Point, 0, len(pts)+1), pts...), pts[0])
			}
			parts = append(parts, part{stroke: i, last: true, pts: pts})
		}
	}
	return parts
}

// baseline is the start of a label and a second point along it.
func baseline(s devices.Stroke) []orb.Point {
	at := s.Path.Points[0]
	along := orb.Point{1, 0}
	if len(s.Path.Points) > 1 {
		if u := geom.Unit(geom.Sub(s.Path.Points[1], at)); u != (orb.Point{}) {
			along = u
		}
	}
	return []orb.Point{at, geom.Add(at, along)}
}

// lettering draws a label in strokes.
func lettering(s devices.Stroke) [][]orb.Point {
	base := baseline(s)
	u := geom.Sub(base[1], base[0])
	m := geom.Affine{A: u[0], B: u[1], C: -u[1], D: u[0], E: base[0][0], F: base[0][1]}
	paths, _ := letters.Strokes(s.Label.Text, s.Label.Height)
	var out [][]orb.Point
	for _, path := range paths {
		pts := path.Apply(m).Points
		if path.Closed {
			pts = append(pts, pts[0])
		}
		out = append(out, pts)
	}
	return out
}

// place is a point in plotter units.
type place struct{ x, y int }

// encoder is the state of one run.
type encoder struct {
	p       devices.Profile
	strokes []devices.Stroke
	limit   int
	out     devices.Program

	page    page
	pen     int
	setup   []byte // the instructions that choose the current pen
	timing  devices.Timing
	at      orb.Point // where the pen is, mm on the page
	open    devices.Block
	openEnd place // the last point of an encoded block to which a stroke can still be added
	outside []string
	refused map[int]bool

	// Buffers for one line at a time.
	places           []place
	when, far, times []float64
}

// units rounds a place on the page to plotter units.
func (e *encoder) units(q orb.Point) place {
	c, u, o := e.p.Correction, e.p.Plot.Unit, e.origin()
	x := math.Round((c.ScaleX*q[0] + c.Skew*q[1] - o[0]) / u)
	y := math.Round((c.ScaleY*q[1] - o[1]) / u)
	if !(math.Abs(x) < 1<<40 && math.Abs(y) < 1<<40) {
		return place{math.MaxInt32, math.MaxInt32} // not a number, or out of range: check refuses it
	}
	return place{int(x), int(y)}
}

// origin is the place of the device's zero on the page, mm.
func (e *encoder) origin() orb.Point {
	if !e.p.Plot.CentreOrigin {
		return orb.Point{}
	}
	return orb.Point{e.page.length / 2, e.width() / 2}
}

// width is the width of the page, mm: in whole units where it is sent to the device.
func (e *encoder) width() float64 {
	if e.p.Plot.Long == LongPageSize {
		return wholeUnits(e.p.Width, e.p.Plot.Unit)
	}
	return e.p.Width
}

// check records a place that the device would drop, once for each piece.
func (e *encoder) check(pt part, q orb.Point, at place) {
	why := e.misfit(at)
	if why == "" {
		return
	}
	piece, name := -1, "the plot"
	if pt.stroke >= 0 {
		s := e.strokes[pt.stroke]
		piece = s.Piece
		if s.Name != "" {
			name = strconv.Quote(s.Name)
		}
	}
	if e.refused[piece] {
		return
	}
	if e.refused == nil {
		e.refused = map[int]bool{}
	}
	e.refused[piece] = true
	e.outside = append(e.outside, fmt.Sprintf("%s at (%.2f, %.2f) mm %s", name, q[0]+e.page.from, q[1], why))
}

// misfit says why a place cannot be sent, "" if it can be.
func (e *encoder) misfit(at place) string {
	q := e.p.Plot
	lo, hi := min(at.x, at.y), max(at.x, at.y)
	if lo < q.MinCoord || hi > q.MaxCoord {
		return fmt.Sprintf("needs the coordinates %d,%d and this device takes %d to %d", at.x, at.y, q.MinCoord, q.MaxCoord)
	}
	o := e.origin()
	x, y := float64(at.x)*q.Unit+o[0], float64(at.y)*q.Unit+o[1]
	slack := q.Unit * (0.5 + seamTol)
	switch {
	case x < -slack:
		return fmt.Sprintf("lies %.3f mm before the start of the page: move it in, or widen the material's margin", -x)
	case y < -slack:
		return fmt.Sprintf("lies %.3f mm below the page: move it in, or widen the material's margin", -y)
	case e.page.length > 0 && x > e.page.length+slack:
		return fmt.Sprintf("lies %v mm past the end of the page, which is %v mm long", geom.Rounded(x-e.page.length, 3), geom.Rounded(e.page.length, 1))
	case e.p.Width > 0 && y > e.p.Width+slack:
		return fmt.Sprintf("lies %v mm above the page, which is %v mm wide", geom.Rounded(y-e.p.Width, 3), geom.Rounded(e.p.Width, 1))
	}
	return ""
}

// maxRefusals is how many pieces are named; the others are counted.
const maxRefusals = 10

func (e *encoder) refusal() error {
	var errs []error
	for i, s := range e.outside {
		if i == maxRefusals {
			errs = append(errs, fmt.Errorf("and %d more pieces", len(e.outside)-i))
			break
		}
		errs = append(errs, errors.New(s))
	}
	return errors.Join(errs...)
}

// sum fills the program's totals from its blocks.
func (e *encoder) sum() {
	pieces := map[int]bool{}
	for _, s := range e.strokes {
		if s.Piece >= 0 {
			pieces[s.Piece] = true
		}
	}
	e.out.Strokes, e.out.Pieces = len(e.strokes), len(pieces)
	devices.OnLine(e.out.Blocks, e.p.Port)
	for _, b := range e.out.Blocks {
		e.out.DrawnMM += b.DrawnMM
		e.out.Seconds += b.Seconds
	}
}
