package svg

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// paint is what decides whether a shape leaves anything on the page. The zero value is the default
// of SVG: filled, not stroked.
type paint struct {
	noFill, stroked, noWidth bool
	fillClear, strokeClear   bool // by an opacity of nought, which inherits
	clear                    bool // by an opacity of nought of the element or of a group around it
}

// take goes on to an element: fill, stroke, the stroke's width and their opacities inherit, and an
// opacity of nought hides all that is inside.
func (p *paint) take(l *look) {
	if v := l.fill; v != "" && v != "inherit" {
		p.noFill = noPaint(v)
	}
	if v := l.stroke; v != "" && v != "inherit" {
		p.stroked = !noPaint(v)
	}
	if v := l.strokeWidth; v != "" && v != "inherit" {
		p.noWidth = nought(v)
	}
	if v := l.fillOpacity; v != "" && v != "inherit" {
		p.fillClear = nought(v)
	}
	if v := l.strokeOpac; v != "" && v != "inherit" {
		p.strokeClear = nought(v)
	}
	p.clear = p.clear || l.opacity != "" && nought(l.opacity)
}

// nothing tells whether a shape is neither filled nor stroked.
func (p *paint) nothing() bool {
	return p.clear || (p.noFill || p.fillClear) && (!p.stroked || p.noWidth || p.strokeClear)
}

func noPaint(v string) bool {
	return strings.EqualFold(v, "none") || strings.EqualFold(v, "transparent")
}

func nought(v string) bool {
	m, ok := parseMeasure(v)
	return ok && m.value == 0
}

// clipped tells of what an inner drawing or a symbol would show only in part: its content is cut at
// the edge of its viewport (SVG 2, 14.3.2), unless it says otherwise, and the reader does not cut.
// view is the map from the viewport's units, of w by h, to mm; first is the first item drawn in it.
func (r *reader) clipped(n *node, overflow string, view geom.Affine, w, h float64, first int) {
	if overflow == "visible" || overflow == "auto" || !(w > 0) || !(h > 0) {
		return
	}
	back, ok := view.Inverse()
	if !ok {
		return
	}
	slackX, slackY := geom.CloseTol/max(geom.Norm(view.Vector(orb.Point{1, 0})), 1e-12), geom.CloseTol/max(geom.Norm(view.Vector(orb.Point{0, 1})), 1e-12)
	for _, it := range r.out.Items[first:] {
		for _, p := range it.Path.Points {
			if q := back.Apply(p); q[0] < -slackX || q[0] > w+slackX || q[1] < -slackY || q[1] > h+slackY {
				r.leave("clipped element", clipNotFollowed, "cut the line itself, or write overflow=\"visible\"", n)
				return
			}
		}
	}
}

const clipNotFollowed = "the clip is not followed: the whole line is used"
