package talk

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// TestLostLinesAreTold: a cutter that answers its lines, under a habit that does not wait for the answers,
// loses what its buffer cannot hold and stands idle at the end as if all were cut. That is never called
// done, nor anything of it sure, and the tool does not stay in the cloth.
func TestLostLinesAreTold(t *testing.T) {
	for _, flow := range []devices.Flow{devices.FlowXonXoff, devices.FlowNone, devices.FlowPaced} {
		inTime(t, "memory", func(t *testing.T) {
			r := cutterOn(t, "memory", flow, pretend.CutterOptions{Rate: 300})
			defer r.close()
			out := r.send(cutProgram(60), Options{})
			if r.dev.Lost() == 0 {
				t.Fatal("nothing was lost: this proves nothing")
			}
			if out.State != Stopped || out.Sure.Known || !out.Reset || !strings.Contains(out.Reason, "line-ack") {
				t.Errorf("%s: %+v", flow, out)
			}
			time.Sleep(5 * time.Second)
			if !toolUp(r.dev) {
				t.Errorf("%s: the tool stays in the cloth", flow)
			}
		})
	}
}

// TestAllLinesAnswered: one that keeps up under such a habit is believed, also after a pause.
func TestAllLinesAnswered(t *testing.T) {
	for _, pause := range []bool{false, true} {
		inTime(t, "memory", func(t *testing.T) {
			r := cutterOn(t, "memory", devices.FlowPaced, pretend.CutterOptions{Rate: 2000})
			defer r.close()
			r.prof.Port.Pace = 200
			ctl, p := NewControl(), cutProgram(60)
			if pause {
				time.AfterFunc(3*time.Second, ctl.Pause)
				time.AfterFunc(30*time.Second, ctl.Resume)
			}
			out := r.send(p, Options{Control: ctl, Continue: func(_ *Place, sure Mark, _ int) (devices.Program, error) {
				rest := p
				rest.Blocks = append(rest.Blocks[:1:1], p.Blocks[max(1, sure.Block+1):]...)
				return rest, nil
			}})
			if out.State != Done || r.dev.Lost() > 0 {
				t.Errorf("paused %v: %+v", pause, out)
			}
			if !pause && !bytes.Equal(r.dev.Received(), p.Bytes()) {
				t.Errorf("%d of %d bytes", len(r.dev.Received()), p.Len())
			}
		})
	}
}
