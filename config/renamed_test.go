package config

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestOldKeysAreRead takes keys of the sample for new names and reads a file that holds older ones.
func TestOldKeysAreRead(t *testing.T) {
	defer func(was []rename) { renamed = was }(renamed)
	renamed = []rename{{"keep_for", "keep", nil}, {"devices.*.port.speed", "baud", nil}}
	const file = `keep_for: 10d
materials: {paper: {width: 900}}
devices:
  desk: {kind: pen-plotter, language: hpgl, material: paper, port: {path: /dev/ttyUSB0, speed: 19200, flow: xon-xoff}}
`
	w, err := parseFile([]byte(file), "w", someRules)
	if err != nil {
		t.Fatal(err)
	}
	if time.Duration(w.Keep) != 240*time.Hour || w.Devices["desk"].Port.Baud != 19200 {
		t.Errorf("keep is %d, baud %d", w.Keep, w.Devices["desk"].Port.Baud)
	}
	want := "w:1:1: keep_for is called keep now; it is read all the same\nw:4:89: speed is called baud now; it is read all the same"
	if got := strings.Join(w.Notes, "\n"); got != want {
		t.Errorf("told\n%s\nwant\n%s", got, want)
	}
	_, err = parseFile([]byte("keep: 5d\n"+file), "w", someRules)
	if err == nil || !strings.Contains(err.Error(), "w:2:1: keep_for: is the old name of keep, which is given too; take one out") {
		t.Error(err)
	}
}

// TestRootOfTheDisk holds for a relative path too, which only the file's place decides.
func TestRootOfTheDisk(t *testing.T) {
	file := filepath.Join(t.TempDir(), "workroom.yaml")
	text := "folders: {inbox: " + strings.Repeat("../", 40) + "}\n" + string(SampleFile())
	text = strings.Replace(text, "\nfolders:", "\nfolders2:", 1)
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Load(file, someRules); err == nil || !strings.Contains(err.Error(), ":1:18: folders.inbox: is the root of the disk") {
		t.Error(err)
	}
}

// TestEveryNewNameIsAKey: a rename that leads nowhere would blame the person.
func TestEveryNewNameIsAKey(t *testing.T) {
	for _, r := range renamed {
		if !strings.Contains(string(SampleFile()), r.to+":") {
			t.Errorf("%s is renamed to %s, which the sample does not hold", r.path, r.to)
		}
	}
}
