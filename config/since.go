package config

import (
	"fmt"
	"time"
)

// Day tells whether a text is a day, such as 2026-03-14; "" is no fault.
func Day(text string) error {
	if _, err := time.Parse(time.DateOnly, text); text != "" && err != nil {
		return fmt.Errorf("%q is no day; write it as 2026-03-14", text)
	}
	return nil
}

// Since reads a day of this place's calendar, a time of RFC 3339, or how long ago; zero for "".
func Since(text string, now time.Time) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if t, err := time.ParseInLocation(time.DateOnly, text, now.Location()); err == nil {
		return t, nil
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	d, err := ParseDuration(text)
	if err != nil || d < 0 {
		return time.Time{}, fmt.Errorf("--since is a day such as 2026-03-01, or how long ago, such as 7d or 12h, not %q", text)
	}
	return now.Add(-d.D()), nil
}
