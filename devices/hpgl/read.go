package hpgl

import (
	"errors"
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// ReadOptions says what cannot be seen in the bytes. The zero value reads a file from elsewhere.
type ReadOptions struct {
	// Language is devices.HPGL or devices.HPGL2; "" finds out from the instructions used.
	Language devices.Language
	// Unit is one plotter unit in mm, 0 means 0.025.
	Unit float64
	// MinCoord and MaxCoord bound what the device takes, in plotter units; points outside are
	// dropped as it would drop them. Both 0: 24 bits for HP-GL, 31 for HP-GL/2.
	MinCoord, MaxCoord int
	// CentreOrigin places zero in the middle of a page of PageLength by PageWidth mm; PS in the
	// bytes overrides the page.
	CentreOrigin          bool
	PageLength, PageWidth float64
}

// OptionsFor reads what a device of profile p would understand.
func OptionsFor(p devices.Profile) ReadOptions {
	o := ReadOptions{
		Language: p.Language, Unit: p.Plot.Unit, MinCoord: p.Plot.MinCoord, MaxCoord: p.Plot.MaxCoord,
		CentreOrigin: p.Plot.CentreOrigin, PageLength: p.Length, PageWidth: p.Width,
	}
	if p.Plot.Long == "frames" || p.Plot.Long == "sheets" {
		o.PageLength = p.Plot.FrameLength
	}
	return o
}

// The severities of faults.
const (
	SeverityError   = "error"   // the device draws something else than was meant
	SeverityWarning = "warning" // it may
	SeverityNote    = "note"    // left out of the reading, or worth knowing
)

// Fault is what the reader found wrong at a place of the bytes.
type Fault struct {
	Offset   int // bytes from the start
	Text     string
	Severity string
}

// Label is text that the device letters itself. At is its origin in mm, Height that of capitals.
type Label struct {
	At             orb.Point
	Text           string
	Width, Height  float64
	AngleDeg       float64
	Pen, Page      int
	Offset, Origin int // Origin is the LO number, 1 where none was sent
}

// Drawing is what a device makes of the bytes. Lengths are mm from the lower left corner of each
// page (of a centred page whose size is unknown: from its centre).
type Drawing struct {
	Language devices.Language
	// Traces are in drawing order. A line that ends where it began is closed; a dot has one point.
	// Pen 0 means that no pen was in hand, so that a device would draw nothing.
	Traces []devices.Trace
	Labels []Label
	// Pages is how many pages bear marks; Trace.Page counts from 0.
	Pages int
	// PageLength and PageWidth are what PS said, 0 where nothing did.
	PageLength, PageWidth float64
	Events                []Fault
}

// Errors are the events that spoil the drawing.
func (d Drawing) Errors() []Fault {
	var out []Fault
	for _, f := range d.Events {
		if f.Severity == SeverityError {
			out = append(out, f)
		}
	}
	return out
}

// ErrNotHPGL means that no instruction of the language was found.
var ErrNotHPGL = errors.New("this is no HP-GL: not one instruction of it was found")

// maxEvents bounds what is told of a file that is all faults.
const maxEvents = 500

// mostPlaces is how many places a file of so many bytes may have, so that a hostile file of arcs cannot
// fill the memory: a line takes two bytes for each at least, and a few hundred circles are no matter.
func mostPlaces(bytes int) int { return min(200_000+2*bytes, 4_000_000) }

// Read interprets HP-GL or HP-GL/2 as a plotter would, in both dialects, and tells what is wrong
// with it. Only bytes without a single instruction of the language are an error.
func Read(data []byte, opt ReadOptions) (Drawing, error) {
	if opt.Unit == 0 {
		opt.Unit = 0.025
	}
	src := strip(data)
	if opt.Language == "" {
		opt.Language = guess(src)
	}
	if opt.MinCoord == 0 && opt.MaxCoord == 0 {
		opt.MinCoord, opt.MaxCoord = -(1 << 23), 1<<23
		if opt.Language == devices.HPGL2 {
			opt.MinCoord, opt.MaxCoord = -(1 << 30), 1<<30-1
		}
	}
	m := newMachine(opt)
	m.most = mostPlaces(len(data))
	for _, f := range src.faults {
		m.event(f.Offset, f.Severity, "%s", f.Text)
	}
	lex := &lexer{source: src, hpgl2: opt.Language == devices.HPGL2, end: 3}
	known := 0
	for !m.full() {
		in, ok := lex.next(m)
		if !ok {
			break
		}
		if m.do(in) {
			known++
		}
	}
	if m.full() {
		m.fault("more than %d places, which is too many for a file of this size: the rest is left out", m.most)
	}
	m.finish(len(data))
	if known == 0 {
		return Drawing{}, ErrNotHPGL
	}
	return m.out, nil
}

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

	run     []orb.Point // what is being drawn
	resumed bool        // run goes on from where the pen stood already, so that alone it is no dot
	runPen  int
	page    int
	marked  bool
	penTold bool
	ct      bool // CT1: the chord parameter is a deviation
	text    standing
	polygon *polygon
	buffer  [][]orb.Point // the polygon that EP draws
	offset  int           // of the instruction in hand
	dropped int           // events beyond maxEvents
	places  int           // moved to so far
	most    int           // places that a file of this size may have
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
	if m.runPen == 0 && !m.penTold {
		m.penTold = true
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
