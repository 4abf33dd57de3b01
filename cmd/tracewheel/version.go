package main

import (
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// version is what the build says of itself: the module's version, commit, its date, and Go.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of an unknown build"
	}
	return versionOf(info)
}

func versionOf(info *debug.BuildInfo) string {
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	commit, date := set["vcs.revision"], set["vcs.time"]
	if commit == "" {
		commit, date = "unknown", "unknown"
	}
	if set["vcs.modified"] == "true" {
		commit += " (changed since)"
	}
	return strings.Join([]string{info.Main.Version, "commit " + commit, "of " + date, info.GoVersion}, ", ")
}

// notOneJob refuses a job's number behind `jobs`, and says what to type instead.
func notOneJob(c *cobra.Command, args []string) error {
	if len(args) == 1 {
		if id, err := jobID(args[0]); err == nil {
			return usage(fmt.Errorf("jobs lists them all; for one of them: tracewheel show %d", id))
		}
	}
	return cobra.NoArgs(c, args)
}
