package making

import (
	"fmt"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/draft/measured/wearers"
	"tracewheel/pipeline/pattern"
)

// notFor are the bodies of the ten for whom a starter's first lines say that it does not hold.
var notFor = map[string]string{"bodice-block": "FGI", "peplum-top": "FGI", "flat-block": "ABCDEHJ", "trousers": "DFG", "ferry-smock": "F", "lamplighter-jacket": "DF", "trousers-without-darts": "ABCEGHIJ"}

// Each starter garment is plotted for the ten bodies of the starters' test, and cut unless it is larger than the sample's
// table; what is no garment, for its own bodies. Nothing is warned of but table and cloth that are too small, and that a
// garment of several cloths is cut from one.
func TestStartersAreMade(t *testing.T) {
	ownBodies := regexp.MustCompile(`(?m)^body: ([A-Z][0-9]?)$`)
	var all, cut atomic.Int32
	t.Run("all", func(t *testing.T) {
		for _, name := range samples.Starters() {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				source := string(samples.Read(name + ".yaml"))
				if measures := wearers.Of(t, 'A'); name == "box-bag" || name == "tool-roll" || measures[wearers.Asked(source)[0]] == 0 {
					tryMade(t, name, "its own", source, &all, &cut)
					first := ownBodies.FindStringSubmatch(source)
					second := map[string]string{"A": "B", "T1": "T2"}[first[1]]
					tryMade(t, name, "its second", strings.Replace(source, first[0], "body: "+second, 1), &all, &cut)
					return
				}
				for i := range len(wearers.Ten) {
					body := wearers.Ten[i]
					if text := wearers.Text(source, body); !strings.Contains(notFor[name], string(body)) && (body != 'J' || text != source) { // whose other measures are A's
						tryMade(t, name, string(body), withBody(t, text, "cm", wearers.Kind(body), wearers.Of(t, body)), &all, &cut)
					}
				}
			})
		}
	})
	if t.Logf("%d plotted, %d cut", all.Load(), cut.Load()); all.Load() < 180 || 2*cut.Load() < all.Load() {
		t.Errorf("%d are plotted and %d cut", all.Load(), cut.Load())
	}
}

// withBody is a starter whose first body has these measures.
func withBody(t *testing.T, source, unit, kind string, of map[string]float64) string {
	t.Helper()
	said := "{kind: " + kind
	for _, name := range wearers.Asked(source) {
		v, ok := of[name]
		if !ok {
			t.Fatalf("the body has no %q", name)
		}
		said += fmt.Sprintf(", %s: %v %s", name, v, unit)
	}
	return regexp.MustCompile(`(?m)^  ([AC]): \{.*\}$`).ReplaceAllString(source, "  ${1}: "+said+"}")
}

// Of the people of the surveys for whom a starter is meant, one in 20 has it plotted, and the next one cut: those for whom it
// says that it holds.
func TestStartersAreMadeForRealBodies(t *testing.T) {
	const seed, among, one = 12, 40, 20
	var all, cut atomic.Int32
	t.Run("all", func(t *testing.T) {
		for _, g := range wearers.Groups {
			t.Run(g.Name(), func(t *testing.T) {
				t.Parallel()
				source, people := string(samples.Read(g.Draft+".yaml")), wearers.Survey(t, g.Survey, seed)
				device, kind := 0, map[bool]string{true: "woman", false: "man"}[g.Woman]
				for i, p := range people[:among] {
					if i < device*one {
						continue
					}
					text := withBody(t, source, "mm", kind, g.Measures(p))
					pt, err := draft.Read([]byte(text), g.Draft+".yaml", draft.Options{})
					if err != nil || pattern.Worst(append(check.Run(pt, check.Limits{}, nil), pt.Findings...)) == pattern.Error {
						continue // TestStartersForRealBodies counts them, and wants the measure named
					}
					tryOn(t, []string{"roll-plotter", "knife-table"}[device], g.Draft, p.Name, text, &all, &cut)
					device++
				}
				if device < among/one {
					t.Errorf("%d of %d are made", device, among/one)
				}
			})
		}
	})
	t.Logf("seed %d: %d plotted, %d cut", seed, all.Load(), cut.Load())
}

// tryMade plots and cuts one.
func tryMade(t *testing.T, name, body, source string, all, cut *atomic.Int32) {
	t.Helper()
	for _, device := range []string{"roll-plotter", "knife-table"} {
		tryOn(t, device, name, body, source, all, cut)
	}
}

func tryOn(t *testing.T, device, name, body, source string, all, cut *atomic.Int32) {
	t.Helper()
	w, err := New(Sample()).Make(t.Context(), Request{Name: name + ".yaml", Source: []byte(source), Device: device, Answers: map[string]string{answers.Cloth: "main"}})
	if err != nil {
		t.Fatal(err)
	}
	fits := true
	for _, f := range w.Findings {
		switch {
		case f.Rule == pattern.RuleTooWide || f.Rule == pattern.RuleTooShort:
			fits = false
		case f.Severity == pattern.Note || f.Rule == pattern.RuleMeasureUnlikely || f.Rule == pattern.RuleOtherCloth && device == "knife-table":
		default:
			t.Errorf("body %s on %s: line %d: %s: %s", body, device, f.Line, f.Rule, f.Message)
		}
	}
	switch made := len(w.Program.Blocks) > 0 && w.Hold == ""; {
	case device == "roll-plotter":
		if all.Add(1); !made {
			t.Errorf("body %s is not plotted: %s", body, w.Reason)
		}
	case made:
		cut.Add(1)
	case fits:
		t.Errorf("body %s is not cut: %s%s", body, w.Reason, w.Hold)
	}
}
