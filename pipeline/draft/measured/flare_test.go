package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/pipeline/draft/measured/curve"
)

func hung(flare, slope string) string {
	return `style: S
unit: cm
draft skirt:
  A: start
  B: from A out 20, up ` + slope + `
  C: from B down 50, out 4
  D: from A down 50
  M: from A out 18, down 25
  waist: line A to B
  side: line B to C
  hem: curve D to C, leaving level, arriving level
  centre: line D to A
  flare: ` + flare + `
  outline: waist, side, hem, centre on the fold
pieces:
  skirt: skirt; cut 1 on the fold; allowance included
`
}

// Slashing: the waist and the sides keep their length, the hem gains the sum of the openings, and the
// area grows by the wedges, each half of its length times its opening (geometry: a wedge of length l
// opened by angle g gains l x g at the hem).
func TestSlashAndSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gain, n := float64(rapid.IntRange(100, 4000).Draw(t, "hundredths"))/100, rapid.IntRange(1, 12).Draw(t, "slashes")
		text := hung(fmt.Sprintf("%.2f at hem, hung from waist, %d slashes", gain, n), fmt.Sprintf("%.2f", rapid.Float64Range(0, 2).Draw(t, "slope")))
		e := drawText(t, text)
		pc := pieceNamed(e, "skirt")
		var wedges float64
		for _, s := range pc.Edges[pc.Edge("hem")].Curve {
			if s.IsArc() {
				wedges += s.Radius() * s.Length() / 2
			}
		}
		for _, was := range pc.Drawing.Edges {
			want := was.Curve.Length()
			if was.Name == "hem" {
				want += gain
			}
			if got := pc.Edges[pc.Edge(was.Name)].Curve.Length(); math.Abs(got-want) > 1e-6 {
				t.Fatalf("%s is %v, want %v:\n%s", was.Name, got, want, text)
			}
		}
		if got := curve.Area(pc.Edges) - curve.Area(pc.Drawing.Edges); math.Abs(got-wedges) > 1e-6 || wedges < gain*20 {
			t.Fatalf("the area grows by %v, the wedges have %v", got, wedges)
		}
		for i, ed := range pc.Edges { // closed, and the fold where it was
			next := pc.Edges[(i+1)%len(pc.Edges)]
			if d := math.Hypot(ed.Curve.End()[0]-next.Curve.Start()[0], ed.Curve.End()[1]-next.Curve.Start()[1]); d > 1e-6 {
				t.Fatalf("open by %v after %s", d, ed.Name)
			}
			if ed.Fold && ed.Curve.Start() != pc.Drawing.Edges[i].Curve.Start() {
				t.Fatal("the fold was moved")
			}
		}
		// A point is carried along with the part of cloth in which it lies, here that of the side.
		m, b := pc.Flat(pc.Drawing.Scope.Definitions["M"].Point), pc.Flat(pc.Drawing.Scope.Definitions["B"].Point)
		if d := math.Hypot(m[0]-b[0], m[1]-b[1]); n <= 2 && math.Abs(d-math.Hypot(2, 25-pc.Drawing.Scope.Definitions["B"].Point[1])) > 1e-6 {
			t.Fatalf("M lies %v from B", d)
		}
	})
	traced := strings.Replace(hung("6 at hem, hung from waist, 3 slashes", "1"), "pieces:", "draft lining:\n  trace: skirt, without flare\ndraft outer:\n  trace: skirt\npieces:\n  lining: lining; cut 1 on the fold; allowance included\n  outer: outer; cut 1 on the fold; allowance included", 1)
	e := drawText(t, traced)
	if a, b, c := value(t, e, "sewn length of lining hem"), value(t, e, "sewn length of skirt hem"), value(t, e, "sewn length of outer hem"); math.Abs(b-a-6) > 1e-6 || b != c {
		t.Errorf("hems of %v, %v and %v", a, b, c)
	}
	number := strings.Replace(hung("3, at least 2", "1"), "line B to C", "line B to C\n  Z: from D out flare", 1)
	if e := drawText(t, number); len(pieceNamed(e, "skirt").Form.Stages) != 0 {
		t.Error("a number called flare was taken for a flare")
	}
	for flare, want := range map[string]string{
		"-1 at hem, hung from waist, 4 slashes":  "more than 0",
		"4 at hme, hung from waist, 4 slashes":   `did you mean "hem"?`,
		"4 at hem, hung from waist, 2.5 slashes": "say a whole number",
		"4 at hem, hung from waist, 4 cuts":      "in how many slashes",
		"4 at hem, hung from hem, 4 slashes":     "two edges",
		"4 at hem, 4 slashes":                    `"hung from" is wanted`,
		"4 at hem":                               `"hung from" is wanted`,
	} {
		_, err := draw([]byte(hung(flare, "1")), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.yaml:13:") {
			t.Errorf("%s: want %q, got %v", flare, want, err)
		}
	}
}
