package jobtext

import (
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// TestReleased: a release that only takes an answer, or has a job made, is not called one that lets a
// machine move, and a word for the bed that is not taken is said to be none.
func TestReleased(t *testing.T) {
	unit := map[string]string{"unit": "mm", "allowance": "included"}
	for _, c := range []struct {
		answers        map[string]string
		made, bedClear bool
		words, not     string
	}{
		{nil, true, true, "job 38 is released;", "not taken"},
		{nil, false, false, "job 38 is made first; if it then waits for release, release it again", "is released"},
		{nil, false, true, "--bed-clear then: it was not taken now", "is released"},
		{unit, true, true, "--bed-clear then: it was not taken now", "is released"},
		{unit, false, false, "job 38 takes the answer allowance included, unit mm and is made with it", "is released"},
	} {
		if got := Released(38, c.answers, c.made, c.bedClear); !strings.Contains(got, c.words) || strings.Contains(got, c.not) {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// TestKept: a hold says whether it has changed anything, what a job that was held asks, and what lets it go.
func TestKept(t *testing.T) {
	for _, c := range []struct {
		before ledger.Job
		want   string
	}{
		{ledger.Job{ID: 4, State: ledger.Pending, Reason: "waits for the port"}, "job 4 is held: nothing of it is sent; `tracewheel release 4` lets it go, `tracewheel cancel 4` ends it"},
		{ledger.Job{ID: 4, State: ledger.Held, Reason: "look"}, "job 4 was held already, and stays so: look; `tracewheel release 4` lets it go, `tracewheel cancel 4` ends it"},
		{ledger.Job{ID: 4, State: ledger.Held, Reason: "look", Asks: "which unit?"}, "job 4 was held already, and stays so: which unit?; `tracewheel release 4` lets it go, `tracewheel cancel 4` ends it"},
		{ledger.Job{ID: 4, State: ledger.Held, Reason: "ready, then: tracewheel release 4"}, "job 4 was held already, and stays so: ready, then: tracewheel release 4"},
	} {
		if got := Kept(c.before); got != c.want {
			t.Errorf("%q instead of %q", got, c.want)
		}
	}
}

// TestNowWords: what a job waits for is not told a second time where it is its reason.
func TestNowWords(t *testing.T) {
	p := control.Progress{Bytes: 5, Total: 9, Stroke: -1, Piece: 1, Waiting: "lay a fresh sheet on the plotter: sheet 2 of 3"}
	if got := nowWords(p, ""); got != "5 of 9 bytes sent of piece 2; waiting: "+p.Waiting {
		t.Error(got)
	}
	p.Left = 125
	if got := nowWords(p, p.Waiting); got != "5 of 9 bytes sent of piece 2, about 3 min left" {
		t.Error(got)
	}
	p.Person = true // how long the person takes nobody knows
	if got := nowWords(p, p.Waiting); got != "5 of 9 bytes sent of piece 2" {
		t.Error(got)
	}
}
