package svg

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/draft/roles"
	"tracewheel/pipeline/pattern"
)

// carry finds the roles that the element's own names give.
func (r *reader) carry(n *node, s *scope) {
	if len(n.attrs) == 0 {
		return
	}
	set := func(k int, name string) {
		role, ok, conflict := roles.Find(name)
		if conflict && !r.told[name] {
			r.told[name] = true
			r.leave("name with two roles", "it is not clear which is meant", "use one word for a role in each name", n)
		}
		if ok {
			s.role[k], s.has[k] = role, true
		}
	}
	if v := n.attr("data-role"); v != "" {
		set(0, v)
	}
	if v := n.attr("class"); v != "" {
		r.classes(n, v, s)
	}
	if v := n.attr("id"); v != "" && n.parent != nil {
		set(2, v)
	}
	if v := n.label(); v != "" {
		set(3, v)
	}
}

// classes looks at each class by itself; two classes with different roles say nothing.
func (r *reader) classes(n *node, list string, s *scope) {
	var found pattern.Role
	var ok, conflict bool
	for word := range strings.FieldsSeq(list) {
		role, known, both := roles.Find(word)
		conflict = conflict || both || known && ok && role != found
		if known {
			found, ok = role, true
		}
	}
	switch {
	case conflict && !r.told[list]:
		r.told[list] = true
		r.leave("name with two roles", "it is not clear which is meant", "use one word for a role in each name", n)
	case ok && !conflict:
		s.role[1], s.has[1] = found, true
	}
}

// found is the role that the strongest carrier gives.
func (s *scope) found() pattern.Role {
	for k := range carriers {
		if s.has[k] {
			return s.role[k]
		}
	}
	return pattern.RoleNone
}

// roleIn is the first role in an element that is not drawn, or in what lies in it, which decides what is
// cut; RoleNone where there is none.
func (r *reader) roleIn(n *node, s scope) pattern.Role {
	r.carry(n, &s)
	switch n.name {
	case "g", "a", "switch", "svg":
		for _, k := range n.kids {
			if role := r.roleIn(k, s); role.Shapes() {
				return role
			}
		}
	case "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "use":
		if role := s.found(); role.Shapes() {
			return role
		}
	}
	return pattern.RoleNone
}

// grouping finds the piece to which the element belongs: data-piece, with the particulars beside
// it, else a group with a title.
func (r *reader) grouping(n *node, s *scope) {
	size, hasSize := n.lookup("data-size")
	name := n.attr("data-piece")
	switch {
	case name != "":
		quantity, pair, alike := assemble.Quantity(n.attr("data-quantity"))
		s.piece = assemble.Group{Name: name, Named: true, Size: size, Quantity: quantity, Pair: pair, Alike: alike,
			Material: n.attr("data-material"), Note: n.attr("data-note")}
		s.inPiece = true
	case s.inPiece && hasSize: // several sizes in one group of a piece
		s.piece.Size = size
	case !s.inPiece && n.parent != nil && (n.name == "g" || s.group == "" && n.name != "text") && n.title() != "":
		key := fmt.Sprintf("title %d", len(r.out.Groups))
		r.addGroup(assemble.Group{Key: key, Name: n.title(), Named: true, Loose: true})
		s.group = key
		return
	default:
		return
	}
	s.piece.Key = "piece " + s.piece.Name + "\n" + s.piece.Size
	s.group = s.piece.Key
	r.addGroup(s.piece)
}

// notchKinds are the words of data-notch.
var notchKinds = map[string]pattern.NotchKind{"nick": pattern.NotchNick, "pen": pattern.NotchPen, "v": pattern.NotchV, "t": pattern.NotchT,
	"castle": pattern.NotchCastle, "check": pattern.NotchCheck, "u": pattern.NotchU}

// saidNotch is a notch whose form is said beside it: data-notch its kind, data-depth, data-width in user
// units and data-angle in degrees counter-clockwise, where known. It stands where the element begins, or
// in the middle of a circle.
func (r *reader) saidNotch(n *node, s scope, diameter float64, centre, start orb.Point) (pattern.Notch, bool) {
	word := strings.ToLower(strings.TrimSpace(n.attr("data-notch")))
	if word == "" {
		return pattern.Notch{}, false
	}
	out := pattern.Notch{At: start, Kind: notchKinds[word]}
	if out.Kind == "" {
		r.fault(n, "say nick, pen, v, t, castle, check or u", "data-notch=%q is no kind of notch", assemble.Clip(word))
		return out, true
	}
	if diameter > 0 {
		out.At = centre
	}
	scale := math.Sqrt(math.Abs(s.m.Det()))
	size := func(name string) float64 {
		v, _, ok := r.length(n, name, s.vp, 'd')
		if v *= scale; !ok || !(v >= 0 && v <= maxCoord) {
			return 0
		}
		return v
	}
	out.Depth, out.Width = size("data-depth"), size("data-width")
	if text, has := n.lookup("data-angle"); has {
		m, ok := parseMeasure(text)
		if !ok || m.unit != "" {
			r.fault(n, "write a number of degrees", "data-angle=%q is no angle", assemble.Clip(text))
			return out, true
		}
		sin, cos := math.Sincos(m.value * math.Pi / 180)
		d := s.m.Vector(orb.Point{cos, -sin})
		out.AngleDeg, out.AngleSaid = math.Atan2(d[1], d[0])*180/math.Pi, d != orb.Point{}
		if out.AngleDeg < 0 {
			out.AngleDeg += 360
		}
	}
	return out, true
}

// addGroup enters a group once; what a later place says beside the same name fills what was open.
func (r *reader) addGroup(g assemble.Group) {
	k, known := r.groups[g.Key]
	if !known {
		r.groups[g.Key] = len(r.out.Groups)
		r.out.Groups = append(r.out.Groups, g)
		return
	}
	old := &r.out.Groups[k]
	if old.Quantity == 0 {
		old.Quantity, old.Pair, old.Alike = g.Quantity, g.Pair, g.Alike
	}
	old.Material = cmp.Or(old.Material, g.Material)
	old.Note = cmp.Or(old.Note, g.Note)
}
