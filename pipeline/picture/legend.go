package picture

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// foot draws the scale bar and what the lines mean, and gives the y below them.
func (c *Canvas) foot(p *pattern.Pattern, k, y float64, opt Options) float64 {
	used := map[pattern.Role]bool{}
	for i := range p.Pieces {
		rolesOf(&p.Pieces[i], used)
	}
	return c.footer(used, k, y, opt)
}

func rolesOf(p *pattern.Piece, used map[pattern.Role]bool) {
	mark := func(r pattern.Role, yes bool) {
		if yes {
			used[r] = true
		}
	}
	mark(pattern.RoleCut, p.Cut != nil)
	mark(pattern.RoleSew, len(p.Sew) > 0)
	mark(pattern.RoleNotch, len(p.Notches) > 0)
	mark(pattern.RoleCutout, len(p.Cutouts) > 0)
	mark(pattern.RoleFold, p.Fold != nil)
	mark(pattern.RoleGrain, p.Grain != nil)
	mark(pattern.RoleDrill, len(p.Drills) > 0)
	mark(pattern.RoleMark, len(p.Marks) > 0)
}

func (c *Canvas) footer(used map[pattern.Role]bool, k, y float64, opt Options) float64 {
	x := gutter + c.scaleBar(gutter, y+14, k, opt) + 40
	for _, rw := range roleWords {
		if !used[rw.role] {
			continue
		}
		if x > pageWidth-130 {
			x, y = gutter, y+22
		}
		c.add("", inkOf(rw.role), false, []orb.Point{{x, y + 10}, {x + 30, y + 10}}, false)
		x += 38 + c.text(orb.Point{x + 38, y + 14}, rw.words, 10, slate, leftOf) + 24
	}
	return y + 44
}

// scaleBar draws a length that is round in mm or inches, and gives its width.
func (c *Canvas) scaleBar(x, y, k float64, opt Options) float64 {
	unit, word := 1.0, "mm"
	if opt.Inches {
		unit, word = 25.4, "in"
	}
	n := niceBelow(170 / (k * unit))
	w := n * unit * k
	ink := Ink{Colour: dark, Width: 1.6}
	c.add("scale", ink, false, []orb.Point{{x, y - 6}, {x, y}, {x + w, y}, {x + w, y - 6}}, false)
	c.text(orb.Point{x + w/2, y - 5}, fmt.Sprintf("%g %s", n, word), 9, dark, middle)
	return w
}

// niceBelow is the largest of 1, 2, 5 times a power of ten that is not above v.
func niceBelow(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{5, 2} {
		if m*p <= v {
			return m * p
		}
	}
	return p
}
