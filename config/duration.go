package config

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	yaml "go.yaml.in/yaml/v4"
)

// Duration is a time span as people write it: 750ms, 0.75s, 10m, 12h, 90d.
type Duration time.Duration

// UnmarshalYAML reads one, never negative.
func (d *Duration) UnmarshalYAML(n *yaml.Node) (err error) {
	*d, err = ParseDuration(n.Value)
	return err
}

// MarshalYAML writes one as it is read.
func (d Duration) MarshalYAML() (any, error) {
	const day = 24 * time.Hour
	if d > 0 && d.D()%day == 0 {
		return fmt.Sprintf("%dd", d.D()/day), nil
	}
	text := d.D().String()
	for _, nought := range []string{"m0s", "h0m"} {
		if strings.HasSuffix(text, nought) {
			text = strings.TrimSuffix(text, nought[1:])
		}
	}
	return text, nil
}

// ParseDuration reads a time span as people write it, never negative; days are of 24 hours.
func ParseDuration(text string) (Duration, error) {
	text = strings.TrimSpace(text)
	if days, ok := strings.CutSuffix(text, "d"); ok {
		f, err := strconv.ParseFloat(days, 64)
		if err == nil && f >= 0 && f < 36500 {
			return Duration(f * 24 * float64(time.Hour)), nil
		}
	}
	v, err := time.ParseDuration(text)
	if err != nil || v < 0 {
		return 0, fmt.Errorf("wants a time such as 750ms, 30s, 10m, 12h or 90d, not %q", text)
	}
	return Duration(v), nil
}

// D is the standard library's form.
func (d Duration) D() time.Duration { return time.Duration(d) }
