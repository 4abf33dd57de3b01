package geom

import (
	"fmt"
	"testing"
)

func TestRounded(t *testing.T) {
	for want, v := range map[string]float64{"9": 9.04, "9.1": 9.05, "0": -0.04, "-1.5": -1.46, "100": 99.96} {
		if got := fmt.Sprint(Rounded(v, 1)); got != want {
			t.Errorf("%v is written %q, want %q", v, got, want)
		}
	}
}
