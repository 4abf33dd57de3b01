package making

import (
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/pipeline/control"
)

// TestChosenPiecesOnSheets: a sheet printer too makes the chosen pieces alone.
func TestChosenPiecesOnSheets(t *testing.T) {
	room := Sample()
	for name, d := range room.Devices {
		if !d.Kind.Prints() {
			continue
		}
		for _, patterns := range []devices.Patterns{devices.PatternsOnce, devices.PatternsEveryCopy} {
			d.Patterns = patterns
			room.Devices[name] = d
			r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Device: name, Job: 7,
				Answers: map[string]string{control.AnswerPieces: "2,4"}}
			w, err := New(room).Make(t.Context(), r)
			if err != nil || w.Refused || w.Hold != "" || len(w.Ready) != 2 || w.Program.Pieces != 2 {
				t.Errorf("%s, %s: %d pieces, %d in the program, %v %s%s", name, patterns, len(w.Ready), w.Program.Pieces, err, w.Reason, w.Hold)
			}
		}
		return
	}
	t.Error("the sample has no printer")
}
