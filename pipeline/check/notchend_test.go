package check_test

import (
	"strings"
	"testing"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
)

// TestNotchAtTheEndOfASeam: the top of a sleeve's cap, drawn as two edges, is marked where the front's edge ends; the armhole ends
// there too, at the shoulder seam, so that the notch needs none opposite. One further along does.
func TestNotchAtTheEndOfASeam(t *testing.T) {
	const text = "style: Cap\nunit: cm\n" +
		"draft cap:\n  O: start\n  P: from O out 20\n  Q: from P down 10\n  R: from O down 10\n  front cap: line O to P\n  hem: line P to Q\n  inner: line Q to R\n  crease: line R to O\n  outline: front cap, hem, inner, crease\n" +
		"draft body:\n  A: start\n  B: from A out 20\n  C: from B down 30\n  D: from A down 30\n  armhole: line A to B\n  near: line B to C\n  foot: line C to D\n  far: line D to A\n  outline: armhole, near, foot, far\n" +
		"pieces:\n  cap: cap; cut 1\n  body: body; cut 1\nallow: 1\nnotches:\n  cap front cap: one, AT\nsewn:\n  - cap front cap = body armhole\n"
	for at, want := range map[string]bool{"at O": false, "6 from O": true} {
		pt, err := draft.Read([]byte(strings.Replace(text, "AT", at, 1)), "cap.yaml", draft.Options{})
		if err != nil {
			t.Fatal(err)
		}
		told := false
		for _, f := range check.Run(pt, check.Limits{}, nil) {
			told = told || f.Rule == pattern.RuleNotchNoPartner
		}
		if told != want {
			t.Errorf("%s: told without a partner: %v", at, told)
		}
	}
}
