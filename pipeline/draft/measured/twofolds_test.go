package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

const ringDraft = `style: Circle skirt
unit: cm
body: {waist: 72}
pieces:
  skirt: full circle 60 long, to fit waist; cut 1 on two folds
  band: strip 8 wide, waist long; cut 1
allow:
  all: 1.5
  skirt hem: 2
notches:
  skirt waist: one, 9 from the start
sewn:
  - 4 times skirt waist = band long edge
`

// TestCircleOnTwoFolds: opened out it is a ring with an opening. What its lines are as long as, and what it encloses,
// are those of circles of radius waist/2 pi, less 1.5, and 60 more, with 2 more.
func TestCircleOnTwoFolds(t *testing.T) {
	p, err := Read([]byte(ringDraft), "ring.yaml", Options{})
	if err != nil || len(p.Findings) > 0 {
		t.Fatal(err, p.Findings)
	}
	const r = 720 / (2 * math.Pi)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 0.002*want { // on chords
			t.Errorf("%s: %.2f, want %.2f", what, got, want)
		}
	}
	res, err := prepare.Run(p, pattern.Ticket{}, prepare.Options{})
	if err != nil {
		t.Fatal(err)
	}
	whole := res.Ready[0]
	near("hem", whole.Outline.Length(), 2*math.Pi*(r+620))
	near("all of it", whole.Outline.Area(), math.Pi*(r+620)*(r+620))
	var opening []geom.Path
	sew, notches := 0.0, 0
	for _, l := range whole.Lines {
		switch l.Role {
		case pattern.RoleCutout:
			if opening = append(opening, l.Path); !l.Cut || !l.Path.Closed {
				t.Errorf("the opening is no closed cut line: %+v", l)
			}
		case pattern.RoleSew:
			sew += l.Path.Length()
		case pattern.RoleText: // in the cloth, and not in the opening
			if d := geom.Dist(l.Path.Points[0], whole.Outline.Bound().Center()); d < r {
				t.Errorf("letters %q stand in the opening", l.Word.Text)
			}
		case pattern.RoleNotch:
			notches++
			a, b := geom.Dist(l.Path.Points[0], whole.Outline.Bound().Center()), geom.Dist(l.Path.Points[1], whole.Outline.Bound().Center())
			near("a notch's start from the middle", a, r-15)
			if b <= a {
				t.Errorf("a notch runs into the opening: from %v to %v", a, b)
			}
		}
	}
	if len(opening) != 1 || notches != 4 {
		t.Fatalf("%d openings, %d notches; want 1 and 4", len(opening), notches)
	}
	near("waist", opening[0].Length(), 2*math.Pi*(r-15))
	near("seams", sew, 720+2*math.Pi*(r+600))

	res, err = prepare.Run(p, pattern.Ticket{}, prepare.Options{Once: true})
	if err != nil {
		t.Fatal(err)
	}
	quarter := res.Ready[0]
	lines := quarter.CutLines()
	if len(lines) != 2 || lines[0].Closed || lines[1].Closed {
		t.Fatalf("%d lines are cut round a quarter, want two open ones", len(lines))
	}
	near("a quarter of both", lines[0].Length()+lines[1].Length(), math.Pi/2*(r-15+r+620))
	brackets := 0
	for _, l := range quarter.Lines {
		if l.Role == pattern.RoleCutout {
			t.Error("the opening is cut twice")
		}
		for _, at := range l.Path.Points {
			if !quarter.Outline.Contains(at) && quarter.Outline.Nearest(at).Dist > 0.01 {
				t.Fatalf("%s reaches out of the quarter at %v", l.Role, at)
			}
		}
		if l.Role == pattern.RoleFold && strings.Contains(l.Label, "fold") && len(l.Path.Points) == 4 {
			brackets++
		}
	}
	if brackets != 2 {
		t.Errorf("%d brackets, want one at each fold", brackets)
	}

	// Without an allowance the letters stand in the cloth too.
	bare, err := Read([]byte(strings.Replace(strings.Replace(ringDraft, "all: 1.5", "all: none", 1), "hem: 2", "hem: none", 1)), "ring.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	res, err = prepare.Run(bare, pattern.Ticket{}, prepare.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range res.Ready[0].Lines {
		if d := geom.Dist(l.Path.Points[0], res.Ready[0].Outline.Bound().Center()); l.Role == pattern.RoleText && (d < r || d > r+600) {
			t.Fatalf("without an allowance the letters %q stand %v from the middle", l.Word.Text, d)
		}
	}

	// In the open forms it is whole: no other says how a quarter is opened.
	open, err := prepare.WithCutLines(p, pattern.Ticket{}, prepare.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if q := open.Pieces[0]; q.FoldLine() != nil || q.Second != nil || len(q.Sew) != 1 || len(q.Cutouts) != 1+4 || p.Pieces[0].Second == nil {
		t.Errorf("exported: fold %v, %d sew lines, %d cut-outs", q.FoldLine(), len(q.Sew), len(q.Cutouts))
	}
	f, err := FiguresOf([]byte(ringDraft), "ring.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := f.Pieces[0].Words(); got != "cut 1 on two folds" {
		t.Errorf("listed as %q", got)
	}
}

// TestDrawingOnTwoFolds: what folds that meet in a point make has no opening; two that are not square, or of which one is
// not said, are refused.
func TestDrawingOnTwoFolds(t *testing.T) {
	draft := func(width, cut string) string {
		return "style: S\nunit: cm\nbody: {length: 50}\ndraft cloth:\n  O: start\n  H: from O down length\n  W: from O out 40" + width +
			"\n  upper: line O to W\n  hem: line W to H\n  centre: line H to O\n  outline: upper on the fold, hem, centre on the fold\npieces:\n  cloth: cloth; " + cut + "; pointed at hem\nallow: 1\n"
	}
	p, err := Read([]byte(draft("", "cut 1 on two folds")), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	res, err := prepare.Run(p, pattern.Ticket{}, prepare.Options{NotchDepth: 4})
	if err != nil {
		t.Fatal(err)
	}
	// A rhombus of 80 by 100 with 1 round it: its area, and its sides times 1 with mitres 2*1*1/tan of half of each angle.
	side := math.Hypot(40, 50)
	mitres := 2 * (40.0/50 + 50.0/40)
	if got, want := res.Ready[0].Outline.Area()/100, 2*40*50.0+4*side+mitres; math.Abs(got-want) > 0.01 {
		t.Errorf("opened out %v, want %v", got, want)
	}
	for _, l := range res.Ready[0].Lines {
		if l.Role == pattern.RoleCutout {
			t.Error("it has no opening")
		}
	}
	for _, c := range [][3]string{
		{", down 5", "cut 1 on two folds", "not square to one another"},
		{"", "cut 1 on the fold", "say cut 1 on two folds"},
	} {
		if _, err := Read([]byte(draft(c[0], c[1])), "x.yaml", Options{}); err == nil || !strings.Contains(err.Error(), c[2]) {
			t.Errorf("%v: %v", c, err)
		}
	}
}
