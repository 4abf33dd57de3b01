package talk

import (
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// processorTime is what this process has used so far.
func processorTime(b *testing.B) time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
