package jobtext

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// TestDamagedLineHasNoState: a line of the ledger that is not what was written is not called done.
func TestDamagedLineHasNoState(t *testing.T) {
	j := ledger.Job{ID: 24, State: ledger.Completed}
	if got := stateWords(j); got != "done" {
		t.Errorf("a sound line is %q", got)
	}
	j.Fault = "its line in the ledger is not what was written"
	if got := stateWords(j); got != ledger.Unknown {
		t.Errorf("a damaged line is %q", got)
	}
}

// TestShowTellsHowToEnd: a stopped job of which all was sent is for a person to call whole or spoilt; one that
// was cut short is to go on.
func TestShowTellsHowToEnd(t *testing.T) {
	for sent, want := range map[int64]string{100: "tracewheel whole 3, or: tracewheel spoilt 3", 60: "to go on   tracewheel resume 3"} {
		var out bytes.Buffer
		Teller{Out: &out}.Job(t.Context(), ledger.Job{ID: 3, State: ledger.Stopped, Sends: 1, Send: ledger.Send{No: 1, Bytes: sent, Total: 100, End: "stopped"}}, nil, nil, nil)
		if !strings.Contains(out.String(), want) {
			t.Errorf("%d of 100 bytes: %s", sent, out.String())
		}
	}
}

// TestShowTellsOfTrials: who is to release a job sees that it was tried with the tool up, how, by which job, and how that ended.
func TestShowTellsOfTrials(t *testing.T) {
	ended := time.Date(2026, 3, 14, 10, 3, 0, 0, time.Local)
	how := func(word string) map[string]string { return map[string]string{ledger.AnswerToolUp: word} }
	var out bytes.Buffer
	Teller{Out: &out}.Job(t.Context(), ledger.Job{ID: 1, State: ledger.Held}, []ledger.Job{
		{ID: 2, AgainOf: 1, State: ledger.Completed, Ended: ended, Answers: how("bounds")}, {ID: 5, AgainOf: 1, State: ledger.Processing, Answers: how("dry")}}, nil, nil)
	for _, want := range []string{"tried      bounds with the tool up: done, job 2, 2026-03-14 10:03:00\n", "tried      dry run with the tool up: running, job 5\n"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is not told: %s", want, out.String())
		}
	}
}
