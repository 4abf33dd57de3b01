package measured

import (
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
)

const bare = `style: S
unit: in
%s
numbers:
  quarter: bust/4 + 1
  deep: apex depth
pieces:
  a: rectangle quarter by deep; cut 1; allowance included
`

func cards(files map[string]string) func(string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		if text, ok := files[name]; ok {
			return []byte(text), nil
		}
		return nil, fs.ErrNotExist
	}
}

// A card in cm with the names of ISO 8559-1 serves a draft in inches with the workroom's words.
func TestMeasureCard(t *testing.T) {
	card := cards(map[string]string{"chorus-4": "unit: cm\nwearer: chorus 4\ntaken: 2026-10-03\nmeasures:\n  bust girth: 91.44\n  neck shoulder point to breast point: 26.67, from the neck point\n"})
	for _, how := range []struct {
		line, body string
	}{{"card: chorus-4", ""}, {"wearer: x", "chorus-4"}} {
		e, err := draw([]byte(fmt.Sprintf(bare, how.line)), "x.yaml", Options{Body: how.body, Card: card})
		if err != nil {
			t.Fatal(err)
		}
		// 91.44 cm is 36 in, 26.67 cm 10 1/2 in, exactly.
		if q, d := e.Top.Definitions["quarter"].Number, e.Top.Definitions["deep"].Number; math.Abs(q-10) > 1e-9 || math.Abs(d-10.5) > 1e-9 || e.Body != "chorus 4" {
			t.Errorf("%s: %v, %v, %q", how.line, q, d, e.Body)
		}
	}
}

// A card is for a whole wardrobe: what it holds beyond the draft's own bodies is no slip of theirs.
func TestCardHoldsMoreThanTheBodies(t *testing.T) {
	card := cards(map[string]string{"chorus-4": "unit: in\nmeasures:\n  bust: 36\n  apex depth: 10 1/2\n  waist: 28\n"})
	e, err := draw([]byte(fmt.Sprintf(bare, "bodies:\n  A: {bust: 34, apex depth: 10}")), "x.yaml", Options{Body: "chorus-4", Card: card})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range e.Findings {
		if f.Rule == pattern.RuleMeasureUnlikely {
			t.Errorf("%s", f.Message)
		}
	}
}

// What is wrong with a card is said at the card's own line; what looks wrong holds the job.
func TestCardFaults(t *testing.T) {
	good := "unit: in\nmeasures:\n  bust: 36\n  apex depth: 10 1/2\n"
	for name, c := range map[string]struct{ card, want string }{
		"no such card": {"", `"chorus-4" is no measure card beside the draft or in the workroom's folder cards; put the card there`},
		"unit":         {strings.Replace(good, "in", "inches", 1), `chorus-4.yaml:1:7: unknown unit "inches"; did you mean "in"?`},
		"missing":      {strings.Replace(good, "10 1/2", "", 1), `the measure "apex depth" is missing`},
		"zero":         {strings.Replace(good, "36", "0", 1), `chorus-4.yaml:3:9: "bust" is 0; a measure is more than 0`},
		"key":          {strings.Replace(good, "measures", "mesures", 1), `chorus-4.yaml:2:1: "mesures" is no key of a measure card; did you mean "measures"?`},
		"not on it":    {strings.Replace(good, "  apex depth: 10 1/2\n", "", 1), `x.yaml:6:9: "apex depth" is no measure or number known here`},
		"half":         {strings.Replace(good, "36", "18", 1), `warning: the card chorus-4.yaml, line 3: bust 18 in lies outside what is usual for an adult, 27.6 to 63 in; twice as much would be usual: was a half taken?`},
		"quarter":      {strings.Replace(good, "36", "9", 1), `four times as much would be usual: was a quarter taken, or is it a wrong unit?`},
		"wrong unit":   {strings.Replace(good, "36", "92", 1), `was it taken in cm?`},
		"centimetres":  {strings.Replace(good, "in", "cm", 1), `bust 36 cm lies outside what is usual for an adult, 70 to 160 cm; 36 in would be usual: was it taken in inches?`},
		"sound":        {good, ""},
	} {
		files := map[string]string{}
		if c.card != "" {
			files["chorus-4"] = c.card
		}
		e, err := draw([]byte(fmt.Sprintf(bare, "card: chorus-4")), "x.yaml", Options{Card: cards(files)})
		got := ""
		if err != nil {
			got = err.Error()
		} else {
			for _, f := range seamFindings(e) {
				got += string(f.Severity) + ": " + f.Message + "\n"
			}
		}
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s: want %q in %q", name, c.want, got)
		}
	}
}

// A measure that cannot be right is named beside what could not be drawn of it; a card among drafts is
// told for what it is.
func TestMeasureIsTheCause(t *testing.T) {
	smock := string(samples.Read("ferry-smock.yaml"))
	got := said(t, strings.Replace(smock, "{bust: 92,", "{bust: 36,", 1), "A")
	if !strings.HasPrefix(got, "refused: x.yaml:8:13: bust 36 cm lies outside what is usual for an adult, 70 to 160 cm; 36 in would be usual: was it taken in inches?") ||
		!strings.Contains(got, "a negative radius") {
		t.Errorf("a bust in inches: %s", got)
	}
	got = said(t, "unit: cm\nmeasures:\n  bust: 92\n", "")
	if got != "refused: x.yaml:2:1: this is a measure card, not a draft; put it beside the draft, or into the workroom's folder cards; a line card: in the draft, or body: in its ticket, names it" {
		t.Errorf("a card: %s", got)
	}
	waist := strings.Replace(smock, "hip: 98,", "hip: 98, waist: 110,", 1)
	if got := said(t, waist, "A"); !strings.Contains(got, "waist 110 cm is more than is usual beside bust 92 cm: were the two exchanged?") {
		t.Errorf("a waist above the bust: %s", got)
	}
}

// The sample card fits the starter garments.
func TestSampleCard(t *testing.T) {
	card, err := fs.ReadFile(samples.Cards(), "chorus-4.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range []string{"ferry-smock.yaml", "lamplighter-jacket.yaml"} {
		p, err := Read(samples.Read(file), file, Options{Body: "chorus-4", Card: cards(map[string]string{"chorus-4": string(card)})})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range p.Findings {
			if f.Severity == pattern.Error {
				t.Errorf("%s: %s", file, f.Message)
			}
		}
	}
}

// Several sizes of one draft are drawn together, each piece under its size.
func TestSizes(t *testing.T) {
	text := strings.Replace(string(samples.Read("ferry-smock.yaml")), "body: A ", "body: A\nsizes: A, B\n# ", 1)
	p, err := Read([]byte(text), "x.yaml", Options{})
	if err != nil {
		t.Fatal(err)
	}
	wide := map[string]float64{}
	for _, pc := range p.Pieces {
		if pc.Name == "back" {
			b := pc.Sew[0].Bound()
			wide[pc.Size] = b.Max[0] - b.Min[0]
		}
	}
	// The hem's end lies 28.9469 and 32.9377 cm out (computed with the garments).
	if len(p.Pieces) != 14 || math.Abs(wide["A"]-289.469) > 0.01 || math.Abs(wide["B"]-329.377) > 0.01 {
		t.Errorf("%d pieces, %v", len(p.Pieces), wide)
	}
	only, err := Read([]byte(text), "x.yaml", Options{Body: "B"})
	if err != nil || len(only.Pieces) != 7 || only.Pieces[0].Size != "B" {
		t.Errorf("one body alone: %v", err)
	}
}

// A smooth curve touches the point it is told to touch, leaves and arrives as told, or is refused.
func TestCurvesTouch(t *testing.T) {
	drawnOnes := 0
	rapid.Check(t, func(t *rapid.T) {
		r := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		text := fmt.Sprintf("style: S\nunit: cm\ndraft a:\n  P: start\n  Q: from P out %.3f, up %.3f\n  T: from P out %.3f, up %.3f\n  W: from Q up %.3f, out %.3f\n"+
			"  neck: curve P through T to Q, leaving level, arriving toward W\npieces:\n  a: rectangle 1 by 1; cut 1; allowance included\n",
			r("out", 6, 12), r("up", 6, 12), r("touch out", 4, 7), r("touch up", 0.5, 4), r("way up", 1, 2), r("way out", 0, 1))
		e, err := draw([]byte(text), "x.yaml", Options{})
		if err != nil {
			if !strings.Contains(err.Error(), "no even curve leaves and arrives like that") {
				t.Fatal(err)
			}
			return
		}
		drawnOnes++
		defs := e.Drawings["a"].Scope.Definitions
		c := defs["neck"].Curve
		if curve.NearestOn(c, defs["T"].Point) < 0 {
			t.Fatalf("the curve passes by the point:\n%s", text)
		}
		if d := c[0].Dir(0); geom.Dist(d, [2]float64{1, 0}) > 1e-9 {
			t.Fatalf("it leaves to %v:\n%s", d, text)
		}
		if d, w := c[0].Dir(1), geom.Unit(geom.Sub(defs["W"].Point, defs["Q"].Point)); geom.Dist(d, w) > 1e-9 {
			t.Fatalf("it arrives to %v, not %v:\n%s", d, w, text)
		}
	})
	if drawnOnes < 5 { // -short tries 20
		t.Errorf("only %d curves were drawn", drawnOnes)
	}
}

// What fittings changed stands on the wearer's card with its date, adds to measures and to the
// style's numbers, and is told on the pieces.
func TestFittings(t *testing.T) {
	card := "unit: cm\nmeasures:\n  bust girth: 91.44\n  apex depth: 26.67\nchanges:\n  2026-11-20:\n    bust: 2.54 less\n  2026-11-03:\n    bust: 5.08 more\n    quarter: 1.27 more\n"
	read := func(card string) (*sewn.Sewing, error) {
		return draw([]byte(fmt.Sprintf(bare, "card: chorus-4")), "x.yaml", Options{Card: cards(map[string]string{"chorus-4": card})})
	}
	e, err := read(card)
	if err != nil {
		t.Fatal(err)
	}
	// 36 + 2 - 1 = 37 in; 37/4 + 1 and 1/2 more.
	for name, want := range map[string]float64{"bust": 37, "bust girth": 37, "quarter": 37.0/4 + 1.5} {
		if got := e.Top.Definitions[name].Number; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	if got := figures.Pattern(e).Pieces[0].Card; len(got) != 1 || got[0] != "fitted 2026-11-03, 2026-11-20" {
		t.Errorf("the pieces say %q", got)
	}
	f, err := FiguresOf([]byte(fmt.Sprintf(bare, "card: chorus-4")), "x.yaml", Options{Card: cards(map[string]string{"chorus-4": card})})
	if err != nil || f.Fitted != "2026-11-03, 2026-11-20" {
		t.Errorf("the figures are fitted %q, %v", f.Fitted, err)
	}
	for change, want := range map[string]string{
		"2.54 lest": `chorus-4.yaml:7:16: whether that is more or less is not said`,
		"":          "chorus-4.yaml:7:",
	} {
		if _, err := read(strings.Replace(card, "2.54 less", change, 1)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: want %q, got %v", change, want, err)
		}
	}
	// The card serves all drafts of its wearer: a number that this one has not is not mentioned, and
	// told and held where it may be a slip of the pen.
	for name, held := range map[string]bool{"qarter": true, "trouser knee": false} {
		e, err := read(strings.Replace(card, "    quarter", "    "+name, 1))
		if err != nil {
			t.Errorf("a change of %s blocks the draft: %v", name, err)
			continue
		}
		told := slices.IndexFunc(e.Findings, func(f pattern.Finding) bool {
			return strings.Contains(f.Message, "chorus-4.yaml, line 10: \""+name+"\", changed at the fitting of 2026-11-03") && f.Line > 0
		})
		if (told >= 0) != held || held && !(e.Findings[told].Hold && strings.Contains(e.Findings[told].Mend, `did you mean "quarter"?`)) {
			t.Errorf("a change of %s is told as %+v", name, e.Findings)
		}
		if got := e.Top.Definitions["quarter"].Number; math.Abs(got-(37.0/4+1)) > 1e-9 {
			t.Errorf("a change of %s: quarter is %v", name, got)
		}
	}
	only := strings.Replace(strings.Replace(card, "    quarter", "    trouser knee", 1), "    bust: 5.08 more\n", "", 1)
	if e, err := read(only); err != nil || e.Fittings() != "2026-11-20" {
		t.Errorf("pieces bear the date of a fitting that did not change them: %v", err)
	}
	if _, err := read(strings.Replace(card, "2026-11-20", "20.11.2026", 1)); err == nil || !strings.Contains(err.Error(), "is no date of a fitting") {
		t.Errorf("a wrong date: %v", err)
	}
}

// A fitting that changed a number which only one draft of a wearer has never holds another one whose numbers are
// called a little alike; a name that is a slip of the pen does.
func TestFittingOfAnotherDraft(t *testing.T) {
	const text = `style: X
unit: cm
card: ann
numbers:
  flap: 5
  split: 3
  puff: 3
  neck depth: waist/12
pieces:
  band: rectangle bust + flap by split + puff + neck depth; cut 1
allow: 1
`
	for name, want := range map[string]struct {
		hold bool
		mend string
	}{
		"hem":        {}, // another garment's, and not mentioned
		"flare":      {false, `did you mean "flap"? Right, if it belongs`},
		"slit":       {false, `did you mean "split"? Right, if it belongs`},
		"cuff":       {false, `did you mean "puff"?`},
		"neck drop":  {false, "did you mean"},
		"wast":       {true, `did you mean "waist"?`},
		"neck depht": {true, `did you mean "neck depth"?`},
	} {
		card := "unit: cm\nwearer: Ann\nmeasures: {bust: 92, waist: 72}\nchanges: {2026-10-31: {" + name + ": 0.6 more}}\n"
		e, err := draw([]byte(text), "x.yaml", Options{Card: cards(map[string]string{"ann": card})})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if want.mend == "" {
			if found := seamFindings(e); len(found) > 0 {
				t.Errorf("%s: %+v", name, found)
			}
			continue
		}
		if len(seamFindings(e)) != 1 || e.Findings[0].Hold != want.hold || !strings.Contains(e.Findings[0].Mend, want.mend) {
			t.Errorf("%s: %+v", name, e.Findings)
		}
	}
}

// A refusal that tells measures of a card in another unit says the unit of each, and a measure with its own unit is
// what it says: 34 in of a card in inches is 86.36 cm.
func TestCardInAnotherUnit(t *testing.T) {
	text := "style: S\nunit: cm\nnumbers:\n  deep: bust - 200, more than 0\npieces:\n  a: rectangle deep by deep; cut 1; allowance included\n"
	_, err := draw([]byte(text), "x.yaml", Options{Body: "c", Card: cards(map[string]string{"c": "unit: in\nmeasures:\n  bust: 40\n"})})
	if err == nil || !strings.Contains(err.Error(), "it comes of bust 101.6 cm") {
		t.Errorf("%v", err)
	}
	for unit, card := range map[string]string{"in": "unit: in\nmeasures:\n  bust: 34 in\n", "cm": "unit: cm\nmeasures:\n  bust: 34 in\n"} {
		e, err := draw([]byte(strings.Replace(text, "bust - 200", "bust", 1)), "x.yaml", Options{Body: "c", Card: cards(map[string]string{"c": card})})
		if err != nil {
			t.Fatal(err)
		}
		if got := e.Top.Definitions["deep"].Number; math.Abs(got-86.36) > 1e-9 {
			t.Errorf("34 in on a card in %s is %v cm", unit, got)
		}
	}
}
