package knife

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// style is how a tool follows its path.
type style int

const (
	following style = iota // pen, or a blade without offset: the pivot runs on the path
	dragging               // the tip trails the pivot
	turning                // a motor turns the blade along the path
)

const (
	// curveShift and lineShift are how far a kink may put the pivot across its line, mm, and still be run through, on
	// curves and between lines. The tip strays by less. Lines that meet in such kinks stand for a curve, and have the
	// arcs' share of the error budget.
	curveShift, lineShift = 0.004, 0.012
	// mostBlend is the largest kink run through, radians.
	mostBlend = 4 * math.Pi / 180
	// chordError is the greatest error at the tip, mm, of a straight move in place of a turning arc; it is d a^3 / 12 for
	// a turn of a radians.
	chordError = 0.01
	// alwaysLift is the turn from which the blade is lifted whatever the profile says, because it would turn in its own
	// width. Such turns are made in two halves, so that none is more than a half turn after rounding.
	alwaysLift = 170 * math.Pi / 180
	// defaultSwivel and defaultLift are the angles for a profile that names none, degrees.
	defaultSwivel, defaultLift = 10, 60
)

// writer makes motions and keeps the places of the pivot and the blade's heading.
type writer struct {
	p     devices.Profile
	rep   *Report
	style style
	d     float64 // pivot ahead of the tip, mm; 0 unless dragging

	blend                          blend
	chord, lift                    float64 // turns in radians
	feedCut, feedSwivel, feedSlide float64

	out     []devices.Motion
	pos     orb.Point
	heading orb.Point // of length 1; zero while it is not known
	turn    float64   // rotary axis, radians, running on
	stroke  int
	piece   int
	name    string
}

func newWriter(p devices.Profile, rep *Report) *writer {
	w := &writer{p: p, rep: rep, stroke: -1, piece: -1}
	switch {
	case p.Kind == devices.TangentialKnife:
		w.style = turning
		w.heading = orb.Point{1, 0}
	case p.Kind == devices.DragKnife && p.Blade.Offset > 0:
		w.style, w.d = dragging, p.Blade.Offset
	}
	if p.Kind.Cuts() {
		w.angles()
	}
	w.feeds()
	return w
}

// angles sets the turns from which a kink is run through, cut straight across, turned or lifted.
func (w *writer) angles() {
	swivel, lift := w.p.Blade.SwivelAngle, w.p.Blade.LiftAngle
	if swivel <= 0 {
		swivel = defaultSwivel
	}
	if lift <= 0 {
		lift = defaultLift
	}
	w.chord, w.lift = swivel*math.Pi/180, math.Min(lift*math.Pi/180, alwaysLift)
	w.blend = blend{math.Pi / 180, math.Pi / 180}
	if w.style == dragging {
		w.chord = math.Min(w.chord, math.Cbrt(12*chordError/w.d))
		most := math.Min(mostBlend, w.chord)
		w.blend = blend{math.Min(most, 2*curveShift/w.d), math.Min(most, 2*lineShift/w.d)}
	}
}

// feeds limits the turning speed to what the gantry can hold: v^2/d is at most its acceleration.
func (w *writer) feeds() {
	g := w.p.Gantry
	w.feedCut, w.feedSwivel, w.feedSlide = g.FeedCut, g.FeedSwivel, g.FeedPlunge
	if w.style == turning {
		w.feedSwivel = g.FeedTurn
		if w.feedSwivel <= 0 {
			w.feedSwivel = 10800
		}
		return
	}
	w.feedSwivel = math.Min(w.feedSwivel, w.roundFeed(w.d))
	if w.feedSlide <= 0 {
		w.feedSlide = g.FeedCut // a pen's profile need not have a feed for it
	}
}

// roundFeed is the most that a gantry can hold on a circle of radius r, mm/min.
func (w *writer) roundFeed(r float64) float64 {
	a := w.p.Gantry.Acceleration
	if a <= 0 || r <= 0 {
		return math.Inf(1)
	}
	return 60 * math.Sqrt(a*r)
}

func (w *writer) emit(m devices.Motion) {
	m.Stroke, m.Piece, m.Turn = w.stroke, w.piece, w.turn
	w.out = append(w.out, m)
	w.pos = m.To
}

// over is the place of the pivot with the tip at a point and the blade along a heading.
func (w *writer) over(tip, heading orb.Point) orb.Point {
	return geom.Add(tip, geom.Mul(heading, w.d))
}

func (w *writer) travel(to orb.Point) {
	w.emit(devices.Motion{Kind: devices.Travel, To: to, Note: w.name})
}

func (w *writer) plunge(z float64) {
	w.emit(devices.Motion{Kind: devices.Plunge, To: w.pos, Z: z, Feed: w.feedSlide})
}

func (w *writer) raise(z float64) {
	w.emit(devices.Motion{Kind: devices.Raise, To: w.pos, Z: z, Feed: w.feedSlide})
}

// run cuts one element, from and to the headings given.
func (w *writer) run(e element, to orb.Point) {
	end := w.over(e.b, to)
	if !e.arc {
		w.heading = to
		w.emit(devices.Motion{Kind: devices.CutLine, To: end, Feed: w.feedCut})
		return
	}
	if w.style == turning {
		w.turn += e.sweep
	}
	w.heading = to
	r := math.Hypot(e.r, w.d)
	feed := math.Min(w.feedCut, w.roundFeed(r))
	if w.style == dragging && e.r < w.d {
		feed = math.Min(feed, w.feedSwivel) // mostly turning
	}
	w.emit(devices.Motion{
		Kind: devices.CutArc, To: end, Centre: geom.ArcCentre(w.pos, end, e.c), CCW: e.sweep > 0, Feed: feed,
	})
}

// corner brings the blade from its heading to the next one, the tip at v, at cutting depth z.
func (w *writer) corner(v, next orb.Point, z float64) {
	a := turnBetween(w.heading, next)
	size := math.Abs(a)
	switch {
	case w.style == following || w.heading == next:
		w.heading = next
	case w.style == dragging && size < w.chord:
		w.heading = next
		if to := w.over(v, next); to != w.pos {
			w.emit(devices.Motion{Kind: devices.CutLine, To: to, Feed: w.feedCut})
		}
	case size >= w.lift:
		w.rep.Lifts++
		up := w.swivelZ(z)
		w.raise(up)
		w.swivel(v, next, up)
		w.plunge(z)
	default:
		w.swivel(v, next, z)
	}
}

// swivelZ is the height at which the blade turns while it cuts at z. A tangential knife turns clear of the cloth, because
// its tip is its axis and needs no hold.
func (w *writer) swivelZ(z float64) float64 {
	if w.style == turning {
		return w.p.Blade.SafeZ
	}
	return math.Max(z, w.p.Blade.SwivelZ)
}

// swivel turns the blade about its tip, the short way.
func (w *writer) swivel(v, next orb.Point, z float64) {
	a := turnBetween(w.heading, next)
	w.rep.Swivels++
	w.rep.MaxSwivel = math.Max(w.rep.MaxSwivel, math.Abs(a))
	if w.style == dragging && math.Abs(a) >= alwaysLift {
		half := turned(w.heading, a/2)
		w.turnTo(v, half, a > 0, z)
		w.turnTo(v, next, a > 0, z)
		return
	}
	if w.style == turning {
		w.turn += a
	}
	w.turnTo(v, next, a > 0, z)
}

func (w *writer) turnTo(v, next orb.Point, ccw bool, z float64) {
	w.heading = next
	w.emit(devices.Motion{
		Kind: devices.Swivel, To: w.over(v, next), Centre: v, CCW: ccw, Z: z, Feed: w.feedSwivel,
	})
}

// enter brings the tool down at s to depth z, the blade along t.
func (w *writer) enter(s, t orb.Point, z float64) {
	switch {
	case w.style == following:
		w.travel(s)
		w.heading = t
	case w.style == turning:
		w.travel(s)
		if w.heading != t {
			w.swivel(s, t, w.p.Blade.SafeZ)
		}
	case math.Abs(turnBetween(w.heading, t))*w.d <= curveShift/2:
		w.heading = t
		w.travel(w.over(s, t))
	default:
		w.travel(w.over(s, w.heading))
		up := w.swivelZ(z)
		w.plunge(up)
		w.swivel(s, t, up)
		if up == z {
			return
		}
	}
	w.plunge(z)
}

func (w *writer) leave() { w.raise(w.p.Blade.SafeZ) }
