package talk

import (
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// TestErrorOfBefore: an I/O error that the device has had before the job is noted and no fault of the job;
// one that it gets in the job is (TestOverflow and its like).
func TestErrorOfBefore(t *testing.T) {
	for _, flow := range plotterFlows {
		for _, configure := range []bool{false, true} {
			inTime(t, "memory", func(t *testing.T) {
				r := plotterOn(t, "memory", flow, pretend.PlotterOptions{Rate: 500, Faults: pretend.Faults{LineError: 16}})
				defer r.close()
				r.prof.Port.Configure = configure
				_, remarks := sentIn(t, r, plotProgram(30))
				if len(remarks) != 1 || !strings.Contains(remarks[0], "before this job") || !strings.Contains(remarks[0], "16") {
					t.Errorf("%s, configure %v: told %q", flow, configure, remarks)
				}
			})
		}
	}
}

// TestSilentAtEnd: soon after a device has fallen silent at the end, a person is asked how the sheet is, and
// the answer ends the job. Before that nobody's answer counts.
func TestSilentAtEnd(t *testing.T) {
	for _, whole := range []bool{true, false} {
		everyFlow(t, pretend.Faults{SilentAtEnd: true}, func(t *testing.T, r rig, p devices.Program) {
			r.prof.Port.Stall = 300
			p.Seconds = 600
			ctl := NewControl()
			ctl.Sheet(!whole) // nobody has asked
			var sent, asked time.Time
			out := r.send(p, Options{Control: ctl, LiftLimit: time.Second, Progress: func(m Progress) {
				if m.Bytes == m.Total && sent.IsZero() {
					sent = time.Now()
					ctl.Sheet(!whole)
				}
				if m.Ending && asked.IsZero() {
					asked = time.Now()
					if !strings.Contains(m.Remark, "stands still") || m.Waiting == "" {
						t.Errorf("told %q, waits for %q", m.Remark, m.Waiting)
					}
					time.AfterFunc(3*time.Second, func() { ctl.Sheet(whole) })
				}
			}})
			if asked.IsZero() || asked.Sub(sent) > 20*time.Second {
				t.Errorf("asked at %v, all was sent at %v", asked, sent)
			}
			want := Canceled
			if whole {
				want = Done
			}
			if out.State != want || !strings.Contains(out.Reason, "a person says") || out.Tool != ToolUnknown {
				t.Errorf("ended %+v", out)
			}
			if out.Written != out.Total {
				t.Errorf("%d of %d bytes are called sent", out.Written, out.Total)
			}
			if whole && out.Sure.Block != len(p.Blocks)-1 {
				t.Errorf("sure is %+v of a whole sheet", out.Sure)
			}
		})
	}
}

// TestDroppedIsNotSent: what the line had not sent when it was stopped is taken out of it, so that not all was sent,
// and the page's end with it, though all was written.
func TestDroppedIsNotSent(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		p := plotProgram(30)
		r := plotterOn(t, "memory", devices.FlowRTSCTS, pretend.PlotterOptions{Rate: 5000, Buffer: 1024})
		defer r.close()
		ctl, written := NewControl(), false
		out := r.send(p, Options{Control: ctl, LiftLimit: time.Second, Progress: func(m Progress) {
			if m.Bytes == m.Total && !written {
				written = true
				ctl.Cancel() // the line takes some 60 ms for what it may hold at most, Port.Margin
			}
		}})
		if !written || out.State != Canceled || out.Written >= out.Total {
			t.Errorf("all was written: %v; %+v", written, out)
		}
	})
}

// TestLongLastStroke: a device that still draws and says so is not called silent.
func TestLongLastStroke(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := plotterOn(t, "memory", devices.FlowQuery, pretend.PlotterOptions{Rate: 20, Buffer: 1024})
		defer r.close()
		if _, remarks := sentIn(t, r, plotProgram(30)); len(remarks) > 0 {
			t.Errorf("told %q", remarks)
		}
	})
}
