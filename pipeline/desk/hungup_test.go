package desk

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

// TestHungUpIsNotWorkedOut: the work for a browser that closed its connection is given up, so that its place is free
// again.
func TestHungUpIsNotWorkedOut(t *testing.T) {
	v := visit(t)
	var points strings.Builder
	for i := range 300 {
		fmt.Fprintf(&points, "  P%d: from %s out 1\n", i, before(i))
	}
	text := "style: Bag\nunit: cm\ndraft bag:\n  A: start\n" + points.String() + "  B: from A out 30\n  C: from B down 40\n  D: from A down 40\n" +
		"  top: line A to B\n  side: line B to C\n  bottom: line C to D\n  back: line D to A\n  outline: top, side, bottom, back\npieces:\n  bag: bag; cut 2\nallow:\n  all: 1\n"
	ctx, hangUp := context.WithCancel(t.Context())
	hangUp()
	if w := v.desk.work(ctx, wish{Name: "bag", Text: text}); w.Pattern != nil || w.figures != nil {
		t.Error("a draft for which nobody waits is worked out")
	}
	if w := v.desk.work(t.Context(), wish{Name: "bag", Text: text}); w.Pattern == nil || w.figures == nil {
		t.Errorf("the draft is none: %v", w.Findings)
	}
}

func before(i int) string {
	if i == 0 {
		return "A"
	}
	return fmt.Sprintf("P%d", i-1)
}
