package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/pattern"
)

// Darts, pleats, tucks and a flare in one drawing, at random: whatever is folded comes back onto the worn
// outline within 0.01 mm, the piece is closed and uncrossed, and each dart folds into its edge. What
// cannot be is refused with its line.
func TestTogether(t *testing.T) {
	drawnN, refused := 0, map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		var more []string
		moves := []string{"", ", moved to side at K", ", moved to armhole at R", ", half moved to side at K", ", moved to neck at G as gathers", ", folded back"}
		for _, d := range [2]string{"dart s: M to X to M2", "dart w: W1 to X to W2"} {
			more = append(more, "  "+d+rapid.SampledFrom(moves).Draw(t, d))
		}
		if rapid.Bool().Draw(t, "other order") {
			more[0], more[1] = more[1], more[0]
		}
		depth := rapid.Float64Range(0.3, 2).Draw(t, "depth")
		switch rapid.SampledFrom([]string{"fold", "tuck", "knife", "two sets", "none"}).Draw(t, "pleat") {
		case "fold":
			more = append(more, fmt.Sprintf("  pleat: inverted box, %.2f deep, on the fold, neck to inner waist", depth))
		case "two sets":
			more = append(more, fmt.Sprintf("  pleat: inverted box, %.2f deep, on the fold, neck to inner waist, stitched neck to Y\n  Y: from F down 9", depth))
			more = append(more, fmt.Sprintf("  J: from N out %.2f\n  tuck: tuck, %.2f deep, on plumb through J, inner shoulder to inner waist", rapid.Float64Range(0.2, 0.5).Draw(t, "at"), depth/20))
		case "tuck":
			more = append(more, fmt.Sprintf("  J: from N out %.2f\n  tuck: tuck, %.2f deep, on plumb through J, inner shoulder to inner waist", rapid.Float64Range(-1, 1).Draw(t, "at"), depth/2))
		case "knife":
			more = append(more, fmt.Sprintf("  J: from O out %.2f\n  pleat: knife facing out, %.2f deep, on plumb through J, shoulder to waist", rapid.Float64Range(14, 18).Draw(t, "at"), depth/2))
		}
		text := twoDarts(rapid.Float64Range(0.5, 3).Draw(t, "shoulder"), rapid.Float64Range(0.5, 2).Draw(t, "half"), strings.Join(more, "\n"))
		e, err := draw([]byte(text), "x.yaml", Options{})
		if err != nil {
			refused[why.FindString(err.Error())+strings.SplitN(err.Error(), ";", 2)[0]]++
			if !strings.HasPrefix(err.Error(), "x.yaml:3") {
				t.Fatalf("refused without its line: %v", err)
			}
			return
		}
		drawnN++
		pc := pieceNamed(e, "front")
		if pc.Open != nil {
			if d := foldedBack(e, pc); d > 0.01 {
				t.Fatalf("a vertex folds back %.4f mm off:\n%s", d, text)
			}
		}
		for i, ed := range pc.Edges {
			if d := geom.Dist(ed.Curve.End(), pc.Edges[(i+1)%len(pc.Edges)].Curve.Start()) * e.UnitMM; d > 1e-6 {
				t.Fatalf("open by %v mm after %s", d, ed.Name)
			}
		}
		if line, _ := e.Flatten(pc.Edges); len(line.SelfCrossings(1)) > 0 {
			t.Fatalf("crosses itself:\n%s", text)
		}
		for _, was := range pc.Drawing.Edges {
			if i := pc.Edge(was.Name); i >= 0 && !strings.HasSuffix(was.Name, "cap") && math.Abs(pc.Worn[i].Curve.Length()-was.Curve.Length()) > 1e-6 {
				t.Fatalf("%s is %v, was %v:\n%s", was.Name, pc.Worn[i].Curve.Length(), was.Curve.Length(), text)
			}
		}
		closed := *pc // pleats closed
		closed.Edges = pc.Form.Edges
		for _, d := range pc.Form.Darts {
			if s := string(d.Sentence.Text); strings.Contains(s, "moved") || strings.Contains(s, "folded") {
				foldedCap(t, e, &closed, d)
			}
		}
		// The marks of a dart lie on the cut piece: their ends on its outline, the legs as long as told.
		line, _ := e.Flatten(pc.Edges)
		for _, m := range pc.Marks {
			if m.Name == "dart leg" && line.Nearest(e.ToMM(m.From)).Dist > 0.01 {
				t.Fatalf("a dart leg begins %v mm off the outline:\n%s", line.Nearest(e.ToMM(m.From)).Dist, text)
			}
		}
	})
	t.Logf("%d drawn; refused %v", drawnN, refused)
	if drawnN == 0 {
		t.Error("nothing could be drawn")
	}
}

// Pleats between two pairs of edges of one piece: a box pleat on the fold and a tuck from the shoulder that
// shares its lower edge with it. Both fold back, the nicks lie on the edges, and the waist takes both.
func TestPleatsBetweenSeveralEdges(t *testing.T) {
	const box, tuck = "  pleat: inverted box, 2 deep, on the fold, neck to inner waist", "  J: from N out 0.6\n  tuck: tuck, 0.25 deep, on plumb through J, inner shoulder to inner waist"
	for _, more := range []string{box + "\n" + tuck, tuck + "\n" + box} {
		e := drawText(t, twoDarts(3, 0.5, "  dart s: M to X to M2, folded back\n"+more))
		pc := pieceNamed(e, "front")
		if d := foldedBack(e, pc); d > 0.01 {
			t.Errorf("a vertex folds back %v mm off", d)
		}
		i := pc.Edge("inner waist")
		if got := pc.Edges[i].Curve.Length() - pc.Worn[i].Curve.Length(); math.Abs(got-4-0.5) > 1e-6 {
			t.Errorf("the pleats take %v at the waist", got)
		}
		for k, n := range pc.Notches {
			one, _ := e.Flatten(pc.Edges[n.Edge : n.Edge+1])
			one.Points, one.Corners, one.Closed = append(one.Points, e.ToMM(pc.Edges[n.Edge].Curve.End())), nil, false
			if d := one.Nearest(e.ToMM(n.At)).Dist; d > 0.01 {
				t.Errorf("notch %d lies %v mm off the edge %q", k, d, pc.Edges[n.Edge].Name)
			}
		}
		if len(pc.Open.Lines) != 4 {
			t.Errorf("%d lines", len(pc.Open.Lines))
		}
	}
	_, err := draw([]byte(twoDarts(3, 1.6, box+"\n  J: from O down 20\n  tuck: tuck, 0.3 deep, on level through J, centre to armhole")), "x.yaml", Options{})
	if err == nil || !strings.Contains(err.Error(), "through a pleat between other edges") && !strings.Contains(err.Error(), "across a pleat") && !strings.Contains(err.Error(), "does not cross") {
		t.Errorf("crossing pleats: %v", err)
	}
}

// Princess panels slashed and spread: the hem of both together gains what is told, the seam and the
// upper edge keep their lengths.
func TestFlaredPanels(t *testing.T) {
	for _, slashes := range []int{1, 2, 5} {
		text := strings.Replace(divided(strings.Replace(seamLine, "plumb to the waist, takes 2.5 at shoulder, 3 at waist", "plumb to the waist, takes 2.5 at shoulder", 1), 97, ""), "  outline:", fmt.Sprintf("  flare: 6 at waist, hung from shoulder, %d slashes\n  outline:", slashes), 1)
		plain := drawText(t, strings.Replace(text, fmt.Sprintf("  flare: 6 at waist, hung from shoulder, %d slashes\n", slashes), "", 1))
		e := drawText(t, text)
		for _, f := range seamFindings(e) {
			t.Errorf("%d slashes: %s", slashes, f.Message)
		}
		gain := 0.0
		for _, n := range []string{"centre front", "side front"} {
			a, b := pieceNamed(plain, n), pieceNamed(e, n)
			for i, ed := range b.Worn {
				d := ed.Curve.Length() - a.Worn[i].Curve.Length()
				if ed.Name == "waist" {
					gain += d
				} else if math.Abs(d) > 1e-6 {
					t.Errorf("%s %s is longer by %v", n, ed.Name, d)
				}
			}
		}
		if math.Abs(gain-6) > 1e-6 {
			t.Errorf("%d slashes: the hem gains %v", slashes, gain)
		}
	}
}

// A flared skirt with an inverted box pleat on the fold, and a dart at the waist beside it.
func TestFlareWithPleat(t *testing.T) {
	text := hung("9 at hem, hung from waist, 3 slashes", "1")
	text = strings.Replace(text, "  outline:", "  pleat: inverted box, 5 deep, on the fold, waist to hem\n  outline:", 1)
	e := drawText(t, text)
	pc := pieceNamed(e, "skirt")
	if d := foldedBack(e, pc); d > 0.01 {
		t.Errorf("a vertex folds back %v mm off", d)
	}
	if got := pc.Edges[pc.Edge("hem")].Curve.Length() - pc.Worn[pc.Edge("hem")].Curve.Length(); math.Abs(got-10) > 0.01 {
		t.Errorf("the pleat takes %v at the hem", got)
	}
}

func TestTogetherRefused(t *testing.T) {
	refusedWith(t, map[string]string{
		"  dart s: M to X to M2\n  dart w: W1 to X to W2\n  J: half-way from M2 to T\n  pleat: knife facing out, 0.3 deep, on line J V, shoulder to inner waist": "runs through the dart w",
		"  dart s: M to X to M2, moved to side at K\n  dart w: W1 to X to W2\n  J: from O out 16\n  pleat: knife, 1 deep, on plumb through J, shoulder to waist": "runs across a cut",
		"  dart w: W1 to X to W2\n  J: from O out 8.5\n  tuck: tuck, 0.5 deep, on plumb through J, inner shoulder to waist cap":                                  "runs through the dart w",
	})
}

// A princess seam beside darts, at random: from a dart, from an edge into which a dart was moved, with a
// dart that stays in one panel or lies inside it. Both panels are closed and uncrossed, the seam is as long
// on both, and the marks of each dart lie in its panel; or it is refused with its line.
func TestPrincessBesideDarts(t *testing.T) {
	drawnN, refused := map[string]int{}, map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]string{"", ", moved to armhole at R", ", moved to side at K", ", half moved to side at K, ending 2 short", ", 1/8 moved to neck at G as ease, trued"}).Draw(t, "dart s")
		w := rapid.SampledFrom([]string{"", ", moved to side at K", ", 1/3 moved to side at K", ", moved to dart s"}).Draw(t, "dart w")
		from := rapid.SampledFrom([]string{"line from dart s", "curve from armhole at B", "curve from dart s", "line half the shoulder"}).Draw(t, "from")
		to := rapid.SampledFrom([]string{"to dart w", "to waist at Z", "to inner waist at V"}).Draw(t, "to")
		inside := rapid.SampledFrom([]string{"", "  I: from U down 8, back 5\n  dart i: at I, takes 1, 4 up and 4 down\n", "  I: from F down 12, out 4\n  dart i: at I, takes 1, 4 up and 4 down\n"}).Draw(t, "inside")
		more := fmt.Sprintf("  B: along armhole 6 from U\n  Z: along waist 3 from W2\n%s  dart s: M to X to M2%s\n  dart w: W1 to X to W2%s\n  princess: %s, through X, %s", inside, s, w, from, to)
		text := twoDarts(rapid.Float64Range(1, 3).Draw(t, "shoulder"), rapid.Float64Range(0.5, 2).Draw(t, "half"), more)
		text = strings.Replace(text, "  front: front; cut 1 on the fold", "  centre front: front, centre to princess; cut 1 on the fold\n  side front: front, princess to side; cut 2, a pair", 1)
		e, err := draw([]byte(text), "x.yaml", Options{})
		if err != nil {
			refused[strings.SplitN(err.Error(), ": ", 2)[1]]++
			if !strings.HasPrefix(err.Error(), "x.yaml:3") && !strings.Contains(err.Error(), "divides the edge") && !strings.Contains(err.Error(), "leads back") {
				t.Fatalf("refused without its line: %v\n%s", err, text)
			}
			return
		}
		drawnN[from+to]++
		a, b := pieceNamed(e, "centre front"), pieceNamed(e, "side front")
		la, lb := a.Worn[a.Panel.Seam].Curve.Length(), b.Worn[b.Panel.Seam].Curve.Length()
		if math.Abs(la-lb) > 1e-6 {
			t.Fatalf("the seam is %v and %v long:\n%s", la, lb, text)
		}
		for _, pc := range []*pieces.Piece{a, b} {
			line, _ := e.Flatten(pc.Edges)
			if len(line.SelfCrossings(1)) > 0 {
				t.Fatalf("%s crosses itself:\n%s", pc.Name, text)
			}
			for i, ed := range pc.Edges {
				if d := geom.Dist(ed.Curve.End(), pc.Edges[(i+1)%len(pc.Edges)].Curve.Start()) * e.UnitMM; d > 1e-6 {
					t.Fatalf("%s is open by %v mm after %s:\n%s", pc.Name, d, ed.Name, text)
				}
			}
			for _, m := range pc.Marks {
				for _, q := range []orb.Point{e.ToMM(m.From), e.ToMM(m.To)} {
					if !line.Contains(q) && line.Nearest(q).Dist > 0.05 { // the mouth of two darts moved to one place is closed by a straight line
						t.Fatalf("%s: a dart's leg lies %v mm outside:\n%s", pc.Name, line.Nearest(q).Dist, text)
					}
				}
			}
		}
	})
	for r, n := range refused {
		t.Log(n, r)
	}
	t.Log(drawnN)
	if len(drawnN) == 0 {
		t.Errorf("nothing could be drawn: %v", refused)
	}
}

// A seam that is far out is no question of ease: the mend speaks of the shape.
func TestSeamFarOut(t *testing.T) {
	for _, c := range []struct{ seam, mend string }{
		{"front shoulder = back side", "look at the shape of the two edges"},
		{"front shoulder = back shoulder, 0.4 longer", "the two are of one length"},
	} {
		src := strings.Replace(string(samples.Read("ferry-smock.yaml")), "front shoulder = back shoulder", c.seam, 1)
		e := drawText(t, src)
		found := ""
		for _, f := range seamFindings(e) {
			if f.Rule == pattern.RuleSeamLengths {
				found = f.Mend
			}
		}
		if !strings.Contains(found, c.mend) {
			t.Errorf("%s: %q", c.seam, found)
		}
	}
}
