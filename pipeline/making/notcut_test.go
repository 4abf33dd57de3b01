package making

import (
	"bytes"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/look"
	"tracewheel/pipeline/picture"
)

// TestWhatACutterLeavesIsShown: the picture of a cutter's job shows the sew line and the grain line of each piece as laid,
// pale and named as not cut. The square's sew line lies 10 mm inside its cut line all round (by the draft itself). They are no
// strokes of the program, and a plotter's picture has none, because it draws them.
func TestWhatACutterLeavesIsShown(t *testing.T) {
	const draft = `<svg xmlns="http://www.w3.org/2000/svg" width="220mm" height="220mm" viewBox="0 0 220 220"><g data-piece="flap" data-quantity="2">` +
		`<rect class="cut" x="10" y="10" width="200" height="200"/><rect class="sew" x="20" y="20" width="180" height="180"/><path class="grain" d="M110 50 V170"/></g></svg>`
	for device, want := range map[string]int{"knife-table": 2, "roll-plotter": 0} {
		w, err := New(Sample()).Make(t.Context(), Request{Name: "flap.svg", Source: []byte(draft), Device: device})
		if err != nil {
			t.Fatal(device, err)
		}
		made, ok := w.Made()
		if !ok {
			t.Fatalf("%s: %s", device, w.Reason)
		}
		svg := picture.Device(w.view(made), picture.Options{}).SVG()
		var cut, sewn []orb.Bound
		grain := 0
		for _, l := range w.view(made).NotCut {
			switch l.Kind {
			case look.Sew:
				sewn = append(sewn, l.Paths[0].Bound())
			case look.Grain:
				grain++
			}
		}
		for _, s := range made.Strokes {
			if s.Role == "cut" {
				cut = append(cut, s.Path.Bound())
			}
		}
		if len(sewn) != want || (grain > 0) != (want > 0) {
			t.Errorf("%s: %d sew lines are shown as not cut, want %d; %d strokes of grain lines", device, len(sewn), want, grain)
		}
		for _, b := range sewn {
			inside := false
			for _, o := range cut {
				off := math.Max(geomOff(b.Min, o.Min, 10), geomOff(o.Max, b.Max, 10))
				inside = inside || off < 0.01
			}
			if !inside {
				t.Errorf("a sew line at %v lies in none of %v by 10 mm", b, cut)
			}
		}
		if shown := len(picture.Read(svg).Strokes); device == "knife-table" && shown != len(made.Strokes) {
			t.Errorf("the picture has %d strokes, the program %d", shown, len(made.Strokes))
		}
		if has := bytes.Contains(svg, []byte(`class="not-cut"`)); has != (want > 0) {
			t.Errorf("%s: lines that are not cut are shown: %v", device, has)
		}
	}
}

// geomOff is by how much the way from b to a differs from by along both axes.
func geomOff(a, b orb.Point, by float64) float64 {
	return math.Max(math.Abs(a[0]-b[0]-by), math.Abs(a[1]-b[1]-by))
}
