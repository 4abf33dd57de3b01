package svg

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// text hands over a label.
func (r *reader) text(n *node, s scope) {
	if s.hidden {
		r.leave("hidden element", "it is hidden in the draft", "show it if it belongs to a piece", n)
		return
	}
	words, at, ok := r.words(n, s)
	if !ok || words == "" {
		return
	}
	p := s.m.Apply(at)
	if !(math.Abs(p[0]) <= maxCoord && math.Abs(p[1]) <= maxCoord) {
		r.fault(n, "bring the drawing onto its page", "it lies more than a kilometre off the page")
		return
	}
	u, v := s.m.Vector(orb.Point{1, 0}), s.m.Vector(orb.Point{0, -1})
	height := s.font * geom.Norm(v) * capShare
	if !(height <= maxCoord) {
		height = 0
	}
	role := pattern.RoleText
	if s.found() == pattern.RoleIgnore {
		role = pattern.RoleIgnore
	}
	it := assemble.Item{
		Role: role, Path: geom.Path{Points: []orb.Point{p}}, Text: words, Group: s.group, Where: n.where(), Line: n.line,
		Height: height, AngleDeg: math.Atan2(u[1], u[0]) * 180 / math.Pi,
	}
	if math.IsNaN(it.AngleDeg) {
		it.AngleDeg = 0
	}
	r.out.Items = append(r.out.Items, it)
}

// capShare is how high capitals stand in a font, as a share of its size (common practice).
const capShare = 0.7

// blanks makes line ends in the file what they are on the page.
var blanks = strings.NewReplacer("\n", " ", "\r", " ")

// maxWords bounds the length of a label in bytes.
const maxWords = 2000

// words is the text of an element, one line for each stretch that is placed by itself, and the
// place where it begins, in user units.
func (r *reader) words(n *node, s scope) (text string, at orb.Point, ok bool) {
	var b strings.Builder
	placed := false
	ok = true
	var walk func(n *node)
	walk = func(n *node) {
		if b.Len() > maxWords {
			return
		}
		if n.name == "" {
			b.WriteString(blanks.Replace(n.data))
			return
		}
		moved := false
		for k, name := range []string{"x", "y", "dy"} {
			v, has := n.lookup(name)
			if !has {
				continue
			}
			moved = moved || name != "x" || v != ""
			first := strings.FieldsFunc(v, func(c rune) bool { return c == ',' || c < 0x80 && isSpace(byte(c)) })
			if placed || k > 1 || len(first) == 0 {
				continue
			}
			m, sound := parseMeasure(first[0])
			mm, known := unitMM(m.unit)
			if m.unit == "%" {
				mm, known = 0, true // of a label's place nothing depends on
			}
			if !sound || !known {
				r.fault(n, "write a number", "%s=%q is no length", name, assemble.Clip(v))
				ok = false
				return
			}
			at[k] = m.value * mm / (25.4 / pxPerInch)
		}
		if moved && b.Len() > 0 {
			b.WriteByte('\n')
		}
		for _, k := range n.kids {
			if k.name == "" && strings.TrimSpace(k.data) != "" || k.name == "tspan" && strings.TrimSpace(k.text()) != "" {
				placed = placed || k.name == ""
				if k.name == "" || r.look(k).display != "none" {
					walk(k)
				}
			}
		}
		if n.name == "tspan" {
			placed = true
		}
	}
	walk(n)
	var lines []string
	for line := range strings.SplitSeq(b.String(), "\n") {
		if line = strings.Join(strings.Fields(line), " "); line != "" {
			lines = append(lines, line)
		}
	}
	return clipWords(strings.Join(lines, "\n")), at, ok
}

func clipWords(s string) string {
	if len(s) <= maxWords {
		return s
	}
	return strings.ToValidUTF8(s[:maxWords], "")
}
