// Package wearers brings tests bodies for which a measured draft is drawn: ten of very different build, from published
// tables, and the people of surveys that lie beside a checkout. It takes a draft's text and gives a card with the measures
// that the draft's own first body has.
package wearers

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Ten are the letters of the bodies, Eight those for which check values were computed apart from this program.
const (
	Ten   = Eight + "IJ"
	Eight = "ABCDEFGH"
)

// Ten bodies of very different build, in cm: A average, B large bust, C tall, D broad, E pear, F a child, G a man, H a
// waist laced small, I a round back, J the left side of a woman whose left shoulder is lower and whose right side is A.
// A and G are the means of 1986 women and 4082 men, B to E one surveyed woman each (C. C. Gordon et
// al., 2012 Anthropometric Survey of U.S. Army Personnel, NATICK/TR-15/007, 2014), F girls of 7 1/2 to 8 1/2 years
// (R. G. Snyder et al., UM-HSRI-77-17, 1977), H the cutters' model of I. Rosenfeld, The Practical Designer, 1911 and
// 1918. I is computed: of the 2,208 women of the survey of 1988 (NATICK/TR-89/044) the means of those 110 whose nape to waist
// is longest beside neck pit to waist, their waist as a dressmaker's tape has it. J is computed: by one standard deviation of
// the height between the shoulder blades, 7.39 degrees on 16.4 cm, a shoulder lies 2.1 lower (D. Ohlendorf et al., Standard
// reference values of the upper body posture in healthy middle-aged female adults in Germany, Scientific Reports 11, 2021,
// table 1). What the tables do not tell is made up within the surveys' ranges. The armholes are the
// block's, as drawn: of A to H in the table of check values.
const ten = `
height | 163 | 162.5 | 175.5 | 156 | 165.5 | 126 | 175.5 | 167.5 | 164.5 | 163
bust | 94.5 | 108.5 | 90 | 118 | 84 | 63 | 106 | 99 | 91.5 | 94.5
high bust | 90 | 97 | 87 | 111 | 81.5 | 63 | 106 | 91 | 89 | 90
waist | 82 | 81 | 70 | 106 | 75 | 57 | 90 | 63.5 | 77.5 | 82
hip | 102 | 100 | 92.5 | 113 | 111.5 | 66 | 102 | 109 | 98 | 102
hip depth | 19 | 18 | 21 | 17.5 | 21 | 13 | 20 | 15 | 22 | 19
neck | 37 | 35.5 | 37 | 41 | 37 | 28.5 | 41.5 | 35.5 | 35.5 | 37
shoulder | 13.5 | 12 | 14.5 | 12.5 | 14 | 10 | 15 | 12.5 | 12.5 | 13.5
across front | 34 | 32.5 | 32.5 | 38 | 31.5 | 25.5 | 39.5 | 33 | 34 | 34
across back | 37.5 | 35.5 | 35.5 | 43 | 35.5 | 27 | 43 | 34.5 | 36 | 37.5
nape to waist | 40.5 | 41 | 41 | 43 | 40 | 28.5 | 45.5 | 39.5 | 43.5 | 40.5
front waist | 44.5 | 46.5 | 44 | 48.5 | 43 | 30 | 48 | 44 | 46 | 44.5
apex depth | 27.5 | 29 | 26 | 30.5 | 26 | 17.5 | 28 | 28 | 27 | 27.5
apex separation | 19 | 21 | 17 | 22.5 | 16.5 | 13 | 21 | 19 | 18.5 | 19
armhole depth | 19 | 18.5 | 19.5 | 20.5 | 19 | 14 | 22.5 | 18 | 20 | 20
upper arm | 30.5 | 33.5 | 25.5 | 37 | 32 | 19 | 36 | 30.5 | 29 | 30.5
wrist | 15.5 | 16.5 | 15.5 | 16 | 16 | 13 | 17.5 | 15.5 | 15.5 | 15.5
hand | 18.5 | 19 | 18 | 19 | 18.5 | 15.5 | 21 | 18.5 | 18.5 | 18.5
arm length | 54.5 | 55.5 | 60 | 50.5 | 57 | 40 | 59.5 | 58 | 55.5 | 54.5
head | 56 | 53.5 | 56.5 | 55 | 55.5 | 52.5 | 57.5 | 55.5 | 55 | 56
hood height | 64.5 | 65.5 | 66.5 | 64 | 67 | 60 | 68 | 66 | 63 | 64.5
rise | 25.5 | 25.5 | 28 | 26.5 | 25.5 | 20 | 26.5 | 30.5 | 28.5 | 25.5
inside leg | 78 | 75.5 | 88 | 72 | 78.5 | 56 | 84.5 | 75 | 78 | 78
outside leg | 102.5 | 100 | 115 | 97 | 103 | 75 | 110 | 104 | 107.5 | 102.5
knee | 40 | 40 | 36 | 43.5 | 44.5 | 27.5 | 41 | 33 | 37 | 40
heel | 31 | 31.5 | 30.5 | 29.5 | 32 | 24 | 34.5 | 30.5 | 31 | 31
front armhole | 22.552 | 26.342 | 22.884 | 26.847 | 22.037 | 16.231 | 25.193 | 23.180 | 22.5 | 22.5
back armhole | 20.507 | 22.201 | 20.955 | 24.941 | 19.771 | 15.254 | 23.790 | 20.717 | 20.5 | 20.5
`

// Of gives the measures of one of the ten bodies, in cm.
func Of(t testing.TB, body byte) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, line := range strings.Split(strings.TrimSpace(ten), "\n") {
		f := strings.Split(line, "|")
		v, err := strconv.ParseFloat(strings.TrimSpace(f[1+strings.IndexByte(Ten, body)]), 64)
		if err != nil {
			t.Fatal(err)
		}
		out[strings.TrimSpace(f[0])] = v
	}
	return out
}

// Kind is the kind of one of the ten bodies.
func Kind(body byte) string {
	switch body {
	case 'F':
		return "child"
	case 'G':
		return "man"
	}
	return "woman"
}

// lowered are the slopes of a shoulder in the starters, and those of one whose end lies 2.1 cm lower on 13.5 cm.
var lowered = strings.NewReplacer("falling 3 for every 8", "falling 4.7 for every 8", "falling 2 for every 5", "falling 4.9 for every 8",
	"falling 1 for every 3", "falling 4.4 for every 8", "shoulder slope: 3 ", "shoulder slope: 4.7 ")

// Text is a draft as it is written for one of the ten bodies: for J its shoulders fall farther. What has no shoulder seam, as a
// collar, is drawn for the higher side.
func Text(source string, body byte) string {
	if body == 'J' && strings.Contains(source, "shoulder: line") {
		return lowered.Replace(source)
	}
	return source
}

var (
	firstBody = regexp.MustCompile(`(?m)^  ([A-Z][0-9]?): \{(.*)\}$`)
	measure   = regexp.MustCompile(`([a-z][a-z ]*[0-9]?): "?[0-9]`)
)

// Asked are the measures that a draft's own first body has.
func Asked(source string) []string {
	var out []string
	for _, m := range measure.FindAllStringSubmatch(firstBody.FindStringSubmatch(source)[2], -1) {
		out = append(out, m[1])
	}
	return out
}

// Card is a measure card with what a draft asks for.
func Card(t testing.TB, source, unit, kind string, of map[string]float64) []byte {
	t.Helper()
	card := "unit: " + unit + "\nkind: " + kind + "\nmeasures:\n"
	for _, name := range Asked(source) {
		v, ok := of[name]
		if !ok {
			t.Fatalf("the body has no %q", name)
		}
		card += fmt.Sprintf("  %s: %v\n", name, v)
	}
	return []byte(card)
}
