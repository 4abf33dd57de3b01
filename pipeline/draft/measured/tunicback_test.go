package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// TestBackWaistFromNape: the back's waist dart is widest so far below the nape as was measured there, and the seams hold. The
// measure is "back neck point to waist" of ISO 8559-1; that shaping lies at the body's waist is common practice.
func TestBackWaistFromNape(t *testing.T) {
	for _, starter := range []string{"princess-tunic", "folded-overdress"} {
		text := string(samples.Read(starter + ".yaml"))
		for _, nape := range []float64{37, 41} {
			said := strings.Replace(text, "nape to waist: 41,", fmt.Sprintf("nape to waist: %g,", nape), 1)
			e := drawText(t, said)
			for _, pc := range e.Pieces {
				if pc.Name != "back" {
					continue
				}
				if len(pc.Form.Inside) != 1 {
					t.Fatalf("%s has %d darts at its back", starter, len(pc.Form.Inside))
				}
				for _, wide := range pc.Form.Inside[0].Wide {
					if level := wide[1]; math.Abs(level-(37.0/18+nape)) > 0.001 { // the nape lies neck/18 below O
						t.Errorf("%s, %g from nape to waist: the dart is widest %.3f below O", starter, nape, level)
					}
				}
			}
			for _, f := range e.Findings {
				if f.Severity == "error" || f.Severity == "warning" {
					t.Errorf("%s, %g from nape to waist: %s", starter, nape, f.Message)
				}
			}
		}
	}
}

// TestLongerTunicKeepsItsHip: a hem let down by 3 takes less than a hundredth of the hip away, and nothing of bust and waist: the
// flare runs on, as the line of the side does.
func TestLongerTunicKeepsItsHip(t *testing.T) {
	text := string(samples.Read("princess-tunic.yaml"))
	longer := strings.Replace(text, "hem level: waist level + hip depth + 6", "hem level: waist level + hip depth + 9", 1)
	short, long := drawText(t, text).Girths, drawText(t, longer).Girths
	if longer == text || len(short) != 3 || len(long) != 3 {
		t.Fatalf("girths %+v and %+v", short, long)
	}
	for i := range short {
		if gone := math.Abs(short[i].Finished - long[i].Finished); gone > map[string]float64{"hip": short[i].Finished / 100}[short[i].Name]+0.001 {
			t.Errorf("%s is %.2f round, and was %.2f", short[i].Name, long[i].Finished, short[i].Finished)
		}
	}
}
