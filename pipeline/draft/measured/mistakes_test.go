package measured

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden messages anew")

// Each mistake is one slip of the hand in a long draft, as a new user makes it; its message alone
// must lead there.
func TestMistakes(t *testing.T) {
	files, _ := filepath.Glob("testdata/mistake-*.yaml")
	if len(files) < 30 {
		t.Fatalf("only %d mistakes", len(files))
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		got := said(t, string(data), "") + "\n"
		golden := strings.TrimSuffix(file, ".yaml") + ".txt"
		if *update {
			_ = os.WriteFile(golden, []byte(got), 0o644)
		}
		want, _ := os.ReadFile(golden)
		if got != string(want) || len(want) < 10 {
			t.Errorf("%s says\n%s want\n%s", file, got, want)
		}
	}
}
