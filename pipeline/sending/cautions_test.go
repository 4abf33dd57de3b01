package sending

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/devices"
	"tracewheel/pipeline/job"
)

// TestFirstOfDay: the cautions are in the log once a day for each gantry in words that fit its tool, never for a pen plotter.
func TestFirstOfDay(t *testing.T) {
	core, seen := observer.New(zap.InfoLevel)
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	c := &cautious{send: func(context.Context, job.Run) job.Outcome { return job.Outcome{} }, log: zap.New(core),
		now: func() time.Time { return now }, shown: map[string]string{}, kind: func(d string) devices.Kind {
			return map[string]devices.Kind{"pen": devices.PenPlotter, "table": devices.PenGantry, "knife": devices.DragKnife, "other": devices.TangentialKnife}[d]
		}}
	for _, d := range []string{"knife", "knife", "pen", "other"} {
		c.Send(t.Context(), job.Run{Device: d})
	}
	now = now.Add(24 * time.Hour)
	c.Send(t.Context(), job.Run{Device: "knife"})
	if n := seen.Len(); n != 3 {
		t.Errorf("told %d times", n)
	}
	seen.TakeAll()
	for range 2 {
		c.Send(t.Context(), job.Run{Device: "table"})
	}
	told := seen.TakeAll()
	if len(told) != 1 {
		t.Fatalf("a pen's gantry: told %d times", len(told))
	}
	if all := fmt.Sprint(told[0].ContextMap()["cautions"]); !strings.Contains(all, "gantry moves with force") || !strings.Contains(all, "manual") || strings.Contains(all, "blade") {
		t.Errorf("a pen's gantry: %s", all)
	}
}
