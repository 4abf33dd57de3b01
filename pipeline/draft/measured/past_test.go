package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// backNeck is a back with a shallow neck, 7.5 wide and so deep, as it is told.
func backNeck(deep, centre, neck string) string {
	return `style: S
unit: cm
draft back:
  N: start
  S: from N out 7.5, up ` + deep + `
  P: from S out 12, down 4
  U: from N out 24, down 20
  D: from N down 40
  C: from D out 24
  H: from N out 4.1
  K: from S down 0.55*` + deep + `
  neck: ` + neck + `
  shoulder: line S to P
  armhole: curve P to U, leaving down, arriving out
  side: line U to C
  hem: line C to D
  centre: line D to N
  outline: neck, shoulder, armhole, side, hem, ` + centre + `
pieces:
  back: back; cut 1 on the fold
allow: 1
`
}

// A curve of two arms of one length that turns by a right angle has the arms 0.3905 of the chord, as the handles of a circle's
// quarter (general knowledge); 7.5 out and 2 up the chord is 7.762, so that the arm at S, 3.031, ends 1.031 below the level of
// N. With the parameter t the curve lies 3t²(1-t)·1.031 - t³·2 below it: at most 0.169 at t = 0.405 (by hand).
func TestCurvePastItsEnds(t *testing.T) {
	e := drawText(t, backNeck("2", "centre on the fold", "curve N to S, leaving out, arriving up"))
	var got []pattern.Finding
	for _, f := range e.Findings {
		if f.Rule == pattern.RuleCurvePast {
			got = append(got, f)
		}
	}
	if len(got) != 1 || got[0].Line != 12 || got[0].Severity != pattern.Warning {
		t.Fatalf("got %+v, and the armhole is hollowed as it should be", got)
	}
	neck := e.Drawings["back"].Edges[0].Curve[0]
	by, _ := neck.Past(false)
	if want := 0.169; math.Abs(by-want) > 0.001 {
		t.Errorf("%v below, want %v", by, want)
	}
	for _, w := range []string{`"neck" of "back"`, "0.17 cm below both its ends"} {
		if !strings.Contains(got[0].Message, w) {
			t.Errorf("%s lacks %q", got[0].Message, w)
		}
	}
	for _, good := range []string{
		backNeck("2", "centre on the fold", "curve N to S, pulled toward H and K"), // what mends it
		backNeck("7", "centre on the fold", "curve N to S, leaving out, arriving up"),
		backNeck("2", "centre on the fold", "curve N to S, leaving out, arriving level"), // an S is wanted
	} {
		for _, f := range drawText(t, good).Findings {
			if f.Rule == pattern.RuleCurvePast {
				t.Errorf("warned of %s", f.Message)
			}
		}
	}
	// A neck is told of also where the centre is open.
	open := strings.NewReplacer("centre on the fold\npieces", "centre\npieces", "cut 1 on the fold", "cut 2, a pair").Replace(backNeck("2", "centre on the fold", "curve N to S, leaving out, arriving up"))
	found := false
	for _, f := range drawText(t, open).Findings {
		found = found || f.Rule == pattern.RuleCurvePast
	}
	if !found {
		t.Error("nothing is said of a neck beside an open centre")
	}
}
