package measured

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
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

// Decimals with a comma in a body's measures, a rounding without its corner and a seam of which one half was forgotten are
// answered with what is meant.
func TestSlipsOfADressmaker(t *testing.T) {
	smock := func(bodies string) string {
		return "style: S\nunit: cm\nbodies:\n" + bodies + "\nbody: A\npieces:\n  belt: strip 4 wide, waist long; cut 1\nallow: 1\n"
	}
	top := "  top: line A to B\n"
	corner := strings.Replace(traced(""), top, "  M: from A out 10, up 5\n  top: line A to M to B, %s\n", 1)
	for text, want := range map[string]string{
		smock("  A: {waist: 74,5, hip: 98}"):                                                 `x.yaml:4:14: "74,5" has a comma inside a number; did you mean "74.5"?`,
		smock("  A:\n    waist: 74,5"):                                                       `"74,5" has a comma inside a number; did you mean "74.5"?`,
		smock("  A: {waist: 74}\n  B: {waist: 7,5}"):                                         `"7,5" has a comma inside a number; did you mean "7.5"?`,
		strings.Replace(corner, "%s", "rounded 4", 1):                                        `at which corner the line is rounded is not said; say rounded at M 4`,
		strings.Replace(corner, "%s", "softened 4", 1):                                       `say softened at M 4`,
		strings.Replace(traced(""), top, "  top: line A to B, rounded 4\n", 1):               `a line of one stretch has no corner: line A to B to C, rounded at B 4`,
		strings.Replace(traced(""), "outline: top, side", "outline: top rounded 4, side", 1): `a corner is rounded in the sentence of the line that has it`,
	} {
		if got := saidWith(t, text, Options{}); !strings.Contains(got, want) {
			t.Errorf("%s, want %s", got, want)
		}
	}
	for seam, want := range map[string]string{
		"back top = band long edge":  "one side is half as long as the other: if both halves are sewn to it, say twice back top",
		"band long edge = back top":  "say twice back top",
		"back side = band long edge": "draw the ease", // neither
	} {
		text := strings.Replace(traced("")+"sewn:\n  - "+seam+"\n", "allow: 1\n", "  band: strip 4 wide, 40 long; cut 1\nallow: 1\n", 1)
		said := ""
		for _, f := range seamFindings(drawText(t, text)) {
			said += f.Message + "; " + f.Mend + "\n"
		}
		if strings.Contains(want, "twice") && !strings.Contains(said, want) || !strings.Contains(want, "twice") && strings.Contains(said, "twice") {
			t.Errorf("%s: %s, want %s", seam, said, want)
		}
	}
}

// Each body is judged by its own kind: a chest of 64 is a child's and no woman's, one of 92 the other way round (the table of
// usual measures).
func TestKindOfEachBody(t *testing.T) {
	text := func(kindOfB string) string {
		return "style: S\nunit: cm\nkind: woman\nbodies:\n  A: {bust: 92}\n  B: {" + kindOfB + "bust: 64}\nsizes: A, B\npieces:\n  belt: strip 4 wide, bust long; cut 1\nallow: 1\n"
	}
	for kind, want := range map[string]bool{"": true, "kind: child, ": false, "kind: woman, ": true} {
		p, err := Read([]byte(text(kind)), "x.yaml", Options{})
		if err != nil {
			t.Fatal(err)
		}
		unusual := false
		for _, f := range p.Findings {
			unusual = unusual || f.Rule == pattern.RuleMeasureUnlikely
		}
		if unusual != want {
			t.Errorf("%q: %v, %+v", kind, unusual, p.Findings)
		}
	}
	for _, body := range []string{"A", "B"} { // the child's kind is not the woman's
		if got := saidWith(t, text("kind: child, "), Options{Body: body}); got != "" {
			t.Errorf("%s: %s", body, got)
		}
	}
	if got := saidWith(t, text("kind: girl, "), Options{Body: "B"}); !strings.Contains(got, `"girl" is no kind of wearer; say woman, man or child`) {
		t.Error(got)
	}
}

// Marks of a strip lie so far from its edges as they are told: 23 long and 8 wide, by hand.
func TestMarksOnAStrip(t *testing.T) {
	text := func(mark string) string {
		return "style: S\nunit: cm\npieces:\n  cuff: strip 8 wide, 23 long; cut 1\nallow: 1\nmarks:\n  cuff:\n    - " + mark + "\n"
	}
	for mark, want := range map[string][2]orb.Point{
		"line 4 from long edge, called fold": {{0, 4}, {23, 4}},
		"line 5 from far end":                {{5, 0}, {5, 8}},
		"line 5 from end":                    {{18, 0}, {18, 8}},
		"line 2 from end, 1 from long edge to 3 from far end, 2 from far edge":                  {{21, 1}, {3, 6}},
		"buttonhole 1 from far end, 2 from long edge to 2.6 from far end, 2 from the long edge": {{1, 2}, {2.6, 2}},
		"slit 3 from end to 6 from end": {{20, 4}, {17, 4}},
	} {
		pc := pieceNamed(drawText(t, text(mark)), "cuff")
		if len(pc.Marks) != 1 {
			t.Errorf("%s: %v", mark, pc.Marks)
			continue
		}
		l := pc.Marks[0]
		if math.Min(geom.Dist(l.From, want[0])+geom.Dist(l.To, want[1]), geom.Dist(l.From, want[1])+geom.Dist(l.To, want[0])) > 1e-9 {
			t.Errorf("%s: %v to %v", mark, l.From, l.To)
		}
	}
	if d := pieceNamed(drawText(t, text("drill at 6 from end, 2 from far edge")), "cuff").Drills; len(d) != 1 || geom.Dist(d[0], orb.Point{17, 6}) > 1e-9 {
		t.Errorf("drilled at %v", d)
	}
	for mark, want := range map[string]string{
		"button at 2 from end, 3 from far end": `"end" and "far end" do not meet, so that the two lengths tell no place; name two edges that meet: 2 from`,
		"line 9 from long edge":                "9 cm from the long edge of a piece that is 8 cm wide there; set it nearer",
		"button at 2 from top":                 `"top" is no edge of "cuff"; `,
	} {
		if got := saidWith(t, text(mark), Options{}); !strings.Contains(strings.ReplaceAll(got, "12 from", "2 from"), want) {
			t.Errorf("%s: %s", mark, got)
		}
	}
}

// A misspelt unit is told beside the other slips of the draft.
func TestMisspeltUnitBesideOtherSlips(t *testing.T) {
	text := strings.Replace(strings.Replace(traced(""), "unit: cm", "unit: cms", 1), "hem: line C to D", "hem: line C to Q", 1)
	got := saidWith(t, text, Options{})
	if !strings.Contains(got, `x.yaml:2:7: unknown unit "cms"; did you mean "cm"?`) || !strings.Contains(got, `"Q" is no point known here`) {
		t.Error(got)
	}
	if _, err := Read([]byte(strings.Replace(traced(""), "unit: cm", "unit: cms", 1)), "x.yaml", Options{}); err == nil {
		t.Error("it is drawn all the same")
	}
}

// Where a gusset is set into the slits of a front and a back, its corners fit in corners, and nothing runs on across. A hem that
// juts out is told all the same.
func TestCornersOfASetInGusset(t *testing.T) {
	text := gusset
	for _, f := range seamFindings(drawText(t, text)) {
		t.Errorf("%s", f.Message)
	}
	said := 0
	for _, f := range seamFindings(drawText(t, strings.Replace(text, "H2: from H1 out 24", "H2: from H1 out 27", 1))) {
		if f.Rule == pattern.RuleCornerNotTrue && strings.HasPrefix(f.Message, "the hem where front side is sewn to back side makes a point") {
			said++
		}
	}
	if said != 1 {
		t.Errorf("the hem is told of %d times", said)
	}
}

// gusset is a shirt cut in one with its sleeves, slit below the arm from U1 and U2 to G.
const gusset = `style: Shirt with an underarm gusset
unit: cm
draft body:
  O: start
  N: from O out 9
  W: from N out 50
  V: from W down 14
  U2: from V back 24
  U1: from O out 24, down 34
  G: from O out 20, down 22
  H1: from O down 70
  H2: from H1 out 24
  neck: line O to N
  over: line N to W
  wrist: line W to V
  under: line V to U2
  upper leg: line U2 to G
  lower leg: line G to U1
  side: line U1 to H2
  hem: line H2 to H1
  centre: line H1 to O
  outline: neck, over, wrist, under, upper leg, lower leg, side, hem, centre on the fold
draft gusset:
  S: start
  R: from S down distance body U1 to body U2
  X: from S down distance body U1 to body G
  Y: from R up distance body U2 to body G
  F: where circle round S through X meets circle round R through Y, the outer
  B: where circle round S through X meets circle round R through Y, the inner
  front lower leg: line S to F
  front upper leg: line F to R
  back upper leg: line R to B
  back lower leg: line B to S
  outline: front lower leg, front upper leg, back upper leg, back lower leg
pieces:
  front: body; cut 1 on the fold
  back: body; cut 1 on the fold
  gusset: gusset; cut 2, a pair
allow: 0.6
sewn:
  - front side = back side
  - front under = back under
  - front over = back over, pointed at neck
  - front lower leg = gusset front lower leg
  - front upper leg = gusset front upper leg
  - back lower leg = gusset back lower leg
  - back upper leg = gusset back upper leg
`
