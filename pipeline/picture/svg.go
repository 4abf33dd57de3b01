package picture

import (
	"bytes"
	"fmt"
	"html"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// SVG writes the canvas as a scalable picture.
func (c *Canvas) SVG() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%s" height="%s"%s role="img">`+"\n",
		num(c.Width), num(c.Height), num(c.Width), num(c.Height), c.scaleSaid())
	if c.Title != "" {
		fmt.Fprintf(&b, "<title>%s</title>\n", html.EscapeString(pattern.Printable(c.Title)))
	}
	if len(c.Lines) > 0 {
		fmt.Fprintf(&b, "<desc>lines: %s</desc>\n", html.EscapeString(strings.Join(c.Lines, ", ")))
	}
	fmt.Fprintf(&b, "<style>%s</style>\n", look.DarkSVG())
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="%s"/>`+"\n", num(c.Width), num(c.Height), look.Hex(look.Ground.Light))
	for _, s := range c.shapes {
		c.writeShape(&b, s)
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

func (c *Canvas) writeShape(b *bytes.Buffer, s shape) {
	b.WriteString(`<path`)
	switch h := s.handle; {
	case h != nil && h.number > 0:
		fmt.Fprintf(b, ` data-number="%d" data-piece="%s"`, h.number, html.EscapeString(pattern.Printable(h.piece)))
	case h != nil:
		fmt.Fprintf(b, ` data-piece="%s" data-name="%s" data-line="%d"`, html.EscapeString(pattern.Printable(h.piece)), html.EscapeString(pattern.Printable(h.name)), h.line)
	case s.finding > 0:
		at := middleOf(s.lines[0].points)
		fmt.Fprintf(b, ` data-finding="%d" data-at="%s %s"`, s.finding, num(at[0]), num(at[1]))
	case s.first > 0:
		fmt.Fprintf(b, ` data-stroke="%d"`, s.first)
	}
	if s.class != "" {
		fmt.Fprintf(b, ` class="%s"`, s.class)
	}
	if s.handle != nil && s.handle.at != nil {
		fmt.Fprintf(b, ` data-at="%s %s"`, num(s.handle.at[0]), num(s.handle.at[1]))
	}
	if s.handle != nil {
		b.WriteString(` fill="none" stroke="none"`)
	} else if s.fill {
		fmt.Fprintf(b, ` fill="%s"`, look.Hex(s.ink.Colour.Light))
	} else {
		fmt.Fprintf(b, ` fill="none" stroke="%s" stroke-width="%s" stroke-linejoin="round" stroke-linecap="round"`,
			look.Hex(s.ink.Colour.Light), num(s.ink.Width))
		for i, d := range s.ink.Dash {
			if i == 0 {
				b.WriteString(` stroke-dasharray="`)
			} else {
				b.WriteByte(' ')
			}
			b.WriteString(num(d))
			if i == len(s.ink.Dash)-1 {
				b.WriteByte('"')
			}
		}
	}
	b.WriteString(` d="`)
	for _, l := range s.lines {
		points := l.points
		if c.coarse > 0 && len(points) > 2 { // a copy: other shapes may share the points
			points = simplify.DouglasPeucker(c.coarse).LineString(slices.Clone(orb.LineString(points)))
		}
		for i, p := range points {
			if i == 0 {
				b.WriteByte('M')
			} else {
				b.WriteByte('L')
			}
			b.Write(appendNum(b.AvailableBuffer(), p[0]))
			b.WriteByte(' ')
			b.Write(appendNum(b.AvailableBuffer(), p[1]))
		}
		if l.closed {
			b.WriteByte('Z')
		}
	}
	b.WriteString(`"/>` + "\n")
}

// scaleSaid is the number of picture units to a millimetre, for a page that measures in the picture.
func (c *Canvas) scaleSaid() string {
	if c.Scale <= 0 {
		return ""
	}
	said := ` data-scale="` + strconv.FormatFloat(c.Scale, 'f', 6, 64) + `"`
	if c.ScaleTo > 0 {
		said += ` data-scale-to="` + num(c.ScaleTo) + `"`
	}
	return said
}

func middleOf(points []orb.Point) orb.Point { return orb.MultiPoint(points).Bound().Center() }

// num writes a coordinate to a hundredth of a picture unit.
func num(v float64) string { return string(appendNum(nil, v)) }

func appendNum(b []byte, v float64) []byte {
	from := len(b)
	b = strconv.AppendFloat(b, v, 'f', 2, 64)
	b = bytes.TrimSuffix(bytes.TrimRight(b, "0"), []byte("."))
	if string(b[from:]) == "-0" {
		return append(b[:from], '0')
	}
	return b
}
