package making

import (
	"strings"
	"testing"
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
