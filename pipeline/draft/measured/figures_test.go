package measured

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/figures"
)

// tapeRead reads "5 1/2" or "5.5" as a person does who knows only the list.
func tapeRead(t *testing.T, s string) float64 {
	var sum float64
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

// Marking out from the list alone - its two columns, as a tape is read, joined in their order - gives
// each piece again: no point of either outline lies further from the other than the unit's last digit.
// Notches lie on the edge that is marked out.
func TestMarkingOut(t *testing.T) {
	digit := map[string]float64{"in": 25.4 / 16, "cm": 0.5, "mm": 0.5}
	for file, body := range map[string]string{"ferry-smock.yaml": "B", "lamplighter-jacket.yaml": "D", "tool-roll.yaml": "T2"} {
		f, err := FiguresOf(samples.Read(file), file, Options{Body: body})
		if err != nil {
			t.Fatal(err)
		}
		e := drawn(t, file, body)
		for i, pc := range f.Pieces {
			line, _ := e.Flatten(e.Pieces[i].Edges)
			b := line.Bound()
			at := func(m figures.MarkOut) orb.Point {
				return orb.Point{b.Min[0] + tapeRead(t, m.Across)*e.UnitMM, b.Max[1] - tapeRead(t, m.Down)*e.UnitMM}
			}
			chalk := geom.Path{Closed: true}
			for _, m := range pc.Marking.Outline {
				chalk.Points = append(chalk.Points, at(m))
			}
			for _, two := range [][2]geom.Path{{chalk, line}, {line, chalk}} {
				for _, q := range two[0].Points {
					if d := two[1].Nearest(q).Dist; d > digit[f.Unit] {
						t.Errorf("%s %s: the chalked outline is %.2f mm off at %v", file, pc.Name, d, q)
					}
				}
			}
			for _, p := range pc.Marking.Points { // a point of the outline stands in it under its letters
				if chalk.Nearest(at(p)).Dist > 1e-6 {
					continue
				}
				if !slices.ContainsFunc(pc.Marking.Outline, func(m figures.MarkOut) bool {
					return slices.Contains(strings.Split(m.Point, " = "), p.Point) && m.Across == p.Across && m.Down == p.Down
				}) {
					t.Errorf("%s %s: %s lies on the outline and is not in it", file, pc.Name, p.Point)
				}
			}
			if n := len(pc.Marking.Outline); n > 60 {
				t.Errorf("%s %s: nobody chalks %d places", file, pc.Name, n)
			}
			for _, m := range pc.Marking.Inside {
				if d := chalk.Nearest(at(m)).Dist; strings.HasPrefix(m.Edge, "notch") && d > 2*digit[f.Unit] {
					t.Errorf("%s %s: the %s lies %.2f mm off", file, pc.Name, m.Edge, d)
				}
			}
			if n := len(e.Pieces[i].Notches) + 2*len(e.Pieces[i].Marks) + len(e.Pieces[i].Drills); len(pc.Marking.Inside) != n {
				t.Errorf("%s %s: %d places inside, want %d", file, pc.Name, len(pc.Marking.Inside), n)
			}
		}
		var text, js, html bytes.Buffer
		if f.Text(&text) != nil || f.JSON(&js) != nil || f.HTML(&html) != nil || text.Len()*js.Len()*html.Len() == 0 {
			t.Error("not written")
		}
	}
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
