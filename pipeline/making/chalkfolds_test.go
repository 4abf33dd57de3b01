package making

import (
	"bytes"
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/lay"
)

// cape is a quarter between two folds; the middle of its arcs, O, does not lie on it.
const cape = `style: Cape
unit: cm
body: {neck round: 39.5}
numbers:
  r: neck round/(2*pi)
draft cape:
  O: start
  A: from O down r
  B: from O out r
  C: from O out r + 55
  D: from O down r + 55
  neckline: arc A to B round O
  hem: arc C to D round O
  upper: line B to C
  front: line D to A
  outline: neckline, upper on the fold, hem, front on the fold
pieces:
  cape: cape; cut 1 on two folds
allow:
  all: 1
  cape hem: 2
`

// TestChalkedFolds: a quarter's two folds are told where the lay's own JSON has the middle of the whole, and no swing goes
// round a point that the list does not tell.
func TestChalkedFolds(t *testing.T) {
	across := regexp.MustCompile(`across,? (\S+) from the cut end`)
	along := regexp.MustCompile(`along its length (\S+) from the near selvedge`)
	for _, cloth := range []string{"main: 150 wide, folded once", "main: 150 wide, in one layer"} {
		m, r := New(Sample()), Request{Name: "cape.yaml", Source: []byte(cape + "cloth:\n  " + cloth + "\n")}
		f, err := m.Chalking(t.Context(), r, cloths.Wish{})
		if err != nil {
			t.Fatal(err)
		}
		l, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{})
		if err != nil {
			t.Fatal(err)
		}
		var js, list bytes.Buffer
		var s lay.Sheet
		if err := l.WriteJSON(&js); err != nil {
			t.Fatal(err)
		} else if err := json.Unmarshal(js.Bytes(), &s); err != nil {
			t.Fatal(err)
		} else if err := f.Text(&list); err != nil {
			t.Fatal(err)
		}
		lo, hi := s.Placements[0].Outline[0], s.Placements[0].Outline[0]
		for _, q := range s.Placements[0].Outline {
			for i := range q {
				lo[i], hi[i] = math.Min(lo[i], q[i]), math.Max(hi[i], q[i])
			}
		}
		at := func(re *regexp.Regexp) float64 {
			found := re.FindStringSubmatch(list.String())
			if found == nil {
				t.Fatalf("%s: %v is not told:\n%s", cloth, re, list.String())
			}
			return 10 * number(t, found[1])
		}
		if got, want := at(across), (lo[0]+hi[0])/2; math.Abs(got-want) > 0.51 {
			t.Errorf("%s: folded across at %v mm, its middle lies at %v", cloth, got, want)
		}
		if strings.Contains(cloth, "one layer") {
			if got, want := at(along), (lo[1]+hi[1])/2; math.Abs(got-want) > 0.51 {
				t.Errorf("%s: folded along at %v mm, its middle lies at %v", cloth, got, want)
			}
		}
		if strings.Contains(list.String(), "from O") || strings.Count(list.String(), "from 0 across, 0 down") != 2 {
			t.Errorf("%s: a swing goes round a point that is not told:\n%s", cloth, list.String())
		}
	}
}
