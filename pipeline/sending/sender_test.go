package sending

import (
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// TestOtherLanguageIsNotSent: a job that was made before the workroom file gave its device another language
// is not sent in the old one.
func TestOtherLanguageIsNotSent(t *testing.T) {
	room := making.Sample()
	w := makeFor(t, room, "../../testdata/drafts/apron-mm.svg", "roll-plotter")
	s := New(func() *config.Workroom { return room }, making.New(room).Rest, nil)
	s.Open = func(devices.PortProfile) (devices.Line, error) {
		t.Error("its port is opened")
		return nil, devices.ErrGone
	}
	out := s.Send(t.Context(), job.Run{Job: 1, Device: "knife-table", Program: w.Program})
	if out.State != ledger.Stopped || !strings.Contains(out.Reason, "made in hpgl2, and by the workroom file knife-table now speaks gcode") {
		t.Errorf("%+v", out)
	}
}
