package check_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices/needs"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
)

// person is one row of a survey, its measures in mm.
type person map[string]float64

// survey reads a file of bodies beside the checkout, each measured whole: C. C. Gordon et al., NATICK/TR-89/044
// (1988) and NATICK/TR-15/007 (2012), both in the public domain.
func survey(t *testing.T, file string) []person {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(needs.Data(t, "bodies", file))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []person
	for _, row := range rows[1:] {
		p := person{}
		for i, v := range row[1:] {
			if p[rows[0][i+1]], err = strconv.ParseFloat(v, 64); err != nil {
				t.Fatalf("%s: %v", file, err)
			}
		}
		out = append(out, p)
	}
	return out
}

// asTaped fills in what a survey did not take. With dress a dressmaker's tape is meant: the shoulder ends at the
// sleeve seam, the waist lies lower than the narrowest place, the bust is measured over a bra. The survey of 2012
// has its waist at the navel; the narrowest place is estimated from the one of 1988 (least squares).
func (p person) asTaped(woman, dress bool) {
	p["across front"] = p["across back"] - 20 // nobody measured it
	p["hip depth"], p["armhole depth"], p["rise"] = p["waist to hip"], p["scye depth"], p["body rise"]
	p["height"] = p["stature"]
	p["front armhole"], p["back armhole"] = 0.53*p["armhole"]+30, 0.47*p["armhole"]+20 // a garment's: the body's, and room
	p["hood height"] = 1.15 * p["head"]                                                // nor this; as in the means of body A of the starters' test
	if _, natural := p["waist"]; !natural {
		p["waist"], p["nape to waist"] = 131.8+0.821*p["navel waist"], p["nape to navel waist"]-66
		if woman {
			p["waist"], p["nape to waist"] = 190.9+0.675*p["navel waist"], p["nape to navel waist"]-75
		}
		return
	}
	if below := p["half-way waist below"]; dress {
		p["shoulder"] -= 20
		p["waist"] += (p["navel waist"] - p["waist"]) * below / (p["nape to navel waist"] - p["nape to waist"])
		p["nape to waist"] += below
		p["front waist"] += below
		if woman {
			p["front waist"] += 25
		}
	}
}

var (
	bodyLine  = regexp.MustCompile(`(?m)^  [A-Z]: \{(.*)\}$`)
	wanted    = regexp.MustCompile(`([a-z][a-z ]*): "?[0-9]`)
	itComesOf = regexp.MustCompile(`(?m)^.*; it comes of [a-z].* [0-9]|holds for a `)
)

// card gives the measures that a draft's own bodies have.
func (p person) card(t *testing.T, source []byte, woman bool) []byte {
	t.Helper()
	card := "unit: mm\nkind: man\nmeasures:\n"
	if woman {
		card = "unit: mm\nkind: woman\nmeasures:\n"
	}
	for _, m := range wanted.FindAllStringSubmatch(bodyLine.FindStringSubmatch(string(source))[1], -1) {
		v, ok := p[m[1]]
		if !ok {
			t.Fatalf("the survey has no %q", m[1])
		}
		card += fmt.Sprintf("  %s: %.0f\n", m[1], v)
	}
	return []byte(card)
}

// notMeantFor is what a starter tells a body for which its first lines say that it does not hold.
var notMeantFor = map[string]*regexp.Regexp{"bodice-block": regexp.MustCompile(`"(longer in front|side dart|side dart spread)" is`),
	"peplum-top": regexp.MustCompile(`"(longer in front|side dart|side dart spread)" is`),
	"trousers":   regexp.MustCompile(`"(front|back) dart" is`), "trousers-without-darts": regexp.MustCompile(`"(front|back) inset" is`)}

// Each starter garment draws without an error for 98 % of the women and men it is meant for. Who is refused is told
// the measures that put it out of reach.
func TestStartersForRealBodies(t *testing.T) {
	const seed = 12
	most := 200
	if testing.Short() {
		most = 100
	}
	asked, err := strconv.Atoi(os.Getenv("TRACEWHEEL_BODIES"))
	if err == nil && asked > 0 {
		most = asked
	}
	for _, c := range []struct {
		draft, group string
		woman, dress bool
	}{
		{"ferry-smock", "women", true, false}, {"ferry-smock", "men", false, false},
		{"ferry-smock", "women-2012", true, false}, {"ferry-smock", "men-2012", false, false},
		{"lamplighter-jacket", "women", true, false}, {"lamplighter-jacket", "women", true, true},
		{"lamplighter-jacket", "men", false, false}, {"lamplighter-jacket", "men", false, true},
		{"straight-skirt", "women", true, true}, {"half-circle-skirt", "women", true, true}, {"six-gore-skirt", "women", true, true},
		{"trousers", "women", true, true}, {"trousers-without-darts", "men", false, true},
		{"bib-apron", "women", true, true}, {"bib-apron", "men", false, true}, {"hood", "women", true, true}, {"hood", "men", false, true},
		{"flat-collar", "women", true, true}, {"flat-collar", "men", false, true}, {"stand-collar", "women-2012", true, false},
		{"stand-collar", "men-2012", false, false}, {"section-cap", "women-2012", true, false}, {"section-cap", "men-2012", false, false},
		{"gore-cloak", "women-2012", true, false}, {"gore-cloak", "men-2012", false, false},
		{"waistcoat", "men", false, true}, {"waistcoat", "women", true, true},
		{"set-in-sleeve", "women", true, true}, {"set-in-sleeve", "men", false, true},
		{"peplum-top", "women", true, true}, {"princess-tunic", "women", true, true}, {"folded-overdress", "women", true, true}, {"yoke-shirt", "women", true, true}, {"yoke-shirt", "men", false, true},
		{"bodice-block", "women", true, true}, {"flat-block", "men", false, true},
		{"gathered-skirt", "women", true, true}, {"gathered-skirt", "women-2012", true, false},
	} {
		name := c.draft + " " + c.group
		if c.dress {
			name += " by a dressmaker's tape"
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			t.Logf("seed %d", seed)
			source, people := samples.Read(c.draft+".yaml"), survey(t, c.group+".csv")
			rand.New(rand.NewSource(seed)).Shuffle(len(people), func(i, j int) { people[i], people[j] = people[j], people[i] })
			many, meant, drawn, unusual := min(most, len(people)), 0, 0, 0
			if asked == 0 && c.draft != "ferry-smock" && c.draft != "lamplighter-jacket" {
				many /= 4 // the recipes' test draws these too
			}
			for _, p := range people[:many] {
				p.asTaped(c.woman, c.dress)
				card := p.card(t, source, c.woman)
				pt, err := draft.Read(source, c.draft+".yaml", draft.Options{Body: "card", Card: func(string) ([]byte, error) { return card, nil }})
				if err != nil {
					if t.Logf("%s%v", card, err); !itComesOf.MatchString(err.Error()) {
						t.Error("it is refused without the measures that it comes of")
					}
					if no := notMeantFor[c.draft]; no == nil || !no.MatchString(err.Error()) {
						meant++
					}
					continue
				}
				sound, holds := true, true
				for _, f := range check.Run(pt, check.Limits{}, nil) {
					if f.Rule == pattern.RuleMeasureUnlikely {
						t.Logf("%s%s", card, f.Message)
						unusual++
					}
					if f.Severity == pattern.Error {
						t.Logf("%s%s", card, f.Message)
						sound, holds = false, holds && !strings.HasPrefix(f.Message, "this style holds for a ")
					}
				}
				if holds {
					meant++
				}
				if sound {
					drawn++
				}
			}
			t.Logf("%d of %d drawn, for %d the style says that it holds", drawn, many, meant)
			if 100*unusual > 2*many && !strings.HasSuffix(c.group, "-2012") { // what is usual is usual among them too; there it is estimated
				t.Errorf("%d measures of %d people are told unusual", unusual, many)
			}
			if 100*drawn < 98*meant || 2*meant < many {
				t.Errorf("only %d could be drawn of %d for whom the style says that it holds, %d in all", drawn, meant, many)
			}
		})
	}
}
