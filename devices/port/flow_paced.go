package port

import "time"

// paced sends so many bytes a second and listens to nobody: a last resort for a device that is
// known to keep up.
type paced struct {
	free
	rate   float64
	burst  int
	tokens float64
	last   time.Time
}

func (f *paced) next(now time.Time, rest []byte, _ bool) step {
	if f.last.IsZero() {
		f.last, f.tokens = now, float64(f.burst)
	}
	f.tokens = min(float64(f.burst), f.tokens+f.rate*now.Sub(f.last).Seconds())
	f.last = now
	want := min(len(rest), max(1, f.burst/2))
	if f.tokens >= float64(want) {
		return step{n: min(len(rest), int(f.tokens))}
	}
	return step{again: now.Add(seconds((float64(want) - f.tokens) / f.rate))}
}

func (f *paced) sent(_ time.Time, p []byte) { f.tokens -= float64(len(p)) }

func seconds(s float64) time.Duration { return time.Duration(s*float64(time.Second)) + 1 }
