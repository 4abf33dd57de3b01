//go:build linux

package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tracewheel/config/samples"
)

// TestMemoryOfTheDaemon runs the whole program as a process of its own, drops 1,000 drafts (100 with
// -short) into its folders at once, and holds it to its promises: under 40 MB idle, under 200 MB with a
// thousand files, every file one job. The ports do not exist, so that nothing is sent and all drafts are
// made. Run it with -v for the figures, which Linux counts (VmRSS and VmHWM in /proc/PID/status).
func TestMemoryOfTheDaemon(t *testing.T) {
	n := 1000
	if testing.Short() {
		n = 100
	}
	room := filepath.Join(t.TempDir(), "room")
	tracewheel(t, "new", room)
	file := filepath.Join(room, "workroom.yaml")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, bytes.ReplaceAll(text, []byte("/dev/tty"), []byte("/dev/no-such-tty")), 0o644); err != nil {
		t.Fatal(err)
	}
	d := startDaemon(t, file)
	d.until(t, "  ready", 1)
	time.Sleep(time.Second)
	idle := d.memory(t, "VmRSS:")

	pen, knife := samples.Read("stagehand-apron.svg"), samples.Read("leaf-crown.svg")
	for i := range n {
		device, draft := "roll-plotter", pen
		if i%10 == 0 { // proving a cut takes ten times as long
			device, draft = "knife-table", knife
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
	if err := json.Unmarshal(tracewheel(t, "jobs", "--format", "json", "--config", file), &jobs); err != nil {
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

// command is this test program called as tracewheel (TestMain).
func command(args ...string) *exec.Cmd {
	exe, err := os.Executable()
	if err != nil {
		panic(err)
	}
	return &exec.Cmd{Path: exe, Args: append([]string{"tracewheel"}, args...), Env: os.Environ()}
}

// tracewheel runs a verb that must succeed, and gives what it says.
func tracewheel(t *testing.T, args ...string) []byte {
	t.Helper()
	c := command(args...)
	var stderr bytes.Buffer
	c.Stderr = &stderr
	out, err := c.Output()
	if err != nil {
		t.Fatalf("tracewheel %s: %v\n%s%s", strings.Join(args, " "), err, out, stderr.String())
	}
	return out
}

// daemon is a running `tracewheel run`.
type daemon struct {
	cmd   *exec.Cmd
	lines chan string
	last  []string
}

func startDaemon(t *testing.T, file string, env ...string) *daemon {
	t.Helper()
	d := &daemon{cmd: command("run", "--config", file), lines: make(chan string, 100)}
	d.cmd.Env = append(d.cmd.Env, env...)
	read, write := io.Pipe()
	d.cmd.Stderr = write
	if err := d.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(d.lines)
		for s := bufio.NewScanner(read); s.Scan(); {
			d.lines <- s.Text()
		}
	}()
	t.Cleanup(func() {
		_ = d.cmd.Process.Signal(syscall.SIGTERM)
		limit, cancel := context.WithTimeout(context.Background(), 30*time.Second)
		defer cancel()
		context.AfterFunc(limit, func() { _ = d.cmd.Process.Kill() })
		go func() {
			for range d.lines { //nolint:revive // whatever it still says
			}
		}()
		_ = d.cmd.Wait()
		_ = write.Close()
	})
	return d
}

// until reads the console until so many of its lines hold the words.
func (d *daemon) until(t *testing.T, words string, n int) {
	t.Helper()
	limit := time.After(10 * time.Minute)
	for d.count(words) < n {
		select {
		case line, ok := <-d.lines:
			if !ok {
				t.Fatalf("the daemon ended: %q", d.last)
			}
			d.last = append(d.last, line)
		case <-limit:
			t.Fatalf("%d of %d lines with %q; the last are %q", d.count(words), n, words, d.last[max(0, len(d.last)-5):])
		}
	}
}

func (d *daemon) count(words string) int {
	n := 0
	for _, line := range d.last {
		if strings.Contains(line, words) {
			n++
		}
	}
	return n
}

// memory is one of the daemon's figures in MB.
func (d *daemon) memory(t *testing.T, key string) float64 {
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
