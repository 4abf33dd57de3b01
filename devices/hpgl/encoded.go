package hpgl

import "tracewheel/devices"

// Encoded polylines (PCL 5 reference, 20-34 to 20-41): PE is followed by flags and numbers without separators. A pair
// is relative and drawn unless "=" makes it absolute and "<" lifts the pen for it.

// appendNumber writes one number of an encoded polyline: twice its absolute value plus the sign, in digits of base 64
// or 32, lowest first; the last digit is from a range of its own.
func appendNumber(dst []byte, v int, seven bool) []byte {
	n := v * 2
	if v < 0 {
		n = -v*2 + 1
	}
	bits, last := 6, 191
	if seven {
		bits, last = 5, 95
	}
	for n >= 1<<bits {
		dst = append(dst, byte(63+n&(1<<bits-1)))
		n >>= bits
	}
	return append(dst, byte(last+n))
}

// numberLen is how many bytes appendNumber writes.
func numberLen(v int, seven bool) int {
	bits := 6
	if seven {
		bits = 5
	}
	if v < 0 {
		v = -v
	}
	n := 1
	for v = v*2 + 1; v >= 1<<bits; v >>= bits {
		n++
	}
	return n
}

func (e *encoder) appendPoint(dst []byte, x, y int) []byte {
	seven := e.p.Plot.SevenBit
	return appendNumber(appendNumber(dst, x, seven), y, seven)
}

// head starts an encoded instruction.
func (e *encoder) head() []byte {
	if e.p.Plot.SevenBit {
		return []byte("PE7")
	}
	return []byte("PE")
}

// writeEncoded writes a line as encoded polylines. Short strokes of one piece share an instruction, whose first place
// is absolute so that a program can be resumed there. A line too long for one instruction continues in the next, again
// with an absolute place first.
func (e *encoder) writeEncoded(l line) {
	stroke, piece := e.owner(l.part)
	if e.join(l) {
		return
	}
	e.flush()
	b := devices.Block{Stroke: stroke, Piece: piece, Setup: e.setup, Down: true}
	b.Bytes = e.appendPoint(append(e.head(), '<', '='), l.places[0].x, l.places[0].y)
	from, at := 0, l.places[0]
	for i, to := range l.places[1:] {
		before := len(b.Bytes)
		b.Bytes = e.appendPoint(b.Bytes, to.x-at.x, to.y-at.y)
		if len(b.Bytes)+1 > e.limit {
			b.Bytes = append(b.Bytes[:before], ';')
			l.span(&b, from, i)
			e.block(b)
			b = devices.Block{Stroke: stroke, Piece: piece, Down: true}
			b.Bytes = e.appendPoint(append(e.head(), '='), to.x, to.y)
			from = i
		}
		at = to
	}
	if len(l.places) == 1 {
		b.Bytes = e.appendPoint(b.Bytes, 0, 0)
	}
	l.span(&b, from, len(l.places)-1)
	b.EndsStroke = l.last
	e.open, e.openEnd = b, at
}

// join adds a whole line to the open instruction if it belongs there and fits.
func (e *encoder) join(l line) bool {
	stroke, piece := e.owner(l.part)
	if e.open.Bytes == nil || e.open.Setup == nil || e.open.Piece != piece {
		return false
	}
	size, at := len(e.open.Bytes)+2, e.openEnd
	for _, to := range l.places {
		size += numberLen(to.x-at.x, e.p.Plot.SevenBit) + numberLen(to.y-at.y, e.p.Plot.SevenBit)
		at = to
		if size > e.limit-2 {
			return false
		}
	}
	dst, at := append(e.open.Bytes, '<'), e.openEnd
	for _, to := range l.places {
		dst = e.appendPoint(dst, to.x-at.x, to.y-at.y)
		at = to
	}
	if len(l.places) == 1 {
		dst = e.appendPoint(dst, 0, 0)
	}
	e.open.Bytes, e.openEnd = dst, at
	e.open.Stroke, e.open.EndsStroke = stroke, l.last
	l.span(&e.open, 0, len(l.places)-1)
	return true
}

// flush ends the open instruction with the pen up.
func (e *encoder) flush() {
	if e.open.Bytes == nil {
		return
	}
	e.open.Bytes = append(e.open.Bytes, ";PU;"...)
	e.open.Down = false
	e.block(e.open)
	e.open = devices.Block{}
}
