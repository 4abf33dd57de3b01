// Package plan turns placed pieces into strokes in the order in which a device draws or cuts them. It chooses the tool
// by each line's role, joins lines whose ends meet, keeps idle travel short, and on a cutter puts inner lines before
// outer ones.
package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Options tune a plan. The zero value is the usual one.
type Options struct {
	// Square is the side of the test square in mm, 0 means 50, below 0 none. Only pens draw it.
	Square float64
	// JoinTol is the distance of two ends up to which they are joined, mm; 0 means 0.01.
	JoinTol float64
	// Effort bounds the search for short travel, in moves and not in time: 10 is usual (0 means that).
	Effort int
	// Start is the place of the tool at first.
	Start orb.Point
}

// Report tells what planning did. Lengths are mm.
type Report struct {
	// TravelGiven is the idle travel with the lines in the order of the pieces, TravelNearest with always the nearest
	// end next, Travel as planned. The gaps of dashed lines are not counted.
	TravelGiven, TravelNearest, Travel float64
	// Drawn is the length of all lines, Seconds the estimated time for drawing and travel.
	Drawn, Seconds float64
	// Strokes is the number of lines made without lifting, Joined the number of joints that saved a lift.
	Strokes, Joined int
	// LeftOut counts the lines that this device does not make, by role.
	LeftOut map[string]int
	// Square is where the test square lies, nil where none was drawn.
	Square *orb.Bound
	// Length is how far the plot reaches along the material.
	Length float64
	Notes  []string
}

// Strokes plans the laid pieces for a device. Stroke.Piece is the index into l.Placements. A pen
// plotter draws all lines; a cutter without a pen makes only outlines and lines that are to be cut; a
// cutter with a pen draws first and cuts afterwards.
func Strokes(ready []pattern.Ready, l pattern.Lay, p devices.Profile, opt Options) ([]devices.Stroke, Report) {
	opt.Square = cmp.Or(opt.Square, 50)
	opt.JoinTol = cmp.Or(opt.JoinTol, 0.01)
	var rep Report
	drawn, cut := gather(ready, l, p, &rep)
	if given := append(slices.Clone(drawn), allCuts(cut)...); slices.ContainsFunc(given, odd) {
		rep.note("a line has a place that is no number or lies kilometres off: the lines are left in their order")
		return given, rep
	}
	if p.HasPen() {
		drawn = append(drawn, square(ready, l, p, opt, &rep)...)
	}
	given := append(append([]devices.Stroke(nil), drawn...), allCuts(cut)...)
	rep.TravelGiven = travel(given, opt.Start)

	drawn, rep.Joined = join(drawn, p, opt.JoinTol)
	for i := range cut {
		var n int
		cut[i].inner, n = join(cut[i].inner, p, opt.JoinTol)
		rep.Joined += n
	}

	out, at := orderDrawn(drawn, p, opt)
	out = append(out, orderCuts(cut, at, opt.Effort)...)
	rep.Travel, rep.TravelNearest = travel(out, opt.Start), nearestInGroups(out, p, opt.Start)
	out = dashed(out, p)
	rep.Strokes = len(out)
	for _, s := range out {
		rep.Drawn += s.Path.Length()
		if !s.Path.Bound().IsEmpty() {
			rep.Length = max(rep.Length, s.Path.Bound().Max[0])
		}
	}
	rep.Seconds = seconds(out, p, opt.Start)
	return out, rep
}

// far is the coordinate beyond which a place is invalid, mm; no material is so large.
const far = 1e7

// odd reports whether a stroke has an invalid place. Encoders refuse such a stroke with the name of its piece.
func odd(s devices.Stroke) bool {
	return slices.ContainsFunc(s.Path.Points, func(p orb.Point) bool {
		return !(math.Abs(p[0]) < far && math.Abs(p[1]) < far)
	})
}

// ends are where a stroke is entered and left.
func ends(s devices.Stroke) (in, out orb.Point) {
	pts := s.Path.Points
	if s.Path.Closed {
		return pts[0], pts[0]
	}
	return pts[0], pts[len(pts)-1]
}

// travel is the idle way from start through strokes in their order, mm.
func travel(strokes []devices.Stroke, start orb.Point) float64 {
	var sum float64
	for _, s := range strokes {
		in, out := ends(s)
		sum += geom.Dist(start, in)
		start = out
	}
	return sum
}

// nearestInGroups is the travel of the simple order, always to the nearest end left, with tools, pens and pieces in
// the order of the strokes.
func nearestInGroups(strokes []devices.Stroke, p devices.Profile, start orb.Point) float64 {
	type turn struct {
		tool    devices.Tool
		pen     group
		piece   int
		outline bool
	}
	of := func(s devices.Stroke) turn {
		if s.Tool == devices.Knife {
			return turn{tool: s.Tool, piece: s.Piece, outline: s.Role == string(pattern.RoleCut)}
		}
		return turn{tool: s.Tool, pen: group{window(s, p), p.Pen.For(s.Role)}}
	}
	var sum float64
	for from := 0; from < len(strokes); {
		to := from + 1
		for to < len(strokes) && of(strokes[to]) == of(strokes[from]) {
			to++
		}
		d, at := nearestTravel(strokes[from:to], start)
		sum, start, from = sum+d, at, to
	}
	return sum
}

func nearestTravel(strokes []devices.Stroke, at orb.Point) (sum float64, end orb.Point) {
	order, flip := greedy(endsOf(strokes), at, -1)
	for _, i := range order {
		in, out := ends(strokes[i])
		if flip[i] {
			in, out = out, in
		}
		sum += geom.Dist(at, in)
		at = out
	}
	return sum, at
}

func endsOf(strokes []devices.Stroke) []orb.Point {
	out := make([]orb.Point, 0, 2*len(strokes))
	for _, s := range strokes {
		a, b := ends(s)
		out = append(out, a, b)
	}
	return out
}

// seconds estimates the time of the whole plot from the device's speeds.
func seconds(strokes []devices.Stroke, p devices.Profile, at orb.Point) float64 {
	var sum float64
	for _, s := range strokes {
		t := timing(s, p)
		in, out := ends(s)
		pts := s.Path.Points
		if s.Path.Closed {
			pts = append(append([]orb.Point(nil), pts...), pts[0])
		}
		times := t.Draw(pts, nil)
		sum += t.Move(geom.Dist(at, in)) + t.Lift + times[len(times)-1]
		at = out
	}
	return sum
}

// timing are the speeds at which a stroke is made.
func timing(s devices.Stroke, p devices.Profile) devices.Timing {
	if p.Language != devices.GCode {
		return p.PenTiming(p.Pen.For(s.Role))
	}
	t := p.PenTiming(0)
	g := p.Gantry
	set := func(to *float64, v float64) {
		if v > 0 {
			*to = v
		}
	}
	set(&t.Speed, g.FeedCut/60)
	set(&t.Travel, g.FeedTravel/60)
	set(&t.Acceleration, g.Acceleration)
	if g.FeedPlunge > 0 && p.Blade.SafeZ > p.Blade.CutZ {
		t.Lift = 2 * (p.Blade.SafeZ - p.Blade.CutZ) / (g.FeedPlunge / 60)
	}
	return t
}

func (r *Report) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}

func (r *Report) leaveOut(role string) {
	if r.LeftOut == nil {
		r.LeftOut = map[string]int{}
	}
	r.LeftOut[role]++
}
