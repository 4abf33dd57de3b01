package svg

import (
	"fmt"
	"strings"

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
			r.leave("name with two roles", "nobody can tell which is meant", "use one word for a role in each name", n)
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
		r.leave("name with two roles", "nobody can tell which is meant", "use one word for a role in each name", n)
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
	if old.Material == "" {
		old.Material = g.Material
	}
	if old.Note == "" {
		old.Note = g.Note
	}
}
