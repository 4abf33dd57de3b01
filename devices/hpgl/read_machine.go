package hpgl

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// machine is the state of the simulated plotter. Places are in plotter units.
type machine struct {
	opt   ReadOptions
	out   Drawing
	hpgl2 bool

	x, y     float64
	lost     bool // a relative move overflowed: moves are ignored until an absolute one
	down     bool
	relative bool
	pen      int
	frame

	run       []orb.Point // the line that is being drawn
	resumed   bool        // run goes on from the pen's earlier place, so that a single point is no dot
	runPen    int
	page      int
	marked    bool
	penWarned bool
	ct        bool // CT1: the chord parameter is a deviation
	text      standing
	polygon   *polygon
	buffer    [][]orb.Point // the polygon that EP draws
	offset    int           // of the current instruction
	dropped   int           // events beyond maxEvents
	places    int           // places moved to so far
	most      int           // bound on places for a file of this size
}

// standing are the attributes of labels: SI in cm, SR in percent, DI.
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

// initialise does IN.
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

// mm converts a place in plotter units to mm on the page.
func (m *machine) mm(p orb.Point) orb.Point {
	q := geom.Mul(p, m.opt.Unit)
	if m.opt.CentreOrigin {
		q = geom.Add(q, orb.Point{m.opt.PageLength / 2, m.opt.PageWidth / 2})
	}
	return q
}

// lift raises the pen and ends the current line.
func (m *machine) lift() {
	m.endRun()
	m.down = false
}

// lower puts the pen down; without a move that makes a dot.
func (m *machine) lower() {
	if m.down {
		return
	}
	m.down = true
	if m.polygon == nil {
		m.run, m.runPen, m.resumed = []orb.Point{{m.x, m.y}}, m.pen, false
	}
}

// restore puts the pen into the state before an instruction that lifted it.
func (m *machine) restore(down bool) {
	m.lift()
	if down {
		m.lower()
		m.resumed = true
	}
}

// full reports whether the file has more places than the bound.
func (m *machine) full() bool { return m.places > m.most }

// to moves to one pair if the device takes it. HP-GL drops a place out of range, so that its neighbours are joined
// (7470A manual, 3-6); HP-GL/2 ignores everything after a relative overflow until an absolute place in range (PCL 5
// reference, 20-36).
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

// goTo moves the pen, and draws if it is down.
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

// endRun ends the current line and clips it to the window.
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

// turnPage goes on to the next page. With force, a page without marks counts as well.
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
