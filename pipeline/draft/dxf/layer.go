package dxf

import (
	"fmt"
	"strconv"

	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/draft/roles"
	"tracewheel/pipeline/pattern"
)

// Layers of the interchange standard that are read apart from their role.
const (
	layerBoundary   = 1
	layerTurnPoints = 2
	layerCurvePoint = 3
	layerGrade      = 5
	layerAnnotation = 15
)

// layerNamed looks a layer up; raw is the value of code 8.
func (r *reader) layerNamed(raw []byte) *layerInfo {
	if l, ok := r.layerOf[string(raw)]; ok {
		return l
	}
	l := &layerInfo{name: r.text(raw), number: -1}
	l.layer = r.layers[layerKey(l.name)]
	if n, err := strconv.Atoi(l.name); err == nil && n >= 0 {
		l.number = n
		if r.ownNumbers() {
			l.number = -1 // a name like any other
		} else {
			l.role, l.notch = roles.Layer(n)
			r.sayNumbers(l)
		}
	} else {
		var conflict bool
		if l.role, _, conflict = roles.Find(l.name); l.role == pattern.RoleNotch {
			l.notch = roles.NotchKind(l.name)
		}
		if conflict {
			f := pattern.NewFinding(pattern.RuleLeftOut,
				fmt.Sprintf("the name of layer %q has words for two roles, so its lines count as neither", assemble.Clip(l.name)),
				"give each role a layer of its own")
			f.Severity = pattern.Warning
			r.findings = append(r.findings, f)
		}
	}
	r.layerOf[string(raw)] = l
	return l
}

// ownNumbers tells whether a plain drawing numbers its layers in a way of its own: layers 2 and 3 of
// the standard hold points only, and a line there shows that its numbers are not meant.
func (r *reader) ownNumbers() bool {
	if r.interchange {
		return false
	}
	if !r.numbersAsked {
		r.numbersAsked = true
		lists := [][]entity{r.main}
		for _, b := range r.order {
			lists = append(lists, b.list)
		}
		for _, list := range lists {
			for _, e := range list {
				if drawsLine[e.kind] && (r.onLayer(e, "2") || r.onLayer(e, "3")) {
					r.numbersOwn = true
					f := r.tell(pattern.RuleReadAssumed, e, "name the layers for what they hold: cut, sew, notch, grain",
						"it lies on a layer that holds points only where layers are numbered as the sewn-products interchange standard does; the numbers of the layers say nothing here")
					f.Severity = pattern.Warning
					return true
				}
			}
		}
	}
	return r.numbersOwn
}

// drawsLine are the entities that a layer of points does not hold.
var drawsLine = map[string]bool{"LINE": true, "ARC": true, "CIRCLE": true, "ELLIPSE": true, "LWPOLYLINE": true, "POLYLINE": true, "SPLINE": true}

func (r *reader) sayNumbers(l *layerInfo) {
	if r.interchange || l.role == pattern.RoleNone || !r.once("numbers") {
		return
	}
	r.findings = append(r.findings, pattern.NewFinding(pattern.RuleReadAssumed,
		fmt.Sprintf("layers of this plain drawing are only numbers; they are taken as the sewn-products interchange standard numbers them (layer %d: %s)", l.number, roleName(l)),
		"look at the picture, or name the layers for what they hold: cut, sew, notch, grain"))
}

func roleName(l *layerInfo) string {
	switch l.number {
	case layerTurnPoints, layerCurvePoint:
		return "turn or curve points"
	case layerGrade:
		return "grade reference"
	}
	return string(l.role)
}

// layerIn is the layer of an entity as it is drawn: what lies on layer 0 of a block takes the
// layer of the insert.
func (r *reader) layerIn(e entity, c *context) *layerInfo {
	for _, t := range r.tags[e.from:e.to] {
		if t.code != 8 {
			continue
		}
		if w := r.word(t); len(w) > 0 && (c.layer == nil || string(w) != "0") {
			return r.layerNamed(w)
		}
		break
	}
	if c.layer != nil {
		return c.layer
	}
	return r.layerNamed([]byte("0"))
}

// unused leaves out what lies on a layer that no role wants; it tells whether it did.
func (r *reader) unused(e entity, l *layerInfo) bool {
	switch {
	case l.number == layerTurnPoints || l.number == layerCurvePoint:
		return true // they steer the corners of the lines, see corners
	case l.number == layerGrade:
		r.leave("grade reference line", "it serves grading only", "no action needed", e, "layer 5")
		return true
	case r.interchange && l.role == pattern.RoleNone:
		r.leave(fmt.Sprintf("entity on layer %q", assemble.Clip(l.name)), "the interchange standard gives that layer no meaning for cutting",
			"put it on the layer of its role, if it belongs to the piece", e, e.kind)
		return true
	}
	return false
}

func (r *reader) onLayer(e entity, name string) bool {
	for _, t := range r.tags[e.from:e.to] {
		if t.code == 8 {
			return string(r.word(t)) == name
		}
	}
	return false
}
