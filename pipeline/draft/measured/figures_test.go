package measured

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/pleats"
)

// tapeRead reads "5 1/2" or "5.5" as a person does who knows only the list.
func tapeRead(t *testing.T, s string) float64 {
	var sum float64
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		return -tapeRead(t, rest)
	}
	for _, f := range strings.Fields(s) {
		var a, b float64
		if n, _ := fmt.Sscanf(f, "%g/%g", &a, &b); n == 2 {
			sum += a / b
			continue
		}
		if _, err := fmt.Sscanf(f, "%g", &a); err != nil {
			t.Fatalf("%q cannot be read", s)
		}
		sum += a
	}
	return sum
}

// drawnByEye is what a person draws who reads the list: a straight stroke, a swing of the tape round its centre, or a line
// by eye - here parabolas - through the places told from the straight line to the next place. It is in mm, y up, and knows
// nothing but the words of the list.
func drawnByEye(t *testing.T, m, next figures.MarkOut, at func(across, down string) orb.Point, mm, outside float64) []orb.Point {
	a, b := at(m.Across, m.Down), at(next.Across, next.Down)
	switch {
	case m.Swing != nil:
		c := at(m.Swing.Across, m.Swing.Down)
		r := tapeRead(t, m.Swing.Radius) * mm
		u, v := geom.Sub(a, c), geom.Sub(b, c)
		sweep := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
		out := []orb.Point{a}
		for k := range 63 {
			out = append(out, geom.Add(c, geom.Mul(geom.Unit(geom.Rotate(sweep*float64(k+1)/64).Vector(u)), r)))
		}
		return out
	case len(m.Offsets) > 0:
		way := geom.Unit(geom.Sub(b, a))
		away := geom.Mul(geom.Left(way), outside)
		x, y := []float64{0}, []float64{0}
		for _, o := range m.Offsets {
			x, y = append(x, tapeRead(t, o.Along)*mm), append(y, tapeRead(t, o.Out)*mm)
		}
		x, y = append(x, geom.Dist(a, b)), append(y, 0)
		out := []orb.Point{a}
		for i := 0; i+1 < len(x); i++ {
			for k := range 8 {
				s := x[i] + (x[i+1]-x[i])*float64(k)/8
				j := max(0, min(i, len(x)-3))
				v := 0.0
				for p := j; p < j+3; p++ {
					w := y[p]
					for q := j; q < j+3; q++ {
						if q != p {
							w *= (s - x[q]) / (x[p] - x[q])
						}
					}
					v += w
				}
				out = append(out, geom.Add(a, geom.Add(geom.Mul(way, s), geom.Mul(away, v))))
			}
		}
		return out
	}
	return []orb.Point{a}
}

// Marking out from the list alone gives each piece again: no point of either outline lies further from the other than
// what is lost by reading a tape to 1 mm or 1/8 in at three places, and 1 mm by eye.
// Notches lie on the edge that is marked out.
func TestMarkingOut(t *testing.T) {
	digit := map[string]float64{"in": 25.4 / 8, "cm": 1, "mm": 1}
	ways := map[string]int{}
	for file, body := range map[string]string{"ferry-smock.yaml": "B", "lamplighter-jacket.yaml": "D", "tool-roll.yaml": "T2", "half-circle-skirt.yaml": "", "princess-tunic.yaml": "", "bodice-block.yaml": "", "hood.yaml": "", "set-in-sleeve.yaml": ""} {
		f, err := FiguresOf(samples.Read(file), file, Options{Body: body})
		if err != nil {
			t.Fatal(err)
		}
		e := drawn(t, file, body)
		for i, pc := range f.Pieces {
			line, _ := e.Flatten(e.Pieces[i].Edges)
			b := line.Bound()
			place := func(across, down string) orb.Point {
				return orb.Point{b.Min[0] + tapeRead(t, across)*e.UnitMM, b.Max[1] - tapeRead(t, down)*e.UnitMM}
			}
			at := func(m figures.MarkOut) orb.Point { return place(m.Across, m.Down) }
			outside := -1.0
			if line.SignedArea() < 0 {
				outside = 1
			}
			chalk := geom.Path{Closed: true}
			for k, m := range pc.Marking.Outline {
				chalk.Points = append(chalk.Points, drawnByEye(t, m, pc.Marking.Outline[(k+1)%len(pc.Marking.Outline)], place, e.UnitMM, outside)...)
				switch {
				case m.Swing != nil:
					ways["swing"]++
				case len(m.Offsets) > 0:
					ways["offsets"]++
				default:
					ways["straight"]++
				}
			}
			for _, two := range [][2]geom.Path{{chalk, line}, {line, chalk}} {
				for _, q := range two[0].Points {
					if d := two[1].Nearest(q).Dist; d > 1.2*digit[f.Unit]+1 {
						t.Errorf("%s %s: the chalked outline is %.2f mm off at %v", file, pc.Name, d, q)
					}
				}
			}
			for _, p := range pc.Marking.Points { // a point of the outline stands in it under its letters
				if line.Nearest(orb.Point{b.Min[0] + p.X*e.UnitMM, b.Max[1] - p.Y*e.UnitMM}).Dist > 1e-6 {
					continue
				}
				if !slices.ContainsFunc(pc.Marking.Outline, func(m figures.MarkOut) bool {
					return slices.Contains(strings.Split(m.Point, " = "), p.Point) && m.Across == p.Across && m.Down == p.Down
				}) {
					t.Errorf("%s %s: %s lies on the outline and is not in it", file, pc.Name, p.Point)
				}
			}
			if n := len(pc.Marking.Outline); n > 30 {
				t.Errorf("%s %s: nobody chalks %d places", file, pc.Name, n)
			}
			for _, m := range pc.Marking.Inside {
				if d := chalk.Nearest(at(m)).Dist; strings.Contains(m.Edge, "notch on") && d > 2*digit[f.Unit] {
					t.Errorf("%s %s: the %s lies %.2f mm off", file, pc.Name, m.Edge, d)
				}
			}
			n := 2*len(e.Pieces[i].Marks) + len(e.Pieces[i].Drills)
			for _, notch := range e.Pieces[i].Notches { // a notch at which a line ends is told with it
				if !slices.ContainsFunc(e.Pieces[i].Marks, func(l pleats.InnerLine) bool {
					return geom.Dist(l.From, notch.At) < 1e-3 || geom.Dist(l.To, notch.At) < 1e-3
				}) {
					n++
				}
				if !slices.ContainsFunc(pc.Marking.Inside, func(m figures.MarkOut) bool {
					return strings.HasSuffix(m.Edge, "notch on "+e.Pieces[i].Edges[notch.Edge].Name) && geom.Dist(at(m), e.ToMM(notch.At)) < 2*digit[f.Unit]
				}) {
					t.Errorf("%s %s: the notch at %v is not told", file, pc.Name, notch.At)
				}
			}
			if len(pc.Marking.Inside) != n {
				t.Errorf("%s %s: %d places inside, want %d", file, pc.Name, len(pc.Marking.Inside), n)
			}
		}
		var text, js, html bytes.Buffer
		if f.Text(&text) != nil || f.JSON(&js) != nil || f.HTML(&html) != nil || text.Len()*js.Len()*html.Len() == 0 {
			t.Error("not written")
		}
	}
	if len(ways) != 3 {
		t.Errorf("not every way was read: %v", ways)
	}
	t.Log(ways)
}

// Notions are lengths and numbers worked out with the body. The tape is the sheet's neck and armholes
// of body A, 55.9440 + 2 (27.3281 + 26.3985), and 6 to join; read to half a millimetre.
func TestNotions(t *testing.T) {
	text := strings.Replace(string(samples.Read("ferry-smock.yaml")), "notions: ", "notions:\n  loops: 3 of 2 1/2\n  hooks: 5 pieces\n#", 1)
	f, err := FiguresOf([]byte(text), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for _, n := range f.Notions {
		said = append(said, n.Name+": "+f.Words(n))
	}
	want := "loops: 3 of 2.5, 7.5 cm in all; hooks: 5; bias tape, if bought instead of strips: 169.4 cm"
	if got := strings.Join(said, "; "); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	for sentence, want := range map[string]string{"2.5 of 3": "2.5 pieces cannot be bought", "0": "comes to 0", "twice the neck": `"twice the neck" is no measure`} {
		_, err := FiguresOf([]byte(strings.Replace(text, "3 of 2 1/2", sentence, 1)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", sentence, want, err)
		}
	}
}

// Ten pieces for one more body are meant to cost under 10 ms.
func BenchmarkOneMoreBody(b *testing.B) {
	data := samples.Read("lamplighter-jacket.yaml")
	for b.Loop() {
		if _, err := Read(data, "lamplighter-jacket.yaml", Options{Body: "D"}); err != nil {
			b.Fatal(err)
		}
	}
}

// What is told in reading are the figures that are told alone, and what is read is the same as without.
func TestFiguresToldInReading(t *testing.T) {
	as := func(v any) string {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	for _, name := range starterFiles(t) {
		data := samples.Read(name)
		var told *figures.Figures
		p, err := ReadFigured(data, name, Options{}, func(f *figures.Figures) { told = f })
		if err != nil {
			t.Fatal(name, err)
		}
		plain, err := Read(data, name, Options{})
		if err != nil {
			t.Fatal(name, err)
		}
		brief, err := BriefOf(data, name, Options{})
		if err != nil {
			t.Fatal(name, err)
		}
		if as(p) != as(plain) || as(told) != as(brief) {
			t.Errorf("%s is read or figured otherwise", name)
		}
	}
}

// A measure that is known by a second name, here that of ISO 8559-1, stands in the list once.
func TestFiguresNameAMeasureOnce(t *testing.T) {
	f, err := FiguresOf(samples.Read("ferry-smock.yaml"), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[float64]string{}
	for _, n := range f.Numbers[:5] { // the body's five measures, all different
		if other, ok := seen[n.Value]; ok {
			t.Errorf("%s and %s are the same", n.Name, other)
		}
		seen[n.Value] = n.Name
	}
}

// A body that was measured in inches is chalked in inches, whatever the draft counts in: fractions of which each lies within
// a sixteenth of the length in cm.
func TestChalkedInTheBodysUnit(t *testing.T) {
	const draft = `style: S
unit: cm
draft p:
  O: start
  A: from O out bust/4
  B: from A down 30
  C: from O down 30
  top: line O to A
  side: line A to B
  hem: line B to C
  back: line C to O
  outline: top, side, hem, back
pieces:
  p: p; cut 1
allow: 1.5
`
	card := func(text string) Options {
		return Options{Body: "ada", Card: func(string) ([]byte, error) { return []byte(text), nil }}
	}
	metric, err := FiguresOf([]byte(draft), "x.yaml", card("unit: cm\nwearer: ada\nmeasures: {bust: 92}\n"))
	if err != nil {
		t.Fatal(err)
	}
	inches, err := FiguresOf([]byte(draft), "x.yaml", card("unit: in\nwearer: ada\nmeasures: {bust: 36 1/4}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if metric.Unit != "cm" || inches.Unit != "in" || inches.Drafted != "cm" {
		t.Fatalf("told in %s and %s", metric.Unit, inches.Unit)
	}
	m := inches.Pieces[0]
	// 36 1/4 / 4 = 9 1/16, of which an eighth is 9 1/8 or 9; 30 cm are 11.811 in, 11 3/4 to an eighth; 1.5 cm are 9/16.
	if got := m.Marking.Outline[1]; got.Across != "9 1/8" || got.Down != "0" {
		t.Errorf("A is told at %s across", got.Across)
	}
	if got := m.Edges[1]; got.Sewn != "11 3/4" || got.Allowance != "9/16" {
		t.Errorf("the side: %+v", got)
	}
	var b strings.Builder
	if err := inches.Text(&b); err != nil || !strings.Contains(b.String(), "every length in inches") || !strings.Contains(b.String(), "numbers, in cm as the draft counts") {
		t.Errorf("%v\n%s", err, b.String())
	}
	counted, err := FiguresOf([]byte(strings.Replace(draft, "unit: cm", "unit: in", 1)), "x.yaml", card("unit: cm\nwearer: ada\nmeasures: {bust: 92}\n"))
	if err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := counted.Text(&b); err != nil || !strings.Contains(b.String(), "\nnumbers, in inches as the draft counts\n") {
		t.Errorf("%v\n%s", err, b.String())
	}
	for f, want := range map[*figures.Figures]string{metric: "<h2>Numbers</h2>", inches: "<h2>Numbers, in cm as the draft counts</h2>", counted: "<h2>Numbers, in inches as the draft counts</h2>"} {
		b.Reset()
		if err := f.HTML(&b); err != nil || !strings.Contains(b.String(), want) {
			t.Errorf("%v: the page has no %s", err, want)
		}
	}
}
