package config

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/devices/needs"
)

// TestServiceUnit: Debian 12 has systemd 252. Type=notify-reload came with 253 (systemd.service(5)), and
// an older one reads past what it does not know, so that no reload works.
func TestServiceUnit(t *testing.T) {
	data, err := os.ReadFile("tracewheel.service")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(data), "\n")
	want := map[string]bool{"Type=notify": false, "ExecReload=/bin/kill -HUP $MAINPID": false}
	for _, l := range lines {
		if _, ok := want[l]; ok {
			want[l] = true
		}
	}
	for l, ok := range want {
		if !ok {
			t.Errorf("the unit lacks %q", l)
		}
	}
	needs.Program(t, "systemd", "systemd-analyze")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "tracewheel.service")
	text := strings.Replace(string(data), "/usr/local/bin/tracewheel", self, 1)
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, _ := exec.Command("systemd-analyze", "verify", "--man=no", file).CombinedOutput(); len(out) > 0 {
		t.Errorf("systemd-analyze says of it:\n%s", out)
	}
}
