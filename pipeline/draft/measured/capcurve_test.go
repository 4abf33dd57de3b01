package measured

import (
	"math"
	"strings"
	"testing"
)

const capCurve = `style: S
unit: cm
draft a:
  P: start
  Q: from P out 16, up 16
  T: from P out 8, up 8
  cap: curve P through T to Q, leaving out, arriving out
pieces:
  a: rectangle 1 by 1; cut 1; allowance included
`

// Half a sleeve cap is an S that leaves and arrives level. Beside its middle only arms so long touch
// that the cap became a mushroom; in its middle every length does, and the even one is meant.
func TestCapCurveDoesNotOverhang(t *testing.T) {
	c := drawText(t, capCurve).Drawings["a"].Scope.Definitions["cap"].Curve
	for i := 0; i <= 64; i++ {
		if d := c[0].Dir(float64(i) / 64); d[0] < 0 {
			t.Errorf("at %d of 64 the cap runs back", i)
		}
	}
	if m := c[0].At(0.5); math.Abs(m[0]-8) > 1e-9 || math.Abs(m[1]+8) > 1e-9 && math.Abs(m[1]-8) > 1e-9 {
		t.Errorf("its middle is %v", m)
	}
	off := strings.Replace(capCurve, "T: from P out 8, up 8", "T: from P out 7.65, up 8.35", 1)
	if got := said(t, off, ""); !strings.Contains(got, "it would run back over itself") {
		t.Errorf("a mushroom is said to be %q", got)
	}
}

// Six gores of 12 at the waist make 72 of band (plain sums); a number of times is a whole one.
func TestGoresTakenSeveralTimes(t *testing.T) {
	text := `style: S
unit: cm
pieces:
  gore: rectangle 12 by 60; cut 6
  band: strip 6 wide, 72 long; cut 1
allow: 1.5
sewn:
  - 6 times gore top = band long edge
`
	e := drawText(t, text)
	if len(e.Pairs) != 1 || math.Abs(e.Pairs[0].LengthA-72) > 1e-9 || !strings.HasPrefix(e.Pairs[0].Words(), "6 times gore top") {
		t.Errorf("walked: %+v", e.Pairs)
	}
	if got := said(t, strings.Replace(text, "6 times", "2.5 times", 1), ""); !strings.Contains(got, "a whole number, 1 to 99") {
		t.Errorf("two and a half gores: %q", got)
	}
}
