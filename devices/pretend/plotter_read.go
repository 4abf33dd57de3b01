package pretend

// control takes device control sequences out of the stream: ESC, a point, a letter, and for some
// letters parameters up to a colon. They act at once, whatever the instructions around them are.
type control struct {
	state  int // 0 outside, 1 behind ESC, 2 behind the point, 3 in parameters
	letter byte
}

// withParameters are the letters that a colon ends.
const withParameters = "@HIMNPQST"

// take gives the bytes that are not device control, and a finished sequence's letter.
func (c *control) take(b byte) (pass []byte, done string) {
	switch c.state {
	case 1:
		if b == '.' {
			c.state = 2
			return nil, ""
		}
		c.state = 0
		return []byte{esc, b}, ""
	case 2:
		c.letter, c.state = b, 0
		for i := range withParameters {
			if withParameters[i] == b {
				c.state = 3
				return nil, ""
			}
		}
		return nil, string(b)
	case 3:
		if b == ':' {
			c.state = 0
			return nil, string(c.letter)
		}
		if b == esc { // a new sequence ends an unfinished one
			c.state = 1
		}
		return nil, ""
	}
	if b == esc {
		c.state = 1
		return nil, ""
	}
	return []byte{b}, ""
}

// reader follows instructions just far enough to know where they end, which of them ask for an
// answer, and where the pen is.
type reader struct {
	name        string // of the instruction being read
	in          bool   // inside an instruction with its name complete
	label, poly bool
	pe          polyline
	down        bool
	initialised bool
	err         int
}

func (r *reader) drop() { r.name, r.in, r.label, r.poly = "", false, false, false }

// take reads one byte and gives the instruction that asks for an answer, if one is complete.
func (r *reader) take(b byte) []string {
	switch {
	case r.label:
		r.label = b != etx
		return nil
	case r.poly:
		if b == ';' {
			r.poly = false
			r.down = r.pe.down
			return nil
		}
		r.pe.take(b)
		return nil
	}
	letter := b|0x20 >= 'a' && b|0x20 <= 'z'
	if !letter {
		if b == ';' {
			return r.end()
		}
		return nil
	}
	var out []string
	if r.in {
		out = r.end()
	}
	r.name += string(b &^ 0x20)
	if len(r.name) == 2 {
		r.in = true
		r.begin()
	}
	return out
}

// begin acts on instructions that are no more than their name, or read differently.
func (r *reader) begin() {
	switch r.name {
	case "LB":
		r.drop()
		r.label = true
	case "PE":
		r.drop()
		r.poly, r.pe = true, polyline{down: r.down}
	case "PD", "CI":
		r.down = r.name == "PD"
	case "PU", "SP", "IN":
		r.down = false
		if r.name == "IN" {
			r.err, r.initialised = 0, true
		}
	}
}

// end closes an instruction.
func (r *reader) end() []string {
	name, whole := r.name, r.in
	r.drop()
	if !whole {
		if name != "" {
			r.err = 1
		}
		return nil
	}
	if name[0] == 'O' {
		return []string{name}
	}
	return nil
}

// status is the answer to OS: pen down 1, initialised 8, ready 16, error 32.
func (r *reader) status() int {
	n := 16 + b2i(r.down)
	if r.initialised {
		n += 8
	}
	if r.err != 0 {
		n += 32
	}
	return n
}

// polyline follows an encoded polyline's pen: up for the pair behind a '<', else down.
type polyline struct {
	base32, up bool
	skip       int // numbers that are no coordinates
	half       bool
	down       bool
}

func (p *polyline) take(b byte) {
	switch {
	case b == '7' && !p.base32:
		p.base32 = true
	case b == '<':
		p.up = true
	case b == '>' || b == ':':
		p.skip++
	case p.ends(b):
		if p.skip > 0 {
			p.skip--
			return
		}
		if p.half = !p.half; !p.half {
			p.down, p.up = !p.up, false
		}
	}
}

func (p *polyline) ends(b byte) bool {
	if p.base32 {
		b &= 0x7f
		return b >= 95 && b <= 126
	}
	return b >= 191 && b != 255
}
