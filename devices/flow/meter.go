package flow

import "time"

// Meter limits the bytes on their way to the margin that a device can still take after it says stop. Where the system
// counts them, its count is used; elsewhere bytes are written no faster than the line's rate.
type Meter struct {
	Margin int
	Rate   float64 // bytes a second of the line, 0 if unknown
	tokens float64
	last   time.Time
}

// Allow gives how many of want bytes may be written now, or when to ask again.
func (m *Meter) Allow(now time.Time, want, queued int, known bool) (int, time.Time) {
	want = min(want, m.Margin)
	if !known {
		return m.pace(now, want)
	}
	room := m.Margin - queued
	if need := min(want, max(1, m.Margin/2)); room < need {
		wait := time.Millisecond
		if m.Rate > 0 {
			wait = max(wait, Seconds(float64(need-room)/m.Rate))
		}
		return 0, now.Add(wait)
	}
	return min(want, room), time.Time{}
}

func (m *Meter) pace(now time.Time, want int) (int, time.Time) {
	if m.Rate <= 0 {
		return want, time.Time{}
	}
	if m.last.IsZero() {
		m.last, m.tokens = now, float64(m.Margin)
	}
	m.tokens = min(float64(m.Margin), m.tokens+m.Rate*now.Sub(m.last).Seconds())
	m.last = now
	if need := min(want, max(1, m.Margin/2)); m.tokens < float64(need) {
		return 0, now.Add(Seconds((float64(need) - m.tokens) / m.Rate))
	}
	return min(want, int(m.tokens)), time.Time{}
}

// Wrote records that n bytes were written.
func (m *Meter) Wrote(n int) { m.tokens -= float64(n) }
