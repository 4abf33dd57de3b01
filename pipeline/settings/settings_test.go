package settings

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// TestSettings: each key that a file says is listed with its value and the line on which it stands, as counted in the text
// itself, usual values without a line, devices and materials in parts of their own; of hooks only that they are set.
func TestSettings(t *testing.T) {
	file := filepath.Join(t.TempDir(), "workroom.yaml")
	text := strings.Replace(string(config.SampleFile()), "units: mm", "units: cm", 1)
	text = strings.Replace(text, `done: {command: [], post: ""}`, `done: {command: [/opt/wardrobe/ring-the-bell], post: "https://wardrobe.example/told"}`, 1)
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	room, err := config.Load(file, pattern.RuleNames())
	if err != nil {
		t.Fatal(err)
	}
	parts, err := Of(room)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(text, "\n")
	said, found := 0, map[string]string{}
	titles := map[string]bool{}
	for _, p := range parts {
		titles[p.Title] = true
		for _, r := range p.Rows {
			found[r.Key] = r.Value
			if r.Line == 0 {
				continue
			}
			said++
			key := r.Key[strings.LastIndex(r.Key, ".")+1:]
			if !strings.Contains(lines[r.Line-1], key+":") && !strings.Contains(lines[max(r.Line-2, 0)], key+":") {
				t.Errorf("%s is said to stand on line %d, which is %q", r.Key, r.Line, lines[r.Line-1])
			}
		}
	}
	if said < 20 {
		t.Errorf("only %d keys are found in the file", said)
	}
	for key, want := range map[string]string{"units": "cm", "hooks.done.command": "set", "hooks.done.post": "set", "hooks.refused.post": "not set", "keep": "90d", "materials.calico.fold": `""`, "devices.roll-plotter.pen.by_role": "{}", "devices.knife-table.kind": "drag-knife"} {
		if found[key] != want {
			t.Errorf("%s: %q, not %q", key, found[key], want)
		}
	}
	if all := fmt.Sprint(parts); strings.Contains(all, "bell") || strings.Contains(all, "wardrobe.example") {
		t.Error("a hook's command or address is told")
	}
	for _, want := range []string{"Workroom", "Device knife-table", "Device roll-plotter", "Material calico"} {
		if !titles[want] {
			t.Errorf("no part %q in %v", want, titles)
		}
	}
}
