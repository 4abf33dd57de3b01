package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/curve"
)

// What a cutter may write in more than one way comes to the same.
func TestManyWaysToSayIt(t *testing.T) {
	for _, c := range []struct {
		unit string
		said string
		want float64
	}{
		{"cm", "1/4 of bust", 23}, {"cm", "¼ of bust", 23}, {"cm", "a quarter of bust", 23}, {"cm", "half of bust", 46}, {"cm", "half bust", 46},
		{"cm", "20% of bust", 18.4}, {"cm", "bust ÷ 4", 23}, {"cm", "bust × 2 − 4", 180}, {"cm", "bust divided by 4 plus 1 minus 2", 22},
		{"cm", "a third of (bust + 1)", 31}, {"in", "2 ½", 2.5}, {"in", "5½", 5.5}, {"in", "2 1/2 inches", 2.5}, {"in", "2 1⁄2", 2.5},
		{"in", "5.12", 5.12}, {"cm", "1/2 in", 1.27}, {"cm", "2 1/2\"", 6.35}, {"mm", "2 centimetres", 20}, {"cm", "5 mm", 0.5},
	} {
		if got := numbersOf(t, c.unit, "bust: 92", c.said)[c.said]; math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %s comes to %v, want %v", c.unit, c.said, got, c.want)
		}
	}
	smock := string(samples.Read("ferry-smock.yaml"))
	for _, c := range [][2]string{
		{"K: where square to N T at T meets plumb through A", "K: where square to N T at T meets plumb through A\n  Half: half way between O and U\n  Third: 1/3 of the way from O to U"},
		{"shoulder: line N to T", "shoulder: line from N to T"},
		{"armhole: line T to K to A to U, softened at K from T", "armhole: line T to K then line K to A to U, softened at A 0.0 then line to U"},
		{"centre on the fold", "centre on fold"},
		{"back: back; cut 1 on the fold", "back: back, cut one on fold"},
		{"pocket: pocket; cut 1\n", "pocket: pocket; cut 1 in linen, on the bias\n"},
	} {
		text := strings.Replace(smock, c[0], c[1], 1)
		if text == smock {
			t.Fatalf("%q is not in the smock", c[0])
		}
		if got := said(t, text, ""); strings.Contains(got, "refused") && !strings.Contains(c[1], "0.0") {
			t.Errorf("%s: %s", c[1], got)
		}
	}
}

// Fractions of the way, bowed arcs and curves whose second way is left out lie where they are said to.
func TestShapesSaidShort(t *testing.T) {
	e := drawText(t, `style: S
unit: cm
body: {bust: 92, neck: 36}
draft p:
  O: start
  A: from O out 30
  T: 1/3 of the way from O to A
  B: from A down neck
  C: from B back 30
  M: from B up 18, back 1
  neck: line O to A
  side: arc A to B, bowed 2 out
  hem: line B to C
  inner: curve C to O, leaving up, arriving plumb
  belly: curve A through M to B
  half: curve A to C, leaving plumb
  outline: neck, side, hem, inner
pieces:
  p: p; cut 1 pair
allow: 1
`)
	d := e.Drawings["p"].Scope.Definitions
	if got := d["T"].Point[0]; math.Abs(got-10) > 1e-9 {
		t.Errorf("a third of the way of 30 is %v", got)
	}
	if pl := curve.NearestOn(d["side"].Curve, [2]float64{32, 18}); pl < 0 {
		t.Error("the arc bowed 2 out does not pass 2 beside the middle of its chord")
	}
	if pl := curve.NearestOn(d["belly"].Curve, d["M"].Point); pl < 0 {
		t.Error("the curve does not touch the point it is led through")
	}
	if got := d["half"].Curve[0].Dir(0); math.Abs(got[0]) > 1e-9 {
		t.Errorf("the curve leaves toward %v, not plumb", got)
	}
	if e.Pieces[0].Quantity != 2 || !e.Pieces[0].Pair {
		t.Error("one pair is not two pieces")
	}
}

// A word of the trade that is not understood leads to the one that is.
func TestNearestWordOfTheTrade(t *testing.T) {
	smock := string(samples.Read("ferry-smock.yaml"))
	for _, c := range [][3]string{
		{"P: from O down 4", "P: from O drop 4", `did you mean "down"?`},
		{"P: from O down 4", "P: from O across 4", `did you mean "out"?`},
		{"P: from O down 4", "P: midway O to N", `did you mean "half-way"?`},
		{"P: from O down 4", "P: intersection of side and hem", `did you mean "where"?`},
		{"P: from O down 4", "P: O down 4", `begin with from: from O down`},
		{"P: from O down 4", "P: down 4 from O", `begin with from and its name`},
		{"P: from O down 4", "P: from O 4 down", `the way comes before its length`},
		{"shoulder: line N to T", "shoulder: straight N to T", `did you mean "line"?`},
		{"shoulder: line N to T", "shoulder: french curve N to T", `did you mean "curve"?`},
		{"shoulder: line N to T", "shoulder: N to T", `say line N to`},
		{"across: across front/2 + 1/2", "across: 1/4 bust", `put + - * or / between`},
		{"across: across front/2 + 1/2", "across: chest/4", `did you mean "bust"?`},
		{"across: across front/2 + 1/2", "across: bust / 4/2", `put the fraction in brackets, (4/2), or the first division`},
		{"across: across front/2 + 1/2", "across: bust divided by 1/2", `this divides by the fraction 1/2`},
		{"across: across front/2 + 1/2", "across: bust/4⁄2", `this divides by the fraction 4⁄2`},
		{"across: across front/2 + 1/2", "across: larger of 5 and bust - 2", `set brackets: larger of a and (b - c), or (larger of a and b) - c`},
		{"across: across front/2 + 1/2", "across: smaller of bust and 20 divided by 2", `set brackets: smaller of a and (b divided by c)`},
		{"across: across front/2 + 1/2", "across: root of 3*3 + 4*4", `set brackets: root of (a * b), or (root of a) * b`},
		{"across: across front/2 + 1/2", "across: root of bust plus 4", `set brackets: root of (a plus b), or (root of a) plus b`},
		{"across: across front/2 + 1/2", "across: max of bust and hip", `did you mean "larger of"?`},
		{"pocket: pocket; cut 1", "pocket: pocket; cut 2; bias", `did you mean "on the bias"?`},
		{"pocket: pocket; cut 1", "pocket: pocket; cut 2; grain across", `say grain level`},
		{"pocket: pocket; cut 1", "pocket: pocket; cut 1 in linen and canvas", `give the piece of each cloth a line of its own`},
		{"pocket: pocket; cut 1", "pocket: cut 1 pocket", `say first of which drawing it is cut`},
		{"armhole: line T to K to A to U, softened at K from T", "armhole: line T to K to A to U, softened at K", `add the length: softened at K 3`},
		{"drill at L", "drill L", `did you mean "drill at"?`},
		{"  slit: 12\n", "  slit: 12\n  box: inverted box, 4 deep\n", `a pleat's line begins with pleat`},
	} {
		text := strings.Replace(smock, c[0], c[1], 1)
		if got := said(t, text, ""); !strings.Contains(got, c[2]) || strings.Count(got, "refused") != 1 {
			t.Errorf("%s is answered with\n%s\nwant %s", c[1], got, c[2])
		}
	}
}
