package wearers

import (
	"bytes"
	"encoding/csv"
	"maps"
	"math"
	"math/rand"
	"strconv"
	"testing"

	"tracewheel/devices/needs"
)

// Person is one row of a survey: its name there and its measures in mm.
type Person struct {
	Name string
	mm   map[string]float64
}

// Survey reads a file of bodies beside the checkout, each measured whole, and shuffles them: C. C. Gordon et al.,
// NATICK/TR-89/044 (1988) and NATICK/TR-15/007 (2012), both in the public domain.
func Survey(t *testing.T, group string, seed int64) []Person {
	t.Helper()
	file := group + ".csv"
	rows, err := csv.NewReader(bytes.NewReader(needs.Data(t, "bodies", file))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []Person
	for _, row := range rows[1:] {
		p := Person{row[0], map[string]float64{}}
		for i, v := range row[1:] {
			if p.mm[rows[0][i+1]], err = strconv.ParseFloat(v, 64); err != nil {
				t.Fatalf("%s: %v", file, err)
			}
		}
		out = append(out, p)
	}
	rand.New(rand.NewSource(seed)).Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

// asTaped fills in what a survey did not take. With dress a dressmaker's tape is meant: the shoulder ends at the
// sleeve seam, the waist lies lower than the narrowest place, the bust is measured over a bra. The survey of 2012
// has its waist at the navel; the narrowest place is estimated from the one of 1988 (least squares).
func (of Person) asTaped(woman, dress bool) {
	p := of.mm
	p["across front"] = p["across back"] - 20 // nobody measured it
	p["hip depth"], p["armhole depth"], p["rise"] = p["waist to hip"], p["scye depth"], p["body rise"]
	p["height"] = p["stature"]
	p["front armhole"], p["back armhole"] = 0.53*p["armhole"]+30, 0.47*p["armhole"]+20 // a garment's: the body's, and room
	p["hood height"] = 1.15 * p["head"]                                                // nor this; as in the means of body A of the ten
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

// Group are people of a survey for whom a starter is meant.
type Group struct {
	Draft, Survey string
	Woman, Dress  bool // Dress: as a dressmaker's tape has them
}

// Groups are those by whom the starters are tried.
var Groups = []Group{
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
	{"peplum-top", "women", true, true}, {"princess-tunic", "women", true, true}, {"folded-overdress", "women", true, true},
	{"yoke-shirt", "women", true, true}, {"yoke-shirt", "men", false, true},
	{"bodice-block", "women", true, true}, {"flat-block", "men", false, true},
	{"gathered-skirt", "women", true, true}, {"gathered-skirt", "women-2012", true, false},
}

// Name names a group.
func (g Group) Name() string {
	name := g.Draft + " " + g.Survey
	if g.Dress {
		name += " by a dressmaker's tape"
	}
	return name
}

// Measures are those of a person of the group, in whole mm.
func (g Group) Measures(p Person) map[string]float64 {
	p.mm = maps.Clone(p.mm)
	p.asTaped(g.Woman, g.Dress)
	whole := map[string]float64{}
	for name, v := range p.mm {
		whole[name] = math.Round(v)
	}
	return whole
}

// Card is a measure card of a person of the group, with what the draft asks for.
func (g Group) Card(t testing.TB, source string, p Person) []byte {
	t.Helper()
	kind := "man"
	if g.Woman {
		kind = "woman"
	}
	return Card(t, source, "mm", kind, g.Measures(p))
}
