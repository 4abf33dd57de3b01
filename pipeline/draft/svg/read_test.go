package svg

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// mm is a drawing whose unit is 1 mm on a page of 1000 by 1000.
func mm(body string) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="1000mm" height="1000mm" viewBox="0 0 1000 1000">` + body + `</svg>`
}

func read(t *testing.T, text string) *pattern.Pattern {
	t.Helper()
	p, err := Read([]byte(text), "t.svg", Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func found(p *pattern.Pattern, rule string) *pattern.Finding {
	for i := range p.Findings {
		if p.Findings[i].Rule == rule {
			return &p.Findings[i]
		}
	}
	return nil
}

// boxOf is the box of the first piece, y down from the top of a page of the given height.
func boxOf(t *testing.T, p *pattern.Pattern, height float64) orb.Bound {
	t.Helper()
	if len(p.Pieces) == 0 || p.Pieces[0].Outline() == nil {
		t.Fatalf("no piece: %+v", p.Findings)
	}
	b := p.Pieces[0].Outline().Bound()
	return orb.Bound{Min: orb.Point{b.Min[0], height - b.Max[1]}, Max: orb.Point{b.Max[0], height - b.Min[1]}}
}

func sameBox(t *testing.T, what string, b orb.Bound, x0, y0, x1, y1 float64) {
	t.Helper()
	if geom.Dist(b.Min, orb.Point{x0, y0}) > 1e-6 || geom.Dist(b.Max, orb.Point{x1, y1}) > 1e-6 {
		t.Errorf("%s: %v, want %v %v %v %v", what, b, x0, y0, x1, y1)
	}
}

// The table of CSS 2.1, 4.3.2 (an inch is 2.54 cm, 96 px, 72 pt, 6 pc) and of SVG 2, 8.2.
func TestRootUnits(t *testing.T) {
	const px = 25.4 / 96
	for _, c := range []struct {
		root, ticket string
		mm           float64 // of a user unit
		rule         string
		severity     pattern.Severity
	}{
		{`width="200mm" height="100mm" viewBox="0 0 200 100"`, "", 1, "", ""},
		{`width="20cm" height="10cm" viewBox="0 0 200 100"`, "", 1, "", ""},
		{`width="2in" height="1in" viewBox="0 0 200 100"`, "", 0.254, "", ""},
		{`width="144pt" height="72pt" viewBox="0 0 200 100"`, "", 0.254, "", ""},
		{`width="12pc" height="6pc" viewBox="0 0 200 100"`, "", 0.254, "", ""},
		{`width="800Q" height="400Q" viewBox="0 0 200 100"`, "", 1, "", ""},
		{`width="200" height="100" viewBox="0 0 200 100"`, "", px, pattern.RuleUnitsAssumed, pattern.Note},
		{`width="200px" height="100px" viewBox="0 0 400 200"`, "", px / 2, pattern.RuleUnitsAssumed, pattern.Note},
		{`width="200" height="100"`, "", px, pattern.RuleUnitsAssumed, pattern.Warning},
		{`width="200mm" height="100mm"`, "", px, pattern.RuleUnitsAssumed, pattern.Note},
		{`viewBox="0 0 200 100"`, "", px, pattern.RuleUnitsUnknown, pattern.Error},
		{`width="100%" height="100%" viewBox="0 0 200 100"`, "", px, pattern.RuleUnitsUnknown, pattern.Error},
		{`width="20em" height="10em" viewBox="0 0 200 100"`, "", px, pattern.RuleUnitsUnknown, pattern.Error},
		{``, "", px, pattern.RuleUnitsUnknown, pattern.Error},
		{`width="200mm" viewBox="0 0 200 100"`, "", 1, "", ""},
		{`height="100mm" viewBox="0 0 200 100"`, "", 1, "", ""},
		{`viewBox="0 0 200 100"`, "mm", 1, "", ""},
		{`viewBox="0 0 200 100"`, "cm", 10, "", ""},
		{`width="200" height="100"`, "in", 25.4, "", ""},
		{`width="200" height="100" viewBox="0 0 200 100"`, "mm", 1, "", ""},
		{`width="200mm" height="100mm" viewBox="0 0 200 100"`, "cm", 1, pattern.RuleUnitsDisagree, pattern.Warning},
		{`width="744.094" height="1052.362" viewBox="0 0 744.094 1052.362"`, "", px, pattern.RuleUnitsAssumed, pattern.Warning}, // A4 at 90
		{`width="595" height="842" viewBox="0 0 595 842"`, "", px, pattern.RuleUnitsAssumed, pattern.Warning},                   // A4 at 72
		{`width="793.7" height="1122.5" viewBox="0 0 793.7 1122.5"`, "", px, pattern.RuleUnitsAssumed, pattern.Note},            // A4 at 96
		{`width="200mm" height="100mm" viewBox="0 0 200 50" preserveAspectRatio="none"`, "", 1, pattern.RuleUnitsDisagree, pattern.Warning},
	} {
		text := `<svg xmlns="http://www.w3.org/2000/svg" ` + c.root + `><rect class="cut" x="10" y="20" width="100" height="30"/></svg>`
		p, err := Read([]byte(text), "t.svg", Options{Unit: c.ticket})
		if err != nil {
			t.Errorf("%s: %v", c.root, err)
			continue
		}
		b := p.Pieces[0].Cut.Bound()
		if got := (b.Max[0] - b.Min[0]) / 100; math.Abs(got/c.mm-1) > 1e-9 {
			t.Errorf("%s, ticket %q: a unit is %v mm, want %v", c.root, c.ticket, got, c.mm)
		}
		switch {
		case c.rule == "" && len(p.Findings) > 0:
			t.Errorf("%s, ticket %q: %+v", c.root, c.ticket, p.Findings)
		case c.rule != "":
			if f := found(p, c.rule); f == nil || f.Severity != c.severity {
				t.Errorf("%s: want %s %s, got %+v", c.root, c.rule, c.severity, p.Findings)
			}
		}
	}
}

// W3C SVG 2, 8.8: where a square viewBox of 100 lands in a page of 200 by 100 mm.
func TestPreserveAspectRatio(t *testing.T) {
	for ratio, want := range map[string][4]float64{
		"":               {50, 0, 150, 100},
		"xMinYMid meet":  {0, 0, 100, 100},
		"xMidYMid":       {50, 0, 150, 100},
		"xMaxYMin meet":  {100, 0, 200, 100},
		"none":           {0, 0, 200, 100},
		"xMidYMin slice": {0, 0, 200, 200},
		"xMidYMid slice": {0, -50, 200, 150},
		"xMidYMax slice": {0, -100, 200, 100},
	} {
		p := read(t, fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="10 10 100 100" preserveAspectRatio=%q><rect class="cut" x="10" y="10" width="100" height="100"/></svg>`, ratio))
		sameBox(t, ratio, boxOf(t, p, 100), want[0], want[1], want[2], want[3])
	}
}

// The transforms of W3C SVG 1.1, 7.6, applied to the rectangle 0 0 10 20.
func TestTransforms(t *testing.T) {
	for list, want := range map[string][4]float64{
		"translate(100)":              {100, 0, 110, 20},
		"translate(100 200)":          {100, 200, 110, 220},
		"translate(100,200) scale(2)": {100, 200, 120, 240},
		"scale(2) translate(100,200)": {200, 400, 220, 440},
		"scale(2, 3)":                 {0, 0, 20, 60},
		"rotate(90)":                  {-20, 0, 0, 10},
		"rotate(90, 100, 100)":        {180, 0, 200, 10},
		"matrix(1 0 0 1 5 6)":         {5, 6, 15, 26},
		"matrix(0,1,-1,0,50,0)":       {30, 0, 50, 10},
		"skewX(45)":                   {0, 0, 30, 20},
		"skewY(45)":                   {0, 0, 10, 30},
		" translate( 1e1 ,2 )\n,scale(-1,1)translate(5)": {-5, 2, 5, 22},
	} {
		p := read(t, mm(`<g transform="translate(300,300)"><rect class="cut" transform="`+list+`" width="10" height="20"/></g>`))
		sameBox(t, list, boxOf(t, p, 1000), 300+want[0], 300+want[1], 300+want[2], 300+want[3])
	}
	for _, bad := range []string{"rotate(1 2)", "turn(5)", "scale(1,5", "translate(nan)", "scale(2) x"} {
		p := read(t, mm(`<rect class="cut" transform="`+bad+`" width="10" height="20"/>`))
		if f := found(p, pattern.RuleUnreadable); f == nil || f.Line != 1 || len(p.Pieces) != 0 {
			t.Errorf("%s: %+v", bad, p.Findings)
		}
	}
}

func TestCheckSquare(t *testing.T) {
	const body = `<rect class="cut" width="800" height="800"/><rect class="check" x="100" y="100" width="%v" height="%v"/>`
	if p := read(t, mm(fmt.Sprintf(body, 100, 100))); len(p.Findings) != 0 {
		t.Errorf("%+v", p.Findings)
	}
	p := read(t, mm(fmt.Sprintf(body, 106.667, 106.667)))
	if f := found(p, pattern.RuleUnitsDisagree); f == nil || f.Severity != pattern.Error {
		t.Errorf("%+v", p.Findings)
	}
}
