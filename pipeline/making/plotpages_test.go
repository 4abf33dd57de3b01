package making

import (
	"testing"

	"tracewheel/devices/hpgl"
)

// TestPlotKeepsPiecesWhole: of two pieces of 540 by 380 mm each is drawn whole on a sheet of its own, as the plot's bytes
// are read back: on each of two sheets lies one closed outline of that size.
func TestPlotKeepsPiecesWhole(t *testing.T) {
	source := `<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" viewBox="0 0 900 900">
<g id="panel one"><path id="cut 1" d="M0 0H540V380H0Z"/></g><g id="panel two"><path id="cut 2" d="M0 400H540V780H0Z"/></g></svg>`
	m := New(Sample())
	w := made(t, m, Request{Name: "box.svg", Source: []byte(source), Device: "desk-plotter"})
	read, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
	if err != nil {
		t.Fatal(err)
	}
	whole := map[int]int{} // outlines on each sheet
	for _, tr := range read.Traces {
		b := tr.Path.Bound()
		if w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]; w > 539.9 && w < 540.1 && h > 379.9 && h < 380.1 {
			whole[tr.Page]++
		}
	}
	if read.Pages != 2 || whole[0] != 1 || whole[1] != 1 {
		t.Errorf("%d sheets, with %v whole panels", read.Pages, whole)
	}
}
