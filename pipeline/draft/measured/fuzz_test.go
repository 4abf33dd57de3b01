package measured

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// long is far more than reading may take; it is watched while fuzzing only.
const long = 5 * time.Second

// reads holds what is true of any bytes: a pattern or an *Error, never both, and every fault on a line.
func reads(t *testing.T, draft, card []byte) {
	began := time.Now()
	opt := Options{Card: func(string) ([]byte, error) { return card, nil }}
	if card != nil {
		opt.Body = "card"
	}
	p, err := Read(draft, "fuzz.yaml", opt)
	if d := time.Since(began); d > long && testing.Short() {
		t.Errorf("it took %v", d)
	}
	if (p == nil) == (err == nil) {
		t.Fatalf("neither a pattern nor faults, or both: %v", err)
	}
	if err == nil {
		return
	}
	var told *Error
	if !errors.As(err, &told) || len(told.List) == 0 {
		t.Fatalf("%T without faults: %v", err, err)
	}
	for _, f := range told.List {
		if f.Line < 1 || f.Column < 1 || f.Text == "" {
			t.Errorf("a fault without a place or words: %+v", f)
		}
	}
}

// FuzzRead: whatever the bytes of a draft, it ends with a pattern or with faults that have their lines.
// Run it with -short to be told of what takes long.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/mistake-*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatalf("%d drafts: %v", len(files), err)
	}
	for i, name := range files {
		if i%5 > 0 {
			continue // a few of many alike
		}
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("style: S\nunit: cm\nbody: {waist: 72}\nnumbers:\n  n: between 8 and 20 so that n * n is waist\npieces:\n  a: half circle 60 long, to fit waist; cut 1 on the fold\n  b: strip 3 wide, n long; cut 2, alike\nallow:\n  all: 1.5\n"))
	f.Fuzz(func(t *testing.T, data []byte) { reads(t, data, nil) })
}

// FuzzCard: the same of a measure card.
func FuzzCard(f *testing.F) {
	const draft = "style: S\nunit: cm\nmeasures: [waist, hip]\nbody: card\npieces:\n  a: rectangle 1/4 of waist by hip; cut 2\nallow:\n  all: 1\n"
	for _, s := range []string{"unit: cm\nwaist: 72\nhip: 96\n", "waist: 28 1/4 in\nhip: 37", "measures: {waist: 72, hip: 96}\ntaken: 2026-03-01", "- waist: 72", "waist: [1, 2]\nwaist: 3"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 0 {
			reads(t, []byte(draft), data)
		}
	})
}

// A drawing that bears a word of the sentences is told why it may not.
func TestDrawingNamedStrip(t *testing.T) {
	_, err := Read([]byte("style: S\nunit: cm\ndraft strip:\n  A: start\npieces:\n  a: strip; cut 1\n"), "x.yaml", Options{})
	if err == nil || !strings.Contains(err.Error(), `"strip" is a word of the sentences of pieces`) || !strings.Contains(err.Error(), "draft waist strip") {
		t.Errorf("%v", err)
	}
}
