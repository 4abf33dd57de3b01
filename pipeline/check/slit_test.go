package check

import (
	"fmt"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Examples of a slit 120 deep in the lower edge of a piece with 10 mm of allowance. Two allowances of 10 fill what is 20 wide
// at its mouth: arithmetic by hand.
func init() {
	slit := func(wide, bottom float64, change func(*pattern.Piece)) *pattern.Pattern {
		line := fmt.Sprintf("0,0 %v,0 %v,120 %v,120 %v,0 300,0 300,200 0,200", 150-wide/2, 150-bottom/2, 150+bottom/2, 150+wide/2)
		if bottom == 0 {
			line = fmt.Sprintf("0,0 %v,0 150,120 %v,0 300,0 300,200 0,200", 150-wide/2, 150+wide/2)
		}
		return draftOf(panel(func(p *pattern.Piece) {
			p.Cut, p.Sew, p.Allowance = nil, []geom.Path{*closed(line)}, mm(10)
			if change != nil {
				change(p)
			}
		}))
	}
	named := func(p *pattern.Piece) {
		p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "leg", First: 1}, {Name: "other leg", First: 2}, {Name: "far hem", First: 3}, {Name: "side", First: 4}}
	}
	wound := func(p *pattern.Piece) { p.Sew[0] = p.Sew[0].Reversed() }
	narrow := func(p *pattern.Piece) {
		named(p)
		p.Edges[1].Allowance, p.Edges[2].Allowance = &pattern.Width{From: 3, To: 3}, &pattern.Width{From: 3, To: 3}
	}
	examples[pattern.RuleSlitFilled] = []example{
		{name: "wider than both", draft: slit(24, 0, nil)},
		{name: "square and wide", draft: slit(24, 24, nil)},
		{name: "narrower allowances", draft: slit(15, 0, narrow)},
		{name: "a dent", draft: slit(15, 0, func(p *pattern.Piece) { p.Sew[0].Points[2][1] = 4 })},
		{name: "with its cut line", draft: draftOf(panel())},
		{name: "pointed", severity: pattern.Warning, draft: slit(15, 0, named), near: place(150, 120), words: []string{"between leg and other leg of PANEL", "15 mm wide", "120 mm deep"}},
		{name: "square", severity: pattern.Warning, draft: slit(8, 8, nil), words: []string{"8 mm wide"}},
		{name: "the other way round", severity: pattern.Warning, draft: slit(15, 0, wound), near: place(150, 120)},
		{name: "within one edge", severity: pattern.Warning, draft: slit(15, 0, func(p *pattern.Piece) {
			p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 4}}
		}), words: []string{"in the hem of PANEL"}},
	}
}
