package knife_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/geom"
)

// draftLine is a cut line of testdata/drafts.json, whose source stands in the file.
type draftLine struct {
	File, Piece, Role string
	Points            []orb.Point
	Corners           []int
}

// draftStrokes places the pieces of each draft in a row on the table.
func draftStrokes(t *testing.T) (files []string, strokes map[string][]devices.Stroke) {
	t.Helper()
	data, err := os.ReadFile("testdata/drafts.json")
	if err != nil {
		t.Fatal(err)
	}
	var in struct{ Lines []draftLine }
	if err := json.Unmarshal(data, &in); err != nil {
		t.Fatal(err)
	}
	strokes = map[string][]devices.Stroke{}
	right := map[string]float64{}
	for _, l := range in.Lines {
		if strokes[l.File] == nil {
			files = append(files, l.File)
			right[l.File] = 20
		}
		p := geom.Path{Points: l.Points, Corners: make([]bool, len(l.Points)), Closed: true}
		for _, c := range l.Corners {
			p.Corners[c] = true
		}
		strokes[l.File] = append(strokes[l.File], devices.Stroke{
			Tool: devices.Knife, Role: l.Role, Name: l.Piece, Path: p.Apply(geom.Translate(right[l.File], 20)),
		})
		if l.Role == "cut" {
			right[l.File] += p.Bound().Max[0] + 20
		}
	}
	return files, strokes
}

// TestDrafts cuts six drafts that an independent writer made, for headings all round, in arcs and in
// chords. Of three the curves are arcs and splines: those take at most half the bytes in arcs. The
// others draw their curves as coarse polylines, which are cut as the lines they are.
func TestDrafts(t *testing.T) {
	curved := map[string]bool{"apron-mm.svg": true, "apron-plain.dxf": true, "satchel-bulge.dxf": true}
	files, strokes := draftStrokes(t)
	if len(files) != 6 {
		t.Fatalf("%d drafts, want 6", len(files))
	}
	for _, f := range files {
		size := map[bool]int{}
		for _, arcs := range []bool{true, false} {
			p := table()
			p.Length, p.Gantry.Arcs = 3200, arcs
			pr := prove(t, strokes[f], p)
			size[arcs] = pr.program.Len()
			for _, bad := range gcode.Unsafe(pr.trace, p) {
				t.Error(f, bad)
			}
			for k := range 7 {
				pr.check(t, p, float64(k)*math.Pi/3.5)
			}
			pull := pr.report.Align.Points
			back := geom.Sub(pull[1], pull[2])
			pr.check(t, p, math.Atan2(back[1], back[0])) // exactly against the pull
		}
		t.Logf("%s: %d bytes in arcs, %d in chords", f, size[true], size[false])
		if curved[f] && 2*size[true] > size[false] {
			t.Errorf("%s: arcs take %d bytes, chords %d", f, size[true], size[false])
		}
	}
}
