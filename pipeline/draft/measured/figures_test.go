package measured

import (
	"encoding/json"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/figures"
)

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
