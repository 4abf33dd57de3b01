package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// The expected values of the three demonstration garments were computed apart from this program, in
// closed form (curves by quadrature) and again on polygons of 20,000 chords a curve; both agree to
// 0.000001. Lengths are tried to 0.01 mm and areas to 0.001 %, but for what the printed digits
// themselves leave open.

func drawn(t testing.TB, file, body string) *sewn.Sewing {
	t.Helper()
	e, err := draw(samples.Read(file), file, Options{Body: body})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func pieceNamed(e *sewn.Sewing, name string) *pieces.Piece {
	for _, pc := range e.Pieces {
		if pc.Name == name {
			return pc
		}
	}
	return nil
}

// want is one expected value: what, and for each of the two bodies.
type want struct {
	what string
	a, b float64
}

// value finds what is named: "front neck", "cut front neck", "area front", "cut area front", "number
// front P.x", or any arithmetic.
func value(t *testing.T, e *sewn.Sewing, what string) float64 {
	t.Helper()
	f := strings.Fields(what)
	edges := func(name string, cut bool) []curve.Edge {
		pc := pieceNamed(e, name)
		if pc == nil {
			t.Fatalf("no piece %q", name)
		}
		if cut {
			return pc.Edges
		}
		return pc.Worn
	}
	switch {
	case f[0] == "area":
		return curve.Area(edges(strings.Join(f[1:], " "), false))
	case f[0] == "cutarea":
		return curve.Area(edges(strings.Join(f[1:], " "), true))
	case f[0] == "cut":
		for _, pc := range e.Pieces {
			if rest, ok := strings.CutPrefix(what[4:], pc.Name+" "); ok && pc.Edge(rest) >= 0 {
				return pc.Edges[pc.Edge(rest)].Curve.Length()
			}
		}
	}
	p := tree.NewParser(&sentence.Sentence{File: "test", Text: []rune(what)}, e.Top)
	v := math.NaN()
	if !e.Try(func() { v = p.Sum()(); p.End() }) {
		t.Fatalf("%s: %v", what, e.Faults)
	}
	return v
}

func tryWants(t *testing.T, file string, bodies [2]string, unitMM float64, wants []want) {
	for k, body := range bodies {
		e := drawn(t, file, body)
		for _, f := range seamFindings(e) {
			if f.Severity == pattern.Error || f.Severity == pattern.Warning {
				t.Errorf("%s %s: line %d: %s", file, body, f.Line, f.Message)
			}
		}
		for _, w := range wants {
			exp := w.a
			if k == 1 {
				exp = w.b
			}
			got := value(t, e, w.what)
			tol := 0.01 / unitMM
			if strings.Contains(w.what, "area ") {
				tol = 1e-5 * exp
			}
			if tol < 0.00005001 && !strings.Contains(w.what, "area ") {
				tol = 0.00005001
			}
			if !(math.Abs(got-exp) <= tol) {
				t.Errorf("%s %s: %s is %.5f, want %.5f", file, body, w.what, got, exp)
			}
		}
	}
}

func TestFerrySmock(t *testing.T) {
	tryWants(t, "ferry-smock.yaml", [2]string{"A", "B"}, 10, []want{
		{"quarter", 27, 31}, {"neck width", 12.6667, 14}, {"across", 17, 19},
		{"out of front T", 18, 20}, {"down of front T", 2, 2.25}, {"armhole depth", 23.5, 25.5},
		{"waist level", 42.5, 44}, {"hem level", 62.5, 64},
		{"out of back N", 13.6030, 14.9363}, {"down of back N", 0.3511, 0.3511},
		{"down of front Z", -416, -472.25}, {"distance front Z to front E", 478.5, 536.25},
		{"out of front H", 28.9469, 32.9377}, {"down of front H", 61.6236, 62.9875},
		{"front armhole radius", 10, 12},
		{"length of front shoulder", 5.6960, 6.4080}, {"length of back shoulder", 5.6960, 6.4080},
		{"length of front neck", 13.7765, 15.0766}, {"length of back neck", 14.1955, 15.5247},
		{"2*length of front neck + 2*length of back neck", 55.9440, 61.2025},
		{"2*length of front neck + 2*length of back neck + 2*slit", 79.9440, 85.2025},
		{"cut front neck", 21.8046, 23.0946},
		{"length of front armhole", 27.3281, 30.2197}, {"length of back armhole", 26.3985, 29.2901},
		{"length of front side", 38.1789, 37.5433}, {"length of back side", 38.1789, 37.5433},
		{"length of front hem", 28.9646, 32.9584}, {"cut front hem", 36.9647, 40.9585},
		{"area front", 1459.705, 1686.011}, {"cutarea front", 1928.433, 2166.591}, {"area back", 1486.344, 1714.904},
		{"area pocket", 284.137, 284.137},
		{"4*quarter", 108, 124}, {"2*length of front hem + 2*length of back hem", 115.8583, 131.8338},
	})
	for body, w := range map[string][3]float64{"A": {3.7096, 62.4833, 19.0202}, "B": {3.7675, 63.9851, 18.5199}} {
		e := drawn(t, "ferry-smock.yaml", body)
		inner := pieceNamed(e, "front").Open.Turns[0] // height at the inner fold, and the underarm to waist
		s := pieceNamed(e, "front").Worn[3].Curve
		for i, got := range []float64{inner.FlatA[1], inner.FlatB[1], curve.NearestOn(s, e.Drawings["front"].Scope.Definitions["S"].Point)} {
			if math.Abs(got-w[i]) > 0.001 {
				t.Errorf("%s: value %d is %.4f, want %.4f", body, i, got, w[i])
			}
		}
	}
}

func TestLamplighterJacket(t *testing.T) {
	tryWants(t, "lamplighter-jacket.yaml", [2]string{"C", "D"}, 25.4, []want{
		{"front quarter", 10, 11.5}, {"back quarter", 9.5, 11}, {"neck width", 3.5, 4}, {"shoulder seam", 4.5, 4.75},
		{"armhole depth", 8.5, 9.5}, {"front intake", 1.5, 1.3750}, {"back intake", 1.5, 1.3750},
		{"out of front M", 5.5891, 6.2051}, {"down of front M", 0.8356, 0.8821},
		{"out of front M'", 6.4747, 7.0911}, {"down of front M'", 0.9170, 0.9546},
		{"out of front T", 8.4813, 9.2175}, {"down of front T", 1.9350, 2.0123},
		{"out of back T", 7.6781, 8.4103}, {"down of back T", 1.6713, 1.7641},
		{"down of front Q1", 43, 50.1364}, {"out of front W1", 2.9802, 3.5411}, {"down of front W1", 17.1714, 17.9442},
		{"out of front W2", 4.5198, 4.9589}, {"out of front Q2", 6.8750, 7.7174}, {"down of front Q2", 37.5833, 43.0217},
		{"out of front S", 9.2302, 10.7233}, {"down of front S", 17.1714, 17.9726},
		{"out of back S", 8.7302, 10.2233}, {"out of back Q3", 6.6250, 7.4263}, {"down of back Q3", 35.4167, 41.2807},
		{"out of back E1", 2.9802, 3.5429}, {"out of back E2", 4.5198, 4.9571}, {"down of back Q4", 43, 51.4318},
		{"down of back Wc", 17, 17.7488},
		{"length of centre front neck", 5.6281, 6.3772}, {"length of back neck", 3.7590, 4.2446},
		{"length of side front armhole", 8.4608, 9.9026}, {"length of back armhole", 8.0517, 9.4763},
		{"length of centre front princess", 16.5534, 17.2795}, {"length of side front princess", 16.6961, 17.4205},
		{"length of side front side", 8.7112, 8.5143}, {"length of back side", 8.7112, 8.5143},
		{"length of centre front waist", 2.9868, 3.5482}, {"length of side front waist", 4.7208, 5.7771},
		{"length of back centre waist", 2.9868, 3.5494}, {"length of back side waist", 4.2197, 5.2774},
		{"peplum front radius", 9.4946, 11.5560}, {"length of back centre back - 6", 10.25, 10.9988},
		{"length of peplum front hem", 13.3901, 14.9741}, {"length of peplum back hem", 12.5196, 14.1736},
		{"area peplum front", 73.8421, 85.0481}, {"area peplum back", 69.0414, 80.5015},
		{"area centre front", 61.3639, 72.1998}, {"area side front", 65.6102, 77.0675},
		{"area back", 137.4810 + 0.0744, 162.0110 + 0.0565}, // with the cap
		{"2*(width of centre front at front X + width of side front at front X + width of back at front X)", 38.7698, 44.7606},
		{"2*(width of centre front at centre front Y + width of side front at centre front Y)", 13.5, 15},
		{"2*width of back at centre front Y", 14.625, 16.125},
	})
}

func TestToolRoll(t *testing.T) {
	tryWants(t, "tool-roll.yaml", [2]string{"T1", "T2"}, 1, []want{
		{"panel width", 289, 321}, {"panel height", 400, 470}, {"pocket height", 186, 228},
		{"cut pocket strip bottom", 481, 513}, {"length of pocket strip bottom", 289, 321},
		{"area panel", 114913.27, 150183.27}, {"cutarea pocket strip", 481 * 186, 513 * 228},
		{"length of panel top + length of panel bottom + 2*length of panel right + 2*length of panel right pocket", 1343.66, 1547.66},
		{"out of panel P3", 144, 150}, {"out of panel P6", 269, 301},
	})
	e := drawn(t, "tool-roll.yaml", "T1")
	st := pieceNamed(e, "pocket strip")
	// Fold lines, open: outer 38 and 70, inner 46 and 62, middles at 54, 125, 201, 275.5, 354, 429.
	var xs []float64
	for _, tn := range st.Open.Turns[:4] {
		xs = append(xs, math.Min(tn.FlatA[0], 481-tn.FlatA[0]))
	}
	mids := []float64{}
	for _, l := range st.Open.Lines {
		if l.Name == "placement" {
			mids = append(mids, l.From[0])
		}
	}
	for i, w := range []float64{54, 125, 201, 275.5, 354, 429} {
		if math.Abs(mids[i]-w) > 0.01 {
			t.Errorf("middle %d at %.3f, want %.3f (%v)", i, mids[i], w, xs)
		}
	}
	for i, w := range []float64{38, 46, 62, 70} {
		if got := st.Open.Turns[i].FlatA[0]; math.Abs(got-w) > 0.01 {
			t.Errorf("fold %d at %.3f, want %.3f", i, got, w)
		}
	}
}
