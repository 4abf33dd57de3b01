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
		{"takes dip", "takes -1", "", "a dart cannot take -1"},
		{"takes dip", "takes dipp", "", "dipp"},
		{"takes dip, 9", "takes 2, dip", pattern.RuleNotForBody, "a dart cannot be -0.5 long; it comes of front waist 43"},
	} {
		_, err := draw([]byte(strings.Replace(text, c.from, c.to, 1)), "x.yaml", Options{})
		var me *sentence.Error
		if !errors.As(err, &me) || len(me.List) != 1 {
			t.Errorf("%q gives %v", c.to, err)
			continue
		}
		if f := me.List[0]; f.Rule != c.rule || !strings.Contains(f.Text, c.want) || strings.Contains(f.Text, "comes of") != (c.rule != "") {
			t.Errorf("%q: rule %q, %s", c.to, f.Rule, f.Text)
		}
	}
}

// A short back and a broad shoulder are usual enough; what lies beyond is not.
func TestUsualMeasures(t *testing.T) {
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
