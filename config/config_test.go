package config

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

var someRules = []string{"outline-open", "grain-missing", "too-wide"}

func TestSampleLoads(t *testing.T) {
	w := Sample(someRules)
	if got := strings.Join(w.DeviceNames(), " "); got != "desk-plotter knife-table office-printer roll-plotter" {
		t.Errorf("devices are %s", got)
	}
	knife, m := w.On("knife-table", "")
	if knife.Blade.Offset != 0.5 || !m.Cloth || knife.Gantry.FeedCut != 3000 {
		t.Errorf("knife-table is %+v on %+v", knife, m)
	}
	if desk := w.Devices["desk-plotter"]; desk.Plot.MaxCoord != 32767 || desk.Plot.Unit != 0.025 {
		t.Errorf("defaults of the language were not filled in: %+v", desk.Plot)
	}
}

// TestSampleExplainsEveryKey holds the promise of the file's first lines.
func TestSampleExplainsEveryKey(t *testing.T) {
	text := string(SampleFile())
	var visit func(reflect.Type)
	visit = func(tp reflect.Type) {
		switch tp.Kind() {
		case reflect.Pointer, reflect.Map, reflect.Slice, reflect.Array:
			visit(tp.Elem())
		case reflect.Struct:
			for key, ft := range keysOf(tp) {
				if !strings.Contains(text, key+":") {
					t.Errorf("the sample does not explain %q of %s", key, tp)
				}
				visit(ft)
			}
		}
	}
	visit(reflect.TypeOf(Workroom{}))
}

// TestBadFiles reads each testdata/bad-*.yaml and compares the faults with the .txt beside it.
func TestBadFiles(t *testing.T) {
	files, err := filepath.Glob("testdata/bad-*.yaml")
	if err != nil || len(files) < 8 {
		t.Fatalf("bad files: %d, %v", len(files), err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		_, err = parseFile(data, filepath.Base(file), someRules)
		got := "accepted\n"
		if err != nil {
			got = err.Error() + "\n"
		}
		golden := strings.TrimSuffix(file, ".yaml") + ".txt"
		if os.Getenv("UPDATE") != "" {
			if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s:\ngot\n%s\nwant\n%s", file, got, want)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(SampleFile())
	f.Add([]byte("devices: {a: {kind: pen-plotter}}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		w, err := parseFile(data, "fuzz", someRules)
		if (w == nil) == (err == nil) {
			t.Fatalf("neither a workroom nor a fault, or both: %v", err)
		}
	})
}
