package control

import (
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestRefusalSaysWhatToType: who asks for what a state does not allow is told what it does.
func TestRefusalSaysWhatToType(t *testing.T) {
	for state, want := range map[ledger.State]string{
		ledger.Stopped: "tracewheel resume 8", ledger.Processing: "tracewheel pause 8", ledger.Held: "tracewheel release 8",
		ledger.Pending: "tracewheel hold 8", ledger.Canceled: "tracewheel again 8",
	} {
		r, ok := cannot(&ledger.Job{ID: 8, State: state}, "made again").(*Refusal)
		if !ok || !strings.Contains(r.Hint, want) {
			t.Errorf("%s: %+v", state, r)
		}
	}
}
