package hpgl

import (
	"math"

	"github.com/paulmach/orb"
)

// encoded does PE (PCL 5 reference, 20-34 to 20-41). Of its state only the place and whether the pen is up last beyond
// it.
func (m *machine) encoded(in instruction) {
	if !m.hpgl2 {
		m.fault("PE in plain HP-GL: an old plotter calls it unknown and draws what its letters spell")
	}
	if !in.ended {
		m.fault("an encoded polyline that no semicolon ends")
	}
	d := decoder{m: m, base: 64}
	for i, c := range in.raw {
		d.byte(c, in.offset+2+i)
	}
	if d.half || d.n != 0 || d.shift > 0 {
		m.event(in.offset, SeverityError, "an encoded polyline that ends within a pair")
	}
}

// decoder is the state within one PE.
type decoder struct {
	m        *machine
	base     int
	fraction int
	up, abs  bool
	want     byte // '>' or ':' while the next number belongs to it
	n        uint64
	shift    uint
	half     bool // an x without its y so far
	x        float64
	misread  bool
}

// byte decodes one byte of the body.
func (d *decoder) byte(c byte, offset int) {
	if d.base == 32 {
		c &= 127
	}
	switch flag := c & 127; {
	case flag <= ' ' || flag == 127 || c >= 128 && c <= 160:
		return
	case flag == '<' || flag == '=' || flag == '>' || flag == ':' || flag == '7':
		d.flag(flag, offset)
		return
	}
	digit, last, ok := d.digit(c)
	if !ok {
		if !d.misread {
			d.m.event(offset, SeverityError, "the byte %d has no meaning in an encoded polyline", c)
		}
		d.misread = true
		return
	}
	if d.shift < 60 {
		d.n |= uint64(digit) << d.shift
	}
	if !last {
		d.shift += d.bits()
		return
	}
	v := float64(d.n >> 1)
	if d.n&1 == 1 {
		v = -v
	}
	d.n, d.shift = 0, 0
	d.number(v)
}

func (d *decoder) bits() uint {
	if d.base == 32 {
		return 5
	}
	return 6
}

// digit is the value of a byte; last is true for the last digit of a number.
func (d *decoder) digit(c byte) (value int, last, ok bool) {
	v := int(c)
	if d.base == 32 {
		switch {
		case v >= 63 && v <= 94:
			return v - 63, false, true
		case v >= 95 && v <= 126:
			return v - 95, true, true
		}
		return 0, false, false
	}
	switch {
	case v >= 63 && v <= 126:
		return v - 63, false, true
	case v >= 191 && v <= 254:
		return v - 191, true, true
	}
	return 0, false, false
}

func (d *decoder) flag(c byte, offset int) {
	if d.shift > 0 || d.half && c != '7' {
		d.m.event(offset, SeverityError, "a flag %q within a pair of an encoded polyline", c)
		d.n, d.shift, d.half = 0, 0, false
	}
	switch c {
	case '<':
		d.up = true
	case '=':
		d.abs = true
	case '7':
		d.base = 32
	default:
		d.want = c
	}
}

// number handles a complete number: a flag's value, or half of a pair.
func (d *decoder) number(v float64) {
	switch d.want {
	case '>':
		if math.Abs(v) > 26 {
			d.m.fault("%v fraction bits: 26 are the most", v)
			v = 0
		}
		d.fraction, d.want = int(v), 0
		return
	case ':':
		d.m.lift()
		d.m.pen, d.want = int(v), 0
		return
	}
	v = math.Ldexp(v, -d.fraction)
	if !d.half {
		d.x, d.half = v, true
		return
	}
	d.half = false
	d.pair(orb.Point{d.x, v})
}

// pair moves: drawing unless "<" precedes it, relative unless "=" does.
func (d *decoder) pair(v orb.Point) {
	m := d.m
	if d.up {
		m.lift()
	} else {
		m.lower()
	}
	if m.scaled || d.fraction <= 0 {
		m.to(v, !d.abs)
	} else {
		m.toFraction(v, !d.abs)
	}
	d.up, d.abs = false, false
}

// toFraction moves to a place with fractions of plotter units, which are kept.
func (m *machine) toFraction(v orb.Point, relative bool) {
	if relative {
		v = orb.Point{m.x + v[0], m.y + v[1]}
	}
	if !m.inRange(v) {
		m.fault("the place %.3f,%.3f is out of range and is dropped", v[0], v[1])
		return
	}
	m.goTo(v[0], v[1])
}
