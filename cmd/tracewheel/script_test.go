package main

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets scripts call the program by its name, in a process of its own.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"tracewheel": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
		"pretend":    pretendMain,
	})
}

// TestScripts runs each testdata/script/*.txt: commands, what they must say, and their files; and those of
// script/linux there, whose machines are on pseudo-terminals. DRAFTS is the folder of drafts with known measures.
func TestScripts(t *testing.T) {
	drafts, err := filepath.Abs("../../testdata/drafts")
	if err != nil {
		t.Fatal(err)
	}
	dirs := []string{"testdata/script"}
	if runtime.GOOS == "linux" {
		dirs = append(dirs, "testdata/script/linux")
	}
	for _, dir := range dirs {
		testscript.Run(t, testscript.Params{
			Dir: dir,
			Setup: func(e *testscript.Env) error {
				e.Setenv("DRAFTS", drafts)
				e.Setenv("HOME", e.WorkDir)
				e.Setenv("XDG_CONFIG_HOME", filepath.Join(e.WorkDir, ".config"))
				return nil
			},
			Cmds:          map[string]func(*testscript.TestScript, bool, []string){"until": until, "room": room},
			UpdateScripts: os.Getenv("UPDATE") != "",
		})

	}
}
