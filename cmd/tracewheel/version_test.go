package main

import (
	"bytes"
	"runtime/debug"
	"strings"
	"testing"
)

func TestVersion(t *testing.T) {
	got := versionOf(&debug.BuildInfo{GoVersion: "go1.99", Main: debug.Module{Version: "v1.2.3"}, Settings: []debug.BuildSetting{
		{Key: "vcs.revision", Value: "abc123"}, {Key: "vcs.time", Value: "2026-03-02T09:00:00Z"}, {Key: "vcs.modified", Value: "true"}}})
	if want := "v1.2.3, commit abc123 (changed since), of 2026-03-02T09:00:00Z, go1.99"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	var out, errOut bytes.Buffer
	if status := run([]string{"--version"}, strings.NewReader(""), &out, &errOut); status != 0 ||
		!strings.HasPrefix(out.String(), "tracewheel ") || !strings.Contains(out.String(), ", go1.") {
		t.Errorf("%d: %q %q", status, out.String(), errOut.String())
	}
}

// TestJobsOfOne says what to type instead.
func TestJobsOfOne(t *testing.T) {
	var out, errOut bytes.Buffer
	if status := run([]string{"jobs", "8"}, strings.NewReader(""), &out, &errOut); status != exitUsage || !strings.Contains(errOut.String(), "tracewheel show 8") {
		t.Errorf("%d: %q", status, errOut.String())
	}
}
