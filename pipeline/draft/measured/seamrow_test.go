package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/curve"
)

// rowed is two panels whose sides are drawn in two edges each, and meet the top and the hem square.
func rowed(topOut float64, pieceMore, sewn string) string {
	var drawings strings.Builder
	for _, name := range []string{"p", "q"} {
		fmt.Fprintf(&drawings, `draft %s:
  A: start
  B: from A out 20, up %g
  K: from A out 20, down 15
  C: from A out 20, down 40
  D: from A down 40
  top: line A to B
  upper: line B to K
  lower: line K to C
  hem: line C to D
  centre: line D to A
  outline: top, upper, lower, hem, centre on the fold
`, name, topOut)
	}
	return "style: S\nunit: cm\n" + drawings.String() + `pieces:
  p: p; cut 1 on the fold` + pieceMore + `
  q: q; cut 1 on the fold` + pieceMore + `
allow: 1
sewn:
  - ` + sewn + "\n"
}

// Where a seam is told as several edges in a row, nothing crosses it at the joint within the row: the edge
// that goes on there is the seam itself.
func TestSeamInARow(t *testing.T) {
	if got := said(t, rowed(0, "", "p upper + p lower = q upper + q lower"), ""); strings.Contains(got, "where") {
		t.Errorf("a joint within the row is told as a corner:\n%s", got)
	}
	if got := said(t, rowed(6, "", "p upper + p lower = q upper + q lower"), ""); !strings.Contains(got, "the top where") {
		t.Errorf("the true corner at the row's end is not told:\n%s", got)
	}
}

// Each "pointed at" counts, in a seam as at a fold.
func TestPointed(t *testing.T) {
	const row = "p upper + p lower = q upper + q lower"
	slanted := strings.Replace(rowed(6, "", row), "C: from A out 20, down 40", "C: from A out 20, down 46", 2)
	for _, c := range []struct{ more, want, not string }{
		{"", "the top where", "-"},
		{"", "the hem where", "-"},
		{", pointed at top", "the hem where", "the top where"},
		{", pointed at hem", "the top where", "the hem where"},
		{", pointed at top, pointed at hem", "", "where"},
	} {
		got := said(t, strings.Replace(slanted, row, row+c.more, 1), "")
		if !strings.Contains(got, c.want) || strings.Contains(got, c.not) {
			t.Errorf("%q says\n%s\nwant %q and not %q", c.more, got, c.want, c.not)
		}
	}
	// The section of a cap: both its ends make a point at the fold.
	for _, c := range []struct{ more, want, not string }{
		{"", "the top of p at the fold", "-"},
		{"; pointed at top", "the hem of p at the fold", "the top of p at the fold"},
		{"; pointed at top; pointed at hem", "", "at the fold"},
		{"; pointed at brim", "\"brim\" is no edge here", "-"},
		{"; pointed at upper", "\"upper\" of \"p\" does not end at a fold", "-"},
	} {
		slanted := strings.Replace(rowed(6, c.more, row+", pointed at top, pointed at hem"), "C: from A out 20, down 40", "C: from A out 20, down 46", 2)
		got := said(t, slanted, "")
		if !strings.Contains(got, c.want) || strings.Contains(got, c.not) {
			t.Errorf("%q says\n%s\nwant %q and not %q", c.more, got, c.want, c.not)
		}
	}
}

// What a princess seam takes may be a number that has a name, anywhere in the list.
func TestPrincessTakesNamedNumbers(t *testing.T) {
	plain := drawText(t, divided(seamLine, 97, ""))
	for _, seam := range []string{
		strings.Replace(seamLine, "3 at waist", "dip at waist", 1),
		strings.Replace(seamLine, "3 at waist", "half of twice dip at waist", 1),
		strings.Replace(seamLine, "takes 2.5 at shoulder, 3 at waist", "takes half of (dip + 2) at shoulder and dip at waist", 1),
	} {
		named := drawText(t, strings.Replace(divided(seam, 97, ""), "draft front:", "numbers:\n  dip: 3\n  twice dip: 6\ndraft front:", 1))
		for _, what := range []string{"area centre front", "area side front"} {
			if a, b := value(t, named, what), value(t, plain, what); a != b {
				t.Errorf("%s: the %s is %v, want %v", seam, what, a, b)
			}
		}
	}
	if got := said(t, divided(strings.Replace(seamLine, "3 at waist", "eezed 0.2", 1), 97, ""), ""); !strings.Contains(got, "is not said of a princess seam") {
		t.Errorf("a misspelt word says %s", got)
	}
}

// A hint repeats the number that was written, not another one.
func TestHintsRepeatTheNumber(t *testing.T) {
	const draft = "style: T\nunit: cm\ndraft front:\n  O: start\n  A: from O out %s\n"
	for number, want := range map[string]string{"5,12": `did you mean "5.12"?`, "5-3/4": "between: 5 3/4,", "5-3⁄16": "between: 5 3/16,"} {
		got := said(t, fmt.Sprintf(draft, number), "")
		if !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q in it", number, got, want)
		}
	}
}

// TestNotchesOfARow: what is told of an armhole stands on the cap that goes into it where the starter draft itself sets it, 8
// from the underarm, though the cap is longer; told of the cap it stands on the armhole. Nothing is set where two pieces are
// joined, since their seam is the mark.
func TestNotchesOfARow(t *testing.T) {
	block := string(samples.Read("bodice-block.yaml"))
	places := func(text, piece string) string {
		e := drawText(t, text)
		pc := pieceNamed(e, piece)
		var out []string
		for _, n := range pc.Notches {
			if ed := pc.Edges[n.Edge]; ed.Kind() == "cap" || ed.Kind() == "armhole" {
				out = append(out, fmt.Sprintf("%s %.4f", ed.Name, n.Worn))
				if d := curve.NearestOn(pc.Worn[n.Edge].Curve, n.At); math.Abs(d-n.Worn) > 1e-3 {
					t.Errorf("%s: a notch %v along lies at %v", piece, n.Worn, d)
				}
			}
		}
		slices.Sort(out)
		return strings.Join(out, ", ")
	}
	without := func(lines ...string) string {
		text := block
		for _, l := range lines {
			if !strings.Contains(text, l) {
				t.Fatalf("the starter has no %q", l)
			}
			text = strings.Replace(text, l, "", 1)
		}
		return text
	}
	const front, back = "  front armhole: one, 8 from U\n", "  back armhole: two, 8 from U, 0.8 apart\n"
	const cap, backCap = "  sleeve front cap: one, 8 from Uf; one, at O\n", "  sleeve back cap: two, 8 from Ub, 0.8 apart\n"
	told := strings.Replace(block, "8 from Uf; one, at O", "8 from Uf", 1)
	if got, want := places(without(cap, backCap), "sleeve"), places(told, "sleeve"); got != want || strings.Count(got, "cap") != 3 {
		t.Errorf("of the armhole to the cap:\n%s, want\n%s", got, want)
	}
	for _, piece := range []string{"front", "back"} { // and not the one at the shoulder
		if got, want := places(without(front, back), piece), places(block, piece); got != want || got == "" {
			t.Errorf("of the cap to the armhole of the %s:\n%s, want\n%s", piece, got, want)
		}
	}

	// In the jacket the peplum's waist is sewn to two panels. At their seam the peplum has a notch and they have none; one that
	// is told 2 from its side stands 2 from theirs.
	jacket := string(samples.Read("lamplighter-jacket.yaml"))
	e := drawText(t, strings.Replace(jacket, "  peplum front waist: one, length of centre front waist from A\n", "  peplum front waist: one, length of centre front waist from A; one, 2 from B\n", 1))
	var got []string
	for _, name := range []string{"centre front", "side front"} {
		pc := pieceNamed(e, name)
		for _, n := range pc.Notches {
			if pc.Edges[n.Edge].Kind() == "waist" && n.Worn >= 0 {
				l := math.Min(n.Worn, pc.Worn[n.Edge].Curve.Length()-n.Worn)
				got = append(got, fmt.Sprintf("%s %.3f", name, l))
			}
		}
	}
	if strings.Join(got, ", ") != "side front 2.000" {
		t.Errorf("of the peplum to the waist: %v", got)
	}
}
