package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// A draft with 30,000 notches printed 60,000 lines. Of one rule and piece 20 are listed and the others
// counted, and an error is not lost behind warnings.
func TestFew(t *testing.T) {
	var found []pattern.Finding
	for i := range 500 {
		f := pattern.NewFinding(pattern.RuleNotchNearCorner, fmt.Sprint(i), "")
		f.Index, f.Severity = i%2, pattern.Warning
		found = append(found, f)
	}
	found[499].Severity = pattern.Error
	got := few(slices.Clone(found))
	if len(got) != 2*21+1 || pattern.Worst(got) != pattern.Error {
		t.Fatalf("%d findings, the worst is %s", len(got), pattern.Worst(got))
	}
	for i, f := range got {
		if strings.HasPrefix(f.Message, "229 more") != (i == len(got)-2) && f.Index == 1 && f.Severity == pattern.Warning {
			t.Errorf("%d: %s", i, f.Message)
		}
	}
	if all := few(slices.Clone(found[:40])); len(all) != 40 {
		t.Errorf("%d of 40 are listed", len(all))
	}
}
