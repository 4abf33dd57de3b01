package hpgl

import (
	"cmp"
	"errors"

	"github.com/paulmach/orb"

	"tracewheel/devices"
)

// ReadOptions say what the bytes do not tell. The zero value reads a file of unknown origin.
type ReadOptions struct {
	// Language is devices.HPGL or devices.HPGL2; "" infers it from the instructions used.
	Language devices.Language
	// Unit is one plotter unit in mm, 0 means 0.025.
	Unit float64
	// MinCoord and MaxCoord bound the coordinates that the device takes, in plotter units; points outside are dropped
	// as the device drops them. Both 0: 24 bits for HP-GL, 31 for HP-GL/2.
	MinCoord, MaxCoord int
	// CentreOrigin places zero in the middle of a page of PageLength by PageWidth mm; a PS instruction overrides the
	// page.
	CentreOrigin          bool
	PageLength, PageWidth float64
}

// OptionsFor are the options for what a device of profile p understands.
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
	SeverityError   = "error"   // the device draws something that was not meant
	SeverityWarning = "warning" // the device may
	SeverityNote    = "note"    // not read, or worth knowing
)

// Fault is a fault that the reader found at a place of the bytes.
type Fault struct {
	Offset   int // bytes from the start
	Text     string
	Severity string
}

// Label is text that the device letters itself. At is its origin in mm, Height the height of capitals.
type Label struct {
	At             orb.Point
	Text           string
	Width, Height  float64
	AngleDeg       float64
	Pen, Page      int
	Offset, Origin int // Origin is the LO number, 1 where none was sent
}

// Drawing is what a device draws from the bytes. Coordinates are mm from the lower left corner of each page (on a
// centred page of unknown size: from its centre).
type Drawing struct {
	Language devices.Language
	// Traces are in drawing order. A line that ends where it began is closed; a dot has one point. Pen 0 means that no
	// pen is selected, so that a device draws nothing.
	Traces []devices.Trace
	Labels []Label
	// Pages is the number of pages with marks; Trace.Page counts from 0.
	Pages int
	// PageLength and PageWidth are those of PS, 0 without one.
	PageLength, PageWidth float64
	Events                []Fault
}

// Errors are the faults that spoil the drawing.
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

// maxEvents bounds the number of faults that are reported.
const maxEvents = 500

// mostPlaces bounds the places of a file of so many bytes, so that a hostile file of arcs cannot fill the memory. Each
// place of a line takes two bytes at least, and a few hundred circles are allowed besides.
func mostPlaces(bytes int) int { return min(200_000+2*bytes, 4_000_000) }

// Read interprets HP-GL or HP-GL/2 as a plotter does, in both dialects, and reports faults. Only bytes without a
// single instruction of the language are an error.
func Read(data []byte, opt ReadOptions) (Drawing, error) {
	opt.Unit = cmp.Or(opt.Unit, 0.025)
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
