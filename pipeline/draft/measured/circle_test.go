package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/curve"
)

// Circle pieces through their words: check values 9 to 14 of the trade (an article on circle skirts,
// 2014, gives the radii as waist over 2 pi, 2/3 pi and so on; figures computed), and the panels of a
// quarter circle of which a translated sewing book gives 9.6 and 11.2 with pi as 3.1.
func TestCircleWords(t *testing.T) {
	const text = `
style: S
unit: cm
body: {waist: 72}
pieces:
  full: full circle 60 long, to fit waist, for half waist; cut 2; allowance included
  most: three-quarter circle 60 long, to fit waist; cut 1; allowance included
  half: half circle 60 long, to fit waist; cut 1 on the fold; allowance included
  quarter: quarter circle 60 long, to fit waist; cut 1; allowance included
  any: circle of 135 degrees 60 long, to fit waist, for 18; cut 4; allowance included
  doll: quarter circle 10 long, to fit 15; cut 1; allowance included
  larger doll: quarter circle 10 long, to fit 17.5; cut 1; allowance included
`
	e := drawText(t, text)
	radius := func(name string) float64 { return pieceNamed(e, name).Edges[0].Curve[0].Radius() }
	hem := func(name string) float64 { return value(t, e, "sewn length of "+name+" hem") }
	for _, c := range []struct {
		n         string
		got, want float64
	}{
		{"9", radius("full"), 11.459}, {"10", radius("half"), 22.918}, {"11", radius("quarter"), 45.837}, {"12", radius("most"), 15.279},
		{"three-eighths", radius("any"), 30.558},
		{"13, hem of a half circle", 2 * hem("half"), 260.496}, {"13, area", 2 * curve.Area(pieceNamed(e, "half").Edges), 9974.867},
		{"13, hem of a quarter circle", hem("quarter"), 166.248},
		{"quarter panel of 15", radius("doll"), 9.549}, {"of 17.5", radius("larger doll"), 11.141},
		{"14", numbersOf(t, "in", "waist: 41 1/4", "radius of full circle to fit waist")["radius of full circle to fit waist"], 6.565},
		{"a panel's waist", value(t, e, "sewn length of any waist"), 18},
		{"a panel is half", 2 * value(t, e, "sewn length of full waist"), 72}, {"the fold halves it", 2 * value(t, e, "sewn length of half waist"), 72},
	} {
		if math.Abs(c.got-c.want) > 0.0005001 {
			t.Errorf("%s: %.5f, want %.5f", c.n, c.got, c.want)
		}
	}
	for _, name := range []string{"full", "most", "half", "quarter", "any"} {
		pc := pieceNamed(e, name)
		line, _ := e.Flatten(pc.Edges)
		if len(line.SelfCrossings(1)) > 0 {
			t.Errorf("%s crosses itself", name)
		}
		// The flattened outline encloses as much: its arcs run the right way round.
		if math.Abs(math.Abs(line.Area())/100-curve.Area(pc.Edges)) > 0.1 {
			t.Errorf("%s: %v on chords, %v", name, line.Area()/100, curve.Area(pc.Edges))
		}
	}
	// What those are told who want a circle on the fold is a circle: two halves, each opened at its fold, have its area,
	// pi (R R - r r) with r of 72 and R 60 more.
	r := 72 / (2 * math.Pi)
	halves := drawText(t, "style: S\nunit: cm\nbody: {waist: 72}\npieces:\n  a: full circle 60 long, to fit waist, for 1/4 of waist; cut 2 on the fold; allowance included\n")
	if got, want := 2*2*curve.Area(pieceNamed(halves, "a").Edges), math.Pi*((r+60)*(r+60)-r*r); math.Abs(got-want) > 1e-6 {
		t.Errorf("two halves on the fold are %v, the circle %v", got, want)
	}
	for sentence, want := range map[string]string{
		"half circle 60 long, to fit waist; cut 1 on two folds":                 "only a whole full circle",
		"full circle 60 long, to fit waist, for half waist; cut 1 on two folds": "only a whole full circle",
		"rectangle 60 by 60; cut 1 on two folds":                                "no edge of its drawing lies on it",
		"full circle 60 long, to fit waist; cut 1":                              "no room for its seam",
		// Opened out at the fold, its two straight edges lie on one another.
		"full circle 60 long, to fit waist; cut 1 on the fold":                 "no room for its seam; for a circle without a seam say cut 1 on two folds",
		"full circle 60 long, to fit waist, for half waist; cut 1 on the fold": "no room for its seam",
		"halv circle 60 long, to fit waist; cut 1":                             `did you mean "half circle"?`,
		"half circle 60 long; cut 1":                                           `"to fit" is wanted`,
		"half circle 60 long, to fit 0; cut 1":                                 "more than 0",
		"half circle 60 long, to fit waist, for 80; cut 1":                     "a panel takes a part",
		"half circle 60 long, to fit waist, in 4; cut 1":                       "say for",
		"circle of 400 degrees 60 long, to fit waist; cut 1":                   "360 at most",
		"half circle 60 long, to fit wiast; cut 1":                             `did you mean "waist"?`,
	} {
		_, err := draw([]byte("style: S\nunit: cm\nbody: {waist: 72}\npieces:\n  a: "+sentence+"; allowance included\n"), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.yaml:5:") {
			t.Errorf("%s: want %q, got %v", sentence, want, err)
		}
	}
}
