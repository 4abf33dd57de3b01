package measured

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
)

// divided is a front that a princess seam divides, with a back shoulder to which it is sewn.
func divided(seam string, bust float64, more string) string {
	return fmt.Sprintf(`style: S
unit: cm
body: {bust: %g}
draft front:
  O: start
  N: from O out bust/12 + 1
  P: from O down 8
  S: from N falling 2 for every 5, 12 + 2.5
  U: from O down bust/8 + 11, out bust/4 + 2.5
  X: from O down 27, out bust/10
  C: from O down 43.5
  W: from C out bust/4 - 1
  M: half-way from N to S
  B: along armhole 9 from S
  D: from C out bust/10
  neck: curve P to N, leaving level, arriving square to N S up
  shoulder: line N to S
  armhole: curve S to U, leaving plumb down, arriving level
  side: line U to W
  waist: line W to C
  centre: line C to P
  princess: %s
  outline: neck, shoulder, armhole, side, waist, centre on the fold
%spieces:
  centre front: front, centre to princess; cut 1 on the fold
  side front: front, princess to side; cut 2, a pair
allow:
  all: 1
sewn:
  - centre front princess = side front princess, 0.4 longer, within 0.001
`, bust, seam, more)
}

const seamLine = "line half the shoulder, through X, plumb to the waist, takes 2.5 at shoulder, 3 at waist, eased 0.4 on the side panel from 5 above X to 5 below"

// A princess seam through the bust point (common practice): the intake is halved on either side of the
// line, legs are equal above and below the apex, the side panel is longer by the stated ease between
// its notches only, and the edges run on across the seam.
func TestPrincess(t *testing.T) {
	e := drawText(t, divided(seamLine, 97, ""))
	walkPrincess(t, e, 0.4)
	if len(seamFindings(e)) > 0 {
		t.Errorf("findings: %+v", seamFindings(e))
	}
	centre, side := pieceNamed(e, "centre front"), pieceNamed(e, "side front")
	// What is taken at the waist and the shoulder is gone from the sum of both panels: the waist's ends
	// lie 3 apart, carried on by what makes the legs equal, here nothing as the waist is level.
	w1, w2 := centre.Worn[centre.Edge("waist")].Curve.Start(), side.Worn[side.Edge("waist")].Curve.End()
	if math.Abs(geom.Dist(w1, w2)-3) > 1e-9 || math.Abs((w1[0]+w2[0])/2-9.7) > 1e-9 {
		t.Errorf("the waist's ends are %v and %v", w1, w2)
	}
	s1, s2 := centre.Worn[centre.Edge("shoulder")].Curve.End(), side.Worn[side.Edge("shoulder")].Curve.Start()
	if d := geom.Dist(s1, s2); math.Abs(d-2.5) > 0.06 {
		t.Errorf("the shoulder's ends lie %v apart", d)
	}
	if v := value(t, e, "sewn length of centre front waist + sewn length of side front waist"); math.Abs(v-(97.0/4-1-3)) > 0.2 {
		t.Errorf("the waist is %v", v)
	}
}

// corner is the inner angle of a piece as worn at one end of an edge, and the edge across.
type corner struct {
	across  string
	degrees float64
}

func cornersOf(pc *pieces.Piece, edge int) [2]corner {
	n, turn := len(pc.Worn), curve.Orientation(pc.Worn)
	prev := (edge + n - 1) % n
	return [2]corner{{pc.Worn[prev].Name, curve.InnerAngle(pc.Worn, prev, turn)}, {pc.Worn[(edge+1)%n].Name, curve.InnerAngle(pc.Worn, edge, turn)}}
}

// walkPrincess walks both sides of the seam and their notches.
func walkPrincess(t interface {
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, e *sewn.Sewing, ease float64) {
	centre, side := pieceNamed(e, "centre front"), pieceNamed(e, "side front")
	a, b := centre.Worn[centre.Edge("princess")].Curve, side.Worn[side.Edge("princess")].Curve
	if math.Abs(b.Length()-a.Length()-ease) > 1e-6 {
		t.Errorf("the seam is %v and %v long", a.Length(), b.Length())
	}
	if a.Start()[1] > a.End()[1] {
		a = a.Reversed()
	}
	if b.Start()[1] > b.End()[1] {
		b = b.Reversed()
	}
	x := e.Drawings["front"].Scope.Definitions["X"].Point
	up, down := geom.Dist(a.Start(), x), geom.Dist(a.End(), x)
	if d := math.Abs(up + ease - geom.Dist(b.Start(), x)); d > 1e-9 && !a[0].Cubic {
		t.Errorf("the upper legs differ by %v", d)
	}
	if d := math.Abs(down - geom.Dist(b.End(), x)); d > 1e-9 {
		t.Errorf("the lower legs differ by %v", d)
	}
	// The notches are walked from the seam's ends: each set as far on both panels.
	var from [2][]float64
	for k, pc := range []*pieces.Piece{centre, side} {
		c := pc.Edges[pc.Panel.Seam].Curve // flat: a pleat beside it may have been opened
		if c.Start()[1] > c.End()[1] {
			c = c.Reversed()
		}
		for _, n := range pc.Notches {
			if n.Edge != pc.Panel.Seam {
				continue
			}
			l := curve.NearestOn(c, n.At)
			if l < 0 {
				t.Fatalf("a notch of %s lies off the seam", pc.Name)
			}
			if len(from[k]) == 0 { // one above the bust point, two below
				from[k] = append(from[k], l)
			} else {
				from[k] = append(from[k], c.Length()-l)
			}
		}
	}
	if len(from[0]) != 3 || len(from[1]) != 3 {
		t.Fatalf("notches %v", from)
	}
	for i := range from[0] {
		if math.Abs(from[0][i]-from[1][i]) > 1e-3 {
			t.Errorf("notch %d is %v and %v from the end", i, from[0][i], from[1][i])
		}
	}
	for _, pc := range []*pieces.Piece{centre, side} {
		line, _ := e.Flatten(pc.Edges)
		if len(line.SelfCrossings(1)) > 0 {
			t.Errorf("%s crosses itself", pc.Name)
		}
	}
	// Joined corners add to 180 degrees at both ends.
	ca, cb := cornersOf(centre, centre.Panel.Seam), cornersOf(side, side.Panel.Seam)
	for _, p := range ca {
		for _, q := range cb {
			if p.across == q.across && math.Abs(p.degrees+q.degrees-180) > 1e-6 {
				t.Errorf("the %s makes a point of %v degrees", p.across, p.degrees+q.degrees)
			}
		}
	}
}

// Random seams, from shoulder or armhole, walk and match.
func TestRandomPrincess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.SampledFrom([]string{"half the shoulder", "from shoulder at M", "from armhole at B"}).Draw(t, "from")
		to := rapid.SampledFrom([]string{"plumb to the waist", "to waist at D"}).Draw(t, "to")
		top := "shoulder"
		if strings.Contains(from, "armhole") {
			top = "armhole"
		}
		ease := rapid.IntRange(0, 8).Draw(t, "ease")
		seam := fmt.Sprintf("line %s, through X, %s, takes %.2f at %s, %.2f at waist, eased %.1f on the side panel from 5 above X to %.1f below", from, to,
			rapid.Float64Range(0, 2.5).Draw(t, "top"), top, rapid.Float64Range(0, 4.5).Draw(t, "waist"), float64(ease)/10, rapid.Float64Range(3, 7).Draw(t, "below"))
		text := strings.Replace(divided(seam, rapid.Float64Range(80, 130).Draw(t, "bust"), ""), "0.4 longer, within 0.001", fmt.Sprintf("%.1f longer, within 0.001", float64(ease)/10), 1)
		e := drawText(t, text)
		walkPrincess(t, e, float64(ease)/10)
		for _, f := range seamFindings(e) {
			t.Errorf("%s: %s", seam, f.Message)
		}
	})
}

// A pleat on the fold of a divided front is opened in the centre panel alone, and folds back.
func TestPrincessAndPleat(t *testing.T) {
	text := strings.Replace(divided(seamLine, 97, ""), "  outline:", "  pleat: inverted box, 2.5 deep, on the fold, neck to waist\n  outline:", 1)
	e := drawText(t, text)
	centre, side := pieceNamed(e, "centre front"), pieceNamed(e, "side front")
	if side.Open != nil || centre.Open == nil {
		t.Fatal("the pleat lies in the wrong panel")
	}
	if d := foldedBack(e, centre); d > 0.01 {
		t.Errorf("a vertex folds back %v mm off", d)
	}
	walkPrincess(t, e, 0.4)
}

func TestPrincessRefused(t *testing.T) {
	for seam, want := range map[string]string{
		"line half the shoulder, through X, plumb to the neck":                                        "0 times",
		"line half the sholder, through X, plumb to the waist":                                        `did you mean "shoulder"?`,
		"line half the shoulder, through X, plumb to the waist, takes 20 at shoulder":                 "runs past the end",
		"line half the shoulder, through X, plumb to the waist, takes 2 at neck":                      "does not reach that edge",
		"line half the shoulder, through X, plumb to the waist, eased 2 from 5 above X to 5 below":    "2 cm of ease over the bust: 0.3 cm to 0.6 cm are usual, and more than 1 cm is not",
		"line half the shoulder, through X, plumb to the waist, eased 0.4 from 50 above X to 5 below": "nearer to the bust point",
		"line half the shoulder, through X, plumb to the waist, taking 2 at shoulder":                 `did you mean "takes"?`,
		"line from shoulder at X, through X, plumb to the waist":                                      "does not lie on the edge",
		"through X, from shoulder at M to waist at D":                                                 "begins no princess seam",
		"line half the shoulder, through X, plumb to the waist, flared 3 at waist":                    "on each panel at",
		"line half the shoulder, through X, plumb to the waist, takes 3 at N":                         "does not lie between",
		"line from dart s, through X, plumb to the waist":                                             `"dart" is no edge`,
		"line from waist at D, through X, plumb to the waist":                                         "begins and ends in one edge",
	} {
		_, err := draw([]byte(divided(seam, 97, "")), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.yaml:22:") {
			t.Errorf("%s: want %q, got %v", seam, want, err)
		}
	}
	for was, is := range map[string][2]string{
		"front, centre to princess": {"front", "which part is meant is not said"},
		"front, princess to side":   {"front, princess to waist", "divides the edge"},
	} {
		_, err := draw([]byte(strings.Replace(divided(seamLine, 97, ""), was, is[0], 1)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), is[1]) {
			t.Errorf("%s: want %q, got %v", is[0], is[1], err)
		}
	}
}

// A dress to the hem, from the shoulder and from the armhole: waist and hip are told by levels, the
// panels are flared below, both sides are walked, and at each level the two legs leave between them what
// is taken there.
func TestPrincessToTheHem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.SampledFrom([]string{"line half the shoulder", "line from shoulder at M", "line from armhole at B", "curve from armhole at B", "curve half the shoulder"}).Draw(t, "from")
		top := "shoulder"
		if strings.Contains(from, "armhole") {
			top = "armhole"
		}
		waist, hip := rapid.Float64Range(0, 5).Draw(t, "waist"), rapid.Float64Range(0, 1).Draw(t, "hip")
		flare := rapid.Float64Range(0, 8).Draw(t, "flare")
		ease := float64(rapid.IntRange(0, 8).Draw(t, "ease")) / 10
		seam := fmt.Sprintf("%s, through X, plumb to the hem, takes %.2f at %s, %.4f at Wc, %.4f at Hc, flared %.2f on each panel at hem, eased %.1f on the side panel from 5 above X to 5 below",
			from, rapid.Float64Range(0, 2.5).Draw(t, "top"), top, waist, hip, flare, ease)
		text := strings.Replace(divided(seam, rapid.Float64Range(80, 130).Draw(t, "bust"), ""), "0.4 longer, within 0.001", fmt.Sprintf("%.1f longer, within 0.001", ease), 1)
		for was, is := range map[string]string{
			"  waist: line W to C\n  centre: line C to P\n": "  Wc: from O down 43.5\n  Hc: from Wc down 20\n  E: from Wc down 60\n  L: from W down 59, out 4\n  hem: curve L to E, leaving level back, arriving level back\n  centre: line E to P\n",
			"  side: line U to W\n":                         "  side: line U to W to L\n",
			"armhole, side, waist, centre on the fold":      "armhole, side, hem, centre on the fold",
			"  D: from C out bust/10\n":                     "",
		} {
			text = strings.Replace(text, was, is, 1)
		}
		e := drawText(t, text)
		walkPrincess(t, e, ease)
		for _, f := range seamFindings(e) {
			t.Errorf("%s: %s", seam, f.Message)
		}
		centre, side := pieceNamed(e, "centre front"), pieceNamed(e, "side front")
		level := func(pc *pieces.Piece, y float64) float64 {
			c := pc.Worn[pc.Edge("princess")].Curve
			ps := c.Meets(orb.Point{0, y}, orb.Point{1, 0})
			if len(ps) != 1 {
				t.Fatalf("%s: %s meets the level %v %d times", seam, pc.Name, y, len(ps))
			}
			return c[ps[0].Index].At(ps[0].T)[0]
		}
		for y, want := range map[float64]float64{43.5: waist, 63.5: hip} {
			if got := level(side, y) - level(centre, y); math.Abs(got-want) > 1e-4 {
				t.Errorf("%s: at %v down %v is taken, want %v", seam, y, got, want)
			}
		}
		w := e.Drawings["front"].Scope.Definitions["Wc"].Point
		if all, sewn := levelWidth(e.Drawings["front"].Edges, w[1]), levelWidth(centre.Panel.Drawing.Edges, w[1])+levelWidth(side.Panel.Drawing.Edges, w[1]); math.Abs(all-sewn-waist) > 1e-4 {
			t.Errorf("%s: the waist is %v wide, sewn %v", seam, all, sewn)
		}
		// What both hems gain: the sum of the parts over the whole hem as drawn, but for the truing.
		sum := centre.Worn[centre.Edge("hem")].Curve.Length() + side.Worn[side.Edge("hem")].Curve.Length()
		d := e.Drawings["front"].Scope.Definitions["hem"].Curve.Length()
		if math.Abs(sum-d-2*flare) > 0.02*(1+flare) {
			t.Errorf("%s: the hems are %v together, drawn %v", seam, sum, d)
		}
	})
}

// A seam that takes the place of two darts: its legs are the darts' legs, made equal.
func TestPrincessInPlaceOfDarts(t *testing.T) {
	for _, moved := range []string{"", ", moved to armhole at R"} {
		text := twoDarts(3, 1.6, "  dart s: M to X to M2"+moved+"\n  dart w: W1 to X to W2\n  princess: line from dart s, through X, to dart w")
		text = strings.Replace(text, "  front: front; cut 1 on the fold", "  centre front: front, centre to princess; cut 1 on the fold\n  side front: front, princess to side; cut 2, a pair", 1)
		e := drawText(t, text+"sewn:\n  - centre front princess = side front princess, within 0.001\n")
		walkPrincess(t, e, 0)
		for _, f := range seamFindings(e) {
			t.Errorf("%s", f.Message)
		}
		pt := func(n string) orb.Point { return e.Drawings["front"].Scope.Definitions[n].Point }
		if moved == "" {
			for n, pc := range map[string]*pieces.Piece{"M": pieceNamed(e, "centre front"), "M2": pieceNamed(e, "side front"), "W1": pieceNamed(e, "centre front"), "W2": pieceNamed(e, "side front")} {
				if best := nearestCorner(pc, pt(n)); best > 1e-6 {
					t.Errorf("%s lies %v from the corners of %s", n, best, pc.Name)
				}
			}
		} else if pieceNamed(e, "side front").Edge("armhole") < 0 || pieceNamed(e, "centre front").Edge("armhole") < 0 {
			t.Error("the seam does not begin in the armhole")
		}
	}
}

func nearestCorner(pc *pieces.Piece, q orb.Point) float64 {
	best := math.Inf(1)
	for _, ed := range pc.Edges {
		best = min(best, geom.Dist(ed.Curve.Start(), q))
	}
	return best
}

// By how much the seam was trued is said: the handbook's front takes 2.5 at a sloping shoulder, so that
// one leg is shorter by as much as plain trigonometry says.
func TestPrincessTruingIsSaid(t *testing.T) {
	f, err := FiguresOf([]byte(divided(seamLine, 97, "")), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Truings) != 2 {
		t.Fatalf("%+v", f.Truings)
	}
	up := f.Truings[0]
	n, x := orb.Point{97.0/12 + 1, 0}, orb.Point{9.7, 27}
	slope := geom.Unit(orb.Point{5, 2})
	a, b := geom.Add(n, geom.Mul(slope, 7.25-1.25)), geom.Add(n, geom.Mul(slope, 7.25+1.25))
	if want := geom.Dist(x, a) - geom.Dist(x, b); up.At != "princess of front at the shoulder" || math.Abs(up.Carried[1]-want) > 1e-9 || up.Carried[0] > 1e-9 {
		t.Errorf("%s, want %v", f.TruingWords(up), want)
	}
	if down := f.Truings[1]; down.Carried[0] > 1e-9 || math.Abs(down.Turned) < 1 {
		t.Errorf("%s", f.TruingWords(down))
	}
}

// Behind, the double notch stands above: no panel of a front fits one of a back.
func TestPrincessNotchesOfABack(t *testing.T) {
	count := func(name string) (above, below int) {
		text := strings.ReplaceAll(divided(seamLine, 97, ""), "draft front:", "draft "+name+":")
		text = strings.ReplaceAll(text, ": front, ", ": "+name+", ")
		e := drawText(t, text)
		for _, n := range pieceNamed(e, "side front").Notches {
			if n.At[1] < 27 {
				above++
			} else {
				below++
			}
		}
		return above, below
	}
	for name, want := range map[string][2]int{"front": {1, 2}, "upper back": {2, 1}, "backing": {1, 2}} {
		if a, b := count(name); [2]int{a, b} != want {
			t.Errorf("%s: %d above and %d below, want %v", name, a, b, want)
		}
	}
}

// levelWidth is how far apart the outline's outermost crossings with a level lie.
func levelWidth(edges []curve.Edge, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, ed := range edges {
		for _, at := range ed.Curve.Meets(orb.Point{0, y}, orb.Point{1, 0}) {
			x := ed.Curve[at.Index].At(at.T)[0]
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	return hi - lo
}

// TestPrincessMisspelt misspells the seam of a draft that measures its panels for an ease: the seam is told, once, and
// what rests on it is not.
func TestPrincessMisspelt(t *testing.T) {
	src := strings.Replace(string(samples.Read("princess-tunic.yaml")), "princess: line half the", "princess: line haf the", 1)
	_, err := Read([]byte(src), "x.yaml", Options{})
	var me *sentence.Error
	if !errors.As(err, &me) || len(me.List) != 1 {
		t.Fatalf("%v, not one fault", err)
	}
	if line := strings.Split(src, "\n")[me.List[0].Line-1]; !strings.Contains(line, "haf the") {
		t.Errorf("%v: told on %q", me.List[0], line)
	}
}
