package port

import "time"

// meter bounds what is on its way: never more than the margin that a device can still take when it
// says stop. Where the system tells what it holds, that is measured; elsewhere no byte is handed
// over faster than the line's own rate could carry it away.
type meter struct {
	margin int
	rate   float64 // bytes a second of the line, 0 unknown
	tokens float64
	last   time.Time
}

// allow tells how many of want bytes may be written now, or when to look again.
func (m *meter) allow(now time.Time, want, queued int, known bool) (int, time.Time) {
	want = min(want, m.margin)
	if !known {
		return m.pace(now, want)
	}
	room := m.margin - queued
	if need := min(want, max(1, m.margin/2)); room < need {
		wait := time.Millisecond
		if m.rate > 0 {
			wait = max(wait, seconds(float64(need-room)/m.rate))
		}
		return 0, now.Add(wait)
	}
	return min(want, room), time.Time{}
}

func (m *meter) pace(now time.Time, want int) (int, time.Time) {
	if m.rate <= 0 {
		return want, time.Time{}
	}
	if m.last.IsZero() {
		m.last, m.tokens = now, float64(m.margin)
	}
	m.tokens = min(float64(m.margin), m.tokens+m.rate*now.Sub(m.last).Seconds())
	m.last = now
	if need := min(want, max(1, m.margin/2)); m.tokens < float64(need) {
		return 0, now.Add(seconds((float64(need) - m.tokens) / m.rate))
	}
	return min(want, int(m.tokens)), time.Time{}
}

func (m *meter) wrote(n int) { m.tokens -= float64(n) }
