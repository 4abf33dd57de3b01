package making

import (
	"bytes"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/picture"
)

// TestDevicePictureInTheDraftsUnit: the picture of what a device makes tells its size and its scale in the draft's unit, as
// the picture of the draft does, in whatever unit the workroom counts.
func TestDevicePictureInTheDraftsUnit(t *testing.T) {
	for file, want := range map[string]string{"trousers.yaml": "cm", "lamplighter-jacket.yaml": "in", "stagehand-apron.svg": "mm"} {
		r := Request{Name: file, Source: samples.Read(file), Device: "roll-plotter"}
		c, looked, err := New(Sample()).Picture(t.Context(), r, false, false)
		if err != nil {
			t.Fatalf("%s: %v %v", file, err, looked.Findings)
		}
		w := made(t, New(Sample()), r)
		for _, unit := range []string{"mm", "cm", "in"} { // letters are strokes, so pictures are held against each other
			drawn := picture.Device(w.view(w.Made), picture.Options{Unit: unit}).SVG()
			if same := bytes.Equal(c.SVG(), drawn); same != (unit == want) {
				t.Errorf("%s: lettered as in %s: %v", file, unit, same)
			}
		}
	}
}
