//go:build linux

package main

import (
	"bufio"
	"bytes"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/devices/pretend"
	"tracewheel/devices/pretend/pretendtest"
)

// TestServiceManager plays the service manager of sd_notify(3): it is told when the daemon is ready,
// that it lives, that it reloads (with the moment, as Type=notify-reload wants) and that it stops.
func TestServiceManager(t *testing.T) {
	_, file := newRoom(t, "")
	socket := filepath.Join(t.TempDir(), "notify")
	told, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: socket, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	defer told.Close() //nolint:errcheck // only read
	next := func(want string) {
		t.Helper()
		buf := make([]byte, 500)
		for range 100 {
			if err := told.SetReadDeadline(time.Now().Add(time.Minute)); err != nil {
				t.Fatal(err)
			}
			n, err := told.Read(buf)
			if err != nil {
				t.Fatalf("waiting for %s: %v", want, err)
			}
			if strings.HasPrefix(string(buf[:n]), want) {
				return
			}
			if string(buf[:n]) != "WATCHDOG=1" {
				t.Errorf("told %q while waiting for %s", buf[:n], want)
			}
		}
		t.Fatalf("never told %s", want)
	}
	d := startDaemon(t, file, "NOTIFY_SOCKET="+socket, "WATCHDOG_USEC=400000")
	next("READY=1")
	next("WATCHDOG=1")
	next("WATCHDOG=1")
	if err := d.cmd.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	next("RELOADING=1\nMONOTONIC_USEC=")
	next("READY=1")
	if err := os.WriteFile(file, []byte("devices: nothing"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := d.cmd.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	d.until(t, "the old one stays in force", 1)
	if err := d.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	next("STOPPING=1")
	if status := d.wait(t); status != 0 {
		t.Errorf("exit status %d, %q", status, d.last)
	}
}

// TestSecondSignalLeaves: a plotter that takes nothing any more lets the first signal wait for it; the
// second ends the program, and the next start says what is not known.
func TestSecondSignalLeaves(t *testing.T) {
	link := pretendtest.Pty(t)
	plotter := pretend.NewPlotter(link, pretend.PlotterOptions{Flow: devices.FlowXonXoff, Faults: pretend.Faults{StallAfter: 1500}})
	defer plotter.Close()
	room, file := newRoom(t, plotter.Path())
	d := startDaemon(t, file)
	d.until(t, "  ready", 1)
	if err := os.WriteFile(filepath.Join(room, "inbox", "roll-plotter", "apron.svg"), samples.Read("stagehand-apron.svg"), 0o644); err != nil {
		t.Fatal(err)
	}
	d.until(t, ": sending", 1)
	for plotter.Executed() < 1000 {
		time.Sleep(20 * time.Millisecond)
	}
	for _, line := range []string{"stopping: ", "left at once"} {
		if err := d.cmd.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		d.until(t, line, 1)
	}
	if status := d.wait(t); status != exitRefused {
		t.Errorf("exit status %d, %q", status, d.last)
	}
	if out := tracewheel(t, "jobs", "--config", file); !bytes.Contains(out, []byte("running")) {
		t.Errorf("%s", out)
	}
	after := startDaemon(t, file)
	after.until(t, "  ready", 1)
	if !slices.ContainsFunc(after.last, func(l string) bool { return strings.Contains(l, "cut short") && strings.Contains(l, "unknown") }) {
		t.Errorf("%q", after.last)
	}
	tracewheel(t, "verify", "--config", file)
}

// runningDaemon is a running `tracewheel run`.
type runningDaemon struct {
	cmd   *exec.Cmd
	lines chan string
	ended chan struct{}
	last  []string
}

func startDaemon(t *testing.T, file string, env ...string) *runningDaemon {
	t.Helper()
	d := &runningDaemon{cmd: command("run", "--config", file), lines: make(chan string, 100)}
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
	d.ended = make(chan struct{})
	go func() {
		_ = d.cmd.Wait() // its status is in ProcessState
		_ = write.Close()
		close(d.ended)
	}()
	t.Cleanup(func() {
		_ = d.cmd.Process.Signal(syscall.SIGTERM) // it may have ended
		d.wait(t)
	})
	return d
}

// wait reads the console to its end and gives the exit status.
func (d *runningDaemon) wait(t *testing.T) int {
	t.Helper()
	limit := time.After(time.Minute)
	for lines := d.lines; ; {
		select {
		case line, ok := <-lines:
			if !ok {
				lines = nil
				continue
			}
			d.last = append(d.last, line)
		case <-d.ended:
			return d.cmd.ProcessState.ExitCode()
		case <-limit:
			_ = d.cmd.Process.Kill()
			t.Fatalf("the daemon did not end: %q", d.last)
		}
	}
}

// until reads the console until so many of its lines hold the words.
func (d *runningDaemon) until(t *testing.T, words string, n int) {
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

func (d *runningDaemon) count(words string) int {
	n := 0
	for _, line := range d.last {
		if strings.Contains(line, words) {
			n++
		}
	}
	return n
}
