package measured

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/figures"
)

// An edge that lies along its straight line as far as a tape shows is told straight, in however many parts it is drawn: the
// top of a piece whose pleats are opened, a plumb side moved at a fitting by less than is chalked.
func TestStraightEdgeIsToldStraight(t *testing.T) {
	for name, f := range map[string]*figures.Figures{
		"pleats":  figures.Of(drawText(t, runOf("60", "6 knife pleats facing out, 1 deep, evenly from A to B, top to hem", ""))),
		"fitting": figures.Of(mustFit(t, shiftDress, "2026-11-20: let out side 0.04 at W, to nothing at U and H")),
	} {
		for _, pc := range f.Pieces {
			for _, m := range pc.Marking.Outline {
				if m.Edge != "neck" && m.Edge != "armhole" && m.Way() != "" {
					t.Errorf("%s: the %s of %s is told as %q", name, m.Edge, pc.Name, m.Way())
				}
			}
		}
	}
	// What a tape shows is told: 0.6 out on a straight side.
	for _, pc := range figures.Of(mustFit(t, shiftDress, "2026-11-20: let out side 0.6 at W, to nothing at U and H")).Pieces[:2] {
		told := false
		for _, m := range pc.Marking.Outline {
			told = told || m.Edge == "side" && strings.Contains(m.Way(), "curve; from the straight line at")
		}
		if !told {
			t.Errorf("%s: no curve is told along a side let out", pc.Name)
		}
	}
}

// What is chalked of an edge is its flat length: with a dart of 3 in 20, or three knife pleats 2 deep in 60, what they
// take stands in the column for the chalk and in the picture, and not in what is worn.
func TestChalkedIsFlat(t *testing.T) {
	dart := "style: S\nunit: cm\ndraft p:\n  A: start\n  B: from A out 20\n  C: from B down 30\n  D: from A down 30\n  M: half-way A to B\n" +
		"  top: line A to B\n  side: line B to C\n  hem: line C to D\n  back: line D to A\n  outline: top, side, hem, back\n  dart w: at M, takes 3, 9 long\npieces:\n  p: p; cut 1\nallow: 1\n"
	for draft, want := range map[string][2]string{
		dart: {"17", "20.2"}, // its mouth rises 0.5 to the middle: twice the root of 1.5 squared and 0.5 squared, and 17
		runOf("60", "3 knife pleats facing out, 2 deep, evenly from A to B, top to hem", ""): {"60", "72"},
	} {
		f := figures.Of(drawText(t, draft))
		top := f.Pieces[0].Edges[0]
		if got := [2]string{f.Say(math.Round(top.Worn)), top.Chalk}; got != want {
			t.Errorf("worn and chalked are %v, want %v", got, want)
		}
		var text, page strings.Builder
		if err := cmp.Or(f.Text(&text), f.HTML(&page)); err != nil {
			t.Fatal(err)
		}
		if !regexp.MustCompile(`(?m)^  top +` + regexp.QuoteMeta(want[1]) + ` +` + want[0] + `[. ]`).MatchString(text.String()) {
			t.Errorf("the list has no such line for the top:\n%s", text.String())
		}
		if !strings.Contains(page.String(), ">"+want[1]+"</text>") {
			t.Errorf("the picture does not say %s along the top", want[1])
		}
	}
}

// The picture has two measuring lines, at the piece's left and its top, and beside them how far each place lies: a number
// stands so far from nought as its share of the outline's width, and nothing stands twice at one place.
func TestMeasuringLines(t *testing.T) {
	f := figures.Of(drawText(t, "style: S\nunit: cm\ndraft p:\n  A: start\n  B: from A out 20\n  C: from B down 30, out 12.5\n  D: from A down 40\n"+
		"  top: line A to B\n  side: line B to C\n  hem: line C to D\n  back: line D to A\n  outline: top, side, hem, back\npieces:\n  p: p; cut 1\nallow: 1\n"))
	svg := string(f.Pieces[0].Drawing())
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	// What is drawn of the piece itself: the letters' circles stand on its corners.
	var x, y []float64
	for _, c := range regexp.MustCompile(`<circle class="mark" cx="([\d.]+)" cy="([\d.]+)" r="1.6"`).FindAllStringSubmatch(svg, -1) {
		x, y = append(x, number(c[1])), append(y, number(c[2]))
	}
	left, right, top, bottom := slices.Min(x), slices.Max(x), slices.Min(y), slices.Max(y)
	got := map[string][]string{}
	for _, m := range regexp.MustCompile(`class="word measure" text-anchor="(\w+)" x="([\d.]+)" y="([\d.]+)">([\d.]+)<`).FindAllStringSubmatch(svg, -1) {
		at, want, way := number(m[2]), left+(right-left)*number(m[4])/32.5, "across"
		if m[1] == "end" {
			at, want, way = number(m[3])-3.5, top+(bottom-top)*number(m[4])/40, "down"
		}
		if math.Abs(at-want) > 0.2 {
			t.Errorf("%s %s stands at %v, want %v", way, m[4], at, want)
		}
		got[way] = append(got[way], m[4])
	}
	if a, d := strings.Join(got["across"], " "), strings.Join(got["down"], " "); a != "0 20 32.5" || d != "0 30 40" {
		t.Errorf("told are across %s, down %s", a, d)
	}
}

// The marks of pleats are told once each, a notch with the line that ends there, as a tape passes them: three lines for
// each knife pleat, its outer fold, its inner fold 2 further and where it is laid to, 2 further still.
func TestPleatsAreMarkedInOrder(t *testing.T) {
	e := drawText(t, runOf("60", "3 knife pleats facing out, 2 deep, evenly from A to B, top to hem", ""))
	var got []string
	for _, m := range figures.Of(e).Pieces[0].Marking.Inside {
		got = append(got, m.Across+" "+m.Down+" "+m.Edge)
	}
	var want []string
	for k := range 3 { // what each pleat hides lies 9 to 11 along its 20 of the worn top, and its outer fold over the end of that
		at := 20*float64(k) + 11 + 4*float64(k)
		for i, name := range []string{"outer fold", "inner fold", "placement"} {
			x := at + 2*float64(i)
			want = append(want, fmt.Sprintf("%g 0 %s, from a notch on top", x, name), fmt.Sprintf("%g 60 %s, to a notch on hem", x, name))
		}
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("marked are\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A notch at which no line ends is told for itself, and no mark twice.
func TestNotchIsMarkedOnce(t *testing.T) {
	seen := map[string]bool{}
	alone := 0
	for _, m := range figures.Of(mustFit(t, shiftDress)).Pieces[0].Marking.Inside {
		if key := m.Across + " " + m.Down; seen[key] {
			t.Errorf("a mark at %s is told twice", key)
		} else {
			seen[key] = true
		}
		if strings.HasPrefix(m.Edge, "notch on side") {
			alone++
		}
	}
	if alone != 1 {
		t.Errorf("%d notches on the side, want 1", alone)
	}
}

// A curve's places are told apart from how far off the line they lie, also where whole inches meet a fraction; so many
// that a person keeps count of them, no closer than a quarter of the step or, on a short edge, of the edge.
func TestCurveOffsetsAreReadAndCounted(t *testing.T) {
	said := regexp.MustCompile(`^curve; from the straight line at [0-9./ ]+: [0-9./ ]+ (in|out)side(, at [0-9./ ]+: [0-9./ ]+ (in|out)side)*$`)
	told := map[string]int{}
	for file, body := range map[string]string{"ferry-smock.yaml": "B", "lamplighter-jacket.yaml": "D", "princess-tunic.yaml": "", "bodice-block.yaml": "", "set-in-sleeve.yaml": ""} {
		f, err := FiguresOf(samples.Read(file), file, Options{Body: body})
		if err != nil {
			t.Fatal(err)
		}
		step, digit := 5.0, 0.1
		if f.Unit == "in" {
			step, digit = 2, 0.125
		}
		for _, pc := range f.Pieces {
			for k, m := range pc.Marking.Outline {
				if len(m.Offsets) == 0 {
					continue
				}
				told[f.Unit]++
				if !said.MatchString(m.Way()) {
					t.Errorf("%s %s: %q", file, pc.Name, m.Way())
				}
				next := pc.Marking.Outline[(k+1)%len(pc.Marking.Outline)]
				long := math.Hypot(next.X-m.X, next.Y-m.Y)
				if n := len(m.Offsets); float64(n) > max(8, long/step) {
					t.Errorf("%s %s: %d places along %.1f of %s", file, pc.Name, n, long, m.Edge)
				}
				last := 0.0
				for _, o := range m.Offsets {
					if l := tapeRead(t, o.Along); l-last < min(step, long)/4-digit {
						t.Errorf("%s %s: %s is told too close behind %g, on %.1f of %s", file, pc.Name, o.Along, last, long, m.Edge)
					} else {
						last = l
					}
				}
			}
		}
	}
	if told["in"] == 0 || told["cm"] == 0 {
		t.Errorf("too few curves are told: %v", told)
	}
}

// Places on one line are one step, told in a row from where the tape begins; a helper, from which others are only
// found, is no step at all, and neither is one that lies on an edge by chance. A point named in a slanting edge is told
// along it: M half-way on a side of 15 by 20, 25 long.
func TestChalkedInFewSteps(t *testing.T) {
	f := figures.Of(drawText(t, `style: S
unit: cm
draft p:
  A: start
  B: from A out 20
  H: from A out 9, down 9
  G: half-way from A to B
  C: from H out 26, down 11
  M: half-way from B to C
  D: from A down 20
  top: line A to B
  side: line B to M to C
  hem: line C to D
  back: line D to A
  outline: top, side, hem, back
pieces:
  p: p; cut 1
allow: 1
`))
	var got []string
	for _, l := range f.Pieces[0].Marking.Lines {
		got = append(got, l.Along+": "+l.Words())
	}
	want := "along the level line, across: A 0, B 20\nlevel, 20 down: across: D 0, C 35\nfrom B straight to C: M 12.5"
	if strings.Join(got, "\n") != want {
		t.Errorf("the steps are\n%s\nwant\n%s", strings.Join(got, "\n"), want)
	}
	var joined []string
	for _, m := range f.Pieces[0].Marking.Outline {
		joined = append(joined, m.Point)
	}
	if strings.Join(joined, " ") != "A B C D" {
		t.Errorf("joined are %v", joined)
	}
}
