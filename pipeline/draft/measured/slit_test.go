package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

const slitted = `style: S
unit: cm
draft p:
  A: start
  B: from A out 20
  C: from B down 40
  D: from A down 40
  P: from A out 10
  Q: from P down 14
  R: from P out 3, down 6
  M: from A down 6
  X: from B back 6, down 6
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  outline: top, side, hem, leftFOLD
draft gusset:
  A: start
  B: from A out 4, down 8
  C: from A down 16
  D: from A back 4, down 8
  front upper: line A to B
  front lower: line B to C
  back lower: line C to D
  back upper: line D to A
  outline: front upper, front lower, back lower, back upper
pieces:
  p: p; cut 1CUT
  gusset: gusset; cut 2
allow: {all: 1, p side: 2}
marks:
  p:
    - MARK
`

func slitDraft(mark, fold, cut string) string {
	return strings.NewReplacer("MARK", mark, "FOLD", fold, "CUT", cut).Replace(slitted)
}

// A slit that begins on the sew line is cut from the cut line (common practice). Where that lies is reckoned by hand: 1 above the
// top, 2 beside the side, in the corner as the line of the slit meets the first of both.
func TestSlitRunsThroughTheAllowance(t *testing.T) {
	for _, c := range []struct {
		mark, fold, cut string
		from            [2]float64
		told            string // how the list tells it
	}{
		{"slit P to Q", "", "", [2]float64{10, -1}, "slit, from/slit, through P/slit, to Q"},
		{"slit P to R", "", "", [2]float64{9.5, -1}, "slit, from/slit, through P/slit, to R"},
		{"slit P to Q, called neck", "", "", [2]float64{10, -1}, "neck, from/neck, through P/neck, to Q"},
		{"slit B to X", "", "", [2]float64{21, -1}, "slit, from/slit, through B/slit, to X"},
		{"slit X to B", "", "", [2]float64{6 + 8, 6}, "slit, from X/slit, through B/slit, to"},
		{"slit A to M", " on the fold", " on the fold", [2]float64{0, -1}, "slit, from/slit, through A/slit, to M"},
		{"slit P to Q", "", "; allowance included", [2]float64{10, 0}, "slit, from P/slit, to Q"},
		{"slit R to Q", "", "", [2]float64{13, 6}, "slit, from R/slit, to Q"},
		{"slit A to P", "", "", [2]float64{0, 0}, "slit, from A/slit, to P"}, // a part of a seam that is left open
		{"line P to Q", "", "", [2]float64{10, 0}, "line, from P/line, to Q"},
	} {
		e := drawText(t, slitDraft(c.mark, c.fold, c.cut))
		pc := pieceNamed(e, "p")
		m := pc.Marks[len(pc.Marks)-1]
		if math.Abs(m.From[0]-c.from[0])+math.Abs(m.From[1]-c.from[1]) > 1e-3 {
			t.Errorf("%s: begins at %v, want %v", c.mark, m.From, c.from)
		}
		var told []string
		for _, row := range figures.Of(e).Pieces[0].Marking.Inside {
			told = append(told, row.Edge)
		}
		if got := strings.Join(told, "/"); got != c.told {
			t.Errorf("%s is told %q, want %q", c.mark, got, c.told)
		}
		if q := figures.Pattern(e).Pieces[0].Marks; len(q) == 1 && math.Abs(q[0].Path.Points[0][1]+10*m.From[1]) > 1e-6 {
			t.Errorf("%s is drawn from %v", c.mark, q[0].Path.Points)
		}
	}
}

// The legs of a gusset of 4 by 8 are each the root of 80, 8.944: both are sewn into a slit of 9, and not into one of 10.
func TestGussetAgainstItsSlit(t *testing.T) {
	for _, c := range []struct{ mark, sewn, want string }{
		{"slit P to Q, called slash", "twice p slash = gusset front upper + gusset front lower", "p slash (28 cm) is sewn to gusset front upper + gusset front lower (17.889 cm): 10.111 cm off"},
		{"slit P to %s", "twice p slit = gusset front upper + gusset front lower", ""},
		{"slit P to %s", "p slit = gusset front upper\n  - p slit = gusset front lower", ""},
		{"slit P to %s", "gusset front upper + gusset front lower = twice p slit", ""},
		{"slit P to %s", "p slit = gusset front upper", "one side of p slit is sewn, and the other to nothing"},
		{"slit P to Q", "twice p slit = gusset front upper + gusset front lower, 10.1 shorter", ""},
		{"slit P to Q", "twice p slit = gusset front upper + gusset front lower, within 11", ""},
		{"slit P to Q", "twice p slip = gusset front upper", "no edge of a piece"},
		{"slit P to Q", "twice p slit = gusset front upper, gathered", "neither gathered"},
	} {
		mark, draft := c.mark, ""
		if strings.Contains(mark, "%s") {
			mark = fmt.Sprintf(mark, "Y")
		}
		draft = strings.Replace(slitDraft(mark, "", ""), "  Q: from P", "  Y: from P down 9\n  Q: from P", 1) + "sewn:\n  - " + c.sewn + "\n"
		e, err := draw([]byte(draft), "x.yaml", Options{})
		var got []string
		if err != nil {
			got = append(got, err.Error())
		} else {
			for _, f := range e.Findings {
				if f.Severity != pattern.Note {
					got = append(got, f.Message)
				}
			}
			if len(e.Pairs) == 0 {
				t.Errorf("%s: the seam is not among the figures", c.sewn)
			}
		}
		if all := strings.Join(got, "; "); c.want == "" && all != "" || !strings.Contains(all, c.want) {
			t.Errorf("%s; %s: told is %q, want %q", c.mark, c.sewn, all, c.want)
		}
	}
}
