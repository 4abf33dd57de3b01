package export

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"unicode/utf16"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// layers are the standard's numbers of the roles.
var layers = map[pattern.Role]string{
	pattern.RoleCut: "1", pattern.RoleFold: "6", pattern.RoleGrain: "7", pattern.RoleMark: "8", pattern.RoleStripe: "9",
	pattern.RolePlaid: "10", pattern.RoleCutout: "11", pattern.RoleSew: "14", pattern.RoleQuality: "84",
}

const (
	turnPoints, curvePoints = "2", "3"
	drills, texts           = "13", "15"
)

// notchLayers are the standard's; what it has no layer for gets a layer whose name says it.
var notchLayers = map[pattern.NotchKind]string{
	pattern.NotchNick: "4", pattern.NotchV: "4", pattern.NotchT: "80", pattern.NotchCastle: "81", pattern.NotchCheck: "82",
	pattern.NotchU: "83", pattern.NotchPen: "NOTCH-PEN",
}

// plainV is the layer of V notches whose width nobody states: on layer 4 a notch without width is a slit.
const plainV = "NOTCH-V"

// DXF writes the pattern in release 12's form, which most programs read: each piece a block, inserted
// once, lengths in mm.
func DXF(p *pattern.Pattern) []byte {
	w := &tags{}
	w.section("HEADER", func() {
		w.tag(9, "$ACADVER")
		w.tag(1, "AC1009")
		w.tag(9, "$INSUNITS")
		w.tag(70, "4") // mm
	})
	names := blockNames(p)
	w.section("TABLES", func() { w.layerTable() })
	w.section("BLOCKS", func() {
		for i := range p.Pieces {
			w.tag(0, "BLOCK")
			w.tag(8, "0")
			w.tag(2, names[i])
			w.tag(70, "0")
			w.point(10, orb.Point{})
			w.tag(3, names[i])
			w.piece(&p.Pieces[i])
			w.tag(0, "ENDBLK")
			w.tag(8, "0")
		}
	})
	w.section("ENTITIES", func() {
		moves, b := places(p)
		for i, words := range []string{"Style Name: " + p.Style, "UNITS: METRIC"} {
			w.text("1", words, orb.Point{b.Min[0], b.Min[1] - margin*float64(i+2)}, letters, 0)
		}
		for i, name := range names {
			w.tag(0, "INSERT")
			w.tag(8, "1")
			w.tag(2, name)
			w.point(10, moves[i])
		}
	})
	w.tag(0, "EOF")
	return w.Bytes()
}

// blockNames are the names of the pieces as R12 takes them, told apart by a number.
func blockNames(p *pattern.Pattern) []string {
	out := make([]string, len(p.Pieces))
	for i := range p.Pieces {
		name := strings.Map(func(r rune) rune {
			switch {
			case r >= 'A' && r <= 'Z' || r >= '0' && r <= '9':
				return r
			case r >= 'a' && r <= 'z':
				return r - 'a' + 'A'
			}
			return '_'
		}, p.Pieces[i].Name)
		out[i] = fmt.Sprintf("P%d_%s", i+1, name[:min(len(name), 20)])
	}
	return out
}

// tags are pairs of group code and value.
type tags struct{ bytes.Buffer }

func (w *tags) tag(code int, value string) { fmt.Fprintf(&w.Buffer, "%3d\r\n%s\r\n", code, value) }

// point writes x and y, and of a place in the drawing z too.
func (w *tags) point(code int, p orb.Point) {
	w.tag(code, number(p[0]))
	w.tag(code+10, number(p[1]))
	w.tag(code+20, "0")
}

func (w *tags) section(name string, fill func()) {
	w.tag(0, "SECTION")
	w.tag(2, name)
	fill()
	w.tag(0, "ENDSEC")
}

// layerTable lists every layer that is used.
func (w *tags) layerTable() {
	names := []string{"0", "1", "2", "3", "4", "6", "7", "8", "9", "10", "11", "13", "14", "15", "80", "81", "82", "83", "84", "NOTCH-PEN", plainV}
	w.tag(0, "TABLE")
	w.tag(2, "LAYER")
	w.tag(70, fmt.Sprint(len(names)))
	for _, n := range names {
		w.tag(0, "LAYER")
		w.tag(2, n)
		w.tag(70, "0")
		w.tag(62, "7")
		w.tag(6, "CONTINUOUS")
	}
	w.tag(0, "ENDTAB")
}

func (w *tags) piece(pc *pattern.Piece) {
	b := orb.Bound{}
	if o := pc.Outline(); o != nil {
		b = o.Bound()
	}
	row := 0
	for _, r := range [][2]string{{"Piece Name", pc.Name}, {"Size", pc.Size}, {"Quantity", quantity(pc)}, {"Material", pc.Material}, {"Annotation", pc.Note}} {
		if r[1] != "" {
			w.text("1", r[0]+": "+r[1], geom.Add(b.Center(), orb.Point{0, -2 * letters * float64(row)}), letters, 0)
			row++
		}
	}
	for _, l := range lines(pc) {
		w.line(layers[l.role], l.path)
	}
	for _, n := range pc.Notches {
		w.notch(n)
	}
	for _, d := range pc.Drills {
		if d.Diameter > 0 {
			w.tag(0, "CIRCLE")
			w.tag(8, drills)
			w.point(10, d.At)
			w.tag(40, number(d.Diameter/2))
			continue
		}
		w.dot(drills, d.At)
	}
	for _, l := range pc.Labels {
		height := l.Height
		if height <= 0 {
			height = letters
		}
		down := geom.Rotate(l.AngleDeg * math.Pi / 180).Apply(orb.Point{0, -1.6 * height})
		for i, words := range strings.Split(l.Text, "\n") {
			w.text(texts, words, geom.Add(l.At, geom.Mul(down, float64(i))), height, l.AngleDeg)
		}
	}
}

func (w *tags) dot(layer string, at orb.Point) {
	w.tag(0, "POINT")
	w.tag(8, layer)
	w.point(10, at)
}

// line writes a polyline, or a line of two points, with its turn points beside it. A vertex that bends
// much and is no corner is listed as a curve point, and so is one of a line that has no corner.
func (w *tags) line(layer string, p geom.Path) {
	if len(p.Points) == 2 {
		w.tag(0, "LINE")
		w.tag(8, layer)
		w.point(10, p.Points[0])
		w.point(11, p.Points[1])
		return
	}
	w.tag(0, "POLYLINE")
	w.tag(8, layer)
	w.tag(66, "1")
	w.point(10, orb.Point{})
	closed := "0"
	if p.Closed {
		closed = "1"
	}
	w.tag(70, closed)
	for _, q := range p.Points {
		w.tag(0, "VERTEX")
		w.tag(8, layer)
		w.point(10, q)
	}
	w.tag(0, "SEQEND")
	w.tag(8, layer)
	if p.Corners == nil {
		return // every vertex is one, as a reader takes it
	}
	bends := geom.MarkCorners(geom.Path{Points: p.Points, Closed: p.Closed}, bend)
	listed := false
	for i, q := range p.Points {
		switch {
		case p.Corner(i):
			w.dot(turnPoints, q)
		case bends.Corner(i) || !listed && i == len(p.Points)-1:
			w.dot(curvePoints, q)
		default:
			continue
		}
		listed = true
	}
}

// bend is a turn well under the one from which a reader takes an unlisted vertex for a corner.
const bend = 10 * math.Pi / 180

// notch writes depth, width and direction as codes 39, 30 and 50 (common practice).
func (w *tags) notch(n pattern.Notch) {
	layer := notchLayers[n.Kind]
	if n.Kind == pattern.NotchV && n.Width == 0 {
		layer = plainV
	}
	w.tag(0, "POINT")
	w.tag(8, layer)
	w.tag(10, number(n.At[0]))
	w.tag(20, number(n.At[1]))
	width := n.Width
	if n.Kind == pattern.NotchNick {
		width = 0
	}
	w.tag(30, number(width))
	if n.Depth > 0 {
		w.tag(39, number(n.Depth))
	}
	if n.AngleSaid {
		w.tag(50, number(n.AngleDeg))
	}
}

func (w *tags) text(layer, words string, at orb.Point, height, angle float64) {
	w.tag(0, "TEXT")
	w.tag(8, layer)
	w.point(10, at)
	w.tag(40, number(height))
	w.tag(1, plain(words))
	if angle != 0 {
		w.tag(50, number(angle))
	}
}

// plain writes letters beyond ASCII as \U+ and four digits, and doubles the sign that begins a mark.
func plain(s string) string {
	var b strings.Builder
	for _, c := range utf16.Encode([]rune(strings.ReplaceAll(s, "%%", "%%%%%%"))) {
		switch {
		case c < ' ' || c == 0x7f:
			b.WriteByte(' ')
		case c < 0x7f:
			b.WriteByte(byte(c))
		default:
			fmt.Fprintf(&b, `\U+%04X`, c)
		}
	}
	return b.String()
}
