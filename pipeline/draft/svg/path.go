package svg

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// pathReader draws path data with a pen.
type pathReader struct {
	scanner
	pen  *pen
	n    [6]float64
	ctrl orb.Point // the last control point
	last byte      // 'C' after a cubic curve, 'Q' after a quadratic one
	// count is asked before each segment whether there may be another one.
	count func() bool
}

// drawPath reads path data to its end. The error says what stands where a number or a command
// should; a limit that is reached ends it without one.
func drawPath(d string, p *pen, count func() bool) error {
	r := pathReader{scanner: scanner{s: d}, pen: p, count: count}
	r.space()
	for first := true; !r.done(); first = false {
		c := r.peek()
		if first && c != 'M' && c != 'm' {
			return r.fault("path data begins with a move")
		}
		r.i++
		if err := r.command(c); err != nil {
			return err
		}
		r.space()
	}
	p.flush(false)
	return nil
}

func (r *pathReader) fault(want string) error {
	if r.done() {
		return fmt.Errorf("the path data ends where %s", want)
	}
	end := min(len(r.s), r.i+12)
	return fmt.Errorf("the path data has %q at character %d, where %s", r.s[r.i:end], r.i+1, want)
}

// arguments is how many numbers each command takes; 0 for z, -1 for no command.
func arguments(c byte) int {
	switch c | 0x20 {
	case 'm', 'l', 't':
		return 2
	case 'h', 'v':
		return 1
	case 'c':
		return 6
	case 's', 'q':
		return 4
	case 'a':
		return 7
	case 'z':
		return 0
	}
	return -1
}

// command reads one command with all its repetitions.
func (r *pathReader) command(c byte) error {
	n := arguments(c)
	switch n {
	case -1:
		r.i--
		return r.fault("a command is wanted (M L H V C S Q T A Z)")
	case 0:
		r.pen.close()
		r.last = 0
		return nil
	}
	r.space()
	for {
		if !r.count() {
			r.i = len(r.s)
			return nil
		}
		if err := r.args(c, n); err != nil {
			return err
		}
		switch c { // more pairs after a move are lines
		case 'M':
			c = 'L'
		case 'm':
			c = 'l'
		}
		before := r.i
		r.gap()
		if !r.startsNumber() {
			if r.i > before && r.s[lastSolid(r.s, r.i)] == ',' {
				return r.fault("a number is wanted after the comma")
			}
			return nil
		}
	}
}

// lastSolid is the place of the last byte before i that is no blank.
func lastSolid(s string, i int) int {
	for i--; i > 0 && isSpace(s[i]); i-- {
	}
	return max(i, 0)
}

// args reads one set of numbers and draws it.
func (r *pathReader) args(c byte, n int) error {
	if n == 7 {
		return r.arc(c)
	}
	for k := range n {
		if k > 0 {
			r.gap()
		}
		v, ok := r.number()
		if !ok {
			return r.fault("a number is wanted")
		}
		r.n[k] = v
	}
	r.draw(c)
	return nil
}

// at is the point of the k-th pair of numbers, absolute.
func (r *pathReader) at(c byte, k int) orb.Point {
	p := orb.Point{r.n[2*k], r.n[2*k+1]}
	if c >= 'a' {
		return geom.Add(p, r.pen.cur)
	}
	return p
}

func (r *pathReader) draw(c byte) {
	pen := r.pen
	last := r.last
	r.last = 0
	reflected := func(after byte) orb.Point {
		if last == after {
			return geom.Sub(geom.Mul(pen.cur, 2), r.ctrl)
		}
		return pen.cur
	}
	switch c | 0x20 {
	case 'm':
		pen.move(r.at(c, 0))
	case 'l':
		pen.line(r.at(c, 0))
	case 'h':
		x := r.n[0]
		if c == 'h' {
			x += pen.cur[0]
		}
		pen.line(orb.Point{x, pen.cur[1]})
	case 'v':
		y := r.n[0]
		if c == 'v' {
			y += pen.cur[1]
		}
		pen.line(orb.Point{pen.cur[0], y})
	case 'c':
		c1, c2, to := r.at(c, 0), r.at(c, 1), r.at(c, 2)
		r.ctrl, r.last = c2, 'C'
		pen.cubic(c1, c2, to)
	case 's':
		c1, c2, to := reflected('C'), r.at(c, 0), r.at(c, 1)
		r.ctrl, r.last = c2, 'C'
		pen.cubic(c1, c2, to)
	case 'q':
		c1, to := r.at(c, 0), r.at(c, 1)
		r.ctrl, r.last = c1, 'Q'
		pen.quad(c1, to)
	case 't':
		c1, to := reflected('Q'), r.at(c, 0)
		r.ctrl, r.last = c1, 'Q'
		pen.quad(c1, to)
	}
}

// arc reads the seven arguments of an arc; its flags are single characters that may touch what
// follows.
func (r *pathReader) arc(c byte) error {
	for k := range 3 {
		v, ok := r.number()
		if !ok {
			return r.fault("a number is wanted")
		}
		r.n[k] = v
		r.gap()
	}
	rx, ry, tilt := r.n[0], r.n[1], r.n[2]
	large, ok := r.flag()
	if !ok {
		return r.fault("an arc flag, 0 or 1, is wanted")
	}
	r.gap()
	sweep, ok := r.flag()
	if !ok {
		return r.fault("an arc flag, 0 or 1, is wanted")
	}
	for k := range 2 {
		r.gap()
		v, ok := r.number()
		if !ok {
			return r.fault("a number is wanted")
		}
		r.n[k] = v
	}
	to := r.at(c, 0)
	r.last = 0
	r.pen.arc(rx, ry, tilt, large, sweep, to)
	return nil
}
