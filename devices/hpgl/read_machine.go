package hpgl

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// machine is the state of the pretended plotter. Places are in plotter units.
type machine struct {
	opt   ReadOptions
	out   Drawing
	hpgl2 bool

	x, y     float64
	lost     bool // relative moves ran out of range: ignore until an absolute one
	down     bool
	relative bool
	pen      int
	frame

	run       []orb.Point // what is being drawn
	resumed   bool        // run goes on from where the pen stood already, so that alone it is no dot
	runPen    int
	page      int
	marked    bool
	penWarned bool
	ct        bool // CT1: the chord parameter is a deviation
	text      standing
	polygon   *polygon
	buffer    [][]orb.Point // the polygon that EP draws
	offset    int           // of the instruction in hand
	dropped   int           // events beyond maxEvents
	places    int           // moved to so far
	most      int           // places that a file of this size may have
}

// standing is how labels stand: SI in cm, SR in percent, DI.
type standing struct {
	width, height float64 // mm
	run, rise     float64
	origin        int
}

func newMachine(opt ReadOptions) *machine {
	m := &machine{opt: opt, hpgl2: opt.Language == devices.HPGL2, most: mostPlaces(0)}
	m.out.Language = opt.Language
	m.initialise()
	return m
}

// initialise is what IN does.
func (m *machine) initialise() {
	m.lift()
	m.relative, m.lost, m.ct, m.polygon = false, false, false, nil
	m.text = standing{width: 1.9, height: 2.7, run: 1, origin: 1}
	m.frame = m.defaultFrame()
	if m.hpgl2 {
		m.x, m.y, m.pen = 0, 0, 0
	}
}

// event records a fault.
func (m *machine) event(offset int, severity, format string, args ...any) {
	if len(m.out.Events) >= maxEvents {
		m.dropped++
		return
	}
	m.out.Events = append(m.out.Events, Fault{Offset: offset, Severity: severity, Text: fmt.Sprintf(format, args...)})
}

func (m *machine) fault(format string, args ...any) {
	m.event(m.offset, SeverityError, format, args...)
}

// mm turns a place in plotter units into mm on the page.
func (m *machine) mm(p orb.Point) orb.Point {
	q := geom.Mul(p, m.opt.Unit)
	if m.opt.CentreOrigin {
		q = geom.Add(q, orb.Point{m.opt.PageLength / 2, m.opt.PageWidth / 2})
	}
	return q
}

// lift raises the pen and ends the line in hand.
func (m *machine) lift() {
	m.endRun()
	m.down = false
}

// lower puts the pen down; by itself that makes a dot.
func (m *machine) lower() {
	if m.down {
		return
	}
	m.down = true
	if m.polygon == nil {
		m.run, m.runPen, m.resumed = []orb.Point{{m.x, m.y}}, m.pen, false
	}
}

// restore puts the pen as it was before an instruction that lifted it by itself.
func (m *machine) restore(down bool) {
	m.lift()
	if down {
		m.lower()
		m.resumed = true
	}
}

// full tells whether the file has more places than it may have.
func (m *machine) full() bool { return m.places > m.most }

// to moves to one pair if the device takes it. HP-GL drops a place out of range, so that the line
// joins its neighbours (7470A manual, 3-6); HP-GL/2 ignores all after a relative overflow until an
// absolute place in range comes (PCL 5 reference, 20-36).
func (m *machine) to(v orb.Point, relative bool) {
	if relative && m.lost {
		return
	}
	at := m.absolute(v)
	if relative {
		d := m.delta(v)
		at = orb.Point{m.x + d[0], m.y + d[1]}
	}
	if !m.inRange(at) || !m.scaled && !relative && !m.inRange(v) {
		m.fault("the place %.0f,%.0f is out of the range %d to %d and is dropped", at[0], at[1], m.opt.MinCoord, m.opt.MaxCoord)
		m.lost = relative && m.hpgl2
		return
	}
	m.lost = false
	m.goTo(at[0], at[1])
}

func (m *machine) inRange(p orb.Point) bool {
	lo, hi := float64(m.opt.MinCoord), float64(m.opt.MaxCoord)
	return p[0] >= lo && p[0] <= hi && p[1] >= lo && p[1] <= hi
}

// goTo moves the pen, drawing if it is down.
func (m *machine) goTo(x, y float64) {
	if !m.inRange(orb.Point{x, y}) {
		m.fault("the place %.0f,%.0f is out of range and is dropped", x, y)
		return
	}
	if m.places++; m.full() {
		return
	}
	m.x, m.y = x, y
	if m.polygon != nil {
		m.polygon.add(orb.Point{x, y})
		return
	}
	if !m.down {
		return
	}
	if len(m.run) == 0 {
		m.run, m.runPen = []orb.Point{{x, y}}, m.pen
		return
	}
	if at := (orb.Point{x, y}); at != m.run[len(m.run)-1] {
		m.run = append(m.run, at)
	}
}

// endRun hands over the line in hand, clipped to the window.
func (m *machine) endRun() {
	run := m.run
	m.run = nil
	if len(run) == 0 || len(run) == 1 && m.resumed {
		return
	}
	if m.runPen == 0 && !m.penWarned {
		m.penWarned = true
		if m.hpgl2 {
			m.fault("drawn without a pen: HP-GL/2 marks nothing before SP")
		} else {
			m.event(m.offset, SeverityWarning, "drawn before any SP: which pen is in hand is unknown")
		}
	}
	m.marked = true
	for _, pts := range m.clip(run) {
		m.trace(pts)
	}
}

func (m *machine) trace(pts []orb.Point) {
	path := geom.Path{Points: make([]orb.Point, 0, len(pts))}
	for _, p := range pts {
		path.Points = append(path.Points, m.mm(p))
	}
	if n := len(pts); n > 3 && pts[0] == pts[n-1] {
		path.Points, path.Closed = path.Points[:n-1], true
	}
	m.out.Traces = append(m.out.Traces, devices.Trace{Tool: devices.Pen, Pen: m.runPen, Path: path, Page: m.page})
	m.out.Pages = max(m.out.Pages, m.page+1)
}

// turnPage goes on to the next page. force counts a page without marks as well.
func (m *machine) turnPage(force bool) {
	if m.down {
		m.fault("the pen is down at a page change: it drags across the paper")
	}
	m.lift()
	if m.marked || force {
		m.page++
	}
	m.marked = false
}

// finish ends the reading.
func (m *machine) finish(offset int) {
	m.offset = offset
	if m.down {
		m.fault("the pen is still down at the end")
	}
	if m.polygon != nil {
		m.fault("the polygon is never ended by PM2")
	}
	m.lift()
	if m.dropped > 0 {
		m.out.Events = append(m.out.Events, Fault{Offset: offset, Severity: SeverityNote, Text: fmt.Sprintf("and %d more faults", m.dropped)})
	}
}
