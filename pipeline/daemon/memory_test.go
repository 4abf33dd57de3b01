package daemon_test

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

// TestThousandFilesAtOnce drops 1,000 files together: all arrive, none twice, each in its own job.
func TestThousandFilesAtOnce(t *testing.T) {
	n := 1000
	if testing.Short() {
		n = 100
	}
	h := daemontest.New(t)
	h.Patience = 5 * time.Minute
	h.Start()
	h.Until("idle", func() bool { return h.Logs.FilterMessage("ready").Len() == 1 })
	idle := resident()
	began := time.Now()
	for i := range n {
		h.Drop("roll-plotter", fmt.Sprintf("piece-%04d.svg", i), fmt.Sprintf("PD%d,%d", i, i))
	}
	dropped := time.Since(began)
	h.Until("all are done", func() bool {
		time.Sleep(50 * time.Millisecond)
		return len(h.Device.Sendings("roll-plotter")) >= n
	})
	t.Logf("%d files dropped in %s, all done after %s; resident %d MB idle, %d MB at the most (of this test process)",
		n, dropped.Round(time.Millisecond), time.Since(began).Round(time.Millisecond), idle>>20, peak()>>20)
	sent := map[string]bool{}
	for _, s := range h.Device.Sendings("roll-plotter") {
		sent[s[strings.LastIndex(s, ":"):]] = true
	}
	if len(sent) != n || len(h.Device.Sendings("roll-plotter")) != n {
		t.Errorf("%d sendings, %d different ones", len(h.Device.Sendings("roll-plotter")), len(sent))
	}
	jobs, err := h.Daemon.Jobs().Jobs(t.Context(), ledger.Filter{})
	if err != nil || len(jobs) != n {
		t.Errorf("%d jobs, %v", len(jobs), err)
	}
}

// resident and peak are the process's memory in bytes as Linux counts it, 0 elsewhere.
func resident() int64 { return status("VmRSS:") }
func peak() int64     { return status("VmHWM:") }

func status(key string) int64 {
	runtime.GC()
	data, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(data)) {
		var kb int64
		if n, _ := fmt.Sscanf(line, key+" %d kB", &kb); n == 1 {
			return kb << 10
		}
	}
	return 0
}
