package check_test

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/draft/measured/wearers"
	"tracewheel/pipeline/pattern"
)

var itComesOf = regexp.MustCompile(`(?m)^.*; it comes of [a-z].* [0-9]|holds for a `)

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
	for _, c := range wearers.Groups {
		t.Run(c.Name(), func(t *testing.T) {
			t.Parallel()
			t.Logf("seed %d", seed)
			source, people := samples.Read(c.Draft+".yaml"), wearers.Survey(t, c.Survey, seed)
			many, meant, drawn, unusual := min(most, len(people)), 0, 0, 0
			if asked == 0 && c.Draft != "ferry-smock" && c.Draft != "lamplighter-jacket" {
				many /= 4 // the recipes' test draws these too
			}
			for _, p := range people[:many] {
				card := c.Card(t, string(source), p)
				pt, err := draft.Read(source, c.Draft+".yaml", draft.Options{Body: "card", Card: func(string) ([]byte, error) { return card, nil }})
				if err != nil {
					if t.Logf("%s%v", card, err); !itComesOf.MatchString(err.Error()) {
						t.Error("it is refused without the measures that it comes of")
					}
					if no := notMeantFor[c.Draft]; no == nil || !no.MatchString(err.Error()) {
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
			if 100*unusual > 2*many && !strings.HasSuffix(c.Survey, "-2012") { // what is usual is usual among them too; there it is estimated
				t.Errorf("%d measures of %d people are told unusual", unusual, many)
			}
			if 100*drawn < 98*meant || 2*meant < many {
				t.Errorf("only %d could be drawn of %d for whom the style says that it holds, %d in all", drawn, meant, many)
			}
		})
	}
}
