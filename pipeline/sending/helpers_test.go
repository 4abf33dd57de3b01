package sending

import (
	"os"
	"path/filepath"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

func draftBytes(t *testing.T, file string) []byte {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// work is a draft with that by which its program was made; of sheets there is nothing.
type work struct {
	*making.Work
	making.Made
}

func workOf(w *making.Work) work {
	made, _ := w.Made()
	return work{w, made}
}

// makeFor makes a draft's program for a device of a workroom.
func makeFor(t *testing.T, room *config.Workroom, file, device string) work {
	t.Helper()
	room.Checks = map[string]string{pattern.RuleOtherCloth: "off"} // the pieces of all cloths in one program
	w, err := making.New(room).Make(t.Context(), making.Request{Source: draftBytes(t, file), Name: filepath.Base(file), Device: device})
	if err != nil {
		t.Fatal(err)
	}
	if w.Refused || w.Hold != "" {
		t.Fatalf("%s for %s is not made: %s%s", file, device, w.Reason, w.Hold)
	}
	return workOf(w)
}
