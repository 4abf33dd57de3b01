package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

const laps = `style: S
unit: cm
draft front:
  A: start
  B: from A out 30
  C: from B down 10
  D: from A down 10
  top: line A to B
  side: line B to C
  hem: line C to D
  far side: line D to A
  outline: top, side, hem, far side
draft shaped band:
  A: start
  B: from A out 63
  C: from B down 4
  D: from A down 4
  upper: line A to B
  end: line B to C
  lower: line C to D
  beginning: line D to A
  outline: upper, end, lower, beginning
pieces:
  front: front; cut 2, alike
  band: strip 8 wide, 60 long, underlap 3; cut 1
  shaped: shaped band; cut 1
allow: 1
sewn:
  - twice front top = band long edge
  - twice front hem = shaped lower, underlap 3 at beginning
`

// A band's underlap is a length of its own, sewn to nothing and not eased in; a line across tells where it begins.
func TestUnderlap(t *testing.T) {
	e := drawText(t, laps)
	for i, p := range e.Pairs {
		if p.LengthA != 60 || p.LengthB != 63 || p.Ease != 3 {
			t.Errorf("seam %d: %+v", i, p)
		}
	}
	for _, f := range e.Findings {
		if f.Severity == pattern.Error || f.Severity == pattern.Warning {
			t.Error(f.Message)
		}
	}
	for _, pc := range figures.Pattern(e).Pieces {
		var lines [][2]float64
		for _, l := range pc.Marks {
			if l.Label == "ease line" {
				t.Errorf("%s is drawn eased", pc.Name)
			}
			if l.Label == "underlap" {
				lines = append(lines, [2]float64{l.Path.Points[0][0], l.Path.Points[len(l.Path.Points)-1][0]})
			}
		}
		want := map[string]float64{"band": 600, "shaped": 30}[pc.Name]
		if (want > 0) != (len(lines) == 1) || want > 0 && math.Abs(lines[0][0]-want)+math.Abs(lines[0][1]-want) > 1e-6 {
			t.Errorf("%s: the underlap begins at %v, want %v", pc.Name, lines, want)
		}
	}
	for was, want := range map[string][2]string{
		"underlap 3 at beginning": {"underlap 3 at upper", `the lower of shaped does not meet "upper"`},
		"cut 2, alike":            {"cut 2, alike; underlap 2", "an underlap is said of a strip or a rectangle; of a drawn band, say it of its seam"},
	} {
		if got := said(t, strings.Replace(laps, was, want[0], 1), ""); !strings.Contains(got, want[1]) {
			t.Errorf("%s: %s", want[0], got)
		}
	}
}

// What is gathered is held by the band without its underlap, told of the strip or of a drawn band: 120 into 60 are 2 to
// 1 (the arithmetic of the trade: cloth = fullness x what it is gathered to; common practice).
func TestUnderlapIsNotGathered(t *testing.T) {
	full := strings.NewReplacer("B: from A out 30", "B: from A out 60", "band long edge", "band long edge, gathered 2 to 1", "shaped lower,", "shaped lower, gathered 2 to 1,").Replace(laps)
	e := drawText(t, full)
	f := figures.Of(e)
	for i, s := range f.Seams {
		if math.Abs(s.Gathers-2) > 1e-9 || s.A != 120 || s.B != 63 || s.Ease != 63-120 || s.Underlap != 3 {
			t.Errorf("seam %d: %+v", i, s)
		}
		if got := f.Between(s); got != "gathered 2.00 to 1, an underlap of 3 left free" {
			t.Errorf("seam %d: %s", i, got)
		}
	}
	if got := said(t, strings.Replace(full, "2 to 1", "1.5 to 1", 1), ""); !strings.Contains(got, "is gathered 2.00 to 1 as drawn") || !strings.Contains(got, "draw it 90 cm long") {
		t.Errorf("other gathers are said: %s", got)
	}
}

// Lengths of an inch draft are fractions, also in a message.
func TestInchesInMessages(t *testing.T) {
	got := said(t, strings.NewReplacer("unit: cm", "unit: in", "B: from A out 30", "B: from A out 46.125", "band long edge", "band long edge, gathered 2 to 1", "60 long", "61.5 long").Replace(laps), "")
	if !strings.Contains(got, "draw it 123 in long") {
		t.Error(got)
	}
	got = said(t, strings.NewReplacer("unit: cm", "unit: in", "band long edge", "band long edge, underlap 3 at end", "underlap 3;", "underlap 1 1/4;").Replace(laps), "")
	if !strings.Contains(got, "made with one of 1 1/4 in;") {
		t.Error(got)
	}
}

// An underlap that is told of the strip and of its seam would be left free twice.
func TestUnderlapIsToldOnce(t *testing.T) {
	got := said(t, strings.Replace(laps, "band long edge", "band long edge, underlap 3 at end", 1), "")
	if !strings.Contains(got, "the underlap of band is told twice: it is made with one of 3 cm") || !strings.Contains(got, "take it out of the seam") {
		t.Error(got)
	}
}

// A length that is stated beside an underlap comes to it: where it was the underlap that was meant, that is said.
func TestUnderlapToldTwice(t *testing.T) {
	e := drawText(t, strings.Replace(laps, "= band long edge", "= band long edge, 3 longer", 1))
	for _, f := range seamFindings(e) {
		if f.Rule == pattern.RuleSeamLengths {
			if !strings.Contains(f.Message, "6 cm longer than twice front top, 3 cm as it says and 3 cm for its underlap") || f.Mend != "the underlap counts by itself: take the words 3 cm longer out of the seam" {
				t.Errorf("%s; %s", f.Message, f.Mend)
			}
			return
		}
	}
	t.Error("nothing is said of the seam")
}
