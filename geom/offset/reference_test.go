package offset

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// reference is testdata/reference/offset.json: offsets computed with GEOS 3.11.1 through shapely
// 1.8.5 and, where GEOS thins, by an exact union of the same strips and wedges; see
// testdata/README.md.
type reference struct {
	Polygons []struct {
		Name    string
		Polygon []orb.Point
		Offsets []struct {
			Distance   float64
			MitreLimit float64 `json:"mitre_limit"`
			Parts      int
			Holes      int
			Area       float64
			Perimeter  float64
			Outline    []struct {
				Outer []orb.Point
				Holes [][]orb.Point
			}
		}
	}
}

func readReference(t testing.TB) reference {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/offset.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref reference
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	return ref
}

func TestOffsetAgainstReference(t *testing.T) {
	cases := 0
	for _, poly := range readReference(t).Polygons {
		for _, want := range poly.Offsets {
			cases++
			outline := geom.Path{Points: poly.Polygon, Closed: true}
			rings, err := uniform(outline, want.Distance, want.MitreLimit)
			if err != nil {
				t.Errorf("%s, %g mm: %v", poly.Name, want.Distance, err)
				continue
			}
			var area, perimeter float64
			var parts, holes int
			for _, r := range rings {
				area += r.Path.SignedArea()
				perimeter += r.Path.Length()
				if r.Hole {
					holes++
				} else {
					parts++
				}
			}
			if parts != want.Parts || holes != want.Holes ||
				math.Abs(area-want.Area) > 1e-6*want.Area || math.Abs(perimeter-want.Perimeter) > 1e-6*want.Perimeter {
				t.Errorf("%s, %g mm, limit %g: %d parts, %d holes, area %.6f, perimeter %.6f; want %d, %d, %.6f, %.6f",
					poly.Name, want.Distance, want.MitreLimit, parts, holes, area, perimeter,
					want.Parts, want.Holes, want.Area, want.Perimeter)
				continue
			}
			var theirs []geom.Path
			for _, part := range want.Outline {
				theirs = append(theirs, geom.Path{Points: part.Outer, Closed: true})
				for _, h := range part.Holes {
					theirs = append(theirs, geom.Path{Points: h, Closed: true})
				}
			}
			var ours []geom.Path
			for _, r := range rings {
				ours = append(ours, r.Path)
			}
			if gap := math.Max(largestGap(ours, theirs), largestGap(theirs, ours)); gap > geom.AllowanceTol {
				t.Errorf("%s, %g mm, limit %g: boundaries %.6f mm apart", poly.Name, want.Distance, want.MitreLimit, gap)
			}
		}
	}
	if cases != 496 {
		t.Errorf("%d cases read, 496 expected", cases)
	}
}

// largestGap is how far a vertex or the middle of a stretch of one set of lines lies from another.
func largestGap(a, b []geom.Path) float64 {
	if len(b) == 0 {
		return 0
	}
	ix := geom.NewIndex(b...)
	var gap float64
	for _, p := range a {
		for i := range p.Segments() {
			u, v := p.Segment(i)
			for _, q := range []orb.Point{u, geom.Lerp(u, v, 0.5)} {
				_, n := ix.Nearest(q)
				gap = math.Max(gap, n.Dist)
			}
		}
	}
	return gap
}
