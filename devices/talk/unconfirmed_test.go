package talk

import (
	"slices"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// TestPauseTellsThatItWaits: a cutter that does not answer when it is held is said to be waited for, so
// that nobody takes the wish for a machine that stands; nothing says that it is paused.
func TestPauseTellsThatItWaits(t *testing.T) {
	inTime(t, "memory", func(t *testing.T) {
		r := cutterOn(t, "memory", devices.FlowLineAck, pretend.CutterOptions{Rate: 500})
		defer r.close()
		ctl := NewControl()
		time.AfterFunc(3*time.Second, func() {
			r.dev.(*pretend.Cutter).Misbehave(pretend.Faults{Mute: true})
			ctl.Pause()
		})
		var said []string
		person := false
		out := r.send(cutProgram(60), Options{Control: ctl, Progress: func(p Progress) {
			said, person = append(said, p.Waiting), person || p.Person
		}})
		if out.State != Stopped || out.Tool != ToolUnknown || person {
			t.Errorf("%+v, waited for a person: %v", out, person)
		}
		if !slices.Contains(said, "the machine to confirm that it stands and the blade is lifted") {
			t.Errorf("said only %q", slices.Compact(said))
		}
	})
}
