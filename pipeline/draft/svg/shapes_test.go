package svg

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

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
		if f := found(p, pattern.RuleUnreadable); f == nil || f.Line != 3 || f.Column == 0 || f.Severity != pattern.Error || f.Mend == "" || strings.Contains(f.Message, "line 3") {
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
