package assemble

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// The figures are those of apron-plain.dxf's answers: gaps of 0.3 and 0.12 mm are bridged, a line
// 0.2 mm too long is trimmed, each told at the middle between the two ends.
func TestGapsAndOverruns(t *testing.T) {
	pieces, fs := Pieces(Drawing{Items: []Item{
		line(pattern.RoleCut, 0, 0.12, 0, 100),
		line(pattern.RoleCut, 100, 100, 100, 0),
		line(pattern.RoleCut, 0, 0, 99.7, 0),
		line(pattern.RoleCut, -0.2, 100, 100, 100),
	}})
	if len(pieces) != 1 || pieces[0].Cut == nil || !pieces[0].Cut.Closed {
		t.Fatalf("got %d pieces, findings %v", len(pieces), fs)
	}
	if a := pieces[0].Cut.Area(); math.Abs(a-10000) > 0.1 {
		t.Errorf("area %v", a)
	}
	want := map[string]orb.Point{" 0.3 mm": {99.85, 0}, " 0.12 mm": {0, 0.06}, " 0.2 mm": {-0.1, 100}}
	for size, at := range want {
		found := false
		for _, f := range fs {
			if f.At != nil && geom.Dist(*f.At, at) < 1e-9 && strings.Contains(f.Message, size) && f.Index == 0 {
				found = true
			}
		}
		if !found {
			t.Errorf("no finding of%s at %v in %+v", size, at, fs)
		}
	}
	if got := rulesOf(fs); got[pattern.RuleGapBridged] != 2 || got[pattern.RuleOverlapTrimmed] != 1 {
		t.Errorf("rules %v", got)
	}
}

// Two lines that both run over at a corner are cut back to their crossing.
func TestBothOverrun(t *testing.T) {
	pieces, fs := Pieces(Drawing{Items: []Item{
		line(pattern.RoleCut, -0.4, 0, 50, 0), line(pattern.RoleCut, 50, 0, 50, 50),
		line(pattern.RoleCut, 50, 50, 0, 50), line(pattern.RoleCut, 0, 50, 0, -0.3),
	}})
	if len(pieces) != 1 || !pieces[0].Cut.Closed || math.Abs(pieces[0].Cut.Area()-2500) > 1e-9 {
		t.Fatalf("got %+v", pieces)
	}
	if got := rulesOf(fs); got[pattern.RuleOverlapTrimmed] != 1 || got[pattern.RuleGapBridged] != 0 {
		t.Errorf("rules %v", got)
	}
}

func TestRoundingIsSilent(t *testing.T) {
	pieces, fs := Pieces(Drawing{Items: []Item{
		line(pattern.RoleCut, 0.03, 0, 50, 0.01), line(pattern.RoleCut, 50, 0, 50, 50, 0, 50, 0, 0.02),
	}})
	if len(pieces) != 1 || !pieces[0].Cut.Closed || len(fs) != 0 {
		t.Errorf("got %d pieces, %v", len(pieces), fs)
	}
}

func TestWideGapStaysOpen(t *testing.T) {
	pieces, fs := Pieces(Drawing{Items: []Item{
		line(pattern.RoleCut, 0, 0, 97, 0), line(pattern.RoleCut, 100, 0, 100, 98), line(pattern.RoleCut, 100, 100, 0, 100, 0, 0),
	}})
	if len(pieces) != 1 || pieces[0].Cut.Closed {
		t.Fatalf("got %+v", pieces)
	}
	p := pieces[0].Cut.Points
	if gap := geom.Dist(p[0], p[len(p)-1]); math.Abs(gap-3) > 1e-9 {
		t.Errorf("the widest gap, 3 mm, should stay open; it is %v", gap)
	}
	if fs[0].Rule != pattern.RuleOutlineOpen || geom.Dist(*fs[0].At, orb.Point{100, 99}) > 1e-9 {
		t.Errorf("the other gap is not told: %+v", fs)
	}
}

// In a workroom that works in inches a gap is told in them: 0.3 mm is 0.012 in, 0.12 mm 0.005 in, 1 mm 0.039 in.
func TestGapsAreToldInInches(t *testing.T) {
	_, fs := Pieces(Drawing{Told: "in", Items: []Item{
		line(pattern.RoleCut, 0, 0.12, 0, 100), line(pattern.RoleCut, 100, 100, 100, 0),
		line(pattern.RoleCut, 0, 0, 99.7, 0), line(pattern.RoleCut, 0, 100, 100, 100),
		line(pattern.RoleCut, 212.7, 0, 300, 0, 300, 100, 200, 100), line(pattern.RoleCut, 200, 100, 200, 50), line(pattern.RoleCut, 200, 49, 200, 0),
	}})
	told := ""
	for _, f := range fs {
		told += f.Message + "\n"
	}
	for _, want := range []string{"a gap of 0.012 in", "a gap of 0.005 in", "a gap of 0.039 in"} {
		if !strings.Contains(told, want) {
			t.Errorf("want %q in:\n%s", want, told)
		}
	}
	if strings.Contains(told, "mm") {
		t.Errorf("mm in:\n%s", told)
	}
}
