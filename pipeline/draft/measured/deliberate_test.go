package measured

import (
	"errors"
	"regexp"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// said is everything a draft is told: faults, and findings with their severity before them.
func said(t *testing.T, data, body string) string {
	t.Helper()
	e, err := draw([]byte(data), "x.yaml", Options{Body: body})
	var out []string
	var me *sentence.Error
	if errors.As(err, &me) {
		for _, f := range me.List {
			out = append(out, "refused: "+f.String())
		}
		return strings.Join(out, "\n")
	}
	for _, f := range seamFindings(e) {
		if f.Line == 0 && f.Rule != pattern.RuleNotchDeep {
			t.Errorf("a finding without its line: %s", f.Message)
		}
		out = append(out, string(f.Severity)+": "+f.Message)
	}
	return strings.Join(out, "\n")
}

// The deliberate faults of the demonstration garments and what must be said of each, computed with
// the garments, apart from this program. Where a side seam leans by b from plumb and the edge across
// is level, the garments' sheet gives 180 + 2b at a flared hem and 180 - 2b at a waist taken in; the
// angles inside the cloth are the other way round, so that only by how much they miss 180 is tried.
func TestDeliberateFaults(t *testing.T) {
	const backN = "  N: from front N falling shoulder slope for every 8, 1 "
	nominal := []string{
		"W1: from X toward Wi distance X to Q1 - distance Q1 to Wc ", "W1: from Wi out 0 ",
		"W2: from X toward Wo distance X to W1 ", "W2: from Wo out 0 ",
		"S: from Q2 toward Ws distance Q2 to W2", "S: from Ws out 0",
		"waist: arc W1 to Wc round Q1", "waist: line W1 to Wc", "waist: arc S to W2 round Q2", "waist: line S to W2",
	}
	level := append([]string{
		"S: from K toward Ws distance front K to front S", "S: from Ws out 0",
		"E2: from P toward D2 distance P to Q3 - distance Q3 to S", "E2: from D2 out 0",
		"E1: from P toward D1 distance P to E2", "E1: from D1 out 0",
		"Wc: from Q4 up distance Q4 to E1", "Wc: from O down front waist",
		"side waist: arc S to E2 round Q3", "side waist: line S to E2", "centre waist: arc E1 to Wc round Q4", "centre waist: line E1 to Wc",
		"arc E2 to C round R4, then arc to E1 round Q4", "line E2 to C to E1",
	}, nominal...)
	for _, c := range []struct {
		name, file, body string
		change           []string // pairs: old, new
		want             []string // each must be said; "" alone: nothing but notes
	}{
		{"armhole not dropped", "ferry-smock", "A", []string{"  A: from front A out 1\n", "  A: from front A out 1, up 1\n  U: from front U up 1\n  V: from front V out 0\n"}, []string{"error: front side (38.18 cm) is sewn to back side (39.18 cm): back side is 1 cm longer"}},
		{"armhole not dropped, B", "ferry-smock", "B", []string{"  A: from front A out 1\n", "  A: from front A out 1, up 1\n  U: from front U up 1\n  V: from front V out 0\n"}, []string{"back side is 1 cm longer"}},
		{"neck point not moved", "ferry-smock", "A", []string{backN, "  X1: from front N falling shoulder slope for every 8, 1 "}, []string{"error: front shoulder (5.7 cm) is sewn to back shoulder (6.7 cm): back shoulder is 1 cm longer"}},
		{"flare 2.2 on the back", "ferry-smock", "A", []string{"  L: from P down slit", "  L: from P down slit\n  F: from E out quarter + 2.2"}, []string{""}},
		{"flare 2.5 on the back", "ferry-smock", "A", []string{"  L: from P down slit", "  L: from P down slit\n  F: from E out quarter + 2.5"}, []string{"error: front side", "front side is 0.21 cm longer than back side"}},
		{"flare 2.5, B", "ferry-smock", "B", []string{"  L: from P down slit", "  L: from P down slit\n  F: from E out quarter + 2.5"}, []string{"front side is 0.24 cm longer than back side"}},
		{"across front 56", "ferry-smock", "A", []string{"across front: 33", "across front: 56"}, []string{"refused: x.yaml:42:", "negative radius: -1.5"}},
		{"one arc for each neck", "ferry-smock", "A", []string{"two arcs P to N, leaving level, arriving square to N T up, radius neck radius", "arc P to N, leaving level"}, []string{"warning: the neck where front shoulder is sewn to back shoulder makes a dent", "265.88"}},
		{"one arc for each neck, B", "ferry-smock", "B", []string{"two arcs P to N, leaving level, arriving square to N T up, radius neck radius", "arc P to N, leaving level"}, []string{"270.62"}},
		{"one arc, meant", "ferry-smock", "A", []string{"two arcs P to N, leaving level, arriving square to N T up, radius neck radius", "arc P to N, leaving level", "front shoulder = back shoulder", "front shoulder = back shoulder, pointed at neck"}, []string{""}},
		{"armhole plumb from the tip", "ferry-smock", "A", []string{"K: where square to N T at T meets plumb through A", "K: from T down 3", "softened at K from T, rounded at A armhole radius", "softened at A 8"}, []string{"the armhole where front shoulder", "221.11"}},
		{"hem level", "ferry-smock", "A", []string{"H: from Z toward V distance Z to E", "H: from F out 0", "arc H to E round Z", "line H to E"}, []string{"the hem where front side", "makes a point that juts out, a beak: the corners add to 173.06 degrees, 6.94 off 180"}},
		{"hem level, B", "ferry-smock", "B", []string{"H: from Z toward V distance Z to E", "H: from F out 0", "arc H to E round Z", "line H to E"}, []string{"7.04 off 180"}},
		{"no slit", "ferry-smock", "A", []string{"slit: 12", "slit: 0", "    - slit P to L\n", ""}, []string{"error: it does not go on", "55.944 cm", "(57 cm)"}},
		{"no slit, B", "ferry-smock", "B", []string{"slit: 12", "slit: 0", "    - slit P to L\n", ""}, []string{""}},

		{"what the dart takes out not added", "lamplighter-jacket", "C", []string{" + out of Ys - out of Ym ", " "}, []string{"error: the ease at the across front is -13/32 in, not 0 to 3/4 as the draft says"}},
		{"not added, D", "lamplighter-jacket", "D", []string{" + out of Ys - out of Ym ", " "}, []string{"the ease at the across front is -3/8 in"}},
		{"7/8 along the shoulder", "lamplighter-jacket", "C", []string{"M': from X toward M0 distance X to M + 1/8", "M': from M falling 2 for every 5, 7/8", "T: from M' toward M0 0, by M0 to T1", "T: from M' falling 2 for every 5, shoulder seam/2"}, []string{"error: centre front princess", "the shoulder where centre front princess is sewn to side front princess makes a dent", "185.08"}},
		{"waist left level", "lamplighter-jacket", "C", level, []string{"the waist where centre front princess", "193.16", "the waist where side front side is sewn to back side makes a dent: the corners add to 193.16 degrees, 13.16 off 180", "at the dart of back", "193.16"}},
		{"waist left level, D", "lamplighter-jacket", "D", level, []string{"192.55", "13.69 off 180", "192.08"}},
		{"intake split 2:1", "lamplighter-jacket", "C", append([]string{"back front intake/2", "back 2*front intake/3", "out front intake/2", "out front intake/3"}, nominal...), []string{"error: centre front princess", "193.14"}},
		{"peplum by waist/3", "lamplighter-jacket", "C", []string{"back waist seam)/(pi*circle)", "back waist seam)/(3*circle)", "B: turned A front waist seam out", "B: turned A front waist seam*pi/3*3/pi*pi/3 out"}, []string{"error: centre front waist", "is sewn to peplum front waist", "peplum front waist is 23/64 in longer"}},
		{"back underarm at the front's", "lamplighter-jacket", "C", []string{"  U: from O down armhole depth, out back quarter\n", "  U: from O down armhole depth, out front quarter\n", "  side: line U to K to S, softened at K smaller of (distance U to K) and (distance K to S)\n  side waist", "  side: line U to K to S\n  side waist"}, []string{"error: side front side (8 23/32 in) is sewn to back side (8 25/32 in): back side is 1/16 in longer", "165.96"}},
		{"shoulder 3", "lamplighter-jacket", "C", []string{"shoulder: 4 3/4", "shoulder: 3"}, []string{"warning: shoulder 3 in lies outside what is usual", "was a half taken?"}},
		{"apex separation 19", "lamplighter-jacket", "C", []string{"apex separation: 7 1/2", "apex separation: 19"}, []string{"refused: x.yaml:38:", "\"side waist\" is -1 and must be more than 0"}},
		{"no mirror", "lamplighter-jacket", "C", []string{"side front: side front; cut 2, a pair", "side front: side front; cut 2, alike"}, []string{"error: 2 of \"side front\" are cut alike and none is mirrored"}},

		{"depth 18, T1", "tool-roll", "T1", []string{"depth: 8 ", "depth: 18 "}, []string{"refused: x.yaml:", "the pleat hides 2 x 18 = 36 of cloth where there is room for 32"}},
		{"depth 18, T2", "tool-roll", "T2", []string{"depth: 8 ", "depth: 18 "}, []string{""}},
		{"corner 150, T1", "tool-roll", "T1", []string{"corner: 40", "corner: 150"}, []string{"refused: x.yaml:", "the corners need 300 of a leg that is only 289 long"}},
		{"corner 150, T2", "tool-roll", "T2", []string{"corner: 40", "corner: 150"}, []string{""}},
		{"nick 7", "tool-roll", "T1", []string{"panel bottom: one, at P0, 4 deep", "panel bottom: one, at P0, 7 deep"}, []string{"warning: the nick on the bottom of panel, 20 from BL, is 7 mm deep", "of the 10 mm allowance"}},
		{"nick 9", "tool-roll", "T1", []string{"panel bottom: one, at P0, 4 deep", "panel bottom: one, at P0, 9 deep"}, []string{"error: the nick on the bottom of panel, 20 from BL, is 9 mm deep", "only 1 mm is left"}},
		{"one panel", "tool-roll", "T1", []string{"panel: panel; cut 2", "panel: panel; cut 1"}, []string{"error: \"panel\" is sewn to another of its kind, and only one is cut"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			data := string(samples.Read(c.file + ".yaml"))
			for i := 0; i < len(c.change); i += 2 {
				if !strings.Contains(data, c.change[i]) {
					t.Fatalf("the sample no longer holds %q", c.change[i])
				}
				data = strings.ReplaceAll(data, c.change[i], c.change[i+1])
			}
			got := said(t, data, c.body)
			if at := regexp.MustCompile(`\(-?[\d.]+, -?[\d.]+\)`).FindString(got); at != "" {
				t.Errorf("%s is a place that no drafter knows, in:\n%s", at, got)
			}
			for _, w := range c.want {
				if w == "" && (strings.Contains(got, "error") || strings.Contains(got, "warning") || strings.Contains(got, "refused")) || !strings.Contains(got, w) {
					t.Errorf("want %q in:\n%s", w, got)
				}
			}
		})
	}
}
