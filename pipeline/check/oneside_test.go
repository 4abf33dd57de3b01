package check_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/draft/measured/wearers"
	"tracewheel/pipeline/pattern"
)

// A woman whose left shoulder is lower has both sides in one draft: each side's pieces are those that are drawn for a body with
// both shoulders so, and every seam is sound on either side. How much lower is computed: 13.5 along slopes of 3 and of 4.7 for 8.
func TestSidesAreDrawnApart(t *testing.T) {
	source := samples.Read("bodice-block.yaml")
	read := func(source []byte, card string) *pattern.Pattern {
		t.Helper()
		pt, err := draft.Read(source, "bodice-block.yaml", draft.Options{Body: "card", Card: func(string) ([]byte, error) { return []byte(card), nil }})
		if err != nil {
			t.Fatal(err)
		}
		return pt
	}
	card := func(body byte) string {
		return string(wearers.Card(t, string(source), "cm", "woman", wearers.Of(t, body)))
	}
	pt := read(source, card('A')+"  left shoulder slope: 4.7\n  left armhole depth: 20\n")
	var names []string
	for _, p := range pt.Pieces {
		names = append(names, p.Name)
	}
	if want := []string{"front", "right back", "left back", "right sleeve", "left sleeve"}; !slices.Equal(names, want) {
		t.Fatalf("pieces %q, want %q", names, want)
	}
	for _, f := range append(pt.Findings, check.Run(pt, check.Limits{}, nil)...) {
		if f.Severity == pattern.Error || f.Severity == pattern.Warning {
			t.Errorf("%s; %s", f.Message, f.Mend)
		}
	}
	right, left := read(source, card('A')), read([]byte(wearers.Text(string(source), 'J')), card('J'))
	for i, c := range []struct {
		of, as int
		from   *pattern.Pattern
	}{{1, 1, right}, {2, 1, left}, {3, 2, right}, {4, 2, left}} {
		got, want := pt.Pieces[c.of].Sew[0], c.from.Pieces[c.as].Sew[0]
		if i%2 == 1 { // the other hand
			want = want.Apply(geom.Affine{A: -1, D: 1})
		}
		for k, q := range want.Points {
			if len(got.Points) != len(want.Points) || geom.Dist(q, got.Points[k]) > 0.01 {
				t.Fatalf("%s is not as it is drawn for that side alone", pt.Pieces[c.of].Name)
			}
		}
	}
	front, half := pt.Pieces[0], [2]float64{right.Pieces[0].Sew[0].Area(), left.Pieces[0].Sew[0].Area()}
	if got := front.Sew[0].Area(); front.FoldLine() != nil || math.Abs(got-half[0]-half[1]) > 1 {
		t.Errorf("the front opened out is %.1f, its halves are %.1f and %.1f", got, half[0], half[1])
	}
	low := map[string]float64{}
	for i, e := range front.Edges {
		a, b := front.Sew[0].Points[e.First], front.Sew[0].Points[front.Edges[(i+1)%len(front.Edges)].First]
		low[e.Name] = min(a[1], b[1])
		if e.Name == "left shoulder" && a[0] < 0 {
			t.Error("the left half lies at the left of a front that is seen from outside")
		}
	}
	if got, want := low["right shoulder"]-low["left shoulder"], 135*(4.7/math.Hypot(4.7, 8)-3/math.Hypot(3, 8)); math.Abs(got-want) > 0.05 {
		t.Errorf("the left shoulder is %.2f mm lower, want %.2f", got, want)
	}

	fitted := read(source, card('A')+"changes:\n  2026-11-20: take in right side 0.6 at waist, to nothing at U\n")
	i := slices.IndexFunc(fitted.Pieces, func(p pattern.Piece) bool { return p.Name == "right back" })
	if i < 0 || fitted.Fitted != "fitted 2026-11-20" {
		t.Fatalf("fitted %q, no piece of the right side", fitted.Fitted)
	}
	if d := fitted.Pieces[i+1].Sew[0].Area() - right.Pieces[1].Sew[0].Area(); math.Abs(d) > 0.01 {
		t.Errorf("a fitting of the right side changes the left back by %.2f", d)
	}
	if d := fitted.Pieces[i].Sew[0].Area() - right.Pieces[1].Sew[0].Area(); d > -100 {
		t.Errorf("taken in, the right back is larger by %.2f", d)
	}
}

// TestStartersDrawSidesApart: each starter whose shoulders have a slope of their own is sound on both sides of a woman whose left
// shoulder is 2.1 cm lower.
func TestStartersDrawSidesApart(t *testing.T) {
	apart := 0
	for _, file := range samples.Starters() {
		source := samples.Read(file + ".yaml")
		if !strings.Contains(string(source), "\n  shoulder slope: 3") {
			continue
		}
		apart++
		card := string(wearers.Card(t, string(source), "cm", "woman", wearers.Of(t, 'A'))) + "  left shoulder slope: 4.7\n"
		pt, err := draft.Read(source, file+".yaml", draft.Options{Body: "card", Card: func(string) ([]byte, error) { return []byte(card), nil }})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if !slices.ContainsFunc(pt.Pieces, func(p pattern.Piece) bool { return strings.HasPrefix(p.Name, "left ") }) {
			t.Errorf("%s: no piece of the left side", file)
		}
		for _, f := range append(pt.Findings, check.Run(pt, check.Limits{}, nil)...) {
			if f.Severity == pattern.Error || f.Severity == pattern.Warning {
				t.Errorf("%s: %s: %s; %s", file, f.Piece, f.Message, f.Mend)
			}
		}
	}
	if apart != 8 {
		t.Errorf("%d starters", apart)
	}
}

// TestNotchAtTheStartOfAHalfsCurve: a straight skirt with one hip fuller is sound: the notch where the hip's curve begins meets its
// partner on either side.
func TestNotchAtTheStartOfAHalfsCurve(t *testing.T) {
	source := samples.Read("straight-skirt.yaml")
	for _, more := range []string{"right hip: 105", "left hip: 105", "left hip depth: 20.5"} {
		card := "unit: cm\nmeasures: {waist: 72, hip: 98, hip depth: 20, " + more + "}\n"
		pt, err := draft.Read(source, "straight-skirt.yaml", draft.Options{Body: "card", Card: func(string) ([]byte, error) { return []byte(card), nil }})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range check.Run(pt, check.Limits{}, nil) {
			if f.Rule == pattern.RuleNotchNoPartner {
				t.Errorf("%s: %s", more, f.Message)
			}
		}
	}
}
