package measured

import (
	"fmt"
	"strings"
	"testing"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

// sleeved is a front and a back whose armholes go into one sleeve's cap. The cap is drawn from the back's
// underarm over the shoulder to the front's.
func sleeved(cap, more string) string {
	return fmt.Sprintf(`style: S
unit: cm
draft front:
  O: start
  N: from O out 8
  T: from N out 12, down 4
  U: from O out 24, down 22
  H: from U down 20
  E: from O down 42
  shoulder: line N to T
  armhole: line T to U
  side: line U to H
  hem: line H to E
  centre: line E to O
  neck: line O to N
  outline: shoulder, armhole, side, hem, centre on the fold, neck
draft back:
  trace: front
draft sleeve:
  B: start
  T: from B out 18.439, up 1
  F: from B out 36.878
  W: from F down 30
  V: from B down 30
  cap: line B to T to F
  inner: line F to W
  wrist: line W to V
  outer: line V to B
  outline: cap, inner, wrist, outer
pieces:
  front: front; cut 1 on the fold
  back: back; cut 1 on the fold
  sleeve: sleeve; cut 2, a pair
allow: 1.5
notches:
  front armhole: one, 8 from U
  back armhole: two, 9 from U
%s
sewn:
  - front shoulder = back shoulder, pointed at armhole, pointed at neck
  - front side = back side, pointed at hem, pointed at armhole
  - front armhole + back armhole = sleeve cap, within 0.2
%s
`, cap, more)
}

// A seam that is a sum has its notches compared: one underarm is 8 from the cap's notch, the other 9.
func TestNotchesOfASum(t *testing.T) {
	for _, c := range []struct{ name, cap, want string }{
		{"all meet", "  sleeve cap: one, 8 from F; two, 9 from B", ""},
		{"told the other way round", "  sleeve cap: one, 8 from B; two, 9 from F", ""},
		{"4 cm off", "  sleeve cap: one, 12 from F; two, 9 from B", "warning: the notch 8 from U on front armhole meets none on sleeve cap"},
		{"none at all", "", "warning: the notch 9 from U on back armhole meets none on sleeve cap"},
		{"one too many", "  sleeve cap: one, 8 from F; two, 9 from B; one, 14 from B", "warning: the notch 14 from B on sleeve cap meets none on front armhole and back armhole"},
		{"at the shoulder", "  sleeve cap: one, 8 from F; two, 9 from B; one, at T", ""},
	} {
		got := said(t, sleeved(c.cap, ""), "")
		if c.want == "" && strings.Contains(got, "notch") || !strings.Contains(got, c.want) {
			t.Errorf("%s: want %q in\n%s", c.name, c.want, got)
		}
	}
}

// A cap with 3 cm of ease, spread evenly: a notch may lie off its partner by the ease that can lie between them, and
// no farther, whichever way it lies (12 from F would fit armholes that are joined at the underarm); one too many meets none. From memory: no ease is put below the notches of a cap.
func TestNotchesOfASumWithEase(t *testing.T) {
	for _, c := range []struct{ name, cap, want string }{
		{"all meet", "  sleeve cap: one, 8 from F; two, 9 from B", ""},
		{"5 cm off", "  sleeve cap: one, 13 from F; two, 9 from B", "meets none on sleeve cap"},
		{"4 cm off the other way", "  sleeve cap: one, 4 from F; two, 9 from B", "warning: the notch 8 from U on front armhole meets none on sleeve cap"},
		{"6 cm off", "  sleeve cap: one, 14 from F; two, 9 from B", "warning: the notch 8 from U on front armhole meets none on sleeve cap"},
		{"7 cm off", "  sleeve cap: one, 15 from F; two, 9 from B", "warning: the notch 8 from U on front armhole meets none on sleeve cap"},
		{"one too many", "  sleeve cap: one, 8 from F; two, 9 from B; one, 14 from B", "warning: the notch 14 from B on sleeve cap meets none on front armhole and back armhole"},
		{"at the shoulder", "  sleeve cap: one, 8 from F; two, 9 from B; one, at T", ""},
	} {
		eased := strings.NewReplacer("out 18.439, up 1", "out 19.939, up 1", "out 36.878", "out 39.878", "sleeve cap, within 0.2", "sleeve cap, 3 longer, within 0.2").Replace(sleeved(c.cap, ""))
		got := said(t, eased, "")
		if c.want == "" && strings.Contains(got, "notch") || !strings.Contains(got, c.want) {
			t.Errorf("%s: want %q in\n%s", c.name, c.want, got)
		}
	}
}

// What a workroom says of notches and seams counts for a measured draft.
func TestWorkroomNumbersCount(t *testing.T) {
	e := drawText(t, paired("  front side: one, 9 from B, 0.8 deep", "front side = back side, 0.35 longer, pointed at hem"))
	p := figures.Pattern(e)
	for _, c := range []struct {
		rule string
		lim  check.Limits
		want string // the severity, empty for nothing
	}{
		{pattern.RuleNotchDeep, check.Limits{}, "warning"},
		{pattern.RuleNotchDeep, check.Limits{NotchShare: 0.6}, ""},
		{pattern.RuleNotchDeep, check.Limits{NotchLeft: 8}, "error"},
		{pattern.RuleSeamLengths, check.Limits{}, ""},
		{pattern.RuleSeamLengths, check.Limits{SeamTolerance: 1}, "error"},
		{pattern.RuleAllowanceWide, check.Limits{AllowanceMax: 15}, ""},
		{pattern.RuleAllowanceWide, check.Limits{AllowanceMax: 12}, "warning"},
	} {
		got := ""
		for _, f := range check.Run(p, c.lim, nil) {
			if f.Rule == c.rule {
				got = string(f.Severity)
			}
		}
		if got != c.want {
			t.Errorf("%s with %+v: %q, want %q", c.rule, c.lim, got, c.want)
		}
	}
}

// The open mouth of a dart that is told in the outline is nothing once it is sewn: neither its own length nor
// what is sewn to the edges beside it.
func TestMouthToldInOutline(t *testing.T) {
	const draft = `style: S
unit: cm
draft front:
  O: start
  B: from O out 24
  C: from B down 20
  D: from O down 20
  E1: from D out 8
  E2: from E1 out 3
  P: from D out 9.5, up 12
  top: line O to B
  side: line B to C
  outer waist: line C to E2
  mouth: line E2 to E1
  inner waist: line E1 to D
  centre: line D to O
  outline: top, side, outer waist, mouth, inner waist, centre
  dart: E1 to P to E2
pieces:
  front: front; cut 2, a pair
  band: rectangle 21 by 4; cut 2, a pair
allow: 1
sewn:
  - front outer waist + front mouth + front inner waist = band top, within 0.1
must:
  - sewn length of front mouth + length of band side is 4
`
	if got := said(t, draft, ""); strings.Contains(got, "error") {
		t.Error(got)
	}
	e := drawText(t, draft)
	pc := pieceNamed(e, "front")
	if l := pc.WornLength(pc.Edge("mouth")); l != 0 {
		t.Errorf("the mouth is %v long as worn", l)
	}
}

// The legs of a dart are held against the workroom's tolerance.
func TestUnevenDart(t *testing.T) {
	const draft = `style: S
unit: cm
draft front:
  O: start
  B: from O out 24
  C: from B down 20
  D: from O down 20
  E1: from D out 8
  E2: from E1 out 3
  P: from D out 9.7, up 12
  top: line O to B
  side: line B to C
  outer waist: line C to E2
  mouth: line E2 to E1
  inner waist: line E1 to D
  centre: line D to O
  outline: top, side, outer waist, mouth, inner waist, centre
  dart: E1 to P to E2
pieces:
  front: front; cut 2, a pair
allow: 1
`
	got := said(t, draft, "")
	if want := "error: the legs of the dart of front are 12.07 cm and 12.12 cm"; strings.Contains(got, want) {
		t.Errorf("0.5 mm apart are let pass: %s", got)
	}
	got = said(t, strings.Replace(draft, "out 9.7, up", "out 11, up", 1), "")
	if want := "error: the legs of the dart of front are 12 cm and 12.37 cm: 0.37 cm apart"; !strings.Contains(got, want) {
		t.Errorf("want %q in\n%s", want, got)
	}
}
