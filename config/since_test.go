package config

import (
	"testing"
	"time"
)

func TestSince(t *testing.T) {
	now := time.Date(2026, 3, 8, 12, 0, 0, 0, time.FixedZone("", 2*3600))
	for text, want := range map[string]string{
		"2026-03-01": "2026-03-01T00:00:00+02:00", "7d": "2026-03-01T12:00:00+02:00", "90m": "2026-03-08T10:30:00+02:00",
		"2026-03-01T10:00:00Z": "2026-03-01T10:00:00Z",
	} {
		if got, err := Since(text, now); err != nil || got.Format(time.RFC3339) != want {
			t.Errorf("%s is %s, %v", text, got, err)
		}
	}
	for _, text := range []string{"spring", "-7d", "1.3.2026", "2026-13-01"} {
		if _, err := Since(text, now); err == nil {
			t.Errorf("%q passes", text)
		}
	}
}
