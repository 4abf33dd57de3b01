package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// capped is a sleeve whose cap is to be so high that it goes into an armhole with ease.
func capped(sentence, cap string) string {
	return fmt.Sprintf(`style: S
unit: cm
numbers:
  armhole: 47
  half bicep: 18
  cap height: %s
draft sleeve:
  T: start
  B: from T down cap height, out half bicep
  A: from T down cap height, back half bicep
  W: from B down 40, back 5
  V: from A down 40, out 5
  %s
  outer: line B to W
  wrist: line W to V
  inner: line V to A
  outline: back cap, outer, wrist, inner, front cap
pieces:
  sleeve: sleeve; cut 2, a pair
allow: 1
`, sentence, strings.ReplaceAll(cap, "|", "\n  "))
}

const straightCap = "back cap: line T to B|front cap: line A to T"

// A cap of two straight lines has its height by Pythagoras: each is half of what the armhole takes.
func TestSolvedNumber(t *testing.T) {
	e := drawText(t, capped("between 8 and 25 so that length of sleeve back cap + length of sleeve front cap is armhole + 2.5", straightCap))
	want := math.Sqrt(24.75*24.75 - 18*18)
	if got := e.Top.Definitions["cap height"].Number; math.Abs(got-want) > 1e-9 {
		t.Errorf("the cap is %v high, want %v", got, want)
	}
	if b := e.Drawings["sleeve"].Scope.Definitions["B"].Point; math.Abs(b[1]-want) > 1e-9 {
		t.Errorf("and B lies %v down", b[1])
	}

	// A curved one is walked: what was sought is what is drawn.
	const curved = "back cap: curve T to B, leaving level, arriving level|front cap: curve A to T, leaving level, arriving level"
	for _, armhole := range []float64{43, 47, 52} {
		text := strings.Replace(capped("between 5 and 25 so that length of sleeve back cap + length of sleeve front cap is armhole + 2.5", curved), "armhole: 47", fmt.Sprintf("armhole: %g", armhole), 1)
		e := drawText(t, text)
		pc := pieceNamed(e, "sleeve")
		if got := pc.Edges[pc.Edge("back cap")].Curve.Length() + pc.Edges[pc.Edge("front cap")].Curve.Length(); math.Abs(got-armhole-2.5) > 1e-6 {
			t.Errorf("into %v goes a cap of %v", armhole, got)
		}
	}

	// A number of the drawing itself is asked for by a point that it is to place.
	text := capped("10", straightCap)
	text = strings.Replace(text, "  cap height: 10\n", "", 1)
	text = strings.Replace(text, "  T: start\n", "  T: start\n  B: from T down cap height, out half bicep\n  cap height: between 8 and 25 so that 2*length of back cap is armhole + 2.5\n", 1)
	text = strings.Replace(text, "  B: from T down cap height, out half bicep\n  A:", "  A:", 1)
	e = drawText(t, text)
	if b := e.Drawings["sleeve"].Scope.Definitions["B"].Point; math.Abs(b[1]-want) > 1e-9 {
		t.Errorf("asked for by its own point: B lies %v down", b[1])
	}
}

func TestSolvedFaults(t *testing.T) {
	for _, c := range []struct{ sentence, want string }{
		{"between 8 and 12 so that 2*length of sleeve back cap is armhole + 2.5", "x.yaml:6:39: nothing between 8 and 12 does it: at 8 it comes to 39.395 where 49.5 is wanted, at 12 to 43.267 where 49.5 is"},
		{"between 25 and 8 so that 2*length of sleeve back cap is armhole", "nothing lies between 25 and 8"},
		{"between 8 and 25 so that 2*length of sleeve top cap is armhole", "x.yaml:6:52: \"sleeve top cap\" is no edge known here"},
		{"between 8 and 25 so that 2*length of sleeve back cap", "here \"is\" is wanted"},
		{"between 8 and 25, 2*length of sleeve back cap is armhole", "here \"so that\" is wanted"},
		{"between 8 and 25 so that 2*length of sleeve back cap is armhole + 2.5, less than 10", "must be less than 10"},
		{"between 1 and 3 so that part is 0\n  part: 1/(cap height - 2.01)", "near 2.01 what is drawn leaps"},
		{"between -3 and -1 so that part is 2\n  part: root of cap height", "x.yaml:6:40: nothing between -3 and -1 can be drawn: there is no root of -1"},
	} {
		_, err := draw([]byte(capped(c.sentence, straightCap)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s says\n%v\nwant %s", c.sentence, err, c.want)
		}
	}
}

// What is trued while a number is sought is told once, of the number that was found.
func TestSoughtNumberTruesOnce(t *testing.T) {
	seam := strings.Replace(seamLine, "2.5 at shoulder, 3 at waist", "dip at waist, 2.5 at shoulder", 1)
	text := strings.Replace(divided(seam, 97, ""), "draft front:", "numbers:\n  dip: between 2 and 4 so that sewn width of front at front C is 97/4 - 1 - 3\ndraft front:", 1)
	f, err := FiguresOf([]byte(text), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Truings) != 2 {
		t.Errorf("%d truings: %+v", len(f.Truings), f.Truings)
	}
}

// A number with several answers takes the smallest, and a note names the others: n squared is 25 for -5 and
// for 5, and n cubed less 7n is -6 for 1, 2 and -3 (roots by hand: (n-1)(n-2)(n+3)).
func TestSoughtNumberWithSeveralAnswers(t *testing.T) {
	for _, c := range []struct {
		sentence string
		want     float64
		note     string
	}{
		{"between -10 and 10 so that n*n is 25", -5, `"n" is -5, the smallest number of its range that does it; 5 does it too`},
		{"between -10 and 11 so that n*n*n - 7*n is -6", -3, `"n" is -3, the smallest number of its range that does it; 1 and 2 do it too`},
		{"between 0 and 10 so that n*n is 25", 5, ""},
		{"between 0 and 24 so that n is 7", 7, ""},             // met on a step
		{"between 0 and 10 so that 1/(6.1 - n) is 2", 5.6, ""}, // a leap at 6.1 is no answer
	} {
		e := drawText(t, strings.Replace(capped("10", straightCap), "  cap height: 10\n", "  cap height: 10\n  n: "+c.sentence+"\n", 1))
		if got := e.Top.Definitions["n"].Number; math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s: %v, want %v", c.sentence, got, c.want)
		}
		var notes []string
		for _, f := range seamFindings(e) {
			if f.Rule == pattern.RuleReadAssumed {
				notes = append(notes, f.Message)
			}
		}
		if got := strings.Join(notes, "|"); got != c.note {
			t.Errorf("%s says %q, want %q", c.sentence, got, c.note)
		}
	}
}

// What is sought of something that is refused already is not refused once more without a cause.
func TestSoughtOfWhatIsRefused(t *testing.T) {
	got := said(t, "style: S\nunit: cm\nnumbers:\n  far: breadth + 1\n  h: between 1 and 9 so that h is far\npieces:\n  a: rectangle h by 1; cut 1; allowance included\n", "")
	if !strings.HasPrefix(got, `refused: x.yaml:4:8: "breadth" is no measure`) || strings.Contains(got, "\n") {
		t.Errorf("%s", got)
	}
}

// A trial draws again only what rests on the number: twenty curves that do not are drawn once, for all of the 75 or so
// trials. What a trial takes beside them is counted in allocations, of which each curve has some.
func TestTrialsDrawWhatRestsOnTheNumber(t *testing.T) {
	var curves, lengths strings.Builder
	for i := range 20 {
		fmt.Fprintf(&curves, "  e%d: curve A to B, leaving level, arriving level\n", i)
		fmt.Fprintf(&lengths, " + length of front e%d", i)
	}
	const form = "style: S\nunit: cm\nnumbers:\n  h: %s\n  far: 0%s\ndraft front:\n  A: start\n  B: from A out 10, down 5\n%s" +
		"  C: from A down h\n  hem: line B to C\n  fold: line C to A\n  outline: e0, hem, fold\npieces:\n  a: front; cut 1\nallow: 1\n"
	counted := func(h string) float64 {
		text := fmt.Sprintf(form, h, lengths.String(), curves.String())
		drawText(t, text)
		return testing.AllocsPerRun(5, func() { drawText(t, text) })
	}
	fixed, sought := counted("far/10"), counted("between 1 and 101 so that h is far/10")
	t.Logf("%g allocations, %g sought", fixed, sought)
	if more := sought - fixed; more > 75*4 {
		t.Errorf("that the number is sought costs %g allocations more", more)
	}
}
