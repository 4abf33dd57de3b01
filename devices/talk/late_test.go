package talk

import (
	"fmt"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// lateLine is a line on which each answer is long on its way, as through a slow adapter.
type lateLine struct {
	devices.Line
	delay time.Duration
}

func (l lateLine) Read(p []byte, limit time.Duration) (int, error) {
	n, err := l.Line.Read(p, limit)
	if n > 0 {
		time.Sleep(l.delay)
	}
	return n, err
}

// TestLateAnswerIsNoStatus: the answer to a question about free room that comes after a cancel is not read as the pen's
// status: an odd one would read as down, an even one as up.
func TestLateAnswerIsNoStatus(t *testing.T) {
	for _, buffer := range []int{511, 512} {
		for ms := 900; ms < 1500; ms += 50 {
			t.Run(fmt.Sprintf("%d bytes, canceled after %d ms", buffer, ms), func(t *testing.T) {
				inTime(t, "memory", func(t *testing.T) {
					r := plotterOn(t, "memory", devices.FlowQuery, pretend.PlotterOptions{Rate: 100, Buffer: buffer})
					defer r.close()
					r.line = lateLine{r.line, 150 * time.Millisecond}
					ctl := NewControl()
					defer time.AfterFunc(time.Duration(ms)*time.Millisecond, ctl.Cancel).Stop()
					out := r.send(plotProgram(60), Options{Control: ctl})
					if out.State != Canceled || out.Written == 0 {
						t.Fatalf("%+v", out)
					}
					if out.Tool != ToolUp || !toolUp(r.dev) {
						t.Errorf("it says the tool is %s; up is %v", out.Tool, toolUp(r.dev))
					}
				})
			})
		}
	}
}
