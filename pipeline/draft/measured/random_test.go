package measured

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"tracewheel/config/samples"
)

// Random plausible bodies about the size tables: each smock is closed, uncrossed, and its side and
// shoulder seams agree within 0.1 mm, or the draft says why it cannot be drawn.
func TestRandomBodies(t *testing.T) {
	const seed = 41
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewSource(seed))
	src := string(samples.Read("ferry-smock.yaml"))
	good := 0
	for range 200 {
		bust := 75 + 75*r.Float64()
		body := fmt.Sprintf("bust: %.1f, hip: %.1f, across front: %.1f, nape to waist: %.1f, head: %.1f", bust, bust+10*r.Float64(),
			bust*(0.32+0.06*r.Float64()), 36+10*r.Float64(), 53+7*r.Float64())
		data := strings.Replace(src, "bust: 92, hip: 98, across front: 33, nape to waist: 41, head: 57", body, 1)
		e, err := draw([]byte(data), "x.yaml", Options{})
		if err != nil {
			if !strings.Contains(err.Error(), "x.yaml:") {
				t.Errorf("%s: %v", body, err)
			}
			continue
		}
		good++
		for _, pc := range e.pieces {
			if line, _ := e.flatten(pc.edges); len(line.SelfCrossings(1)) > 0 {
				t.Errorf("%s: %s crosses itself", body, pc.name)
			}
		}
		for _, p := range e.pairs {
			if math.Abs(p.b-p.a-p.ease)*e.unitMM > 0.1 {
				t.Errorf("%s: %s", body, p.words)
			}
		}
	}
	if good < 100 {
		t.Errorf("only %d could be drawn", good)
	}
}
