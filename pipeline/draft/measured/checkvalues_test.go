package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/geom/offset"
	"tracewheel/pipeline/draft/measured/curve"
)

// numbersOf works numbers out as a draft tells them.
func numbersOf(t *testing.T, unit, body string, lines ...string) map[string]float64 {
	t.Helper()
	text := "style: S\nunit: " + unit + "\nbody: {" + body + "}\nnumbers:\n"
	for i, l := range lines {
		text += fmt.Sprintf("  v%d: %s\n", i, l)
	}
	text += "pieces:\n  a: rectangle 1 by 1; cut 1; allowance included\n"
	e := drawText(t, text)
	out := map[string]float64{}
	for i, l := range lines {
		out[l] = e.Top.Definitions[fmt.Sprintf("v%d", i)].Number
	}
	return out
}

// Trade rules of hand drafting as sentences of a draft. Each line names where its rule and figure come
// from: [BLOCK-A], [BLOCK-B] two block-drafting handouts; [ROSENFELD-1911] and [BALDT], cutters' books
// of 1911 and the 1920s; [SCHOOL-SEWING] a sewing school's book; [CONOVER] a dressmaking book's
// plaited skirt; [NIMI-TP] a vocational textbook's pleat rules, pp. 186-190; computed: from geometry.
func TestDraftingArithmetic(t *testing.T) {
	for _, c := range []struct {
		n          string
		unit, body string
		sum        string
		want       float64
	}{
		{"1, common practice", "in", "bust: 36", "bust/4 + 1", 10},
		{"2, computed", "cm", "bust: 92", "bust/4 + 3", 26},
		{"3, BLOCK-A", "in", "chest: 36", "chest/8 + 2 1/2", 7},
		{"4, BLOCK-A", "in", "chest: 36", "chest/12 + 1/4", 3.25},
		{"5, BLOCK-B", "in", "bust: 36", "1/6 * bust + 1", 7},
		{"6, ROSENFELD-1911: of the half", "in", "breast: 36", "half breast/6", 3},
		{"7, SCHOOL-SEWING", "in", "neck: 13", "2 + (neck - 12)/(1/2)*1/8", 2.25},
		{"8, BALDT, back", "in", "increased bust: 40", "increased bust/4 - 2", 8},
		{"8, BALDT, front", "in", "increased bust: 40", "increased bust/2 - (increased bust/4 - 2)", 12},
		{"9, computed", "cm", "waist: 72", "waist/(2*pi)", 11.459},
		{"10, computed", "cm", "waist: 72", "waist/pi", 22.918},
		{"computed, from the left", "cm", "waist: 72", "waist/4/2", 9},
		{"computed, from the left", "cm", "waist: 72", "waist/4/2 in", 72 / 4 / 5.08},
		{"computed, from the left", "cm", "waist: 72", "waist/2/3/4 + 1/2", 3.5},
		{"computed", "cm", "waist: 72", "waist/(4/2)", 36},
		{"computed", "cm", "waist: 72, hip: 98", "larger of waist and (hip - 4)", 94},
		{"computed", "cm", "waist: 72, hip: 98", "(larger of waist and hip) - 4", 94},
		{"computed", "cm", "waist: 72, hip: 98", "smaller of waist and hip, more than 0", 72},
		{"computed", "cm", "waist: 72", "root of (3*3 + 4*4)", 5},
		{"computed", "cm", "waist: 72", "(root of 9)*3 + 4*4", 25},
		{"computed", "cm", "waist: 72", "root of (3*3 + 4*4) - 1", 4},
		{"computed", "cm", "waist: 72, hip: 98", "root of 4, more than 0", 2},
		{"11, computed", "cm", "waist: 72", "2*waist/pi", 45.837},
		{"12, computed", "cm", "waist: 72", "2*waist/(3*pi)", 15.279},
		{"14, computed", "in", "waist: 41 1/4", "waist/(2*pi)", 6.565},
		{"22, computed from NIMI-TP", "cm", "strip: 144.5", "strip/(3.5 + 2*2.5)", 17},
		{"23, computed from NIMI-TP", "cm", "section: 189", "3*section", 567},
		{"24, CONOVER, waist", "in", "cloth: 44", "(cloth - 14 - 2 1/8)/7", 3.982},
		{"24, CONOVER, hip", "in", "cloth: 44", "(cloth - 20 - 2 1/8)/7", 3.125},
		{"31, computed", "cm", "waist: 72", "waist/pi - 1.5", 21.418},
		{"31, computed, arc", "cm", "waist: 72", "pi*(waist/pi - 1.5)", 67.288},
		{"41, exact", "mm", "x: 1", "5/8 in", 15.875}, {"41, exact", "mm", "x: 1", "1/2 in", 12.7},
		{"41, exact", "mm", "x: 1", "3/8 in", 9.525}, {"41, exact", "mm", "x: 1", "¼ in", 6.35}, {"41, exact", "mm", "x: 1", "1/8 in", 3.175},
		{"42, exact", "in", "x: 1", "25 3/8", 25.375}, {"42, exact", "mm", "x: 1", "25 3/8 in", 644.525},
		{"42, exact", "mm", "x: 1", "25⅜ in", 644.525},
	} {
		if got := numbersOf(t, c.unit, c.body, c.sum)[c.sum]; math.Abs(got-c.want) > 0.0005001 {
			t.Errorf("%s: %s is %.5f, want %.5f", c.n, c.sum, got, c.want)
		}
	}
}

// pleated is a straight strip with n even pleats of a kind, and gives how wide it is cut.
func pleated(t *testing.T, unit string, section float64, n int, kind string, more string) float64 {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "style: S\nunit: %s\ndraft a:\n  A: start\n  B: from A out %g\n  C: from B down 60\n  D: from A down 60\n  top: line A to B\n  side: line B to C\n  hem: line C to D\n  edge: line D to A\n", unit, section)
	first, step := section/2, 0.0
	if n > 1 { // as far in as the deepest reaches
		first, step = section/8, section*3/4/float64(n-1)
	}
	for k := range n {
		fmt.Fprintf(&b, "  M%d: from A out %g\n  pleat %d: %s, %s on plumb through M%d, top to hem, overlapping\n", k, first+float64(k)*step, k, kind, more, k)
	}
	b.WriteString("  outline: top, side, hem, edge\npieces:\n  a: a; cut 1; allowance included\n")
	e := drawText(t, b.String())
	return pieceNamed(e, "a").Edges[0].Curve.Length()
}

// Pleats as opened: cloth before folding is 2 x depth x number + pleated section [NIMI-TP p.188].
func TestPleatWidths(t *testing.T) {
	for _, c := range []struct {
		n       string
		unit    string
		section float64
		count   int
		kind    string
		more    string
		want    float64
	}{
		{"15, NIMI-TP rule: an inverted pleat 3 each side adds 12", "in", 30, 1, "inverted box", "3 deep,", 42},
		{"16, NIMI-TP p.189", "cm", 60, 1, "box", "12 deep, 24 wide,", 108},
		{"17, NIMI-TP pp.189-190", "cm", 66, 1, "inverted box", "6.5 deep,", 92},
		{"18, NIMI-TP p.188: 18 of 92/5", "cm", 92, 18, "knife", "4 deep,", 236},
		{"19, NIMI-TP p.189: normal", "cm", 50, 20, "knife", "2.5 deep,", 150},
		{"20, computed from NIMI-TP", "cm", 80, 20, "knife", "3 deep,", 200},
		{"21, computed from NIMI-TP", "cm", 62, 12, "knife", "4.2 deep,", 162.8},
		{"22, computed from NIMI-TP", "cm", 59.5, 17, "knife", "2.5 deep,", 144.5},
		{"23, computed from NIMI-TP: normal", "cm", 95, 10, "knife", "9.5 deep,", 285},
	} {
		if got := pleated(t, c.unit, c.section, c.count, c.kind, c.more); math.Abs(got-c.want) > 0.001 {
			t.Errorf("%s: the strip is %.4f wide, want %.4f", c.n, got, c.want)
		}
	}
}

// What is drawn: circle pieces, a dart's cap, an arc by its rise, shoulder slopes. All computed.
func TestDrawnCheckValues(t *testing.T) {
	const text = `
style: S
unit: cm
draft skirt:
  r: 72/pi
  Z: start
  A: from Z down r
  B: turned A pi*r/2 out round Z
  G: from A down 60
  H: from Z toward B r + 60
  waist: arc A to B round Z
  side: line B to H
  hem: arc H to G round Z
  centre: line G to A
  outline: waist, side, hem, centre on the fold
draft quarter:
  r: 2*72/pi
  Z: start
  A: from Z down r + 60
  B: turned A pi*(r + 60)/2 out round Z
  hem: arc A to B round Z
draft dart:
  P: start
  D: from P down 6.5, out 0.75
  E: from D out 1
  R: mirrored E in line P D
  C: where line D R meets plumb through P
  D2: from P down 120, out 15
  E2: from D2 out 1
  R2: mirrored E2 in line P D2
  C2: where line D2 R2 meets plumb through P
draft curves:
  O: start
  P: from O down 4
  N: from O out 12
  neck: arc P to N, leaving level
  A: from O out 8
  M: from O out 4, down 3/8
  rise: arc O through M to A
  T: from O falling 3 for every 8, 10
  S: from O falling 2 for every 5, 10
pieces:
  skirt: skirt; cut 1 on the fold; allowance included
`
	e := drawText(t, text)
	slope := func(name string) float64 {
		q := e.Drawings["curves"].Scope.Definitions[name].Point
		return math.Atan2(q[1], q[0]) * 180 / math.Pi
	}
	for _, c := range []struct {
		n         string
		got, want float64
	}{
		{"13, hem of a half circle", 2 * value(t, e, "length of skirt hem"), 260.496},
		{"13, its area", 2 * value(t, e, "area skirt"), 9974.867},
		{"13, hem of a quarter circle", value(t, e, "length of quarter hem"), 166.248},
		{"25, leg", value(t, e, "distance dart P to dart D"), 6.543},
		{"25, cap", value(t, e, "down of dart C - 6.5"), 0.1754},
		{"26, cap", value(t, e, "down of dart C2 - 120"), 3.810},
		{"27, radius", e.Drawings["curves"].Scope.Definitions["neck"].Curve[0].Radius(), 20},
		{"27, half length", value(t, e, "length of curves neck"), 12.870},
		{"36, 3 for every 8", slope("T"), 20.556},
		{"36, 2 for every 5", slope("S"), 21.801},
		{"44, chord 8, rise 3/8", value(t, e, "length of curves rise"), 8.0468},
	} {
		if math.Abs(c.got-c.want) > 0.0005001 {
			t.Errorf("%s: %.5f, want %.5f", c.n, c.got, c.want)
		}
	}
}

// A mitre's tip, with equal and with unequal allowances, as this draft's corners are finished (28
// and 29, computed: the two offset lines meet at that distance from the corner).
func TestMitreTips(t *testing.T) {
	for _, c := range []struct{ deg, a, b, tip float64 }{
		{90, 10, 10, 14.142}, {60, 10, 10, 20}, {45, 10, 10, 26.131}, {30, 10, 10, 38.637}, {90, 6, 15, 16.155}, {80, 15, 30, 36.347},
	} {
		s, k := math.Sincos(c.deg * math.Pi / 180)
		text := fmt.Sprintf("style: S\nunit: mm\ndraft a:\n  A: start\n  B: from A out 200\n  C: from A out %.9f, down %.9f\n  one: line A to B\n  two: line B to C\n  three: line C to A\n"+
			"  outline: one, two, three\npieces:\n  a: a; cut 1\nallow:\n  one: %g\n  two: 1\n  three: %g\n", 200*k, 200*s, c.a, c.b)
		p, err := Read([]byte(text), "x.yaml", Options{})
		if err != nil {
			t.Fatal(err)
		}
		pc := p.Pieces[0]
		var edges []offset.Edge
		for _, ed := range pc.Edges {
			edges = append(edges, offset.Edge{First: ed.First, From: ed.Allowance.From, To: ed.Allowance.To, Corner: ed.Corner, SewnFirst: ed.SewnFirst})
		}
		rings, err := offset.Build(pc.Sew[0], edges, 6)
		if err != nil {
			t.Fatal(err)
		}
		far := 0.0
		for _, q := range rings[0].Path.Points {
			if d := math.Hypot(q[0], q[1]); d < 60 { // the corner at A, which lies at 0, 0
				far = max(far, d)
			}
		}
		if math.Abs(far-c.tip) > 0.002 {
			t.Errorf("%g degrees, %g and %g: the tip lies %.4f off, want %.4f", c.deg, c.a, c.b, far, c.tip)
		}
	}
}

// 50, computed: a half cut on the fold is twice the area.
func TestHalfOnFold(t *testing.T) {
	e := drawn(t, "ferry-smock.yaml", "A")
	pc := pieceNamed(e, "front")
	line, _ := e.Flatten(pc.Edges)
	if got := 2 * curve.Area(pc.Edges); math.Abs(got-3856.867) > 0.002 || math.Abs(2*line.Area()/100-3856.867) > 0.05 {
		t.Errorf("the full front is %.3f, %.3f on chords, want 3856.867", got, 2*line.Area()/100)
	}
}
