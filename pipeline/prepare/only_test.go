package prepare

import (
	"testing"

	"tracewheel/pipeline/pattern"
)

// TestOnly: pieces by their numbers, and none that is not there.
func TestOnly(t *testing.T) {
	all := []pattern.Ready{{Name: "front"}, {Name: "back"}, {Name: "tie"}}
	if got, err := Only(all, ""); err != nil || len(got) != 3 {
		t.Errorf("all: %v, %v", got, err)
	}
	if got, err := Only(all, "1,3"); err != nil || len(got) != 2 || got[0].Name != "front" || got[1].Name != "tie" {
		t.Errorf("1,3: %v, %v", got, err)
	}
	for _, bad := range []string{"0", "4", "front", "1,,2"} {
		if got, err := Only(all, bad); err == nil {
			t.Errorf("%q: %v", bad, got)
		}
	}
}
