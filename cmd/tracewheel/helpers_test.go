package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// newRoom makes a workroom whose ports do not exist, but for the roll plotter's where one is given.
func newRoom(t *testing.T, plotter string) (dir, file string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "room")
	tracewheel(t, "new", dir)
	file = filepath.Join(dir, "workroom.yaml")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if plotter != "" {
		text = bytes.Replace(text, []byte("/dev/ttyUSB0"), []byte(plotter), 1)
	}
	if err := os.WriteFile(file, bytes.ReplaceAll(text, []byte("/dev/tty"), []byte("/dev/no-such-tty")), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir, file
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
