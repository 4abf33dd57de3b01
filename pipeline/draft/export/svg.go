package export

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// margin is the empty page round the drawing, in mm.
const margin = 10.0

// capShare is how high capitals stand in a font, as a share of its size (common practice).
const capShare = 0.7

// SVG writes the pattern on one page, in mm, moved so that it begins 10 mm within the page.
func SVG(p *pattern.Pattern) []byte {
	moves, b := places(p)
	s := &sheet{}
	w, h := math.Ceil(b.Max[0]-b.Min[0]+2*margin), math.Ceil(b.Max[1]-b.Min[1]+2*margin)
	fmt.Fprintf(&s.Buffer, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%smm\" height=\"%smm\" viewBox=\"0 0 %s %s\">\n", number(w), number(h), number(w), number(h))
	fmt.Fprintf(&s.Buffer, "<title>%s</title>\n", escaped(p.Style))
	s.WriteString("<g fill=\"none\" stroke=\"#000\" stroke-width=\"0.3\">\n")
	for i := range p.Pieces {
		s.left = b.Min[0] - margin - moves[i][0]
		s.top = b.Min[1] - margin + h - moves[i][1] // a reader's origin is the page's lower left corner
		s.piece(&p.Pieces[i])
	}
	s.WriteString("</g>\n</svg>\n")
	return s.Bytes()
}

// sheet is the page; left and top are its upper left corner in the frame of the piece.
type sheet struct {
	bytes.Buffer
	left, top float64
}

func (s *sheet) at(p orb.Point) (x, y string) { return number(p[0] - s.left), number(s.top - p[1]) }

func escaped(text string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(text)) // a buffer never fails
	return b.String()
}

func attribute(name, value string) string {
	if value == "" {
		return ""
	}
	return fmt.Sprintf(" %s=\"%s\"", name, escaped(value))
}

func (s *sheet) piece(pc *pattern.Piece) {
	fmt.Fprintf(&s.Buffer, "<g%s%s%s%s%s>\n", attribute("data-piece", pc.Name), attribute("data-size", pc.Size),
		attribute("data-quantity", quantity(pc)), attribute("data-material", pc.Material), attribute("data-note", pc.Note))
	for _, l := range lines(pc) {
		dash := ""
		if l.role != pattern.RoleCut && l.role != pattern.RoleCutout {
			dash = " stroke-dasharray=\"4 2\""
		}
		fmt.Fprintf(&s.Buffer, "<path data-role=\"%s\"%s%s d=\"%s\"/>\n", l.role, attribute("data-label", l.name), dash, s.path(l.path))
	}
	for _, n := range pc.Notches {
		s.notch(n)
	}
	for _, d := range pc.Drills {
		x, y := s.at(d.At)
		if d.Diameter > 0 {
			fmt.Fprintf(&s.Buffer, "<circle data-role=\"drill\" cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", x, y, number(d.Diameter/2))
			continue
		}
		fmt.Fprintf(&s.Buffer, "<path data-role=\"drill\" d=\"M%s %sm-2 0h4m-2 -2v4\"/>\n", x, y)
	}
	for _, l := range pc.Labels {
		s.label(l)
	}
	s.WriteString("</g>\n")
}

// path writes the chords of a curve as the curve that runs through their ends, so that a reader knows
// which vertices are no corners. Where that would leave the chords by more than bow they stay straight.
func (s *sheet) path(p geom.Path) string {
	var b strings.Builder
	n := len(p.Points)
	x, y := s.at(p.Points[0])
	fmt.Fprintf(&b, "M%s %s", x, y)
	for i := range p.Segments() {
		k := (i + 1) % n
		from, to := p.Points[i], p.Points[k]
		x, y := s.at(to)
		in, out := heading(p, i), heading(p, k)
		chord := geom.Sub(to, from)
		switch {
		case p.Corner(i) && p.Corner(k):
			in, out = chord, chord
		case p.Corner(i):
			in = across(out, chord)
		case p.Corner(k):
			out = across(in, chord)
		}
		long := geom.Norm(chord)
		a, z := math.Abs(turn(in, chord)), math.Abs(turn(chord, out))
		switch {
		case a+z > 1e-9 && 4.0/27*long*(a+z) <= bow:
			u, v := s.at(geom.Add(from, geom.Mul(geom.Unit(in), long/3)))
			q, r := s.at(geom.Sub(to, geom.Mul(geom.Unit(out), long/3)))
			fmt.Fprintf(&b, "C%s %s %s %s %s %s", u, v, q, r, x, y)
		case k != 0 || !p.Closed:
			fmt.Fprintf(&b, "L%s %s", x, y)
		}
	}
	if p.Closed {
		b.WriteByte('Z')
	}
	return b.String()
}

// bow is how far, in mm, a curve may leave the chords for which it is written.
const bow = 0.006

// heading is the direction of a smooth vertex: from the vertex before it to the one behind.
func heading(p geom.Path, i int) orb.Point {
	n := len(p.Points)
	return geom.Sub(p.Points[(i+1)%n], p.Points[(i+n-1)%n])
}

// across is a direction's mirror image in a chord: the other end of an arc over it.
func across(dir, chord orb.Point) orb.Point {
	u := geom.Unit(chord)
	return geom.Sub(geom.Mul(u, 2*geom.Dot(dir, u)), dir)
}

func turn(a, b orb.Point) float64 { return math.Atan2(geom.Cross(a, b), geom.Dot(a, b)) }

// notch draws a stroke from the edge inward, and says in words what a stroke does not show.
func (s *sheet) notch(n pattern.Notch) {
	said := attribute("data-notch", string(n.Kind))
	if n.Depth > 0 {
		said += attribute("data-depth", number(n.Depth))
	}
	if n.Width > 0 {
		said += attribute("data-width", number(n.Width))
	}
	x, y := s.at(n.At)
	if !n.AngleSaid {
		fmt.Fprintf(&s.Buffer, "<circle data-role=\"notch\"%s cx=\"%s\" cy=\"%s\" r=\"1\"/>\n", said, x, y)
		return
	}
	sin, cos := math.Sincos(n.AngleDeg * math.Pi / 180)
	long := n.Depth
	if long <= 0 {
		long = 4
	}
	u, v := s.at(geom.Add(n.At, orb.Point{long * cos, long * sin}))
	fmt.Fprintf(&s.Buffer, "<path data-role=\"notch\"%s%s d=\"M%s %sL%s %s\"/>\n", said, attribute("data-angle", number(n.AngleDeg)), x, y, u, v)
}

func (s *sheet) label(l pattern.Label) {
	height := l.Height
	if height <= 0 {
		height = letters
	}
	x, y := s.at(l.At)
	fmt.Fprintf(&s.Buffer, "<text x=\"%s\" y=\"%s\" font-size=\"%s\" fill=\"#000\" stroke=\"none\"", x, y, number(height/capShare))
	if l.AngleDeg != 0 {
		fmt.Fprintf(&s.Buffer, " transform=\"rotate(%s %s %s)\"", number(-l.AngleDeg), x, y)
	}
	s.WriteByte('>')
	for i, words := range strings.Split(l.Text, "\n") {
		if i == 0 {
			s.WriteString(escaped(words))
			continue
		}
		fmt.Fprintf(&s.Buffer, "<tspan x=\"%s\" dy=\"1.2em\">%s</tspan>", x, escaped(words))
	}
	s.WriteString("</text>\n")
}
