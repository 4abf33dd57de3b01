package making

import (
	"regexp"
	"strconv"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices/hpgl"
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
		words := w.View().Words
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
