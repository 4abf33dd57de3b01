package dxf

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// cutOf reads a drawing of one piece and gives its cut line.
func cutOf(t rapid.TB, data []byte) geom.Path {
	t.Helper()
	p, err := Read(data, "x.dxf", Options{})
	if err != nil {
		t.Fatalf("%v", err)
	}
	if len(p.Pieces) != 1 || p.Pieces[0].Cut == nil {
		t.Fatalf("%d pieces: %v", len(p.Pieces), p.Findings)
	}
	return *p.Pieces[0].Cut
}

// TestBulge holds the area, the length and the place of a bulged stretch against the formulas of the
// DXF reference: bulge = tan(sweep/4), sagitta = |b| c/2, radius = c (1+b*b)/(4|b|), and the area of
// a circular segment r*r (sweep - sin sweep)/2, which a positive bulge adds to a line that runs
// counter-clockwise.
func TestBulge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.Float64Range(0.01, 2.2).Draw(t, "bulge") * float64(1-2*rapid.IntRange(0, 1).Draw(t, "sign"))
		c := rapid.Float64Range(20, 500).Draw(t, "chord")
		h := 6 * c // deep enough for what dips in
		cut := cutOf(t, doc("", fmt.Sprintf("0 LWPOLYLINE 8 cut 90 4 70 1 10 0 20 0 42 %v 10 %v 20 0 10 %v 20 %v 10 0 20 %v", b, c, c, h, h)))
		r, sweep := c*(1+b*b)/(4*math.Abs(b)), 4*math.Atan(math.Abs(b))
		area := c*h + math.Copysign(r*r*(sweep-math.Sin(sweep))/2, b)
		length := 2*h + c + r*sweep
		if got := cut.SignedArea(); math.Abs(got-area) > 2e-4*area {
			t.Errorf("area %.3f, want %.3f", got, area)
		}
		if got := cut.Length(); math.Abs(got-length) > 2e-4*length {
			t.Errorf("length %.3f, want %.3f", got, length)
		}
		apex := orb.Point{c / 2, -b * c / 2}
		if d := cut.Nearest(apex).Dist; d > geom.FlattenTol {
			t.Errorf("the apex %v lies %.4f mm from the line", apex, d)
		}
	})
}

// TestSplineIsAnExactArc: a rational quadratic with weights 1, cos(half angle), 1 is an arc of a
// circle, whatever its angle and however it is scaled.
func TestSplineIsAnExactArc(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		half := rapid.Float64Range(0.2, 1.3).Draw(t, "half angle")
		r := rapid.Float64Range(20, 800).Draw(t, "radius")
		a, z := orb.Point{r * math.Cos(half), -r * math.Sin(half)}, orb.Point{r * math.Cos(half), r * math.Sin(half)}
		mid := orb.Point{r / math.Cos(half), 0}
		cut := cutOf(t, doc("", fmt.Sprintf(
			"0 SPLINE 8 cut 70 4 71 2 40 0 40 0 40 0 40 1 40 1 40 1 10 %v 20 %v 10 %v 20 %v 10 %v 20 %v 41 1 41 %v 41 1 0 LINE 8 cut 10 %v 20 %v 11 %v 21 %v",
			a[0], a[1], mid[0], mid[1], z[0], z[1], math.Cos(half), a[0], a[1], z[0], z[1])))
		for i := range cut.Segments() {
			p, q := cut.Segment(i)
			m := geom.Lerp(p, q, 0.5)
			if math.Abs(p[0]-a[0]) < 1e-6 && math.Abs(q[0]-a[0]) < 1e-6 {
				continue // the chord
			}
			if off := math.Abs(geom.Norm(p) - r); off > 1e-6 {
				t.Errorf("a vertex lies %.7f mm off the arc", off)
			}
			if sag := r - geom.Norm(m); sag > geom.FlattenTol {
				t.Errorf("a chord leaves the arc by %.5f mm", sag)
			}
		}
		corners := 0
		for i := range cut.Points {
			if cut.Corner(i) {
				corners++
			}
		}
		if corners != 2 {
			t.Errorf("%d corners, want the 2 ends of the arc", corners)
		}
	})
}

// TestClosedFitCurve: eight points of a circle; a closed cubic through them is the circle within
// what a cubic of eighths of a turn can do.
func TestClosedFitCurve(t *testing.T) {
	var b strings.Builder
	b.WriteString("0 SPLINE 8 cut 70 1 71 3")
	for k := range 9 {
		s, c := math.Sincos(float64(k) * math.Pi / 4)
		fmt.Fprintf(&b, " 11 %v 21 %v", 100*c, 100*s)
	}
	cut := cutOf(t, doc("", b.String()))
	for i, p := range cut.Points {
		if off := math.Abs(geom.Norm(p) - 100); off > 0.3 {
			t.Errorf("a vertex lies %.3f mm off the circle", off)
		}
		if cut.Corner(i) {
			t.Errorf("a corner at %v", p)
		}
	}
}

// TestTurnPointsSteerCorners: a vertex listed on layer 2 is a corner, one on layer 3 is none.
func TestTurnPointsSteerCorners(t *testing.T) {
	block := "0 BLOCK 2 P 10 0 20 0 0 POLYLINE 8 1 70 1 "
	for _, v := range []string{"10 0 20 0", "10 100 20 0", "10 150 20 50", "10 100 20 100", "10 0 20 100"} {
		block += "0 VERTEX 8 1 " + v + " "
	}
	block += "0 SEQEND 0 POINT 8 2 10 0 20 0 0 POINT 8 2 10 0 20 100 0 POINT 8 3 10 100 20 0 0 POINT 8 3 10 150 20 50 0 POINT 8 3 10 100 20 100 0 ENDBLK"
	cut := cutOf(t, doc(block, "0 INSERT 8 1 2 P 10 0 20 0 0 TEXT 8 1 1 UNITS:METRIC 10 0 20 0"))
	for i, p := range cut.Points {
		if got, want := cut.Corner(i), p[0] == 0; got != want {
			t.Errorf("vertex %v: corner %v, want %v", p, got, want)
		}
	}
}

// TestText: codes of TEXT and MTEXT as the DXF reference gives them.
func TestText(t *testing.T) {
	for in, want := range map[string]string{
		"5%%d": "5°", "%%p1": "±1", "%%c8": "⌀8", "%%uunder%%u": "under", "50%%%": "50%", "%%065B": "AB", "a\x1bb\x03": "ab", "100%%": "100%%",
	} {
		if got := cleanText(in); got != want {
			t.Errorf("TEXT %q is %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{
		`{\fArial|b0|i0;FRONT}\PSIZE: 8`: "FRONT\nSIZE: 8", `a\~b\\c\{d\}`: `a b\c{d}`, `\H2.5x;\C1;x`: "x", `\S1^2;`: "1/2", `\Lup\l`: "up", `x\`: `x\`,
	} {
		if got := cleanMText(in); got != want {
			t.Errorf("MTEXT %q is %q, want %q", in, got, want)
		}
	}
	var ts texts
	ts.page = "ANSI_932"
	ts.settle("AC1015", &source{binary: true})
	for in, want := range map[string]string{
		`\U+00C4rmel`: "Ärmel", `\U+D83D\U+DE00`: "😀", `\M+18 `: `\M+18 `, `\M+182A0`: "あ", "\x83\x5cU": "ソU",
	} {
		if got := ts.text([]byte(in)); got != want {
			t.Errorf("%q is %q, want %q", in, got, want)
		}
	}
}

// TestNumbers takes decimals only.
func TestNumbers(t *testing.T) {
	for in, want := range map[string]float64{"1": 1, "-.5": -0.5, "5.": 5, "+1E+2": 100, "1e-3": 0.001} {
		if v, ok := parseNumber([]byte(in)); !ok || v != want {
			t.Errorf("%q is %v, %v", in, v, ok)
		}
	}
	for _, in := range []string{"", ".", "-", "nan", "Inf", "infinity", "1e999", "0x10", "1_000", "1,5", "1.#IND", "1 2", "1e", "1e+", "--1", "1.2.3"} {
		if v, ok := parseNumber([]byte(in)); ok {
			t.Errorf("%q is taken for %v", in, v)
		}
	}
}

// TestLineEndsAndCase: the same drawing with other line ends and letter case is the same pattern.
func TestLineEndsAndCase(t *testing.T) {
	data, err := os.ReadFile("../../../testdata/drafts/satchel-bulge.dxf")
	if err != nil {
		t.Fatal(err)
	}
	lf := bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	want, err := Read(lf, "x", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, v := range map[string][]byte{
		"CRLF":           bytes.ReplaceAll(lf, []byte("\n"), []byte("\r\n")),
		"CR":             bytes.ReplaceAll(lf, []byte("\n"), []byte("\r")),
		"after EOF":      append(bytes.Clone(lf), "\x1a\n\n"...),
		"comment before": append([]byte("999\nby hand\n"), lf...),
		"mark of order":  append([]byte("\xef\xbb\xbf"), lf...),
	} {
		p, err := Read(v, "x", Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !samePieces(p, want) {
			t.Errorf("%s gives other pieces", name)
		}
	}
}

func samePieces(a, b *pattern.Pattern) bool {
	return fmt.Sprint(outlines(a)) == fmt.Sprint(outlines(b))
}

func outlines(p *pattern.Pattern) (out []any) {
	for _, q := range p.Pieces {
		out = append(out, q.Name, *q.Cut, q.Sew, q.Notches, q.Drills)
	}
	return out
}
