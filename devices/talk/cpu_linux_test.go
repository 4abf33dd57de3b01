package talk

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"tracewheel/devices"
	"tracewheel/devices/pretend"
)

// processorTime is what this process has used so far.
func processorTime(b *testing.B) time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkFourDevices prints which share of one core four devices at once take at 115,200 baud,
// pretend devices included.
func BenchmarkFourDevices(b *testing.B) {
	for range b.N {
		done := make(chan error, 4)
		begun, cpu := time.Now(), processorTime(b)
		for i := range 4 {
			go func() {
				done <- func() error {
					r, p := plotterOn(b, "pty", devices.FlowXonXoff, pretend.PlotterOptions{}), longProgram(40000)
					if i >= 2 {
						r, p = cutterOn(b, "pty", devices.FlowLineAck, pretend.CutterOptions{Rate: 11520}), cutProgram(300)
					}
					defer r.close()
					out := r.send(p, Options{})
					if out.State == Done && !bytes.Equal(program(r.dev.Received()), p.Bytes()) {
						out.Err = errors.New("bytes differ")
					}
					return out.Err
				}()
			}()
		}
		for range 4 {
			if err := <-done; err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(100*(processorTime(b)-cpu).Seconds()/time.Since(begun).Seconds(), "%core")
	}
}
