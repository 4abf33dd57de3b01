package hpgl

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// gravity converts mm/s2 to g, the unit of AS.
const gravity = 9806.65

// Estimated times of a new page and of a pen change, s; common practice.
const (
	pageSeconds = 5
	penSeconds  = 3
)

// maxVS is the highest speed in cm/s that no plotter rejects (7470A manual, 3-3).
const maxVS = 96

// begin writes the prelude: the language, a known state, the page.
func (e *encoder) begin(first page) {
	e.page = first
	text := "IN;"
	if e.p.Plot.Escapes {
		text = enterHPGL2 + text
	}
	if e.p.Plot.Long == LongPageSize {
		u := e.p.Plot.Unit
		text += fmt.Sprintf("PS%d,%d;", int(math.Round(first.length/u)), int(math.Round(e.width()/u)))
	}
	e.block(devices.Block{Bytes: []byte(text), Stroke: -1, Piece: -1})
	e.out.Prelude = 1
	// Abort works wherever the bytes end: ETX ends a partial label, the semicolon any other instruction, then the pen
	// is raised and put away. Sequences that empty the device's buffer come first, only where the profile says that
	// the device knows them.
	e.out.Abort = []byte(etx + ";PU;SP0;")
	if e.p.Plot.SerialControl {
		e.out.Abort = append([]byte(emptyAll), e.out.Abort...)
	}
	if e.p.Plot.Escapes {
		e.out.Abort = append(e.out.Abort, leaveHPGL2...)
	}
}

// nextPage puts the pen away, advances the paper, and repeats the settings that a new page resets. With the tool up
// nothing is drawn, and all pages are traced over the one that lies there.
func (e *encoder) nextPage(i, n int) {
	e.flush()
	if e.p.Plot.ToolUp {
		return
	}
	if e.p.Plot.Long == LongFrames {
		e.block(devices.Block{Bytes: []byte("PU;FR;"), Stroke: -1, Piece: -1, Seconds: pageSeconds})
		e.at = orb.Point{}
		return
	}
	e.block(devices.Block{
		Bytes: []byte("PU;SP0;" + e.pageEnd()), Stroke: -1, Piece: -1, Seconds: pageSeconds,
		WaitForPerson: fmt.Sprintf("lay a fresh sheet on the plotter: sheet %d of %d", i+1, n),
	})
	e.block(devices.Block{Bytes: []byte("IN;"), Stroke: -1, Piece: -1})
	e.pen, e.setup, e.at = 0, nil, orb.Point{}
}

// end puts the pen away and finishes the page.
func (e *encoder) end() {
	e.flush()
	text := "PU;SP0;" + e.pageEnd()
	if e.p.Plot.Escapes {
		text += leaveHPGL2
	}
	e.block(devices.Block{Bytes: []byte(text), Stroke: -1, Piece: -1})
}

func (e *encoder) pageEnd() string {
	if e.p.Plot.PageEnd == "" || e.p.Plot.ToolUp {
		return ""
	}
	return e.p.Plot.PageEnd + ";"
}

// Feed are the bytes that feed a page which an earlier plot left half drawn. It is nil where the profile has none, or
// where the reset at the start of a plot ends the page (ESC E, from memory). It is sent before the plot, because a
// page's size has no effect once anything is drawn on it.
func Feed(p devices.Profile) []byte {
	if p.Plot.PageEnd == "" || p.Plot.Escapes {
		return nil
	}
	return []byte("PU;SP0;" + p.Plot.PageEnd + ";")
}

func (e *encoder) block(b devices.Block) { e.out.Blocks = append(e.out.Blocks, b) }

// drawPage writes the lines of one page.
func (e *encoder) drawPage(g page) {
	e.page = g
	for _, pt := range g.parts {
		role := "check"
		if pt.stroke >= 0 {
			role = e.strokes[pt.stroke].Role
		}
		e.choose(e.p.Pen.For(role))
		if pt.label != nil {
			e.writeLabel(pt)
			continue
		}
		e.writeLine(pt)
	}
	e.flush()
}

// choose selects a pen, with the speed, force and acceleration that the device understands.
func (e *encoder) choose(pen int) {
	if pen == e.pen {
		return
	}
	e.flush()
	e.pen, e.timing = pen, e.p.PenTiming(pen)
	set := e.p.Pen.Setting(pen)
	text := "SP" + strconv.Itoa(pen) + ";"
	if e.p.Plot.SendSpeed && set.Speed > 0 {
		text += "VS" + decimal(min(set.Speed/10, maxVS), 1) + ";"
	}
	if e.p.Plot.SendForce && set.Force > 0 {
		text += "FS" + strconv.Itoa(set.Force) + ";"
	}
	if e.p.Plot.SendAcceleration && set.Acceleration > 0 {
		text += "AS" + strconv.Itoa(max(1, int(math.Round(set.Acceleration/gravity)))) + ";"
	}
	e.setup = []byte(text)
	e.block(devices.Block{Bytes: []byte("PU;" + text), Stroke: -1, Piece: -1, Seconds: penSeconds})
}

// decimal writes a number without exponent and without trailing zeros.
func decimal(v float64, places int) string {
	scale := math.Pow(10, float64(places))
	return strconv.FormatFloat(math.Round(v*scale)/scale, 'f', -1, 64)
}

// owner is the stroke and the piece that a part belongs to.
func (e *encoder) owner(pt part) (stroke, piece int) {
	if pt.stroke < 0 {
		return -1, -1
	}
	return pt.stroke, e.strokes[pt.stroke].Piece
}

// writeLine rounds a line and writes it in the profile's encoding.
func (e *encoder) writeLine(pt part) {
	places, when, far := e.places[:0], e.when[:0], e.far[:0]
	times := e.timing.Draw(pt.pts, e.times)
	var run float64
	for i, q := range pt.pts {
		if i > 0 {
			run += geom.Dist(pt.pts[i-1], q)
		}
		at := e.units(q)
		e.check(pt, q, at)
		if n := len(places); n > 0 && places[n-1] == at {
			when[n-1], far[n-1] = times[i], run
			continue
		}
		places, when, far = append(places, at), append(when, times[i]), append(far, run)
	}
	e.places, e.when, e.far, e.times = places, when, far, times // kept for reuse
	l := line{part: pt, places: places, when: when, far: far,
		travel: e.timing.Move(geom.Dist(e.at, pt.pts[0])) + e.timing.Lift}
	e.at = pt.pts[len(pt.pts)-1]
	if e.p.Plot.Encoded && !e.p.Plot.ToolUp {
		e.writeEncoded(l)
		return
	}
	e.writePlain(l)
}

// line is a part in plotter units, without repeated places, with the time and the length at each place.
type line struct {
	part
	places    []place
	when, far []float64
	travel    float64 // seconds from the part before, pen lift included
}

// span fills a block with the length and time from place i to place j.
func (l line) span(b *devices.Block, i, j int) {
	b.DrawnMM += l.far[j]
	b.Seconds += l.when[j]
	if i == 0 {
		b.Seconds += l.travel
		return
	}
	b.DrawnMM -= l.far[i]
	b.Seconds -= l.when[i]
}

// writePlain writes PU to the start and PD through the rest, every place absolute.
func (e *encoder) writePlain(l line) {
	stroke, piece := e.owner(l.part)
	run, down := "PD", !e.p.Plot.ToolUp
	if !down {
		run = "PU"
	}
	b := devices.Block{Stroke: stroke, Piece: piece, Setup: e.setup, Down: down}
	b.Bytes = append(append(appendPair(append(b.Bytes, "PU"...), l.places[0]), ';'), run...)
	start, count, from := len(b.Bytes)-2, 0, 0
	for i, at := range l.places[1:] {
		before := len(b.Bytes)
		if count > 0 {
			b.Bytes = append(b.Bytes, ',')
		}
		b.Bytes = appendPair(b.Bytes, at)
		count++
		if len(b.Bytes)+1-start <= e.limit {
			continue
		}
		b.Bytes = append(b.Bytes[:before], ';')
		l.span(&b, from, i)
		e.block(b)
		b = devices.Block{Stroke: stroke, Piece: piece, Down: down}
		b.Bytes = appendPair(append(b.Bytes, run...), at)
		start, count, from = 0, 1, i
	}
	l.span(&b, from, len(l.places)-1)
	b.Bytes = append(b.Bytes, ";PU;"...)
	b.Down, b.EndsStroke = false, l.last
	e.block(b)
}

func appendPair(dst []byte, at place) []byte {
	dst = strconv.AppendInt(dst, int64(at.x), 10)
	dst = append(dst, ',')
	return strconv.AppendInt(dst, int64(at.y), 10)
}
