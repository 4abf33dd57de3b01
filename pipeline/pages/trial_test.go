package pages_test

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestTrialIsNotToldAsAGarment: a job that ran with the tool up is done and nothing was made. Every list says what it was,
// its page has no pieces to tick and does not offer to make it again, and it is none of the garments of its production.
func TestTrialIsNotToldAsAGarment(t *testing.T) {
	const said = "bounds of job 1, with the tool up"
	r := newShownWith(t, nil, nil, func(dir string) (err error) {
		st, err := store.Open(filepath.Join(dir, "store"), store.Disk{})
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, st.Close()) }()
		led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, led.Close()) }()
		order := func(j *ledger.Job) { j.Production, j.Material = "Harbour Lights", "canvas" }
		first, err := doneJob(t.Context(), st, led, ledger.Arrival{Device: "knife-table", Text: "taken"}, order)
		if err == nil {
			_, err = doneJob(t.Context(), st, led, ledger.Arrival{Device: "knife-table", Text: "tried", AgainOf: first,
				Answers: map[string]string{answers.ToolUp: control.ToolUpBounds}}, order)
		}
		return err
	})
	for path, times := range map[string]int{"/": 1, "/past": 1, "/job/2": 1, "/job/1": 0} {
		if _, page := r.get(path); strings.Count(page, said) != times {
			t.Errorf("%s says %d times instead of %d that job 2 was a trial: %s", path, strings.Count(page, said), times, page)
		}
	}
	if _, page := r.get("/job/1"); !strings.Contains(page, `bounds with the tool up: done, <a href="/job/2">job 2</a>`) {
		t.Errorf("the history of job 1 does not lead to its trial: %s", page)
	}
	for job, garment := range map[string]bool{"1": true, "2": false} {
		_, page := r.get("/job/" + job)
		for _, part := range []string{`class="ticks"`, "Make it again", "3 pieces"} {
			if strings.Contains(page, part) != garment {
				t.Errorf("job %s, %s: %v wanted", job, part, garment)
			}
		}
	}
	if _, page := r.get("/production?name=Harbour+Lights"); !strings.Contains(page, `id="g-1"`) || strings.Contains(page, `id="g-2"`) {
		t.Errorf("the garments of the production: %s", page)
	}
}
