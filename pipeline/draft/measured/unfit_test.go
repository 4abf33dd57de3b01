package measured

import (
	"errors"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// What cannot be drawn for one body is a rule of its own, which names the measures that feed the number; what
// no measure feeds, and what is not understood, stays a slip in the draft.
func TestNotForThisBody(t *testing.T) {
	const text = `style: S
unit: cm
body: {front waist: 43, nape to waist: 42.5, back rise: 1}
numbers:
  dip: front waist - nape to waist - back rise
draft front:
  O: start
  C: from O down 60
  W: from O out 22
  H: from W down 60, out 4
  D: along waist 8 from O
  waist: line W to O
  side: line W to H
  hem: line H to C
  centre: line C to O
  outline: centre on the fold, waist, side, hem
  dart w: at D, takes dip, 9 long
pieces:
  front: front; cut 1 on the fold
allow: 1
`
	for _, c := range []struct{ from, to, rule, want string }{
		{"", "", pattern.RuleNotForBody, "a dart cannot take -0.5; it comes of front waist 43, nape to waist 42.5 and back rise 1"},
		{"takes dip", "takes -1", pattern.RuleImpossible, "a dart cannot take -1"},
		{"takes dip", "takes dipp", "", "dipp"},
		{"takes dip, 9", "takes 2, dip", pattern.RuleNotForBody, "a dart cannot be -0.5 long; it comes of front waist 43"},
	} {
		_, err := draw([]byte(strings.Replace(text, c.from, c.to, 1)), "x.yaml", Options{})
		var me *sentence.Error
		if !errors.As(err, &me) || len(me.List) != 1 {
			t.Errorf("%q gives %v", c.to, err)
			continue
		}
		if f := me.List[0]; f.Rule != c.rule || !strings.Contains(f.Text, c.want) || strings.Contains(f.Text, "comes of") != (c.rule == pattern.RuleNotForBody) {
			t.Errorf("%q: rule %q, %s", c.to, f.Rule, f.Text)
		}
	}
}

// A short back and a broad shoulder are usual enough; what lies beyond is not.
func TestUsualMeasures(t *testing.T) {
	for _, c := range []struct{ line, measures, want string }{
		{"kind: woman\n", "{nape to waist: 31, shoulder: 18, across back: 27, head: 63}", ""},
		{"kind: man\n", "{nape to waist: 31, shoulder: 18}", "nape to waist 31 cm lies outside what is usual for a man, 34 to 54 cm"},
		{"kind: child\n", "{bust: 63, waist: 57, hip: 66, nape to waist: 28.5, shoulder: 10, apex depth: 17.5, neck: 28.5}", ""},
		{"kind: child\n", "{bust: 92}", "bust 92 cm lies outside what is usual for a child of 4 to 12, 54 to 78 cm"},
		{"kind: child\n", "{height: 110, waist: 66}", "waist 66 cm lies outside what is usual for a child 110 cm tall, 45 to 63.5 cm"},
		{"kind: child\n", "{height: 101, neck: 20.5}", "neck 20.5 cm lies outside what is usual for a child 101 cm tall, 22.5 to 30 cm"},
		{"kind: child\n", "{height: 150, neck: 37}", "neck 37 cm lies outside what is usual for a child 150 cm tall, 25.5 to 35 cm"},
		{"kind: child\n", "{height: 150, waist: 66, knee: 33, rise: 24}", ""},
		{"kind: woman\n", "{hip depth: 58}", "hip depth 58 cm lies outside what is usual for a woman, 12 to 31 cm"},
		{"kind: man\n", "{inside leg: 33}", "33 in would be usual: was it taken in inches?"},
		{"", "{nape to waist: 28.5}", "for a child it is usual, and kind: child says so"},
		{"kind: girl\n", "{bust: 63}", `"girl" is no kind of wearer`},
	} {
		got := said(t, "style: S\nunit: cm\n"+c.line+"body: "+c.measures+"\npieces:\n  band: rectangle 10 by 10; cut 1\nallow: 1\n", "")
		if c.want == "" && strings.Contains(got, "usual") || !strings.Contains(got, c.want) {
			t.Errorf("%q %s says %s, want %q", c.line, c.measures, got, c.want)
		}
	}
	got, err := draw([]byte("style: S\nunit: cm\ncard: x\npieces:\n  band: rectangle 10 by 10; cut 1\nallow: 1\n"), "x.yaml",
		Options{Card: func(string) ([]byte, error) { return []byte("unit: cm\nkind: child\nmeasures: {bust: 63}\n"), nil }})
	if err != nil || len(got.Findings) > 0 {
		t.Errorf("a child's card: %v, %v", got, err)
	}
	for measures, unusual := range map[string]bool{
		"{nape to waist: 31, shoulder: 18}": false, "{nape to waist: 30.9, shoulder: 12}": true, "{nape to waist: 40, shoulder: 18.1}": true,
	} {
		got := said(t, "style: S\nunit: cm\nbody: "+measures+"\npieces:\n  band: rectangle 10 by 10; cut 1\nallow: 1\n", "")
		if strings.Contains(got, "outside what is usual") != unusual {
			t.Errorf("%s says %s", measures, got)
		}
	}
}

// A bust point 57 mm above the waist: the jacket's side front stays a shape that can be cut, its edge at the
// princess no longer runs past its end and back. The corners of the seam add to 180 degrees.
func TestJacketOfAShortFront(t *testing.T) {
	jacket := strings.Replace(string(samples.Read("lamplighter-jacket.yaml")), `front waist: "17, from`, `front waist: "12 3/4, from`, 1)
	if got := said(t, jacket, "C"); strings.Contains(got, "180.00 off") || strings.Contains(got, "princess") {
		t.Errorf("the jacket says\n%s", got)
	}
	e, err := draw([]byte(jacket), "x.yaml", Options{Body: "C"})
	if err != nil {
		t.Fatal(err)
	}
	pc := pieceNamed(e, "side front")
	for i, g := range pc.Edges[pc.Edge("princess")].Curve {
		if next := pc.Edges[pc.Edge("princess")].Curve; i > 0 && geom.Dot(next[i-1].Dir(1), g.Dir(0)) < 0 {
			t.Errorf("stretch %d turns back", i)
		}
	}
}

// An ease that is measured above the underarm says so: no width there goes round the body.
func TestEaseAboveTheUnderarm(t *testing.T) {
	const text = `style: S
unit: cm
body: {bust: 92, across front: 33}
draft front:
  O: start
  N: from O out 7
  T: from N falling 3 for every 8, 12
  U: from O down 24, out 25
  Y: from O down 15
  H: from U down 40
  F: from O down 64
  neck: line O to N
  shoulder: line N to T
  armhole: curve T to U, leaving down, arriving level
  side: line U to H
  hem: line H to F
  centre: line F to O
  outline: neck, shoulder, armhole, side, hem, centre on the fold
pieces:
  front: front; cut 1 on the fold
allow: 1
ease:
  bust: PROMISE, finished 4*width of front at Y
  across front: at least 0, finished 2*width of front at Y
`
	for _, c := range []struct{ promise, y, want string }{
		{"8", "Y", "it is measured above the underarm: the level of Y cuts the armhole of front"},
		{"-20 to 0", "Y", "warning: the ease at the bust is measured above the underarm: the level of Y cuts the armhole of front"},
		{"8", "U", ""},
	} {
		data := strings.Replace(strings.Replace(text, "PROMISE", c.promise, 1), "4*width of front at Y", "4*width of front at "+c.y, 1)
		if got := said(t, data, ""); c.want == "" && strings.Contains(got, "underarm") || !strings.Contains(got, c.want) || strings.Count(got, "underarm") > 1 {
			t.Errorf("%s at %s says\n%s", c.promise, c.y, got)
		}
	}
}
