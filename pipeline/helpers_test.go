package pipeline

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

func roomOf(t testing.TB, text string) *config.Workroom {
	t.Helper()
	file := filepath.Join(t.TempDir(), "workroom.yaml")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(file, pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	return room
}

// work is a draft with that by which its program was made; of sheets there is nothing.
type work struct {
	*making.Work
	making.Made
}

func workOf(w *making.Work) work {
	made, _ := w.Made()
	return work{w, made}
}

// makeFor makes a draft's program for a device of a workroom.
func makeFor(t *testing.T, room *config.Workroom, file, device string) work {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	w, err := making.New(room).Make(context.Background(), making.Request{Job: 1, Source: data, Name: filepath.Base(file), Device: device})
	if err != nil {
		t.Fatal(err)
	}
	if w.Refused || w.Hold != "" {
		t.Fatalf("%s for %s is not made: %s%s", file, device, w.Reason, w.Hold)
	}
	return workOf(w)
}

// everyMM is a line's points, at most a millimetre apart.
func everyMM(p geom.Path) []orb.Point {
	out := append([]orb.Point(nil), p.Points...)
	for i := range p.Segments() {
		a, b := p.Segment(i)
		n := int(geom.Dist(a, b))
		for k := 1; k <= n; k++ {
			out = append(out, geom.Lerp(a, b, float64(k)/float64(n+1)))
		}
	}
	return out
}

// downs are the ways that the tip of a tangential knife is down for.
func downs(moves []devices.Move) []geom.Path {
	var out []geom.Path
	for _, m := range moves {
		if m.Rapid || m.FromZ > 0 || m.ToZ > 0 || geom.Dist(m.From, m.To) == 0 {
			continue
		}
		pts := []orb.Point{m.From, m.To}
		if m.Arc {
			u := geom.Sub(m.From, m.Centre)
			v := geom.Mul(geom.Left(u), math.Copysign(1, m.Sweep))
			pts = geom.FlattenArc([]orb.Point{m.From}, m.Centre, u, v, 0, math.Abs(m.Sweep), 0.001)
		}
		out = append(out, geom.Path{Points: pts})
	}
	return out
}
