package making

import (
	"slices"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
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
				Answers: map[string]string{answers.Pieces: "2,4"}}
			w, err := New(room).Make(t.Context(), r)
			if err != nil || w.Refused || w.Hold != "" || w.Pieces() != 2 || w.Program.Pieces != 2 {
				t.Errorf("%s, %s: %d pieces, %d in the program, %v %s%s", name, patterns, w.Pieces(), w.Program.Pieces, err, w.Reason, w.Hold)
			}
		}
		return
	}
	t.Error("the sample has no printer")
}

// TestFindingsOfChosenPieces: a job of chosen pieces tells nothing of those that are left out, and all that the whole told of its
// own.
func TestFindingsOfChosenPieces(t *testing.T) {
	two := `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400"><g data-piece="hand" data-quantity="1"><path d="M10 310H210L60 10Z"/></g><g data-piece="cuff" data-quantity="1"><path d="M230 310H390L390 10Z"/></g></svg>`
	device := "roll-plotter"
	of := func(pieces, name string) (n int) {
		r := Request{Name: "hands.svg", Source: []byte(two), Device: device, Job: 7, Answers: map[string]string{answers.Allowance: "included"}}
		if pieces != "" {
			r.Answers[answers.Pieces] = pieces
		}
		w, err := New(wideRoom()).Make(t.Context(), r)
		if err != nil || w.Refused || w.Hold != "" {
			t.Fatal(err, w.Reason, w.Hold)
		}
		return len(slices.DeleteFunc(w.Findings, func(f pattern.Finding) bool { return f.Piece != name }))
	}
	for _, device = range []string{"roll-plotter", "office-printer"} {
		if of("", "hand") == 0 || of("", "cuff") == 0 {
			t.Fatal("the draft has no finding of one of its pieces")
		}
		if h, c := of("1", "hand"), of("1", "cuff"); h != 0 && c != 0 || h+c == 0 || max(h, c) != of("", map[bool]string{true: "hand", false: "cuff"}[h > 0]) {
			t.Errorf("of piece 1 alone there are %d findings of the hand and %d of the cuff", h, c)
		}
	}
}

// TestPiecesOfTheGarment: the list of a job's pieces, in which they are ticked, tells how many the garment has, also where a
// pen draws each once.
func TestPiecesOfTheGarment(t *testing.T) {
	draft := `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400"><g data-piece="back" data-quantity="2"><path d="M10 310H210L60 10Z"/></g><g data-piece="loop" data-quantity="3"><path d="M230 310H390L390 10Z"/></g></svg>`
	for _, patterns := range []devices.Patterns{devices.PatternsOnce, devices.PatternsEveryCopy} {
		room := wideRoom()
		d := room.Devices["roll-plotter"]
		d.Patterns = patterns
		room.Devices["roll-plotter"] = d
		w, err := New(room).Make(t.Context(), Request{Name: "smock.svg", Source: []byte(draft), Device: "roll-plotter", Job: 7, Answers: map[string]string{answers.Allowance: "included"}})
		if err != nil || w.Refused || w.Hold != "" {
			t.Fatal(err, w.Reason, w.Hold)
		}
		count := map[string]int{}
		for _, p := range w.names() {
			count[p.Name] += p.Quantity
		}
		if count["back"] != 2 || count["loop"] != 3 || (w.Pieces() == 2) != (patterns == devices.PatternsOnce) {
			t.Errorf("%s: %v, of %d that are drawn", patterns, count, w.Pieces())
		}
	}
}
