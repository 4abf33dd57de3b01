package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// A gathered skirt of two panels on a band, written by somebody who knows the trade and not the program:
// one allowance for all, a measure and an edge of one name, notches in the middle, gathers into a band.
const gatheredSkirt = `style: Net-mender's skirt
unit: cm
bodies:
  10: {waist: 70, hip: 96}
  12: {waist: 74, hip: 100}
sizes: 10, 12
numbers:
  band: waist + 2
draft panel:
  O: start
  A: from O out hip/4 + 12
  B: from A down 70
  C: from O down 70
  waist: line O to A
  side: line A to B
  hem: line B to C
  centre: line C to O
  W: from O out waist/4
  outline: waist, side, hem, centre on fold
pieces:
  front: panel; cut 1 on fold
  back: panel; cut 1 on fold
  waistband: strip 8 wide, band + 3 long; cut 1
allow: 1.5
notches:
  waistband long edge: one, at the middle
  front hem: two, at the middle, 2 apart
sewn:
  - front side = back side
  - twice front waist + twice back waist = waistband long edge, gathered
ease:
  hip: at least 4, finished 2*length of front hem + 2*length of back hem
notions:
  braid: 2*length of front hem + 2*length of back hem
`

func TestGatheredSkirt(t *testing.T) {
	e := drawText(t, strings.Replace(gatheredSkirt, "sizes: 10, 12", "body: 10", 1))
	if len(seamFindings(e)) != 0 {
		t.Errorf("findings: %v", e.Findings)
	}
	if got := e.Drawings["panel"].Scope.Definitions["W"].Point[0]; math.Abs(got-17.5) > 1e-9 {
		t.Errorf("a quarter of the waist is %v where an edge is called waist too", got)
	}
	if p := e.Pairs[1]; math.Abs(p.Ease-(75-4*36)) > 1e-9 {
		t.Errorf("gathered away are %v, want 69", -p.Ease)
	}
	if got := pieceNamed(e, "waistband").Notches[0].Worn; math.Abs(got-37.5) > 1e-9 {
		t.Errorf("the notch in the middle of 75 stands at %v", got)
	}
	if n := pieceNamed(e, "front").Notches; math.Abs(n[0].Worn-17) > 1e-9 || math.Abs(n[1].Worn-19) > 1e-9 {
		t.Errorf("two notches in the middle of 36, 2 apart, stand at %v and %v", n[0].Worn, n[1].Worn)
	}
	got := said(t, strings.Replace(gatheredSkirt, "twice front waist + twice back waist = waistband long edge", "waistband long edge = twice front waist + twice back waist", 1), "10")
	if !strings.Contains(got, "name the side that is gathered first") {
		t.Errorf("gathered the wrong way round: %s", got)
	}
	got = said(t, strings.Replace(gatheredSkirt, ", gathered", "", 1), "10")
	if !strings.Contains(got, "69 cm longer than waistband long edge can take") {
		t.Errorf("not gathered: %s", got)
	}
}

// Sizes drawn together leave no doubt which body is meant, and what is wrong with one says with which.
func TestSizesTogether(t *testing.T) {
	p, err := Read([]byte(strings.Replace(gatheredSkirt, "hip: at least 4", "hip: at most 44.5", 1)), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Pieces) != 6 || len(p.Findings) != 2 || p.Findings[0].Hold {
		t.Fatalf("%d pieces, findings %v", len(p.Pieces), p.Findings)
	}
	if got := p.Findings[1].Message; !strings.HasPrefix(got, "size 12: the ease at the hip is 48 cm") {
		t.Errorf("of the second size is said %s", got)
	}
	two := cards(map[string]string{"ann": "unit: cm\nwearer: Ann Other\nmeasures: {waist: 70, hip: 96}\n", "bea": "unit: in\nmeasures: {waist: 29, hip: 40}\n"})
	p, err = Read([]byte(strings.Replace(gatheredSkirt, "sizes: 10, 12", "sizes: ann, bea", 1)), "x.yaml", Options{Card: two})
	if err != nil || len(p.Pieces) != 6 || p.Pieces[0].Size != "Ann Other" || p.Pieces[3].Size != "bea" {
		t.Errorf("two cards as sizes: %d pieces, %v", len(p.Pieces), err)
	}
	_, err = Read([]byte(strings.Replace(gatheredSkirt, "sizes: 10, 12", "sizes: 10, 21", 1)), "x.yaml", Options{})
	if err == nil || !strings.Contains(err.Error(), `x.yaml:6:8: size 21: "21" is no body of this draft`) {
		t.Errorf("a size that is no body: %v", err)
	}
}

// Gathers are shown as a ratio, and one that is said is held against the lengths.
func TestGathersAsRatio(t *testing.T) {
	draft := strings.Replace(gatheredSkirt, "sizes: 10, 12", "body: 10", 1)
	f, err := FiguresOf([]byte(draft), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	for _, s := range f.Seams {
		if s.Gathers > 0 {
			if want := s.A / s.B; math.Abs(s.Gathers-want) > 1e-9 || s.Ease >= 0 {
				t.Errorf("%+v: gathers, want %v", s, want)
			}
			fmt.Fprintf(&text, "gathered %.2f to 1", s.A/s.B)
		}
	}
	var out strings.Builder
	if err := f.Text(&out); err != nil || text.Len() == 0 || !strings.Contains(out.String(), text.String()) {
		t.Errorf("the figures do not say %q:\n%s", text.String(), out.String())
	}
	ratio := strings.Fields(text.String())[1]
	if got := said(t, strings.Replace(draft, ", gathered", ", gathered "+ratio+" to 1", 1), ""); strings.Contains(got, "refused") {
		t.Errorf("its own ratio is refused: %s", got)
	}
	if got := said(t, strings.Replace(draft, ", gathered", ", gathered 3 to 1", 1), ""); !strings.Contains(got, "as drawn, and 3 to 1 is said") {
		t.Errorf("another ratio is answered with %s", got)
	}
}

// A strip and a waistband are cut with the grain along their length where nothing is said, all else plumb: common practice,
// since the warp stretches least. What is said goes first. The grain line is drawn on every piece.
func TestGrainByHabit(t *testing.T) {
	const draft = `style: S
unit: cm
pieces:
  loop: strip 3 wide, 60 long; cut 1
  waistband: rectangle 80 by 8; cut 1
  belt: rectangle 8 by 80; cut 1
  panel: rectangle 80 by 40; cut 1
  cross strip: strip 3 wide, 60 long; cut 1; grain plumb
  tape: strip 3 wide, 60 long; cut 1; on the bias
allow: 1
`
	p, err := Read([]byte(draft), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []orb.Point{{1, 0}, {1, 0}, {0, 1}, {0, 1}, {0, 1}, {math.Sqrt2 / 2, math.Sqrt2 / 2}} {
		g := p.Pieces[i].Grain
		if g == nil {
			t.Fatalf("%s has no grain line", p.Pieces[i].Name)
		}
		if u := geom.Unit(geom.Sub(g.B, g.A)); math.Abs(geom.Cross(u, want)) > 1e-9 {
			t.Errorf("%s: the grain runs %v, want %v", p.Pieces[i].Name, u, want)
		}
	}
	f, err := FiguresOf([]byte(draft), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"along its length (by habit", "along its length (by habit", "plumb, down the piece (by habit", "plumb, down the piece (by habit", "plumb, down the piece", "on the bias"} {
		if got := f.Pieces[i].Grain; !strings.HasPrefix(strings.TrimPrefix(got, "level, "), want) || (i > 3) == strings.Contains(got, "habit") {
			t.Errorf("%s: %q, want %q", f.Pieces[i].Name, got, want)
		}
	}
}
