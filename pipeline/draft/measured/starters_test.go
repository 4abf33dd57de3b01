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
	"tracewheel/pipeline/pattern"
)

// Eight bodies of very different build, in cm: A average, B large bust, C tall, D broad, E pear, F a child, G a man, H a
// waist laced small. A and G are the means of 1986 women and 4082 men, B to E one surveyed woman each (C. C. Gordon et
// al., 2012 Anthropometric Survey of U.S. Army Personnel, NATICK/TR-15/007, 2014), F girls of 7 1/2 to 8 1/2 years
// (R. G. Snyder et al., UM-HSRI-77-17, 1977), H the cutters' model of I. Rosenfeld, The Practical Designer, 1911 and
// 1918; what they do not tell is made up within the surveys' ranges. The armholes are the block's, as drawn in the table below.
const eightBodies = `
height | 163 | 162.5 | 175.5 | 156 | 165.5 | 126 | 175.5 | 167.5
bust | 94.5 | 108.5 | 90 | 118 | 84 | 63 | 106 | 99
high bust | 90 | 97 | 87 | 111 | 81.5 | 63 | 106 | 91
waist | 82 | 81 | 70 | 106 | 75 | 57 | 90 | 63.5
hip | 102 | 100 | 92.5 | 113 | 111.5 | 66 | 102 | 109
hip depth | 19 | 18 | 21 | 17.5 | 21 | 13 | 20 | 15
neck | 37 | 35.5 | 37 | 41 | 37 | 28.5 | 41.5 | 35.5
shoulder | 13.5 | 12 | 14.5 | 12.5 | 14 | 10 | 15 | 12.5
across front | 34 | 32.5 | 32.5 | 38 | 31.5 | 25.5 | 39.5 | 33
across back | 37.5 | 35.5 | 35.5 | 43 | 35.5 | 27 | 43 | 34.5
nape to waist | 40.5 | 41 | 41 | 43 | 40 | 28.5 | 45.5 | 39.5
front waist | 44.5 | 46.5 | 44 | 48.5 | 43 | 30 | 48 | 44
apex depth | 27.5 | 29 | 26 | 30.5 | 26 | 17.5 | 28 | 28
apex separation | 19 | 21 | 17 | 22.5 | 16.5 | 13 | 21 | 19
armhole depth | 19 | 18.5 | 19.5 | 20.5 | 19 | 14 | 22.5 | 18
upper arm | 30.5 | 33.5 | 25.5 | 37 | 32 | 19 | 36 | 30.5
wrist | 15.5 | 16.5 | 15.5 | 16 | 16 | 13 | 17.5 | 15.5
hand | 18.5 | 19 | 18 | 19 | 18.5 | 15.5 | 21 | 18.5
arm length | 54.5 | 55.5 | 60 | 50.5 | 57 | 40 | 59.5 | 58
head | 56 | 53.5 | 56.5 | 55 | 55.5 | 52.5 | 57.5 | 55.5
hood height | 64.5 | 65.5 | 66.5 | 64 | 67 | 60 | 68 | 66
rise | 25.5 | 25.5 | 28 | 26.5 | 25.5 | 20 | 26.5 | 30.5
inside leg | 78 | 75.5 | 88 | 72 | 78.5 | 56 | 84.5 | 75
outside leg | 102.5 | 100 | 115 | 97 | 103 | 75 | 110 | 104
knee | 40 | 40 | 36 | 43.5 | 44.5 | 27.5 | 41 | 33
heel | 31 | 31.5 | 30.5 | 29.5 | 32 | 24 | 34.5 | 30.5
front armhole | 22.552 | 26.342 | 22.884 | 26.847 | 22.037 | 16.231 | 25.193 | 23.180
back armhole | 20.507 | 22.201 | 20.955 | 24.941 | 19.771 | 15.254 | 23.790 | 20.717
`

const eight = "ABCDEFGH"

// ofEight gives the measures of one of the eight bodies.
func ofEight(t testing.TB, body byte) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, line := range strings.Split(strings.TrimSpace(eightBodies), "\n") {
		f := strings.Split(line, "|")
		v, err := strconv.ParseFloat(strings.TrimSpace(f[1+strings.IndexByte(eight, body)]), 64)
		if err != nil {
			t.Fatal(err)
		}
		out[strings.TrimSpace(f[0])] = v
	}
	return out
}

// starterFiles are all measured drafts among the samples.
func starterFiles(t testing.TB) []string {
	t.Helper()
	files, err := fs.Glob(samples.Drafts(), "*.yaml")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d starters, %v", len(files), err)
	}
	return files
}

var (
	starterBody = regexp.MustCompile(`(?m)^  [A-Z]: \{(.*)\}$`)
	starterAsks = regexp.MustCompile(`([a-z][a-z ]*): "?[0-9]`)
	figure      = regexp.MustCompile(`-?[0-9]+(?:\.([0-9]+))?`)
)

// cardFor is a measure card with what a starter's own body has.
func cardFor(t testing.TB, source string, kind string, m map[string]float64) []byte {
	t.Helper()
	card := "unit: cm\nkind: " + kind + "\nmeasures:\n"
	for _, k := range starterAsks.FindAllStringSubmatch(starterBody.FindStringSubmatch(source)[1], -1) {
		v, ok := m[k[1]]
		if !ok {
			t.Fatalf("the body has no %q", k[1])
		}
		card += fmt.Sprintf("  %s: %v\n", k[1], v)
	}
	return []byte(card)
}

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

// kindOf is the kind of one of the eight bodies.
func kindOf(body byte) string {
	switch body {
	case 'F':
		return "child"
	case 'G':
		return "man"
	}
	return "woman"
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
	return r.drawnFor(t, body, ofEight(t, body))
}

// drawnFor draws it for measures; the body is the one whose kind they are of.
func (r recipe) drawnFor(t *testing.T, body byte, m map[string]float64) (*sewn.Sewing, error) {
	t.Helper()
	source := r.changed(t)
	if strings.Contains(source, "front armhole: 2") { // it is measured on the block
		block := recipe{file: "bodice-block.yaml"}
		if body == 'F' || body == 'G' {
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
	card := cardFor(t, source, kindOf(body), m)
	return draw([]byte(source), r.file, Options{Body: "card", Card: func(string) ([]byte, error) { return card, nil }})
}

// Each starter is drawn for the eight bodies without a fault, or names the measure for which it does not hold, and
// comes to the figures that were worked out for it elsewhere.
func TestStarterRecipes(t *testing.T) {
	for _, r := range recipes {
		t.Run(r.file, func(t *testing.T) {
			t.Parallel()
			for i := range len(eight) {
				body := eight[i]
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
				if err != nil {
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
	if strings.Count(v.figures, "|") != len(eight)-1 {
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

// Each starter as it ships, not as its recipe's table changes it, is drawn and checked for the eight bodies for which it holds.
func TestStartersAsTheyShip(t *testing.T) {
	for _, r := range recipes {
		if len(r.change) == 0 {
			continue // as in its recipe
		}
		t.Run(r.file, func(t *testing.T) {
			t.Parallel()
			shipped := r
			shipped.change, shipped.length = nil, 0
			for _, body := range []byte(cmp.Or(r.only, eight)) {
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
