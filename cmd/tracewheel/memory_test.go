//go:build linux

package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
)

const pocket = `<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<g data-piece="Pocket" data-quantity="1"><path class="cut" d="M0 0H150V180H0Z"/><path class="sew" d="M10 10H140V170H10Z"/>
<line class="grain" x1="75" y1="20" x2="75" y2="160"/></g></svg>`

// TestMemoryOfTheDaemon runs the whole program as a process of its own, drops 1,000 drafts (100 with
// -short) into its folders at once, and holds it to its promises: under 40 MB idle, under 200 MB with a
// thousand files, every file one job. The ports do not exist, so that nothing is sent and all drafts are
// made. Run it with -v for the figures, which Linux counts (VmRSS and VmHWM in /proc/PID/status).
func TestMemoryOfTheDaemon(t *testing.T) {
	n := 1000
	if testing.Short() {
		n = 100
	}
	room, file := newRoom(t, "")
	d := startDaemon(t, file)
	d.until(t, "  ready", 1)
	time.Sleep(time.Second)
	idle := d.memory(t, "VmRSS:")

	for i := range n {
		device, draft := "roll-plotter", []byte(pocket)
		switch i % 20 { // a real workroom drops larger ones too, and proving a cut takes long
		case 0:
			draft = samples.Read("stagehand-apron.svg")
		case 10:
			device, draft = "knife-table", samples.Read("leaf-crown.svg")
		}
		if err := os.WriteFile(filepath.Join(room, "inbox", device, fmt.Sprintf("draft-%04d.svg", i)), draft, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	d.until(t, ": made", n)
	most := d.memory(t, "VmHWM:")
	t.Logf("idle %.1f MB; with %d drafts %.1f MB at the most", idle, n, most)
	if idle > 40 || most > 200 {
		t.Errorf("more than 40 MB idle or 200 MB with %d drafts", n)
	}

	var jobs []struct{ File, Device string }
	if err := json.Unmarshal(tracewheel(t, "jobs", "--limit", "0", "--format", "json", "--config", file), &jobs); err != nil {
		t.Fatal(err)
	}
	once := map[string]bool{}
	for _, j := range jobs {
		once[j.Device+"/"+j.File] = true
	}
	if len(jobs) != n || len(once) != n {
		t.Errorf("%d jobs of %d different files for %d files", len(jobs), len(once), n)
	}
	tracewheel(t, "verify", "--config", file)
}

// memory is one of the daemon's figures in MB.
func (d *runningDaemon) memory(t *testing.T, key string) float64 {
	t.Helper()
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", d.cmd.Process.Pid))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		var kb float64
		if n, _ := fmt.Sscanf(line, key+" %f kB", &kb); n == 1 {
			return kb / 1024
		}
	}
	t.Fatalf("no %s in %s", key, data)
	return 0
}
