package svg

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
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

func TestShapes(t *testing.T) {
	for shape, want := range map[string]struct{ area, tol float64 }{
		`<rect class="cut" width="100" height="50"/>`:                                                                        {5000, 1e-9},
		`<rect class="cut" width="100" height="50" rx="10"/>`:                                                                {5000 - (4-math.Pi)*100, 0.5},
		`<rect class="cut" width="100" height="50" rx="80" ry="10"/>`:                                                        {5000 - (4-math.Pi)*50*10, 1},
		`<rect class="cut" width="1in" height="10mm"/>`:                                                                      {25.4 * 10 * (96 / 25.4) * (96 / 25.4), 1e-6}, // px, then the user scale
		`<rect class="cut" width="10%" height="5%"/>`:                                                                        {5000, 1e-9},
		`<circle class="cut" cx="500" cy="500" r="50"/>`:                                                                     {2500 * math.Pi, 1.2},
		`<circle class="cut" cx="50%" cy="500" r="5%"/>`:                                                                     {2500 * math.Pi, 1.2},
		`<ellipse class="cut" cx="500" cy="500" rx="50" ry="20"/>`:                                                           {1000 * math.Pi, 0.6},
		`<ellipse class="cut" cx="500" cy="500" rx="50"/>`:                                                                   {2500 * math.Pi, 1.2},
		`<polygon class="cut" points="0,0 100,0 100,50"/>`:                                                                   {2500, 1e-9},
		`<polyline class="cut" points="0,0 100,0 100,50 0,0"/>`:                                                              {2500, 1e-9},
		`<polygon class="cut" points="0-0 1e2.0 100,50"/>`:                                                                   {2500, 1e-9},
		`<path class="cut" d="M0 0H100V50z"/>`:                                                                               {2500, 1e-9},
		`<svg x="100" y="100" width="200" height="100" viewBox="0 0 20 20"><rect class="cut" width="20" height="20"/></svg>`: {10000, 1e-6},
		`<switch><rect class="cut" width="10" height="10"/><rect class="cut" x="50" width="20" height="20"/></switch>`:       {100, 1e-9},
		`<a><rect class="cut" width="10" height="10"/></a>`:                                                                  {100, 1e-9},
	} {
		p := read(t, mm(shape))
		if len(p.Pieces) != 1 || len(p.Findings) != 0 || !p.Pieces[0].Cut.Closed {
			t.Errorf("%s: %d pieces, %+v", shape, len(p.Pieces), p.Findings)
			continue
		}
		near(t, shape, p.Pieces[0].Cut.Area(), want.area, want.tol)
	}
	for _, nothing := range []string{`<rect class="cut" width="0" height="5"/>`, `<circle class="cut" r="0"/>`, `<path class="cut" d=""/>`} {
		if p := read(t, mm(nothing)); len(p.Pieces) != 0 || found(p, pattern.RuleUnreadable) != nil {
			t.Errorf("%s: %+v", nothing, p)
		}
	}
	for _, bad := range []string{
		`<rect class="cut" x="10,5" width="10" height="10"/>`, `<circle class="cut" r="-5"/>`, `<circle class="cut" r="5em"/>`,
		`<polygon class="cut" points="0,0 10,0 10"/>`, `<polygon class="cut" points="0,0 nan,0 10 5"/>`,
		`<path class="cut" d="M0 0L10 0L1,5,;"/>`, `<rect class="cut" width="inf" height="4"/>`, `<line class="cut" x1="1e300" x2="4"/>`,
		`<rect class="cut" width="5" height="5" style="transform: scale(2)"/>`, `<use href="#nowhere"/>`,
	} {
		p := read(t, "\n\n"+mm(bad))
		if f := found(p, pattern.RuleUnreadable); f == nil || f.Line != 3 || f.Column == 0 || f.Severity != pattern.Error || f.Mend == "" {
			t.Errorf("%s: %+v", bad, p.Findings)
		}
	}
}

func TestUseAndSymbol(t *testing.T) {
	for body, want := range map[string][4]float64{
		`<defs><rect id="r" width="10" height="20"/></defs><use class="cut" href="#r" x="100" y="50"/>`:                                              {100, 50, 110, 70},
		`<use class="cut" xlink:href="#r" x="100" transform="scale(2)"/><defs><rect id="r" width="10" height="20" transform="translate(1)"/></defs>`: {202, 0, 222, 40},
		`<symbol id="s" viewBox="0 0 10 10"><rect class="cut" width="10" height="10"/></symbol><use href="#s" x="5" width="100" height="50"/>`:       {30, 0, 80, 50},
		`<symbol id="s"><rect class="cut" width="10" height="10"/></symbol><use href="#s" x="5"/>`:                                                   {5, 0, 15, 10},
		`<defs><g id="a"><use href="#b" x="10"/></g><rect id="b" class="cut" width="5" height="5"/></defs><use href="#a" y="7"/>`:                    {10, 7, 15, 12},
	} {
		p := read(t, mm(body))
		if len(p.Pieces) != 1 {
			t.Errorf("%s: %d pieces %+v", body, len(p.Pieces), p.Findings)
			continue
		}
		sameBox(t, body, boxOf(t, p, 1000), want[0], want[1], want[2], want[3])
	}
	p := read(t, mm(`<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>`))
	if found(p, pattern.RuleUnreadable) == nil {
		t.Errorf("a loop of references is not told: %+v", p.Findings)
	}
	p = read(t, mm(`<use href="http://example.org/x.svg#a"/><use href="other.svg#a"/>`))
	if f := found(p, pattern.RuleLeftOut); f == nil || !strings.Contains(f.Message, "2") {
		t.Errorf("references out of the file: %+v", p.Findings)
	}
}

// Roles by data-role, class, id and label, on the element and its ancestors, strongest first.
func TestRoles(t *testing.T) {
	const hull = `<rect class="cut" width="500" height="500"/>`
	for body, want := range map[string]pattern.Role{
		`<path data-role="mark" class="drill" d="M9 9L50 50"/>`:                            pattern.RoleMark,
		`<g data-role="mark"><path class="drill" d="M9 9L50 50"/></g>`:                     pattern.RoleMark,
		`<path class="thin Placement" d="M9 9L50 50"/>`:                                    pattern.RoleMark,
		`<g id="INTERNAL_2"><path id="p7" d="M9 9L50 50"/></g>`:                            pattern.RoleMark,
		`<g xmlns:i="http://example.org/i" i:label="Dart legs"><path d="M9 9L50 50"/></g>`: pattern.RoleMark,
		`<g label="stripe"><path d="M9 9L50 50"/></g>`:                                     pattern.RoleStripe,
		`<g class="plaid" id="cut"><path d="M9 9L50 50"/></g>`:                             pattern.RolePlaid,
		`<g class="mark sew"><path id="stripe" d="M9 9L50 50"/></g>`:                       pattern.RoleStripe, // a name with two roles says nothing
		`<defs><path id="x" d="M9 9L50 50"/></defs><g class="mark"><use href="#x"/></g>`:   pattern.RoleMark,
	} {
		p := read(t, mm(hull+body))
		if len(p.Pieces) != 1 || len(p.Pieces[0].Marks) != 1 || p.Pieces[0].Marks[0].Role != want {
			t.Errorf("%s: %+v %+v", body, p.Pieces, p.Findings)
		}
	}
	p := read(t, mm(hull+`<g class="cut and sew"><title>mark</title><path stroke="red" d="M9 9L50 50"/></g>`))
	if len(p.Pieces[0].Marks) != 0 || len(p.Findings) == 0 {
		t.Errorf("neither a title nor two roles make one: %+v", p)
	}
}

// Display and visibility by attribute, rule and style attribute; the cascade of CSS 2.1, 6.4.
func TestHidden(t *testing.T) {
	for body, shown := range map[string]bool{
		`<rect class="cut" width="9" height="9"/>`:                                                                        true,
		`<rect class="cut" width="9" height="9" display="none"/>`:                                                         false,
		`<g style="display:none"><rect class="cut" width="9" height="9"/></g>`:                                            false,
		`<g visibility="hidden"><rect class="cut" width="9" height="9"/></g>`:                                             false,
		`<g visibility="hidden"><rect class="cut" width="9" height="9" visibility="visible"/></g>`:                        true,
		`<style>.old{display:none}</style><rect class="old cut" width="9" height="9"/>`:                                   false,
		`<style>rect{display:none}</style><rect class="cut" style="display:inline" width="9" height="9"/>`:                true,
		`<style>rect{display:none!important}</style><rect class="cut" style="display:inline" width="9" height="9"/>`:      false,
		`<style>#a{display:inline} rect{display:none}</style><rect id="a" class="cut" width="9" height="9"/>`:             true,
		`<style>g.x rect, q {visibility:hidden}</style><g class="x"><a><rect class="cut" width="9" height="9"/></a></g>`:  false,
		`<style>g>rect{display:none}</style><g><a><rect class="cut" width="9" height="9"/></a></g>`:                       true,
		`<style><![CDATA[/* .cut{display:none} */ .cuts{display:none}]]></style><rect class="cut" width="9" height="9"/>`: true,
		`<style>@media print {rect{display:none}} @import url(x);</style><rect class="cut" width="9" height="9"/>`:        true,
		`<rect class="cut" display="none" width="9" height="9" style="display:inline"/>`:                                  true,
		`<defs><rect class="cut" width="9" height="9"/></defs>`:                                                           false,
		`<clipPath><rect class="cut" width="9" height="9"/></clipPath>`:                                                   false,
	} {
		p := read(t, mm(body))
		if (len(p.Pieces) == 1) != shown {
			t.Errorf("%s: %d pieces", body, len(p.Pieces))
		}
		told := found(p, pattern.RuleLeftOut) != nil
		if hidden := strings.Contains(body, "none") || strings.Contains(body, "hidden"); hidden && !shown && !told {
			t.Errorf("%s: hidden without a word", body)
		}
	}
	p := read(t, mm(`<rect class="cut" clip-path="url(#c)" mask="url(#m)" width="90" height="90"/><image href="x.png"/><image/><foreignObject/>`))
	if len(p.Findings) != 4 {
		t.Errorf("want findings for clip, mask, images and the foreign object: %+v", p.Findings)
	}
}

func TestPieceNames(t *testing.T) {
	p := read(t, mm(`<title>Doublet</title>
		<g data-piece="FRONT" data-quantity="1 pair" data-material="linen" data-size="12"><rect class="cut" width="90" height="90"/><rect class="sew" x="10" y="10" width="70" height="70"/></g>
		<g data-piece="FRONT" data-size="14"><rect class="cut" width="95" height="95"/></g>
		<g><title>Collar</title><rect class="cut" x="200" width="90" height="90"/><line class="notch" x1="200" y1="40" x2="204" y2="40"/></g>
		<rect class="cut" x="400" width="90" height="90"/><text x="420" y="40" font-size="10">Cuff<tspan x="420" dy="12">cut two</tspan></text>
		<rect class="cut" x="600" width="90" height="90"/><text x="620" y="40">Piece Name: TAB</text><text x="620" y="60">QUANTITY: 4</text>
		<rect class="cut" x="800" width="90" height="90"/>`))
	type row struct {
		name, size string
		named      bool
		quantity   int
	}
	want := []row{{"FRONT", "12", true, 2}, {"FRONT", "14", true, 0}, {"Collar", "", true, 0}, {"Cuff", "", true, 0}, {"TAB", "", true, 4}, {"piece 1", "", false, 0}}
	if p.Style != "Doublet" || len(p.Pieces) != len(want) {
		t.Fatalf("style %q, %d pieces: %+v", p.Style, len(p.Pieces), p.Findings)
	}
	for i, w := range want {
		g := p.Pieces[i]
		if (row{g.Name, g.Size, g.Named, g.Quantity}) != w {
			t.Errorf("piece %d: %+v, want %+v", i, row{g.Name, g.Size, g.Named, g.Quantity}, w)
		}
	}
	if !p.Pieces[0].Pair || p.Pieces[0].Material != "linen" || len(p.Pieces[0].Sew) != 1 || len(p.Pieces[2].Notches) != 1 {
		t.Errorf("%+v", p.Pieces)
	}
	l := p.Pieces[3].Labels[0]
	if l.Text != "Cuff\ncut two" || l.Height != 7 || l.AngleDeg != 0 || geom.Dist(l.At, orb.Point{420, 960}) > 1e-9 {
		t.Errorf("label %+v", l)
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

func TestEncodings(t *testing.T) {
	for _, c := range []struct{ text, name string }{
		{"\xef\xbb\xbf" + `<?xml version="1.0"?>` + mm(`<g data-piece="Ärmel"><rect class="cut" width="90" height="90"/></g>`), "Ärmel"},
		{`<?xml version="1.0" encoding="ISO-8859-1"?>` + mm("<g data-piece=\"\xc4rmel\"><rect class=\"cut\" width=\"90\" height=\"90\"/></g>"), "Ärmel"},
		{`<svg width="1000mm" height="1000mm" viewBox="0 0 1000 1000"><g data-piece="x"><rect class="cut" width="90" height="90"/></g></svg>`, "x"},
		{strings.NewReplacer("<g", "<s:g", "</g", "</s:g", "<rect", "<s:rect", "<svg", "<s:svg", "</svg", "</s:svg", "xmlns=", "xmlns:s=").Replace(mm(`<g data-piece="x"><rect class="cut" width="90" height="90"/></g>`)), "x"},
		{mm(`<o:g xmlns:o="urn:other"><rect class="cut" width="500" height="500"/></o:g><g data-piece="x"><rect class="cut" width="90" height="90"/></g>`), "x"},
	} {
		if p := read(t, c.text); len(p.Pieces) != 1 || p.Pieces[0].Name != c.name {
			t.Errorf("%q: %+v", c.text, p.Pieces)
		}
	}
}

// Files that cannot be read at all: each says why, where, and of what kind the fault is.
func TestRefusals(t *testing.T) {
	deep := strings.Repeat("<g>", 70) + strings.Repeat("</g>", 70)
	bomb := `<rect id="u0" class="cut" width="5" height="5"/>`
	for i := 1; i < 9; i++ {
		bomb += fmt.Sprintf(`<g id="u%d">%s</g>`, i, strings.Repeat(fmt.Sprintf(`<use href="#u%d"/>`, i-1), 10))
	}
	for name, c := range map[string]struct {
		text string
		kind assemble.Kind
		line int
	}{
		"empty":          {" \n", assemble.Malformed, 0},
		"truncated":      {mm(`<rect class="cut"`)[:150], assemble.Malformed, 1},
		"cut short":      {"<svg xmlns=\"http://www.w3.org/2000/svg\">\n<g>\n", assemble.Malformed, 3},
		"binary":         {"\x00\x01\x02", assemble.Malformed, 0},
		"not xml":        {"0\nSECTION\n2\nHEADER\n", assemble.Malformed, 0},
		"html":           {"<html><body/></html>", assemble.Unsupported, 1},
		"gzip":           {"\x1f\x8b\x08\x00", assemble.Unsupported, 0},
		"utf-16":         {"\xff\xfe<\x00s\x00", assemble.Unsupported, 0},
		"encoding":       {`<?xml version="1.0" encoding="EBCDIC-1"?><svg/>`, assemble.Unsupported, 1},
		"entity outside": {"<?xml version=\"1.0\"?>\n<!DOCTYPE svg [<!ENTITY a SYSTEM \"b\">]>\n" + mm(`&a;`), assemble.Unsupported, 2},
		"entities in it": {"<?xml version=\"1.0\"?>\n<!DOCTYPE svg [<!ENTITY a \"b\"><!ENTITY c \"&a;&a;\">]>\n" + mm(`&c;`), assemble.Unsupported, 2},
		"entity bomb":    {"<!DOCTYPE svg [<!ENTITY a \"" + strings.Repeat("b", 400) + "\">]>\n" + mm(strings.Repeat(`&a;`, 200_000)), assemble.Unsupported, 1},
		"parameters":     {"<!DOCTYPE svg [<!ENTITY % a \"b\">]>\n" + mm(``), assemble.Unsupported, 1},
		"unknown entity": {mm("\n<text>&lol;</text>"), assemble.Malformed, 2},
		"doubled":        {mm("\n" + `<rect width="5" width="6"/>`), assemble.Malformed, 2},
		"two roots":      {mm("") + "\n<svg/>", assemble.Malformed, 2},
		"attributes":     {mm("<g" + manyAttributes(600) + "/>"), assemble.TooLarge, 1},
		"depth":          {mm(deep), assemble.TooLarge, 1},
		"use bomb":       {mm(`<defs>` + bomb + `</defs><use href="#u8"/>`), assemble.TooLarge, 1},
	} {
		start := time.Now()
		_, err := Read([]byte(c.text), "t.svg", Options{})
		var e *assemble.Unreadable
		if !errors.As(err, &e) || e.Kind != c.kind || e.Line != c.line || e.Text == "" {
			t.Errorf("%s: %v (%+v), want kind %d in line %d", name, err, e, c.kind, c.line)
		}
		t.Logf("%s: %v in %v", name, err, time.Since(start).Round(time.Millisecond))
	}
}

func manyAttributes(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, " a%d=\"\"", i)
	}
	return b.String()
}

func TestLimits(t *testing.T) {
	body := mm(strings.Repeat(`<path class="mark" d="M0 0L1 1L2 2L3 3"/>`, 100))
	for name, l := range map[string]Limits{
		"bytes": {Bytes: 100}, "elements": {Elements: 50}, "segments": {Segments: 200}, "points": {Points: 200},
	} {
		_, err := Read([]byte(body), "t.svg", Options{Limits: l})
		var e *assemble.Unreadable
		if !errors.As(err, &e) || e.Kind != assemble.TooLarge {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Read([]byte(body), "t.svg", Options{}); err != nil {
		t.Error(err)
	}
}
