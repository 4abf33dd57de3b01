package flow

import "time"

// paced sends so many bytes a second and ignores answers: a last resort for a device that is known to keep up.
type paced struct {
	Free
	rate   float64
	burst  int
	tokens float64
	last   time.Time
}

func (f *paced) Next(now time.Time, rest []byte, _ bool) Step {
	if f.last.IsZero() {
		f.last, f.tokens = now, float64(f.burst)
	}
	f.tokens = min(float64(f.burst), f.tokens+f.rate*now.Sub(f.last).Seconds())
	f.last = now
	want := min(len(rest), max(1, f.burst/2))
	if f.tokens >= float64(want) {
		return Step{N: min(len(rest), int(f.tokens))}
	}
	return Step{Again: now.Add(Seconds((float64(want) - f.tokens) / f.rate))}
}

func (f *paced) Sent(_ time.Time, p []byte) { f.tokens -= float64(len(p)) }

// Seconds is s seconds, rounded up by a nanosecond so that a wait is never too short.
func Seconds(s float64) time.Duration { return time.Duration(s*float64(time.Second)) + 1 }
