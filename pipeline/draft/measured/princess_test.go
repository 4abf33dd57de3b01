package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/geom"
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
	if len(e.findings) > 0 {
		t.Errorf("findings: %+v", e.findings)
	}
	centre, side := e.pieceNamed("centre front"), e.pieceNamed("side front")
	// What is taken at the waist and the shoulder is gone from the sum of both panels: the waist's ends
	// lie 3 apart, carried on by what makes the legs equal, here nothing as the waist is level.
	w1, w2 := centre.worn[centre.edge("waist")].c.start(), side.worn[side.edge("waist")].c.end()
	if math.Abs(geom.Dist(w1, w2)-3) > 1e-9 || math.Abs((w1[0]+w2[0])/2-9.7) > 1e-9 {
		t.Errorf("the waist's ends are %v and %v", w1, w2)
	}
	s1, s2 := centre.worn[centre.edge("shoulder")].c.end(), side.worn[side.edge("shoulder")].c.start()
	if d := geom.Dist(s1, s2); math.Abs(d-2.5) > 0.06 {
		t.Errorf("the shoulder's ends lie %v apart", d)
	}
	if v := value(t, e, "sewn length of centre front waist + sewn length of side front waist"); math.Abs(v-(97.0/4-1-3)) > 0.2 {
		t.Errorf("the waist is %v", v)
	}
}

// walkPrincess walks both sides of the seam and their notches.
func walkPrincess(t interface {
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, e *engine, ease float64) {
	centre, side := e.pieceNamed("centre front"), e.pieceNamed("side front")
	a, b := centre.worn[centre.edge("princess")].c, side.worn[side.edge("princess")].c
	if math.Abs(b.length()-a.length()-ease) > 1e-6 {
		t.Errorf("the seam is %v and %v long", a.length(), b.length())
	}
	if a.start()[1] > a.end()[1] {
		a = a.reversed()
	}
	if b.start()[1] > b.end()[1] {
		b = b.reversed()
	}
	x := centre.panel.d.princessAt
	up, down := geom.Dist(a.start(), x), geom.Dist(a.end(), x)
	if d := math.Abs(up - geom.Dist(b.start(), x)); d > 1e-9 {
		t.Errorf("the upper legs differ by %v", d)
	}
	if d := math.Abs(down - geom.Dist(b.end(), x)); d > 1e-9 {
		t.Errorf("the lower legs differ by %v", d)
	}
	// The notches are walked from the seam's ends: each set as far on both panels.
	var from [2][]float64
	for k, pc := range []*piece{centre, side} {
		c := pc.edges[pc.panel.seam].c // flat: a pleat beside it may have been opened
		if c.start()[1] > c.end()[1] {
			c = c.reversed()
		}
		for _, n := range pc.notches {
			if n.edge != pc.panel.seam {
				continue
			}
			l := nearestOn(c, n.at)
			if l < 0 {
				t.Fatalf("a notch of %s lies off the seam", pc.name)
			}
			if l < c.length()/2 {
				from[k] = append(from[k], l)
			} else {
				from[k] = append(from[k], c.length()-l)
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
	for _, pc := range []*piece{centre, side} {
		line, _ := e.flatten(pc.edges)
		if len(line.SelfCrossings(1)) > 0 {
			t.Errorf("%s crosses itself", pc.name)
		}
	}
	// Joined corners add to 180 degrees at both ends.
	ca, cb := sewnRef{centre, centre.panel.seam, 1}.corners(), sewnRef{side, side.panel.seam, 1}.corners()
	for _, p := range ca {
		for _, q := range cb {
			if p.cross.name == q.cross.name && math.Abs(p.deg+q.deg-180) > 1e-6 {
				t.Errorf("the %s makes a point of %v degrees", p.cross.name, p.deg+q.deg)
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
		for _, f := range e.findings {
			t.Errorf("%s: %s", seam, f.Message)
		}
	})
}

// A pleat on the fold of a divided front is opened in the centre panel alone, and folds back.
func TestPrincessAndPleat(t *testing.T) {
	text := strings.Replace(divided(seamLine, 97, ""), "  outline:", "  pleat: inverted box, 2.5 deep, on the fold, neck to waist\n  outline:", 1)
	e := drawText(t, text)
	centre, side := e.pieceNamed("centre front"), e.pieceNamed("side front")
	if side.open != nil || centre.open == nil {
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
		"line half the shoulder, through X, plumb to the waist, eased 2 from 5 above X to 5 below":    "20 mm of ease over the bust",
		"line half the shoulder, through X, plumb to the waist, eased 0.4 from 50 above X to 5 below": "nearer to the bust point",
		"line half the shoulder, through X, plumb to the waist, taking 2 at shoulder":                 `did you mean "takes"?`,
		"line from shoulder at X, through X, plumb to the waist":                                      "does not lie on the edge",
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
