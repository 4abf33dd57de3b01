package jobtext

import (
	"context"
	"maps"
	"testing"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/reading"
)

// stoppedOn is a ledger in which a thousand jobs stand stopped on one device.
type stoppedOn struct {
	reading.Reader
	device string
	first  int64
	given  int
}

func (s *stoppedOn) Jobs(_ context.Context, f ledger.Filter) (jobs []ledger.Job, _ error) {
	for id := s.first; id < s.first+1000 && (f.Limit == 0 || len(jobs) < f.Limit) && (f.Device == "" || f.Device == s.device); id++ {
		jobs = append(jobs, ledger.Job{ID: id, Device: s.device, State: ledger.Stopped})
	}
	s.given += len(jobs)
	return jobs, nil
}

// TestFirstStopped: which job others wait behind is told without reading all that stand stopped.
func TestFirstStopped(t *testing.T) {
	led := &stoppedOn{device: "roll-plotter", first: 7}
	list := []ledger.Job{{Device: "roll-plotter"}, {Device: "knife-table"}, {Device: "roll-plotter"}}
	if got := firstStopped(t.Context(), led, list); !maps.Equal(got, map[string]int64{"roll-plotter": 7, "knife-table": 0}) {
		t.Errorf("first stopped: %v", got)
	}
	if led.given != 1 {
		t.Errorf("%d jobs were read to tell of one device", led.given)
	}
}
