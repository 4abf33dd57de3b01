package verify

import (
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestWholeByAPersonsWord: a run that the device did not end may be called whole by a person; a job that is
// complete without either is a fault.
func TestWholeByAPersonsWord(t *testing.T) {
	for _, c := range []struct {
		end    string
		from   ledger.State
		faults int
	}{
		{"done", ledger.Processing, 0},
		{"stopped", ledger.Stopped, 0},
		{"cut short", ledger.Stopped, 0},
		{"stopped", ledger.Processing, 1},
	} {
		v := &verifier{}
		j := ledger.Job{ID: 3, State: ledger.Completed, Sends: 1}
		v.sends(j, []ledger.Send{{No: 1, End: c.end, Blocks: 9, Sure: 8}}, []ledger.Event{{Kind: "done", From: c.from, To: ledger.Completed}})
		if len(v.problems) != c.faults {
			t.Errorf("%+v: %v", c, v.problems)
		}
	}
}
