package making

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/plan"
)

// TestPicturesNumbersAreThePieces: the number that stands on a piece in the kept picture is the one that an
// independent reader of the plot finds lettered on the same piece, and is clear of its lines.
func TestPicturesNumbersAreThePieces(t *testing.T) {
	for _, draft := range []string{"tool-roll.dxf", "satchel-bulge.dxf"} {
		room := wideRoom()
		d := room.Devices["roll-plotter"]
		d.Plot.Labels = "text"
		room.Devices["roll-plotter"] = d
		w := makeFor(t, room, "../../testdata/drafts/"+draft, "roll-plotter")
		read, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
		if err != nil {
			t.Fatal(err)
		}
		on := func(at orb.Point) int { // the place in the lay
			for i, p := range w.Lay.Placements {
				if w.Ready[p.Ready].Outline.Apply(p.Map).Contains(at) {
					return i
				}
			}
			return -1
		}
		lettered := map[int]string{}
		number := regexp.MustCompile(`piece (\d+) of \d+`)
		for _, l := range read.Labels {
			if m := number.FindStringSubmatch(l.Text); m != nil {
				lettered[on(l.At)] = m[1]
			}
		}
		words := w.view(w.Made).Words
		if len(words) != len(w.Ready) || len(lettered) != len(w.Ready) {
			t.Fatalf("%s: %d numbers and %d pieces lettered, of %d", draft, len(words), len(lettered), len(w.Ready))
		}
		for _, n := range words {
			middle := orb.Point{n.At[0], n.At[1] + n.Height/2}
			if i := on(middle); i < 0 || lettered[i] != n.Text {
				t.Errorf("%s: number %s stands on the piece that is lettered %q", draft, n.Text, lettered[i])
			}
			for _, s := range w.Strokes {
				if s.Label == nil && s.Path.Nearest(middle).Dist < n.Height/2 {
					t.Errorf("%s: number %s stands on a line (%s)", draft, n.Text, s.Role)
				}
			}
			if no, _ := strconv.Atoi(n.Text); w.Program.Names[no-1] != w.Ready[no-1].Name {
				t.Errorf("%s: number %s is called %q in the program", draft, n.Text, w.Program.Names[no-1])
			}
		}
	}
}

// TestTurnedLettersAreUpright: letters of pieces that the lay turned end for end are read like all others, on their
// piece, the heading's last line below its first: by an independent reader of what a device is sent that letters by
// itself. The strokes of one that does not are those of the same words at the same places.
func TestTurnedLettersAreUpright(t *testing.T) {
	for _, draft := range []string{"tool-roll.dxf", "satchel-bulge.dxf"} {
		w, _ := planned(t, "../../testdata/drafts/"+draft)
		for i, p := range w.Lay.Placements {
			c := w.Ready[p.Ready].Outline.Apply(p.Map).Bound().Center()
			w.Lay.Placements[i].Map = geom.Translate(c[0], c[1]).After(geom.Rotate(math.Pi)).After(geom.Translate(-c[0], -c[1])).After(p.Map)
		}
		drawn := func(labels string) ([]devices.Stroke, []hpgl.Label) {
			prof := w.Profile
			prof.Plot.Labels = labels
			strokes, _ := plan.Strokes(w.Ready, w.Lay, prof, plan.Options{Square: -1})
			program, err := hpgl.Encode(strokes, prof)
			if err != nil {
				t.Fatal(err)
			}
			read, err := hpgl.Read(program.Bytes(), hpgl.OptionsFor(prof))
			if err != nil {
				t.Fatal(err)
			}
			return strokes, read.Labels
		}
		strokes, _ := drawn("strokes")
		_, labels := drawn("text")
		var letterLines []geom.Path
		for _, s := range strokes {
			if s.Role == string(pattern.RoleText) {
				letterLines = append(letterLines, s.Path)
			}
		}
		near := geom.NewIndex(letterLines...)
		for _, p := range w.Lay.Placements {
			r := w.Ready[p.Ready]
			outline := r.Outline.Apply(p.Map)
			first, last := 0.0, 0.0 // how high both lines of the heading stand, seen by who reads them
			for _, l := range labels {
				turn := l.AngleDeg * math.Pi / 180
				if !outline.Contains(l.At) {
					continue
				}
				if a := math.Remainder(l.AngleDeg, 360); a < -89.9 || a > 90.1 {
					t.Errorf("%s, %s: %q stands at %.0f degrees", draft, r.Name, l.Text, a)
				}
				high := geom.Dot(l.At, orb.Point{-math.Sin(turn), math.Cos(turn)})
				if strings.HasPrefix(l.Text, r.Name) {
					first = high
				}
				if strings.Contains(l.Text, fmt.Sprintf("piece %d of", p.Ready+1)) {
					last = high
				}
				lines, width := letters.Strokes(l.Text, l.Height)
				put := geom.Translate(l.At[0], l.At[1]).After(geom.Rotate(turn))
				if end := put.Apply(orb.Point{width, l.Height}); !outline.Contains(end) {
					t.Errorf("%s, %s: %q runs out of its piece", draft, r.Name, l.Text)
				}
				for _, line := range lines {
					at := put.Apply(line.Points[0])
					if _, n := near.Nearest(at); n.Dist > 0.3 {
						t.Fatalf("%s, %s: in strokes %q lies %.1f mm beside", draft, r.Name, l.Text, n.Dist)
					}
				}
			}
			if first == 0 || last > first {
				t.Errorf("%s, %s: the heading's last line stands at %.1f mm, its first at %.1f", draft, r.Name, last, first)
			}
		}
	}
}
