package measured

import (
	"fmt"
	"math"
	"math/rand"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/figures"
)

// foldedFront is a front 30 wide to the hem, all its edges straight and square but the shoulder line of the text, so
// that what a princess line takes can be worked out by hand. Its waist W lies 20 below the bust point X and 40 above
// the hem, and the hip H half-way between.
func foldedFront(seam, pieces, more string) string {
	return fmt.Sprintf(`style: S
unit: cm
body: {waist: 98, hip: 120}
draft front:
  O: start
  S: from O out 30
  L: from S down 80
  C: from O down 80
  X: from O down 20, out 12
  W: from O down 40
  H: from O down 60
  K: from O down 30
  shoulder: line O to S
  side: line S to L
  hem: line L to C
  centre: line C to O
  princess: %s
%s  outline: shoulder, side, hem, centre on the fold
pieces:
%s
allow:
  all: 1
`, seam, more, pieces)
}

const (
	foldedLine = "line from shoulder at Q, through X, plumb to the hem, takes 2.5 at shoulder, 3 at W, 0 at H"
	wholeFront = "  front: front; cut 1 on the fold"
	panelFront = "  centre front: front, centre to princess; cut 1 on the fold\n  side front: front, princess to side; cut 2, a pair"
	foldPoint  = "  Q: from O out 12\n"
)

// A princess line folded and topstitched on whole cloth takes what the cut seam takes, and leaves the cloth whole (common
// practice: a dart that runs from edge to edge is stitched as a fold). By hand: of the shoulder, 30, 2.5 are taken, and of the
// waist, 30, 3; at the hip and the hem nothing. Half-way between shoulder and bust point the straight legs lie 1.25 apart.
func TestFoldedPrincess(t *testing.T) {
	more := "ease:\n  waist: 10, finished 4*sewn width of front at W\n  hip: 0, finished 4*sewn width of front at H\nmust:\n  - sewn length of front hem is 30, within 0.001\n"
	e := drawText(t, foldedFront(foldedLine+", folded", wholeFront, foldPoint)+more)
	pc := pieceNamed(e, "front")
	near := func(what string, got, want, within float64) {
		t.Helper()
		if math.Abs(got-want) > within {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	for what, want := range map[string]float64{
		"sewn length of front shoulder": 27.5, "sewn length of front hem": 30,
		"width of front at W": 30, "sewn width of front at W": 27, "sewn width of front at H": 30, "sewn width of front at X": 30,
	} {
		near(what, value(t, e, what), want, 0.01)
	}
	for _, g := range e.Girths {
		if !g.Kept {
			t.Errorf("%s: %v over %v is not kept", g.Name, g.Finished, g.Body)
		}
	}
	// The cloth is whole: 30 by 80. Each leg leans by atan(1.25/20) from the square, and by so much the shoulder beside it is
	// turned, which takes less than a triangle on it; the cap adds no more than half a square on half the mouth.
	lean := 1.25 / 20
	if area, least := curve.Area(pc.Edges), 30*80-(10.75*10.75+16.75*16.75)*lean/2; area < least || area > 30*80+1.25*1.25/2 {
		t.Errorf("%v of cloth, at least %v", area, least)
	}
	// The legs lie halves of what is taken from the line, x = 12.
	folds := pc.Form.Folds
	if len(folds) != 2 {
		t.Fatalf("%d folds", len(folds))
	}
	for y, want := range map[float64]float64{10: 1.25, 40: 3} {
		f := folds[0]
		if y > 20 {
			f = folds[1]
		}
		var x [2]float64
		for k, leg := range f.Legs {
			at := leg.Meets(orb.Point{0, y}, orb.Point{1, 0})
			x[k] = leg[at[0].Index].At(at[0].T)[0]
		}
		near(fmt.Sprintf("taken at %v", y), x[1]-x[0], want, 1e-3)
		near("the middle", (x[0]+x[1])/2, 12, 1e-9)
	}
	if f := folds[1]; f.Legs[0].End() != f.Legs[1].End() || math.Abs(f.Legs[0].End()[1]-60) > 1e-9 {
		t.Errorf("the lower fold ends at %v and %v, not at the hip", f.Legs[0].End(), f.Legs[1].End())
	}
	// Nothing of it is cut, and no seam is left.
	if pc.Edge("princess") >= 0 || pc.Panel != nil {
		t.Error("the seam is an edge")
	}
	p := figures.Pattern(e).Pieces[0]
	legs := 0
	for _, m := range p.Marks {
		if m.Label == "dart leg" {
			legs++
			if m.Line == 0 {
				t.Error("a leg is told nowhere")
			}
		}
	}
	if legs != 4 || len(p.Cutouts) != 0 || len(p.Drills) != 3 {
		t.Errorf("%d legs, %d cutouts, %d drills", legs, len(p.Cutouts), len(p.Drills))
	}
	if len(p.Darts) != 1 || math.Abs(geom.Dist(p.Darts[0].A, p.Darts[0].Apex)-geom.Dist(p.Darts[0].B, p.Darts[0].Apex)) > 1e-6 {
		t.Errorf("darts %+v", p.Darts)
	}
	for _, f := range seamFindings(e) {
		t.Error(f.Message)
	}
}

// The edges of a front whose princess line is folded are, as worn, as long together as those of its two panels, on any
// body, and the cut shoulder closes over the fold.
func TestFoldedPrincessIsTheDivided(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bust := rapid.Float64Range(80, 130).Draw(t, "bust")
		seam := fmt.Sprintf("line half the shoulder, through X, plumb to the waist, takes %.2f at shoulder, %.2f at waist",
			rapid.Float64Range(0.2, 2.5).Draw(t, "top"), rapid.Float64Range(0.2, 4.5).Draw(t, "waist"))
		text := strings.Replace(divided(seam, bust, ""), "0.4 longer, ", "", 1)
		cut := drawText(t, text)
		whole := text[:strings.Index(text, "pieces:")] + "pieces:\n  front: front; cut 1 on the fold\nallow:\n  all: 1\n"
		e := drawText(t, strings.Replace(whole, seam, seam+", folded", 1))
		pc := pieceNamed(e, "front")
		for _, ed := range pc.Worn {
			var sum float64
			for _, part := range cut.Pieces {
				if i := part.Edge(ed.Name); i >= 0 {
					sum += part.WornLength(i)
				}
			}
			if got := pc.WornLength(pc.Edge(ed.Name)); math.Abs(got-sum) > 1e-9 {
				t.Errorf("%s: the %s is %v, of the panels %v", seam, ed.Name, got, sum)
			}
		}
		for _, f := range seamFindings(e) {
			t.Errorf("%s: %s", seam, f.Message)
		}
		for _, d := range pc.Form.Darts {
			closed(t, pc.Edges[d.Edge].Curve, d)
		}
	})
}

// The corners at a fold are those that a cut seam makes. By hand, with 2.5 taken at the shoulder and untrued: each leg leans
// out by atan(1.25/20), so that the shoulder makes 180 and twice that. Where less is taken at the hem than at the waist, the
// legs meet beyond the hem, and lean by atan(1/40) the other way: it makes 180 less twice that.
func TestFoldedPrincessCorners(t *testing.T) {
	seam := strings.Replace(foldedLine, "0 at H", "1 at hem, pointed", 1)
	e := drawText(t, foldedFront(seam+", folded", wholeFront, foldPoint))
	want := map[string]float64{
		"the shoulder at the princess fold of front": 180 + 2*math.Atan(1.25/20)*180/math.Pi,
		"the hem at the princess fold of front":      180 - 2*math.Atan(1.0/40)*180/math.Pi,
	}
	for _, c := range e.Corners {
		w, ok := want[c.What]
		if !ok {
			continue
		}
		delete(want, c.What)
		if math.Abs(c.Degrees-w) > 1e-6 {
			t.Errorf("%s: %v degrees, want %v", c.What, c.Degrees, w)
		}
	}
	if len(want) > 0 {
		t.Errorf("no corner: %v, of %+v", want, e.Corners)
	}
	if e = drawText(t, foldedFront(strings.Replace(seam, ", pointed", "", 1)+", folded", wholeFront, foldPoint)); len(seamFindings(e)) > 0 {
		t.Errorf("trued: %+v", seamFindings(e))
	}
	if got := value(t, e, "sewn length of front hem"); math.Abs(got-29) > 0.01 {
		t.Errorf("the hem is %v, 30 less 1", got)
	}
}

// A curved leg is drawn as it is and chalked through places; a facing along the folded edge is as long as that is worn, and
// both sides of the fold are turned to one another as they are sewn.
func TestFoldedPrincessChalkedAndFaced(t *testing.T) {
	e := drawText(t, foldedFront(foldedLine+", folded", wholeFront+"\n  facing: facing 4 deep along front shoulder; cut 1 on the fold", foldPoint))
	pc, f := pieceNamed(e, "front"), pieceNamed(e, "facing")
	if got, want := f.WornLength(f.Edge("shoulder")), pc.WornLength(pc.Edge("shoulder")); math.Abs(got-want) > 1e-6 || math.Abs(want-27.5) > 0.01 {
		t.Errorf("the facing is %v along the shoulder, which is %v", got, want)
	}
	through := 0
	for _, m := range figures.Of(e).Pieces[0].Marking.Inside {
		if m.Edge != "dart leg, through" {
			continue
		}
		through++
		// Down is told from the outermost place of the shoulder, which the cap lifts: it lies above O by that.
		if math.Abs(m.Y-40) < 0.2 && math.Abs(m.X-10.5) > 1e-6 && math.Abs(m.X-13.5) > 1e-6 {
			t.Errorf("at the waist a leg runs through %v, want 1.5 beside 12", m.X)
		}
	}
	if through < 2*7 { // 40 long, places 5 apart at most
		t.Errorf("%d places", through)
	}
}

// closed folds a mouth shut: its cap is mirrored in the fold onto itself, and begins in its own edge's way as mirrored.
func closed(t *rapid.T, c curve.Curve, d darts.Dart) {
	fold := geom.MirrorLine(d.Apex, geom.Lerp(d.LegA, d.LegB, 0.5))
	if geom.Dist(fold.Apply(d.LegA), d.LegB) > 1e-6 {
		t.Errorf("the fold brings %v to %v, not %v", d.LegA, fold.Apply(d.LegA), d.LegB)
	}
	on := func(q orb.Point) bool { return curve.NearestOn(c, q) >= 0 }
	if !on(d.LegA) || !on(d.LegB) {
		t.Errorf("the legs end beside the edge, at %v and %v", d.LegA, d.LegB)
	}
}

func TestFoldedPrincessRefused(t *testing.T) {
	const whole = "  front: front; cut 1 on the fold"
	for seam, want := range map[string]string{
		"curve from shoulder at Q, through X, plumb to the hem, takes 2 at shoulder, folded":                                     "cloth folds along a straight line",
		"line from shoulder at Q, through X, plumb to the hem, takes 2 at shoulder, eased 0.4 from 5 above X to 5 below, folded": "neither can be eased",
		"line from shoulder at Q, through X, plumb to the hem, folded, flared 3 on each panel at hem":                            "no panel can be flared",
		"line from shoulder at Q, through X, plumb to the hem, folded":                                                           "takes nothing",
		"line from shoulder at Q, through X, plumb to the hem, takes 2 at shoulder, foldet":                                      `did you mean "folded"?`,
	} {
		_, err := draw([]byte(foldedFront(seam, whole, foldPoint)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.yaml:17:") {
			t.Errorf("%s: want %q, got %v", seam, want, err)
		}
	}
	for pieces, want := range map[string]string{
		"  front: front, centre to princess; cut 1 on the fold": "is folded, so that it has no panels",
		"  front: front; cut 1 on two folds":                    "its drawing has 1 edge on a fold; draw its quarter",
	} {
		if _, err := draw([]byte(foldedFront(foldedLine+", folded", pieces, foldPoint)), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", pieces, want, err)
		}
	}
	for more, want := range map[string]string{
		"  dart w: at X, takes 0.5, 3 up and 3 down\n":                                        "runs",
		"  D: from X down 20\n  dart w: at D, takes 1, 5 up and 5 down\n":                     "the seam runs through the dart w",
		"  flare: 6 at hem, hung from shoulder, 3 slashes\n":                                  "cannot be opened in one cloth",
		"  V: from O out 12.5\n  dart w: at V, takes 1, 5 long\n":                             "lies there",
		"  V: from O out 12.5\n  pleat: knife, 1 deep, on plumb through V, shoulder to hem\n": "runs through",
		"  V: from O out 13.4\n  pleat: knife, 1 deep, on plumb through V, shoulder to hem\n": "runs through the princess fold", // below the bust only
	} {
		if _, err := draw([]byte(foldedFront(foldedLine+", folded", whole, foldPoint+more)), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", more, want, err)
		}
	}
}

// TestFoldedPrincessBehindAnd: "and" parts the clauses of a sentence as a comma does, so that the piece is the whole
// behind either, and has no panels.
func TestFoldedPrincessBehindAnd(t *testing.T) {
	for _, folded := range []string{", folded", ",folded", " and folded", " and folded back", " and folded, 1 at hem", " and 1 at hem and folded out"} {
		e, err := draw([]byte(foldedFront(foldedLine+folded, wholeFront, foldPoint)), "x.yaml", Options{})
		if err != nil || pieceNamed(e, "front").Panel != nil {
			t.Errorf("%s: no whole front: %v", folded, err)
		}
		_, err = draw([]byte(foldedFront(foldedLine+folded, panelFront, foldPoint)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), "is folded, so that it has no panels") {
			t.Errorf("%s: panels are cut of it: %v", folded, err)
		}
	}
	if _, err := draw([]byte(foldedFront(foldedLine+" and 1 at hem", panelFront, foldPoint)), "x.yaml", Options{}); err != nil {
		t.Errorf("a cut seam has no panels: %v", err)
	}
}

// Slips of the pen in a draft with a folded line are refused at their place, or what is drawn is sound; see TestSlips.
func TestFoldedPrincessSlips(t *testing.T) {
	seed := time.Now().UnixNano()
	if s, err := strconv.ParseInt(os.Getenv("TRACEWHEEL_SEED"), 10, 64); err == nil {
		seed = s
	}
	t.Logf("TRACEWHEEL_SEED=%d", seed)
	many, r := 300, rand.New(rand.NewSource(seed))
	if n, err := strconv.Atoi(os.Getenv("TRACEWHEEL_SLIPS")); err == nil {
		many = n
	}
	whole := foldedFront(foldedLine+", 1 at hem, folded out", wholeFront, foldPoint+"  D: from W out 6\n  dart w: at D, takes 1, 8 up and 8 down\n")
	words, drawn := word.FindAllString(whole, -1), 0
	for range many {
		src := whole
		for range 1 + r.Intn(2) {
			src = slip(r, src, words)
		}
		if tryslip(t, src) {
			drawn++
		}
	}
	if drawn == 0 || drawn == many {
		t.Errorf("%d of %d drawn: the slips do not try what they should", drawn, many)
	}
}
