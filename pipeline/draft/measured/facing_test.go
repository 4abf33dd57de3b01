package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
)

func withFacing(sentence string) string {
	s := string(samples.Read("ferry-smock.yaml"))
	s = strings.Replace(s, "  pocket: pocket; cut 1\n", "  pocket: pocket; cut 1\n  faced: "+sentence+"\n", 1)
	return strings.Replace(s, "allow: ", "allow:\n  inner edge: 0\n#", 1)
}

// A facing has the faced edge's own line, lies within the piece, and its inner edge keeps the depth.
// Its area is that of a band along a curve that ends square: length x depth + turn x depth^2 / 2
// (Steiner's formula); the smock's neck leaves the centre level and meets the shoulder square, so it
// turns by 90 degrees less the shoulder's slope, 20.556 (check value 36).
func TestFacing(t *testing.T) {
	e := drawText(t, withFacing("facing 5 deep along front neck; cut 1 on the fold"))
	pc, front := pieceNamed(e, "faced"), pieceNamed(e, "front")
	neck := front.Worn[front.Edge("neck")].Curve
	if got := pc.Edges[pc.Edge("neck")].Curve.Length(); math.Abs(got-neck.Length()) > 1e-9 {
		t.Errorf("the facing's neck is %v long, the front's %v", got, neck.Length())
	}
	turn := (90 - math.Atan2(3, 8)*180/math.Pi) * math.Pi / 180
	if got, want := curve.Area(pc.Edges), neck.Length()*5+turn*25/2; math.Abs(got-want) > 1e-5*want {
		t.Errorf("the facing has %v, want %v", got, want)
	}
	line, _ := e.Flatten(front.Worn)
	var chords []curve.Segment
	chords = append(chords, neck...)
	path, _ := e.Flatten([]curve.Edge{{Curve: chords}, {Curve: curve.Curve{curve.LineSeg(neck.End(), neck.Start())}}})
	inner, _ := e.Flatten(pc.Edges[2:3])
	for _, q := range inner.Points[1 : len(inner.Points)-1] {
		near := math.Inf(1)
		for i := 1; i < len(path.Points); i++ {
			near = min(near, geom.Path{Points: path.Points[i-1 : i+1]}.Nearest(q).Dist)
		}
		if math.Abs(near-50) > 0.02 || !line.Contains(q) {
			t.Errorf("the inner edge at %v lies %v mm from the neck", q, near)
		}
	}
	if fold := pc.Edges[pc.Edge("centre")]; !fold.Fold {
		t.Error("the facing is not on the fold")
	}
}

// A smooth curve's facing keeps its depth too.
func TestFacingOfCurve(t *testing.T) {
	text := string(samples.Read("lamplighter-jacket.yaml"))
	text = strings.Replace(text, "  loop: strip", "  back facing: facing 2 deep along back neck; cut 2, a pair\n  loop: strip", 1)
	text = strings.Replace(text, "allow:\n", "allow:\n  inner edge: 0\n", 1)
	e := drawText(t, text)
	pc := pieceNamed(e, "back facing")
	neck := pc.Edges[0].Curve
	inner := pc.Edges[2].Curve
	for _, s := range inner[1 : len(inner)-1] { // but for the ends, which run on straight
		for _, u := range []float64{0.1, 0.5, 0.9} {
			q := s.At(u)
			near := math.Inf(1)
			for k := range 601 {
				p, _ := neck.At(neck.Length() * float64(k) / 600)
				near = min(near, geom.Dist(p, q))
			}
			if math.Abs(near-2)*25.4 > 0.05 {
				t.Errorf("the inner edge lies %v in from the neck", near)
			}
		}
	}
}

func TestFacingRefused(t *testing.T) {
	for sentence, want := range map[string]string{
		"facing 0 deep along front neck; cut 1":          "a facing is more than 0 deep",
		"facing 5 deep along front nekc; cut 1":          `did you mean "front neck"?`,
		"facing 5 deep along front centre; cut 1":        "a fold has no facing",
		"facing 12 deep along front neck; cut 1":         `does not reach "shoulder"`,
		"facing 5 deep along pocket edge; cut 1":         "curves too tightly",
		"facing 5 deep along front neck; cut 1":          "say cut 1 on the fold",
		"facing 15 deep along front armhole; cut 2":      "less deep",
		"facing 5 along front neck; cut 1 on the fold":   `"deep" is wanted`,
		"facing 5 deep on front neck; cut 1 on the fold": `"along" is wanted`,
	} {
		_, err := draw([]byte(withFacing(sentence)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.yaml:72:") {
			t.Errorf("%s: want %q, got %v", sentence, want, err)
		}
	}
}

// A facing closes the darts in the edges along which it runs: it is the same, turned, as that of the front
// whose dart was moved away, which lies closed already. A princess seam is closed too.
func TestFacingAcrossDarts(t *testing.T) {
	face := func(dart, along string) *pieces.Piece {
		text := twoDarts(3, 1.6, "  dart s: M to X to M2, folded back\n  dart w: W1 to X to W2, trued"+dart)
		text = strings.Replace(text, "allow:\n", "  faced: facing 4 deep along "+along+"; cut 1 on the fold\nallow:\n", 1)
		e := drawText(t, text)
		pc := pieceNamed(e, "faced")
		if line, _ := e.Flatten(pc.Edges); len(line.SelfCrossings(1)) > 0 {
			t.Errorf("%s: crosses itself", along)
		}
		return pc
	}
	for _, way := range []string{"front waist + inner waist", "front inner waist + front waist"} {
		flat, moved := face("", way), face(", moved to side at K", way)
		if a, b := curve.Area(flat.Edges), curve.Area(moved.Edges); math.Abs(a-b) > 1e-6 || a < 60 {
			t.Errorf("%s: areas %v and %v", way, a, b)
		}
		for i, ed := range flat.Edges {
			if other := moved.Edges[i]; math.Abs(ed.Curve.Length()-other.Curve.Length()) > 1e-6 || ed.Fold != other.Fold || ed.Fold && ed.Curve.Start() != other.Curve.Start() {
				t.Errorf("%s: %s is %v and %v", way, ed.Name, ed.Curve.Length(), other.Curve.Length())
			}
		}
	}
	text := divided(strings.Replace(seamLine, "3 at waist", "3 at waist", 1), 97, "")
	text = strings.Replace(text, "allow:\n", "  faced: facing 4 deep along front waist; cut 1 on the fold\n  yoke: facing 4 deep along front shoulder; cut 2, a pair\nallow:\n", 1)
	e := drawText(t, text)
	for name, edge := range map[string]string{"faced": "waist", "yoke": "shoulder"} {
		want := value(t, e, "sewn length of centre front "+edge+" + sewn length of side front "+edge)
		pc := pieceNamed(e, name)
		c := pc.Edges[pc.Edge(edge)].Curve
		if math.Abs(c.Length()-want) > 1e-6 {
			t.Errorf("the %s's %s is %v long, both panels %v", name, edge, c.Length(), want)
		}
		for k := 1; k < len(c); k++ { // trued: it runs on across the seam
			if d := curve.AngleBetween(c[k-1].Dir(1), c[k].Dir(0)); d > 0.01 {
				t.Errorf("the %s's %s makes a point of %v degrees", name, edge, d)
			}
		}
	}
	for along, want := range map[string]string{
		"front waist":           "ends at a dart",
		"front waist cap":       "is the mouth of a dart",
		"front waist + armhole": "does not begin where",
	} {
		text := strings.Replace(twoDarts(3, 1.6, "  dart w: W1 to X to W2"), "allow:\n", "  faced: facing 4 deep along "+along+"; cut 1\nallow:\n", 1)
		_, err := draw([]byte(text), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", along, want, err)
		}
	}
}

// A facing runs round corners: within a corner its inner edge is cut where it crosses itself, outside it
// is led on to a mitre. Areas are those of rectangles, by hand.
func TestFacingRoundCorners(t *testing.T) {
	for _, c := range []struct {
		along string
		area  float64
	}{
		{"front top + front edge", 3*20 + 3*(30-3)}, // the outline turns away from the cloth's side: cut
		{"front notch", 3*10 + 3*10 + 3*3},          // round the inside of an L: a mitred square more
		{"front left", 3 * 20},
	} {
		e := drawText(t, `style: S
unit: cm
body: {bust: 90}
draft front:
  A: start
  B: from A out 20
  C: from B down 30
  D: from C back 10
  E: from D up 10
  F: from E back 10
  top: line A to B
  front edge: line B to C
  bottom: line C to D
  notch: line D to E to F
  left: line F to A
  outline: top, front edge, bottom, notch, left
pieces:
  front: front; cut 2, a pair
  facing: facing 3 deep along `+c.along+`; cut 2, a pair
allow: 1
`)
		if got := curve.Area(pieceNamed(e, "facing").Edges); math.Abs(got-c.area) > 1e-6 {
			t.Errorf("along %s: %.4f, want %.4f", c.along, got, c.area)
		}
	}
}

// TestFacingOverAStand: along neck and centre with a button stand between, told either way, the facing takes the end of the
// stand with it, at the hem too; its inner edge is nowhere nearer to what it faces than it is deep.
func TestFacingOverAStand(t *testing.T) {
	for _, along := range []string{"neck + middle", "middle + front neck"} {
		e := drawText(t, `style: Waistcoat
unit: cm
draft front:
  N: start
  C: from N back 7, down 9
  S: from N out 11, down 4
  H: from S down 46
  E: from H back 18
  neck: arc C to N, leaving level
  shoulder: line N to S
  side: line S to H
  hem: line H to E
  middle: line E to C
  outline: neck, shoulder, side, hem, middle extended 2
pieces:
  front: front; cut 2, a pair
  facing: facing 6 deep along front `+along+`; cut 2, a pair
allow: 1
`)
		pc := pieceNamed(e, "facing")
		var names []string
		var faced geom.Path
		for _, ed := range pc.Edges {
			names = append(names, ed.Name)
		}
		if got := strings.Join(names, ", "); got != "middle, upper end of middle, neck, shoulder, inner edge, hem" {
			t.Fatalf("%s: edges %s", along, got)
		}
		// 41 of the centre, 2 of the stand's end and the neck's arc, which leaves level and falls 9 in 7.
		r := (7.0*7 + 9*9) / (2 * 9)
		arc := r * 2 * math.Asin(math.Hypot(7, 9)/(2*r))
		for i, want := range []float64{41, 2, arc, 3: 0, 5: 6} {
			if got := pc.Edges[i].Curve.Length(); want > 0 && math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: the %s is %v long, want %v", along, pc.Edges[i].Name, got, want)
			}
		}
		faced.Points = []orb.Point{pc.Edges[0].Curve.Start()}
		for _, ed := range pc.Edges[:3] {
			for _, s := range ed.Curve {
				faced.Points = s.Flatten(faced.Points, 1e-4)
			}
		}
		for _, s := range pc.Edges[4].Curve {
			for k := range 9 {
				if d := faced.Nearest(s.At(float64(k) / 8)).Dist; d < 6-1e-3 {
					t.Errorf("%s: the inner edge comes as near as %v", along, d)
				}
			}
		}
		if line, _ := e.Flatten(pc.Edges); len(line.SelfCrossings(1)) > 0 {
			t.Errorf("%s: it crosses itself", along)
		}
	}
}

// Each edge of a facing is cut with the allowance of the edge to which it is sewn, and the end of a button stand with that of
// the edge in whose line it lies, where nothing is told of it: the two lie on one another when they are sewn or turned.
func TestAllowancesOfAFacing(t *testing.T) {
	const text = `style: S
unit: cm
draft front:
  A: start
  B: from A out 20
  C: from B down 40
  D: from A down 40
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  outline: top, side, hem, left extended 2
pieces:
  front: front; cut 2, a pair
  facing: facing 6 deep along front left + top; cut 2, a pair
  narrow: facing 1 deep along front left; cut 2, a pair
allow:
%s
`
	for _, c := range []struct {
		allow string
		want  map[string]float64 // mm, of each piece that has the edge
	}{
		{"  all: 1\n  left: 0.5\n  top: 2\n  hem: 4", map[string]float64{"left": 5, "top": 20, "upper end of left": 20, "hem": 40, "lower end of left": 40, "side": 10, "inner edge": 10}},
		{"  hem: 4, mirrored\n  lower end of left: 1\n  upper end of left: 0.7\n  all: 1.5", map[string]float64{"hem": 40, "lower end of left": 10, "upper end of left": 7, "top": 15}},
		{"  lower end of left: 1\n  all: 1.5\n  hem: 4\n  front hem: 5", map[string]float64{"lower end of left": 10}},
		{"  all: 1\n  front: 2", map[string]float64{"inner edge": 10}},
	} {
		e := drawText(t, fmt.Sprintf(text, c.allow))
		for _, pc := range e.Pieces {
			for i, ed := range pc.Edges {
				if want, told := c.want[ed.Name]; told && math.Abs(pc.Width(i)-want) > 1e-9 {
					t.Errorf("%q: the %s of %s has %v mm, want %v", c.allow, ed.Name, pc.Name, pc.Width(i), want)
				}
			}
		}
		if pc := pieceNamed(e, "facing"); pc.Edge("left") < 0 || pc.Edge("top") < 0 || pc.Edge("upper end of left") < 0 {
			t.Error("the facing has not the edges along which it runs")
		}
	}
}
