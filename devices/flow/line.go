package flow

import (
	"bytes"
	"time"
)

// LineAck sends lines and counts one answered for each answer. With window 0 one line is unanswered at a time;
// otherwise lines are sent while their bytes, line ends included, fit in the window. The count depends on the answers:
// a doubled one during a job lets one line too many be sent, which is detected at once with one line at a time, and
// perhaps never with a window. It is for machines and lines that have proved reliable.
type LineAck struct {
	window int
	out    []int // lengths of the unanswered lines, oldest first
	bytes  int   // their sum, with the partly sent line
	half   int   // bytes of the line that is being sent
	extra  int   // answers without a line: the count is wrong
}

func (f *LineAck) Next(_ time.Time, rest []byte, _ bool) Step {
	n := lineLen(rest)
	switch {
	case f.half > 0: // it was counted before its first byte was sent
	case len(f.out) == 0:
	case f.window == 0 || f.bytes+n > f.window:
		return Step{}
	}
	return Step{N: n}
}

// lineLen is the length of the first line of p with its end. CR and LF each end a line.
func lineLen(p []byte) int {
	if i := bytes.IndexAny(p, "\r\n"); i >= 0 {
		return i + 1
	}
	return len(p)
}

func (f *LineAck) Asked(time.Time) {}

func (f *LineAck) Sent(_ time.Time, p []byte) {
	f.half += len(p)
	f.bytes += len(p)
	if last := p[len(p)-1]; last == '\n' || last == '\r' {
		f.out = append(f.out, f.half)
		f.half = 0
	}
}

func (f *LineAck) Heard(_ time.Time, e Event) bool {
	if e.Kind != EventOk && e.Kind != EventError {
		return false
	}
	if len(f.out) == 0 {
		f.extra++
		return false
	}
	f.bytes -= f.out[0]
	f.out = f.out[1:]
	return true
}

func (f *LineAck) Untaken() (int, bool) { return f.bytes, true }

func (f *LineAck) Revive(time.Time, int) bool { return false }
