package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// usesNone are the verbs that read no workroom file: they write one, or a folder that they are given.
var usesNone = map[string]bool{"new": true, "restore": true, "demo": true, "help": true,
	"desk": true} // names it too, and stays until it is ended

// namedArgs are what each verb needs so that it comes as far as the workroom. No daemon runs: what asks one
// is refused, after the workroom was named.
var namedArgs = map[string]string{
	"page":  "",
	"run":   "", // refused: the store is a file
	"check": "apron.svg", "convert": "apron.svg --device roll-plotter --out apron.plt", "picture": "apron.svg --out apron.svg.png",
	"figures": "smock.yaml", "export": "apron.svg --out apron.dxf", "lay": "apron.svg --width 900", "sheets": "apron.svg --out apron.pdf", "labels": "apron.svg --out labels.pdf",
	"jobs": "", "show": "1", "wait": "1 --timeout 1s", "verify": "", "backup": "copy.tar", "forget": "chorus-4", "devices": "",
	"hold": "1", "next": "1", "release": "1", "better": "1", "cancel": "1", "pause": "1", "resume": "1", "dry": "1", "bounds": "1", "again": "1",
	"whole": "1", "spoilt": "1", "stock": "", "stock add": "calico 3m", "stock correct": "calico 3m",
	"square plot": "no-device", "square record": "no-device", "square show": "no-device", "square withdraw": "no-device",
}

// TestWorkroomIsNamed walks all verbs: each that uses a workroom says which as its first line, on standard
// error where programs read the output or where it is a log.
func TestWorkroomIsNamed(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	t.Setenv("HOME", dir)
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(dir, ".config"))
	var out, errOut bytes.Buffer
	if status := run([]string{"new", "room"}, strings.NewReader(""), &out, &errOut); status != 0 {
		t.Fatal(errOut.String())
	}
	for from, to := range map[string]string{"ferry-smock.yaml": "smock.yaml", "stagehand-apron.svg": "apron.svg"} {
		data, err := os.ReadFile(filepath.Join("room", "drafts", from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join("room", to), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.RemoveAll(filepath.Join("room", "store")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join("room", "store"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	t.Chdir(filepath.Join(dir, "room"))
	here, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	want := "workroom: " + filepath.Join(here, "workroom.yaml") + "\n"
	seen := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		verb := strings.TrimPrefix(c.CommandPath(), "tracewheel ")
		if usesNone[verb] || strings.HasPrefix(verb, "completion") {
			return
		}
		if c.HasSubCommands() {
			for _, sub := range c.Commands() {
				walk(sub)
			}
		}
		if !c.Runnable() {
			return
		}
		args, ok := namedArgs[verb]
		if !ok {
			t.Errorf("%s: a new verb; tell here how it is called, or that it uses no workroom", verb)
			return
		}
		seen++
		call := strings.Fields(verb + " " + args)
		try := func(beside bool, more ...string) {
			var out, errOut bytes.Buffer
			run(append(append([]string{}, call...), more...), strings.NewReader(""), &out, &errOut)
			first, other := out.String(), errOut.String()
			if beside {
				first, other = other, first
			}
			if !strings.HasPrefix(first, want) || strings.Contains(other, "workroom: ") {
				t.Errorf("%s %v\nstandard output: %.200s\nstandard error: %.200s", verb, more, out.String(), errOut.String())
			}
		}
		try(verb == "run" || verb == "convert" || verb == "picture" || verb == "export" || verb == "sheets" || verb == "labels") // a log; what is written to a file
		if c.Flags().Lookup("format") != nil {
			try(true, "--format", "json")
		}
	}
	walk((&app{}).root())
	if seen != len(namedArgs) {
		t.Errorf("%d verbs of %d were tried", seen, len(namedArgs))
	}
}
