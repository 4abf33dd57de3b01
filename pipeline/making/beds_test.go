package making

import (
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
)

// TestBedByBed: three squares of 900 mm do not lie on a bed of 1600 mm together, nor two of them (1800 mm). A cutter's job of
// them asks for --beds, is dealt to three beds, by their numbers in the draft, and each bed is made as a job of its pieces.
// Cloth that is no longer than all of them, a remnant, a square longer than the bed, a trial and a pen are not dealt.
func TestBedByBed(t *testing.T) {
	room := Sample()
	lies := room.Materials["calico"]
	lies.Length = 0
	room.Materials["calico"] = lies
	const sails = `<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" viewBox="0 0 900 900"><g data-piece="sail" data-quantity="3"><rect class="cut" x="0" y="0" width="900" height="900"/></g></svg>`
	make := func(draft string, answer ...string) *Work {
		r := Request{Job: 7, Name: "sails.svg", Source: []byte(draft), Device: "knife-table", Ticket: []byte("allowance: included\n"), Answers: map[string]string{}}
		for i := 0; i < len(answer); i += 2 {
			r.Answers[answer[i]] = answer[i+1]
		}
		w, err := New(room).Make(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	w := make(sails)
	if want := "bed 1 piece 1, bed 2 piece 2, bed 3 piece 3. If that is wanted, release it with --beds"; w.Refused || !strings.Contains(w.Hold, want) ||
		!strings.Contains(w.Hold, "longer than the bed: the pieces take 2746 mm of length, and the bed has 1600 mm") || strings.Contains(w.Hold, "material") || pattern.Worst(w.Findings) == pattern.Error {
		t.Errorf("it asks %q (%s), want %s", w.Hold, w.Reason, want)
	}
	if w = make(sails, answers.Beds, "yes"); !slices.Equal(w.Beds, []string{"1", "2", "3"}) || len(w.Program.Blocks) > 0 {
		t.Errorf("beds %q, %s%s", w.Beds, w.Reason, w.Hold)
	}
	if w = make(sails, answers.Beds, "yes", answers.Pieces, "1,3"); !slices.Equal(w.Beds, []string{"1", "3"}) {
		t.Errorf("beds of the pieces 1 and 3: %q, %s%s", w.Beds, w.Reason, w.Hold)
	}
	w = make(sails, answers.Pieces, "2", answers.Bed, "2 of 3")
	if made, ok := w.Made(); !ok || w.Program.Pieces != 1 || made.Plan.Length > 1600 {
		t.Errorf("bed 2 has %d pieces, is %v mm long: %s%s", w.Program.Pieces, made.Plan.Length, w.Reason, w.Hold)
	}
	if w = make(strings.ReplaceAll(sails, `width="900" height="900"/`, `width="1580" height="1580"/`)); !w.Refused || w.Reason == "" {
		t.Errorf("a square of 1580 mm: %s", w.Hold)
	}
	lies.Length = 2500 // 2 squares at most
	room.Materials["calico"] = lies
	if w = make(sails, answers.Beds, "yes"); !w.Refused || len(w.Beds) > 0 {
		t.Errorf("cloth of 2.5 m for three squares: beds %q, %s", w.Beds, w.Hold)
	}
	lies.Length = 1600
	room.Materials["calico"] = lies
	if w = make(sails); !w.Refused || !strings.Contains(w.Findings[len(w.Findings)-1].Mend, "say so by its length in the workroom file") {
		t.Errorf("cloth as long as the bed: %s, %+v", w.Hold, w.Findings)
	}
}
