package svg

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// carriers of a role, strongest first: data-role, a class, the id, a label. Each is looked up on the
// element and then on its ancestors before the next one is asked.
const carriers = 4

// scope is what an element has from its ancestors.
type scope struct {
	m       geom.Affine // user units to mm, y up
	vp      viewport
	role    [carriers]pattern.Role
	has     [carriers]bool
	hidden  bool // by visibility
	group   string
	piece   assemble.Group // of the nearest data-piece
	inPiece bool
	font    float64 // user units
	paint   paint
	depth   int
}

// defaultFont is CSS's medium size in px.
const defaultFont = 16

// drawing walks over everything that is drawn.
func (r *reader) drawing(root *node, p page) {
	s := scope{m: p.to, vp: viewport{p.vw, p.vh}, font: defaultFont}
	if root.attr("transform") != "" {
		r.fault(root, "put the transform on a group inside", "a transform of the whole drawing is not followed")
	}
	s, shown := r.enter(root, s)
	if shown {
		r.children(root, s)
	}
}

func (r *reader) children(n *node, s scope) {
	s.depth++
	if s.depth > r.limits.Depth {
		r.stop(n, "elements lie more than %d deep in each other, references followed", r.limits.Depth)
	}
	for _, k := range n.kids {
		if r.fatal != nil {
			return
		}
		if k.name != "" {
			r.element(k, s)
		}
	}
}

// enter makes the scope inside an element; shown is false where nothing of it is drawn.
func (r *reader) enter(n *node, s scope) (scope, bool) {
	l := r.look(n)
	if l.display == "none" {
		r.leaveOf(r.roleIn(n, s), "hidden element", "it is hidden in the draft", "show it if it belongs to a piece", n)
		return s, false
	}
	switch l.visibility {
	case "hidden", "collapse":
		s.hidden = true
	case "visible":
		s.hidden = false
	}
	if l.clip != "" && l.clip != "none" {
		r.leave("clipped element", clipNotFollowed, "cut the line itself", n)
	}
	if l.mask != "" && l.mask != "none" {
		r.leave("masked element", "the mask is not followed: the whole line is used", "cut the line itself", n)
	}
	if l.geometry != "" && (n.parent != nil || l.geometry != "width" && l.geometry != "height") {
		r.fault(n, "write it as an attribute of the element", "its place or size is set by the style property %q, which is not followed", l.geometry)
	}
	if l.font != "" {
		s.font = r.fontSize(l.font, s.font)
	}
	s.paint.take(&l)
	if n.parent != nil {
		m, err := transform(n.attr("transform"))
		if err != nil {
			r.fault(n, "mend the transform; nothing of this element was used", "%s", err)
			return s, false
		}
		if m, err = about(m, n.attr("transform-origin"), s.vp); err != nil {
			r.fault(n, "write the origin as two plain numbers, or put it into the transform; nothing of this element was used", "%s", err)
			return s, false
		}
		s.m = s.m.After(m)
	}
	r.carry(n, &s)
	r.grouping(n, &s)
	return s, true
}

func (r *reader) fontSize(text string, parent float64) float64 {
	m, ok := parseMeasure(text)
	if !ok || m.value <= 0 || m.value > maxCoord {
		return parent
	}
	switch strings.ToLower(m.unit) {
	case "", "px":
		return m.value
	case "em":
		return m.value * parent
	case "%":
		return m.value / 100 * parent
	}
	if mm, ok := unitMM(m.unit); ok {
		return m.value * mm / (25.4 / pxPerInch)
	}
	return parent
}

// element draws one element with all that is in it.
func (r *reader) element(n *node, s scope) {
	switch n.name {
	case "g", "a", "switch", "svg", "use", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text":
	case "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter",
		"style", "title", "desc", "metadata":
		return // not drawn where they stand
	case "image", "foreignObject", "script", "animate", "animateTransform", "animateMotion", "set":
		r.leave("<"+n.name+">", "such elements are not read", "draw what belongs to a piece as lines", n)
		return
	default:
		r.leave("unknown element", "it is no shape of SVG", "draw what belongs to a piece as lines", n)
		return
	}
	if !r.asked(n) {
		r.leaveOf(r.roleIn(n, s), "element for other programs", "what it asks for is not there", "take the condition off, if it belongs to a piece", n)
		return
	}
	s, shown := r.enter(n, s)
	if !shown {
		return
	}
	switch n.name {
	case "g", "a":
		r.children(n, s)
	case "switch":
		r.choose(n, s)
	case "svg":
		r.inner(n, n, s)
	case "use":
		r.use(n, s)
	case "text":
		r.text(n, s)
	default:
		r.shape(n, s)
	}
}

// choose draws the first of the alternatives of a switch whose conditions hold.
func (r *reader) choose(n *node, s scope) {
	s.depth++
	for _, k := range n.kids {
		switch k.name {
		case "", "title", "desc", "metadata":
			continue
		}
		if r.asked(k) {
			r.element(k, s)
			return
		}
	}
	r.leave("choice of which nothing is drawn", "none of its alternatives is for this program", "draw what belongs to a piece outside of the choice", n)
}

// asked tells whether the conditions of an element hold (SVG 2, 5.8): no extension is known, a
// language is taken to be English, and of SVG 1.1's features only foreign content is missing.
func (r *reader) asked(n *node) bool {
	if _, has := n.lookup("requiredExtensions"); has {
		return false
	}
	if strings.Contains(n.attr("requiredFeatures"), "#Extensibility") {
		return false
	}
	list, has := n.lookup("systemLanguage")
	if !has {
		return true
	}
	for tag := range strings.SplitSeq(list, ",") {
		if tag = strings.ToLower(strings.TrimSpace(tag)); tag == "en" || strings.HasPrefix(tag, "en-") {
			return true
		}
	}
	return false
}

// shape draws a shape and hands its lines over.
func (r *reader) shape(n *node, s scope) {
	if s.hidden {
		r.leaveOf(s.found(), "hidden element", "it is hidden in the draft", "show it if it belongs to a piece", n)
		return
	}
	if s.paint.nothing() {
		r.leaveOf(s.found(), "shape that leaves nothing on the page", "it is neither filled nor stroked", "give it a stroke, if it belongs to a piece", n)
		return
	}
	r.foreignKids(n)
	role := s.found()
	var paths []geom.Path
	r.pen.begin(s.m, func(p geom.Path) { paths = append(paths, p); r.points += len(p.Points) })
	diameter, centre, ok := r.outline(n, s.vp)
	if !ok {
		return
	}
	if r.pen.far {
		r.fault(n, "bring the drawing onto its page", "it lies more than a kilometre off the page")
		return
	}
	where := n.where()
	if role == pattern.RoleNotch && len(paths) > 0 {
		if said, ok := r.saidNotch(n, s, diameter, centre, paths[0].Points[0]); ok {
			r.out.Items = append(r.out.Items, assemble.Item{Role: role, Path: geom.Path{Points: []orb.Point{said.At}}, Notch: &said, Group: s.group, Where: where, Line: n.line})
			return
		}
	}
	for _, p := range paths {
		r.out.Items = append(r.out.Items, assemble.Item{
			Role: role, Path: p, Diameter: diameter, Centre: centre, Group: s.group, Where: where, Line: n.line, Label: n.attr("data-label"),
		})
	}
}

// foreignKids tells of animations inside a shape.
func (r *reader) foreignKids(n *node) {
	for _, k := range n.kids {
		switch k.name {
		case "", "title", "desc", "metadata", "style":
		default:
			r.leave("<"+k.name+">", "such elements are not read", "draw what belongs to a piece as lines", k)
		}
	}
}
