package measured

import (
	"cmp"
	"fmt"
	"io/fs"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/draft/measured/wearers"
	"tracewheel/pipeline/pattern"
)

// starterFiles are all measured drafts among the samples.
func starterFiles(t testing.TB) []string {
	t.Helper()
	files, err := fs.Glob(samples.Drafts(), "*.yaml")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d starters, %v", len(files), err)
	}
	return files
}

var figure = regexp.MustCompile(`-?[0-9]+(?:\.([0-9]+))?`)

// printed are check values as they stand in a table: what is worked out, by semicolons, and the figures of the eight
// bodies in order. Each is tried to 0.01 mm and what its printed digits leave open.
type printed struct{ what, figures string }

// recipe is a starter, the bodies for which it says that it does not hold, and its check values. They were computed
// apart from this program: each outline as a polygon, its curves as single cubics, the rest by arithmetic.
type recipe struct {
	file    string
	without map[byte]string // a body that is refused, and what it must be told
	only    string          // the bodies for which it is meant; all where empty
	length  float64         // how long it is for the height of body A, 163 cm; the table's lengths follow the height
	change  []string        // what is said otherwise, word by word
	values  []printed
	within  float64 // of the values, in cm, where the table is not as exact as it is printed
	unlike  string  // what a body is told for which the starter's first lines say that it does not hold, as an expression
}

// changed is the starter's text with what is said otherwise.
func (r recipe) changed(t testing.TB) string {
	t.Helper()
	source := string(samples.Read(r.file))
	for i := 0; i < len(r.change); i += 2 {
		if !strings.Contains(source, r.change[i]) {
			t.Fatalf("%s does not hold %q", r.file, r.change[i])
		}
		source = strings.ReplaceAll(source, r.change[i], r.change[i+1])
	}
	return source
}

func (r recipe) drawn(t *testing.T, body byte) (*sewn.Sewing, error) {
	t.Helper()
	return r.drawnFor(t, body, wearers.Of(t, body))
}

// drawnFor draws it for measures; the body is the one whose kind they are of.
func (r recipe) drawnFor(t *testing.T, body byte, m map[string]float64) (*sewn.Sewing, error) {
	t.Helper()
	source := wearers.Text(r.changed(t), body)
	if strings.Contains(source, "front armhole: 2") { // it is measured on the block
		block := recipe{file: "bodice-block.yaml"}
		if strings.IndexByte("FGI", body) >= 0 {
			block.file = "flat-block.yaml"
		}
		e, err := block.drawnFor(t, body, m)
		if err != nil {
			return nil, err
		}
		m["front armhole"], m["back armhole"] = value(t, e, "length of front armhole"), value(t, e, "length of back armhole")
	}
	if r.length != 0 {
		of := fmt.Sprintf("  length: %v", r.length)
		if !strings.Contains(source, of) {
			t.Fatalf("%s does not hold %q", r.file, of)
		}
		source = strings.ReplaceAll(source, of, fmt.Sprintf("  length: %v", r.length*m["height"]/163))
	}
	card := wearers.Card(t, source, "cm", wearers.Kind(body), m)
	return draw([]byte(source), r.file, Options{Body: "card", Card: func(string) ([]byte, error) { return card, nil }})
}

// Each starter is drawn for the ten bodies without a fault, or names the measure for which it does not hold, and
// comes to the figures that were worked out for it elsewhere.
func TestStarterRecipes(t *testing.T) {
	for _, r := range recipes {
		t.Run(r.file, func(t *testing.T) {
			t.Parallel()
			for i := range len(wearers.Ten) {
				body := wearers.Ten[i]
				if r.only != "" && strings.IndexByte(r.only, body) < 0 {
					continue
				}
				e, err := r.drawn(t, body)
				if told := r.without[body]; told != "" {
					said := fmt.Sprint(err)
					if err == nil {
						for _, f := range seamFindings(e) {
							if f.Severity == pattern.Error {
								said += "\n" + f.Message
							}
						}
					}
					if !strings.Contains(said, told) {
						t.Errorf("body %c is told %s, want %q", body, said, told)
					}
				} else if err != nil {
					t.Errorf("body %c: %v", body, err)
				} else {
					pt := figures.Pattern(e)
					for _, f := range append(pt.Findings, check.Run(pt, check.Limits{}, nil)...) {
						if f.Severity != pattern.Note || f.Rule == pattern.RuleLeftOut {
							t.Errorf("body %c: line %d: %s", body, f.Line, f.Message)
						}
					}
					tryOutlines(t, e, string(body))
				}
				if err != nil || i >= len(wearers.Eight) {
					continue
				}
				for _, v := range r.values {
					tryPrinted(t, e, body, i, v, r.within)
				}
			}
		})
	}
}

// A bag of one piece with a box bottom: cut 42 by 103 for 30 by 40 by 10, the corners 5 by 5, cords of 100. Computed.
func TestBoxBag(t *testing.T) {
	e := drawn(t, "box-bag.yaml", "A")
	for what, want := range map[string]float64{"length of bag top + 2": 42, "2*(length of bag side + length of bag box end) + 1 + 1 - 2": 103,
		"length of bag box side": 5, "length of bag box end": 5, "cord": 100, "2*length of bag top": 80} {
		if got := value(t, e, what); math.Abs(got-want) > 0.001 {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
}

// tryPrinted holds one row of a table, of which the body is the i-th, against the drawing.
func tryPrinted(t *testing.T, e *sewn.Sewing, body byte, i int, v printed, within float64) {
	t.Helper()
	if strings.Count(v.figures, "|") != len(wearers.Eight)-1 {
		t.Fatalf("%s: not eight bodies", v.what)
	}
	whats, figures := strings.Split(v.what, ";"), figure.FindAllStringSubmatch(strings.Split(v.figures, "|")[i], -1)
	if len(whats) != len(figures) {
		t.Fatalf("%s: %d figures, want %d", v.what, len(figures), len(whats))
	}
	for k, what := range whats {
		want, _ := strconv.ParseFloat(figures[k][0], 64)
		open := max(0.5*math.Pow(10, -float64(len(figures[k][1]))), within)
		what = strings.TrimSpace(what)
		got := 0.0
		twice := strings.HasPrefix(what, "twice area of ")
		if drawing, ok := strings.CutPrefix(strings.TrimPrefix(what, "twice "), "area of "); ok {
			drawing, more, _ := strings.Cut(drawing, " and ")
			if got = drawnArea(e, drawing); more != "" {
				got += value(t, e, more)
			}
			if twice {
				got *= 2
			}
		} else {
			open += 0.001
			half := strings.HasPrefix(what, "to the next half ")
			if got = value(t, e, strings.TrimPrefix(what, "to the next half ")); half {
				got = math.Ceil(2*got) / 2
			}
		}
		if !(math.Abs(got-want) <= open+1e-9) {
			t.Errorf("body %c: %s is %.4f, want %s", body, what, got, figures[k][0])
		}
	}
}

// drawnArea is the area of a drawing's outline with its darts open, before their mouths are trued.
func drawnArea(e *sewn.Sewing, drawing string) float64 { return curve.Area(e.Drawings[drawing].Edges) }

// Each starter as it ships, not as its recipe's table changes it, is drawn and checked for the ten bodies for which it holds.
func TestStartersAsTheyShip(t *testing.T) {
	for _, r := range recipes {
		if len(r.change) == 0 {
			continue // as in its recipe
		}
		t.Run(r.file, func(t *testing.T) {
			t.Parallel()
			shipped := r
			shipped.change, shipped.length = nil, 0
			for _, body := range []byte(cmp.Or(r.only, wearers.Ten)) {
				if r.without[body] != "" {
					continue
				}
				e, err := shipped.drawn(t, body)
				if err != nil {
					t.Errorf("body %c: %v", body, err)
					continue
				}
				pt := figures.Pattern(e)
				for _, f := range append(pt.Findings, check.Run(pt, check.Limits{}, nil)...) {
					if f.Severity == pattern.Error {
						t.Errorf("body %c: line %d: %s", body, f.Line, f.Message)
					}
				}
			}
		})
	}
}
