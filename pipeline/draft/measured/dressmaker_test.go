package measured

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/sentence"
)

// fan is a quarter turned as it is told, round a centre 24 away.
func fan(turned string) string {
	return `style: S
unit: cm
draft fan:
  O: start
  A: from O up 24
  B: ` + turned + `
  left: line O to A
  rim: arc A to B round O
  right: line B to O
  outline: left, rim, right
pieces:
  fan: fan; cut 1
allow: 1
`
}

// A quarter of a turn is 90 degrees and pi/2 times the radius long (geometry); a bare number is a length, and one that people
// say of angles is asked about.
func TestTurnedByDegrees(t *testing.T) {
	for _, turned := range []string{"turned A 90 degrees out round O", "turned A 90° out round O", "turned A 24*pi/2 out round O"} {
		e := drawText(t, fan(turned))
		if b := e.Drawings["fan"].Scope.Definitions["B"].Point; geom.Dist(b, [2]float64{24, 0}) > 1e-9 {
			t.Errorf("%s: B at %v", turned, b)
		}
		if len(e.Findings) > 0 {
			t.Errorf("%s: %s", turned, e.Findings[0].Message)
		}
	}
	e := drawText(t, fan("turned A 30 out round O"))
	if b := e.Drawings["fan"].Scope.Definitions["B"].Point; math.Abs(math.Atan2(b[0], -b[1])*24-30) > 1e-9 {
		t.Errorf("30 along the arc: B at %v", b)
	}
	for _, c := range []struct{ turned, want string }{
		{"turned A 30 out round O", "warning at 6:15: the point is turned by a length of 30 cm along the arc, which is 71.6 degrees"}, // 30/24 radians
		{"turned A 30 cm out round O", ""},
		{"turned A 31 out round O", ""},
		{"turned A 180 out round O", `x.yaml:6:12: 180 cm along the arc is more than once round a circle of radius 24 cm; if an angle`},
		{"turned A 400 degrees out round O", "400 degrees are more than once round; say 360 or less"},
	} {
		got := saidWith(t, fan(c.turned), Options{})
		if c.want == "" && got != "" || !strings.Contains(strings.ReplaceAll(got, "say a shorter length; ", ""), c.want) {
			t.Errorf("%s: %q, want %q", c.turned, got, c.want)
		}
	}
	if got := saidWith(t, strings.Replace(fan("turned A 30 out round O"), "unit: cm", "unit: in", 1), Options{}); strings.Contains(got, "degrees") {
		t.Errorf("in inches: %s", got)
	}
}

// traced is a drawing that traces another and tells some of it anew.
func traced(anew string) string {
	return `style: S
unit: cm
draft front:
  A: start
  B: from A out 20
  C: from B down 40
  D: from A down 40
  top: line A to B
  side: curve B to C, leaving down, arriving down
  hem: line C to D
  centre: line D to A
  outline: top, side, hem, centre
draft back:
  trace: front
` + anew + `pieces:
  front: front; cut 2, a pair
  back: back; cut 2, a pair
allow: 1
`
}

// A first point that is told anew moves the whole drawing and changes no shape, and this is said; another one changes the shape.
func TestFirstPointOfATracedDrawing(t *testing.T) {
	e := drawText(t, traced("  A: from front B out 10\n"))
	a, b := e.Drawings["front"].Scope.Definitions, e.Drawings["back"].Scope.Definitions
	for _, n := range []string{"B", "C", "D"} {
		if d := geom.Sub(b[n].Point, a[n].Point); geom.Dist(d, [2]float64{30, 0}) > 1e-9 {
			t.Errorf("%s is moved by %v", n, d)
		}
	}
	want := `note at 15:6: "A" is the point from which all others of "back" are told, so that the whole drawing is moved and keeps the shape of "front"`
	if got := saidWith(t, traced("  A: from front B out 10\n"), Options{}); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for _, anew := range []string{"", "  B: from A out 22\n", "  A: from front B out 10\n  B: from A out 22\n"} {
		if got := saidWith(t, traced(anew), Options{}); got != "" {
			t.Errorf("%q: %s", anew, got)
		}
	}
}

// A fault that is only one where a drawing is traced stands at the trace; one of the original at the original, once.
func TestFaultOfATracedEdge(t *testing.T) {
	for anew, want := range map[string]string{
		"  C: from B down 0\n": `x.yaml:14:10: the edge "side" of "back", traced from line 9: the curve ends where it begins; end it at another point`,
	} {
		if got := saidWith(t, traced(anew), Options{}); !strings.Contains(got, want) {
			t.Errorf("%s: %s, want %s", anew, got, want)
		}
	}
	_, err := draw([]byte(strings.Replace(traced(""), "C: from B down 40", "C: from B down 0", 1)), "x.yaml", Options{})
	var me *sentence.Error
	if !errors.As(err, &me) || me.List[0].Line != 9 || strings.Contains(err.Error(), "traced") {
		t.Errorf("the original's own fault: %v", err)
	}
}

// What cannot be drawn or understood says what mends it.
func TestMendsOfCurvesAndMarks(t *testing.T) {
	marks := func(mark string) string {
		return strings.Replace(traced(""), "allow: 1\n", "allow: 1\nmarks:\n  front: "+mark+"\n", 1)
	}
	side := "side: curve B to C, leaving down, arriving down"
	for text, want := range map[string]string{
		strings.Replace(traced(""), side, "side: curve B through A and D to C", 1): "one stretch runs through one point between its ends, and here a second one follows; break it at the first",
		strings.Replace(traced(""), side, "side: arc B through A, D to C", 1):      "; break it at the first: arc to that point, then arc",
		strings.Replace(traced(""), side, "side: arc B through B to C", 1):         "so no arc runs through them; say line",
		marks("cross at A"):       `begin with one of: line, slit`,
		marks("line A to A"):      "the line ends where it begins, at A; end it at another point",
		marks("text at A"):        "what the text says is missing; say it behind a comma",
		marks("buttonhol A to B"): `did you mean "buttonhole"?`,
	} {
		if got := saidWith(t, text, Options{}); !strings.Contains(got, want) {
			t.Errorf("%s, want %s", got, want)
		}
	}
}
