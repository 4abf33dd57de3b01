package measured

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
)

// shift is a plain dress of straight lines, 20 wide at the underarm, whose side runs plumb through the waist to the hip.
const shiftDress = `style: Shift
unit: cm
card: chorus-4
draft front:
  O: start
  U: from O out 20, down 20
  W: from U down 16
  H: from W down 20
  E: from O down 80
  F: from E out 20
  N: from O down 5
  S: from O out 12, up 2
  neck: line N to S
  armhole: line S to U
  side: line U to W to H
  lower side: line H to F
  hem: line F to E
  centre: line E to N
  outline: neck, armhole, side, lower side, hem, centre on the fold
draft back:
  trace: front
  U: from O out 20, down 21
  W: from U down 16
  H: from W down 20
  F: from E out 20, down 1
  outline: neck, armhole, side, lower side, hem, centre
pieces:
  front: front; cut 1 on the fold
  back: back; cut 2, a pair
  binding: strip 3 wide, 2*length of front armhole + 2*length of back armhole long; cut 1
  neck facing: facing 2 deep along front neck; cut 1 on the fold
allow: 1
notches:
  front side: one, at W
sewn:
  - front side + front lower side = back side + back lower side
`

func fitted(t *testing.T, draft string, changes ...string) (*sewn.Sewing, error) {
	t.Helper()
	card := "unit: cm\nmeasures:\n  bust: 92\n"
	if len(changes) > 0 {
		card += "changes:\n  " + strings.Join(changes, "\n  ") + "\n"
	}
	return draw([]byte(draft), "x.yaml", Options{Card: cards(map[string]string{"chorus-4": card})})
}

func mustFit(t *testing.T, draft string, changes ...string) *sewn.Sewing {
	t.Helper()
	e, err := fitted(t, draft, changes...)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func edgeLength(e *sewn.Sewing, piece, edge string) float64 {
	pc := pieceNamed(e, piece)
	return pc.Worn[pc.Edge(edge)].Curve.Length()
}

// A seam let out 0.6 at the waist and to nothing at its ends follows a curve that is known by sums: 0.6 of the cubic that
// rises level from 0 to 1, on a plumb line, so that its length is an integral. Both edges of the seam, the notch on
// it follow.
func TestSeamLetOut(t *testing.T) {
	plain := mustFit(t, shiftDress)
	e := mustFit(t, shiftDress, "2026-11-20, toile: let out side 0.6 at W, to nothing at U and H")
	want := 0.0
	for _, part := range []float64{16, 20} {
		const n = 20000
		for k := range n {
			u := (float64(k) + 0.5) / n
			want += math.Hypot(1, 0.6*6*u*(1-u)/part) * part / n
		}
	}
	for _, piece := range []string{"front", "back"} {
		if got := edgeLength(e, piece, "side"); math.Abs(got-want) > 1e-4 {
			t.Errorf("the side of the %s is %.6f long, want %.6f", piece, got, want)
		}
		if got, was := edgeLength(e, piece, "armhole"), edgeLength(plain, piece, "armhole"); got != was {
			t.Errorf("the armhole of the %s was %v and is %v", piece, was, got)
		}
	}
	front := pieceNamed(e, "front")
	n := front.Notches[0]
	if math.Abs(n.At[0]-20.6) > 1e-5 || math.Abs(n.At[1]-36) > 1e-5 {
		t.Errorf("the notch at the waist stands at %v", n.At)
	}
	for _, f := range e.Findings {
		if f.Severity == pattern.Error {
			t.Error(f.Message)
		}
	}
	if got := figures.Of(e).Changes; len(got) != 1 || got[0] != "2026-11-20, toile: let out side 0.6 at W, to nothing at U and H (in front and back)" {
		t.Errorf("told: %q", got)
	}
}

// A seam moved at its end carries the edge beside it on, or cuts it short, along its own line; what is worked out of that
// edge elsewhere follows.
func TestSeamMovedAtItsEnd(t *testing.T) {
	plain := mustFit(t, shiftDress)
	for change, by := range map[string]float64{"let out": 1, "take in": -1} {
		e := mustFit(t, shiftDress, "2026-11-20: "+change+" side 1 at armhole, to nothing at H")
		for _, piece := range []string{"front", "back"} {
			// The armhole meets the plumb side at an angle: 1 across is 1/sin of it along the armhole.
			d := pieceNamed(plain, piece).Drawing
			s, u := d.Scope.Definitions["S"].Point, d.Scope.Definitions["U"].Point
			along := by * geom.Dist(s, u) / (u[0] - s[0])
			if got, want := edgeLength(e, piece, "armhole"), edgeLength(plain, piece, "armhole")+along; math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: the armhole of the %s is %.6f, want %.6f", change, piece, got, want)
			}
		}
		binding := pieceNamed(e, "binding")
		if got, want := binding.Edges[0].Curve.Length(), 2*(edgeLength(e, "front", "armhole")+edgeLength(e, "back", "armhole")); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: the binding is %v long, the armholes %v", change, got, want)
		}
	}
}

// A strip taken up at the centre shortens the centre by it and leaves the side as it is; the fold stays straight.
func TestTakeUp(t *testing.T) {
	plain := mustFit(t, shiftDress)
	for line, by := range map[string]float64{"take up": -1.2, "let down": 1.2} {
		e := mustFit(t, shiftDress, "2026-11-20: "+line+" front 1.2 at centre, to nothing at side, level with W")
		if got, want := edgeLength(e, "front", "centre"), edgeLength(plain, "front", "centre")+by; math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: the centre is %v, want %v", line, got, want)
		}
		for _, edge := range []string{"side", "lower side", "armhole", "neck"} {
			if got, want := edgeLength(e, "front", edge), edgeLength(plain, "front", edge); math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: the %s is %v, want %v", line, edge, got, want)
			}
		}
		// At half the way the strip is half as deep: the area changes by 1.2 * 20 / 2.
		a, b := geom.Path{}, geom.Path{}
		for _, x := range []struct {
			p *geom.Path
			e *sewn.Sewing
		}{{&a, plain}, {&b, e}} {
			*x.p, _ = x.e.FlattenTo(pieceNamed(x.e, "front").Edges, 0.001)
		}
		if got := (b.Area() - a.Area()) / 100; math.Abs(got-10*by) > 0.02 {
			t.Errorf("%s: the front changes by %v square cm, want %v", line, got, 10*by)
		}
	}
}

// Lines about other garments of the wearer are not mentioned; each line is undone by itself; a slip is told.
func TestAlterationsOfAWardrobe(t *testing.T) {
	for _, other := range []string{"2026-11-20: let out inseam 1 at knee", "2026-11-20: take up trouser front 1 at centre, to nothing at side", "2026-11-20:\n    trouser knee: 1 more"} {
		e := mustFit(t, shiftDress, other)
		if len(figures.Of(e).Changes) != 0 {
			t.Errorf("%s is told as done", other)
		}
		for _, f := range e.Findings {
			if strings.Contains(f.Message, "card") {
				t.Errorf("%s: %s", other, f.Message)
			}
		}
	}
	both := mustFit(t, shiftDress, "2026-11-20: let out side 0.6 at W, to nothing at U and H", "2026-11-20: take up front 1.2 at centre, to nothing at side, level with W")
	one := mustFit(t, shiftDress, "2026-11-20: take up front 1.2 at centre, to nothing at side, level with W")
	if len(figures.Of(both).Changes) != 2 || edgeLength(one, "back", "side") != 36 || edgeLength(both, "back", "side") <= 36 {
		t.Errorf("two lines: %q", figures.Of(both).Changes)
	}
	for line, want := range map[string]string{
		"let out sude 0.6 at W":      `"sude" is no seam of this draft`,
		"let out side 0.6 at armole": `no place along the side of front is called "armole"`,
		"let out side 0.6 at S":      `chorus-4.yaml:5:35: "S" is no place along the side of front`,
		"let out side at W":          `how much is not said; say let out side 0.6 at, and where`,
		"let down front 1.2 at side, to nothing at centre, level with U": `the strip would open a corner of front, where its side begins`,
		"let down side 2 at W":                       `"side" is no drawing of this draft`,
		"let out front 2 at W":                       `"front" is no seam of this draft`,
		"let out side 1 at W, to nothing at U and W": `"W" is said twice`,
		"widen side 0.6 at W":                        `"widen side" is not what a fitting changes; say let out or take in`,
		"let out side -1 at W":                       `this comes to no length`,
		"take up front 1.2 at center, to nothing at side, level with W": `"center" is no edge of front; did you mean "centre"`,
	} {
		e, err := fitted(t, shiftDress, "2026-11-20: "+line)
		got := fmt.Sprint(err)
		if err == nil {
			for _, f := range e.Findings {
				got += "\n" + f.Message
			}
		}
		if !strings.Contains(got, want) {
			t.Errorf("%s: want %s, got %s", line, want, got)
		}
	}
}

// A line about a seam or a drawing of this draft whose place it has not may be another garment's: it is told in a note, unless the
// card says that it is for this one.
func TestFittingWithoutItsPlace(t *testing.T) {
	for line, want := range map[string]string{
		"let out side 0.6 at Q":                                      `no place along the side of front is called "Q"`,
		"let out side 0.6 at waist, to nothing at U":                 `no place along the side of front is called "waist"`,
		"take up front 1.2 at centre, to nothing at side":            `has no edge called waist; say level with`,
		"take up front 1.2 at fly, to nothing at side, level with W": `"fly" is no edge of front`,
	} {
		if e := mustFit(t, shiftDress, "2026-11-20: "+line); len(e.Findings) != 1 || e.Findings[0].Severity != pattern.Note || !strings.Contains(fmt.Sprint(e.Findings), "is left out: ") || len(figures.Of(e).Changes) > 0 {
			t.Errorf("%s: %v, %v", line, e.Findings, figures.Of(e).Changes)
		}
		e, err := fitted(t, shiftDress, "2026-11-20, only for Shift: "+line)
		got := fmt.Sprint(err)
		if err == nil {
			got = fmt.Sprint(e.Findings)
		}
		if !strings.Contains(got, want) {
			t.Errorf("only for Shift: %s: want %s, got %s", line, want, got)
		}
	}
}

// TestFittingAsItIsSaid: a seam may be called one, and a day's lines may change a measure and a seam alike.
func TestFittingAsItIsSaid(t *testing.T) {
	a := mustFit(t, shiftDress, "2026-11-20: let out side 0.6 at W")
	b := mustFit(t, shiftDress, "2026-11-20: let out side seam 0.6 at W")
	if x, y := edgeLength(a, "front", "side"), edgeLength(b, "front", "side"); x != y || len(figures.Of(b).Changes) != 1 {
		t.Errorf("the side is %v and %v long", x, y)
	}
	c := mustFit(t, shiftDress, "2026-11-20:\n    - bust: 2 more\n    - let out side 0.6 at W")
	if got := figures.Of(c).Changes; len(got) != 2 {
		t.Errorf("a measure and a seam: %q", got)
	}
	if e := mustFit(t, shiftDress, "2026-11-20, only for x.yaml: let out side 0.6 at W"); len(figures.Of(e).Changes) != 1 {
		t.Errorf("only for the draft's file: %v", e.Findings)
	}
	curved := strings.NewReplacer("  side: line U to W to H\n", "  side: curve U through W to H\n", "W: from U down 16", "W: from U down 16, back 5").Replace(shiftDress)
	mustFit(t, curved, "2026-11-20: take in side 0.5 at armhole, to nothing at W") // the notch at W is on the moved edge
	if e := mustFit(t, shiftDress, "2026-11-20, only for Shift: take up waistband 1 at centre"); len(e.Findings) != 1 || e.Findings[0].Severity != pattern.Warning {
		t.Errorf("a drawing that is not here: %v", e.Findings)
	}
}

var anyBody = regexp.MustCompile(`(?m)^  [A-Z]1?: \{(.*)\}$`)

// One card serves a whole wardrobe: with the two lines of a fitting of a bodice on it, every starter is drawn without a fault, and
// only those that have the places are changed.
func TestFittingOfAWardrobe(t *testing.T) {
	for _, file := range starterFiles(t) {
		source := string(samples.Read(file))
		unit := regexp.MustCompile(`(?m)^unit: (\w+)`).FindStringSubmatch(source)[1]
		card := "unit: " + unit + "\nmeasures: {" + anyBody.FindStringSubmatch(source)[1] + "}\n" +
			"changes:\n  2026-11-20, toile:\n    - let out side 0.6 at waist, to nothing at U\n    - take up back 1.2 at centre, to nothing at side\n"
		e, err := draw([]byte(source), file, Options{Body: "a", Card: cards(map[string]string{"a": card})})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		for _, f := range check.Run(figures.Pattern(e), check.Limits{}, nil) {
			if strings.Contains(f.Message, "the card") && f.Severity != pattern.Note || f.Rule == pattern.RuleNotchNoPartner || f.Severity == pattern.Error && f.Rule != pattern.RuleEaseNotKept {
				t.Errorf("%s: %s: %s", file, f.Rule, f.Message)
			}
		}
		if got, bodice := figures.Of(e).Changes, file == "bodice-block.yaml"; bodice && len(got) != 2 {
			t.Errorf("%s: changed by %q", file, got)
		} else {
			t.Logf("%s: %q", file, got)
		}
	}
}

// The sample's block, whose front side seam holds a dart: both fittings of the trade, and every seam is still true.
func TestBlockIsFitted(t *testing.T) {
	card := "unit: cm\nmeasures:\n  bust: 97\n  high bust: 92\n  waist: 79\n  neck: 37\n  shoulder: 13\n  across front: 34\n  across back: 36.5\n  nape to waist: 41\n  front waist: 45\n" +
		"  apex depth: 27.5\n  apex separation: 19\n  armhole depth: 19\n  upper arm: 30\n  hand: 18.5\n  arm length: 56\n"
	read := func(changes string) *sewn.Sewing {
		e, err := draw(samples.Read("bodice-block.yaml"), "x.yaml", Options{Body: "a", Card: cards(map[string]string{"a": card + changes})})
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	plain := read("")
	e := read("changes:\n  2026-11-20, toile:\n    - let out side 0.6 at waist, to nothing at U\n    - take up back 1.2 at centre, to nothing at side\n")
	girth := func(e *sewn.Sewing) float64 {
		for _, g := range figures.Of(e).Girths {
			if g.Name == "waist" {
				return g.Finished
			}
		}
		return 0
	}
	// 0.6 on each of four edges; each waist meets its side within 12 degrees of square, 1/cos 12 is 1.02. The strip lays
	// the waist of each half back aslant by 1.2 over its 18 or so, and makes it longer by as much.
	if got := girth(e) - girth(plain); math.Abs(got-2.4) > 0.06+2*(math.Hypot(18, 1.2)-18) {
		t.Errorf("the waist grows by %v, want 2.4", got)
	}
	if got := edgeLength(plain, "back", "centre") - edgeLength(e, "back", "centre"); math.Abs(got-1.2) > 1e-4 {
		t.Errorf("the centre back is %v shorter, want 1.2", got)
	}
	for _, f := range check.Run(figures.Pattern(e), check.Limits{}, nil) {
		if f.Rule != pattern.RuleEaseNotKept && (f.Severity == pattern.Error || f.Severity == pattern.Warning) { // let out, it has more ease than the style
			t.Errorf("%s: %s", f.Rule, f.Message)
		}
	}
	for i, s := range e.Pairs {
		if math.Abs(s.LengthA-s.LengthB+s.Ease) > 0.3 {
			t.Errorf("%s: %v and %v; %+v as drawn", s.Words(), s.LengthA, s.LengthB, plain.Pairs[i])
		}
	}
}

// A fitting that is left out is told where cloth is chalked from, as a check tells it: a place that the seam has not, a
// number that the draft has not by that name. The card's file and line are those of the check.
func TestFiguresTellWhatIsLeftOut(t *testing.T) {
	for change, want := range map[string]string{
		"2026-11-20, only for Shift: let out side 0.6 at waist, to nothing at H": `is left out: no place along the side of front is called "waist"`,
		"2026-11-20: {bist: 1 more}": `"bist", changed at the fitting of 2026-11-20, is no measure or number of this draft, and is left out`,
	} {
		e := mustFit(t, shiftDress, change)
		f := figures.Of(e)
		if told := slices.ContainsFunc(e.Findings, func(x pattern.Finding) bool { return strings.Contains(x.Message, want) }); !told {
			t.Fatalf("a check does not tell %s: %v", want, e.Findings)
		}
		for form, write := range map[string]func(io.Writer) error{"text": f.Text, "html": f.HTML, "json": f.JSON} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			got := strings.NewReplacer("&#34;", `"`, `\"`, `"`).Replace(b.String())
			if !strings.Contains(got, want) {
				t.Errorf("%s: %s is not told", form, want)
			}
		}
	}
	e := mustFit(t, shiftDress, "2026-11-20: let out side 0.6 at W, to nothing at U and H")
	if got := figures.Of(e).LeftOut; len(got) > 0 {
		t.Errorf("left out: %q", got)
	}
}

// Where a seam has a corner, as at the waist, the two sides of it that a fitting moves meet again, and a notch told of the corner
// stands there. Moved square to both sides by d, two lines that turn by t meet d/cos(t/2) from their old corner.
func TestFittedSeamHasNoGapAtACorner(t *testing.T) {
	bent := strings.NewReplacer("W: from U down 16", "W: from U back 4, down 16", "H: from W down 20", "H: from W out 7, down 20").Replace(shiftDress)
	halves := strings.NewReplacer("side: line U to W to H", "side: line U to W\n  under: line W to H", "armhole, side, lower", "armhole, side, under, lower",
		"front side + front lower side = back side + back lower side", "front side + front under + front lower side = back side + back under + back lower side").Replace(bent)
	turn := math.Atan2(4, 16) + math.Atan2(7, 20)
	for _, text := range []string{bent, halves} {
		for _, way := range []string{"take in", "let out"} {
			e := mustFit(t, text, "2026-11-20: "+way+" side 0.6 at W, to nothing at U and H")
			pc := pieceNamed(e, "front")
			for i, ed := range pc.Worn {
				c, next := ed.Curve, pc.Worn[(i+1)%len(pc.Worn)].Curve
				for k, s := range c {
					on := next.Start()
					if k+1 < len(c) {
						on = c[k+1].From
					}
					if geom.Dist(s.To, on) > 1e-6 {
						t.Errorf("%s: the %s has a gap of %v at %v", way, ed.Name, geom.Dist(s.To, on), s.To)
					}
				}
			}
			side := pc.Worn[pc.Edge("side")].Curve
			at := pc.Notches[0].At
			if got, want := geom.Dist(at, orb.Point{16, 36}), 0.6/math.Cos(turn/2); math.Abs(got-want) > 1e-3 {
				t.Errorf("%s: the notch lies %v from the old corner, want %v", way, got, want)
			}
			if curve.NearestOn(side, at) < 0 {
				t.Errorf("%s: the notch at %v does not lie on the side", way, at)
			}
		}
	}
}
