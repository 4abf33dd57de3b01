package making

import (
	"os"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control"
)

// TestQuestionNamesItsRelease: the file of a job that waits is taken already, so its question names the release
// that answers it, and that answer lets it be made.
func TestQuestionNamesItsRelease(t *testing.T) {
	r := Request{Source: []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400"><g data-piece="hand" data-quantity="1"><path d="M10 310H210L60 10Z"/></g></svg>`), Name: "hand.svg", Device: "roll-plotter"}
	h := New(Sample())
	w, err := h.Make(t.Context(), r)
	if err != nil || !strings.Contains(w.Hold, "release the job with --allowance included") {
		t.Errorf("%v: it asks %q", err, w.Hold)
	}
	r.Answers = map[string]string{"allowance": "included"}
	if w, err = h.Make(t.Context(), r); err != nil || w.Hold != "" || w.Refused {
		t.Errorf("%v: %q, %q", err, w.Hold, w.Reason)
	}
}

// TestManyCopiesAreAsked: a ticket's slip of the pen, 500 for 5, is asked about before paper is spent on it;
// below the workroom's number, with the answer, and for a single file nobody is asked.
func TestManyCopiesAreAsked(t *testing.T) {
	source, err := os.ReadFile("../../testdata/drafts/apron-mm.svg")
	if err != nil {
		t.Fatal(err)
	}
	room := Sample()
	room.CopiesUnasked = 2
	for _, c := range []struct {
		ticket  string
		job     int64
		answers map[string]string
		asks    bool
	}{
		{"copies: 3", 7, nil, true},
		{"copies: 2", 7, nil, false},
		{"copies: 3", 7, map[string]string{control.AnswerAsMany: "yes"}, false},
		{"copies: 3", 0, nil, false},
	} {
		w, err := New(room).Make(t.Context(), Request{Job: c.job, Name: "apron.svg", Device: "roll-plotter", Source: source,
			Ticket: []byte(c.ticket + "\n"), Answers: c.answers})
		if err != nil {
			t.Fatal(err)
		}
		if asks := strings.Contains(w.Hold, "--as-many"); asks != c.asks || !asks && len(w.Program.Blocks) == 0 {
			t.Errorf("%s, job %d, %v: asks %q, %d blocks, %v", c.ticket, c.job, c.answers, w.Hold, len(w.Program.Blocks), w.Findings)
		}
	}
}

// TestWearerWithoutBody: a ticket that names a wearer and no body would have the draft's own body cut for another person,
// so it is asked whose measures count; the answer, a body in the ticket, or a wearer who is that body lets it be made.
func TestWearerWithoutBody(t *testing.T) {
	for _, c := range []struct {
		draft, ticket string
		answers       map[string]string
		asks          bool
	}{
		{"ferry-smock.yaml", "wearer: the boatswain\n", nil, true},
		{"ferry-smock.yaml", "wearer: the boatswain\n", map[string]string{control.AnswerBody: "A"}, false},
		{"ferry-smock.yaml", "wearer: the boatswain\nbody: A\n", nil, false},
		{"ferry-smock.yaml", "wearer: a\n", nil, false},
		{"lay-figure.yaml", "wearer: Lay Figure\n", nil, false},
		{"ferry-smock.yaml", "production: Harbour Lights\n", nil, false},
		{"stagehand-apron.svg", "wearer: the boatswain\n", nil, false},
	} {
		source := []byte(strings.NewReplacer("\n  A: {", "\n  lay-figure: {", "body: A ", "body: lay-figure ").Replace(string(samples.Read("ferry-smock.yaml"))))
		if c.draft != "lay-figure.yaml" {
			source = samples.Read(c.draft)
		}
		w, err := New(Sample()).Make(t.Context(), Request{Job: 7, Name: c.draft, Device: "roll-plotter", Source: source,
			Ticket: []byte(c.ticket), Answers: c.answers})
		if err != nil {
			t.Fatal(err)
		}
		said := strings.Contains(w.Hold, `the wearer "the boatswain" and names no body`) && strings.Contains(w.Hold, "--body A")
		if said != c.asks || !c.asks && len(w.Program.Blocks) == 0 {
			t.Errorf("%s, ticket %q, %v: asks %q, %d blocks, %s", c.draft, c.ticket, c.answers, w.Hold, len(w.Program.Blocks), w.Reason)
		}
	}
}
