package svg

import (
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
)

// inner draws the content of an inner svg or of a symbol; see nested.
func (r *reader) inner(n, size *node, s scope) {
	first := len(r.out.Items)
	in, ok := r.nested(n, size, s)
	if !ok {
		return
	}
	r.children(n, in.scope)
	r.clipped(n, r.look(n).overflow, in.view, in.w, in.h, first)
}

// window is the scope inside an inner drawing, with the map of its viewport, of w by h in the units
// outside, to mm.
type window struct {
	scope
	view geom.Affine
	w, h float64
}

// nested makes the viewport of an inner svg or of a symbol; size is the element that states width
// and height first, which may be the reference.
func (r *reader) nested(n, size *node, s scope) (window, bool) {
	at, ok := []float64{0, 0}, true
	if n.name == "svg" {
		at, ok = r.lengths(n, s.vp, "x", "y")
	}
	w, okW := r.extent(n, size, s, "width", s.vp.w)
	h, okH := r.extent(n, size, s, "height", s.vp.h)
	if !ok || !okW || !okH {
		return window{}, false
	}
	s.m = s.m.After(geom.Translate(at[0], at[1]))
	in := window{view: s.m, w: w, h: h}
	box, hasBox := r.viewBox(n)
	if !hasBox {
		if w > 0 && h > 0 {
			s.vp = viewport{w, h}
		}
		in.scope = s
		return in, true
	}
	if !(w > 0) || !(h > 0) {
		r.leave("drawing without a size", "an inner drawing of width or height 0 shows nothing", "give it a size", n)
		return in, false
	}
	s.m = s.m.After(fit(box, w, h, n.attr("preserveAspectRatio")))
	s.vp = viewport{box[2], box[3]}
	in.scope = s
	return in, true
}

func (r *reader) extent(n, size *node, s scope, name string, whole float64) (float64, bool) {
	for _, from := range []*node{size, n} {
		v, has, ok := r.length(from, name, s.vp, name[0]-'w'+'x')
		if name == "height" {
			v, has, ok = r.length(from, name, s.vp, 'y')
		}
		if has || !ok {
			return v, ok
		}
	}
	return whole, true
}

// use draws what a reference points to, as if it stood there.
func (r *reader) use(n *node, s scope) {
	id, local := strings.CutPrefix(n.href(), "#")
	target := r.ids[id]
	switch {
	case !local:
		r.leave("reference out of the file", "nothing outside the file is opened", "put what it shows into the file", n)
		return
	case target == nil:
		r.fault(n, "put the missing element into the file, or take the reference out", "it refers to %q, which is not in the file", assemble.Clip(id))
		return
	}
	for _, open := range r.stack {
		if open == id {
			r.fault(n, "take the reference out", "it refers to itself through %q", assemble.Clip(id))
			return
		}
	}
	if r.uses++; r.uses > r.limits.Uses {
		r.stop(n, "more than %d references are followed in this drawing", r.limits.Uses)
		return
	}
	at, ok := r.lengths(n, s.vp, "x", "y")
	if !ok {
		return
	}
	s.m = s.m.After(geom.Translate(at[0], at[1]))
	s.depth++
	if s.depth > r.limits.Depth {
		r.stop(n, "elements lie more than %d deep in each other, references followed", r.limits.Depth)
		return
	}
	r.stack = append(r.stack, id)
	defer func() { r.stack = r.stack[:len(r.stack)-1] }()
	if target.name != "symbol" && target.name != "svg" {
		r.element(target, s)
		return
	}
	s, shown := r.enter(target, s)
	if !shown {
		return
	}
	r.inner(target, n, s)
}
