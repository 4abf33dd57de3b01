package making

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/checked"
	"tracewheel/pipeline/pattern"
)

// strangeAnswers is what testdata/strange/make.py writes beside each draft.
type strangeAnswers struct {
	File   string
	Pieces []struct {
		Name      *string
		Size      string
		Quantity  int
		Notches   int
		M         map[string]float64
		Allowance *struct {
			Min float64 `json:"min_mm"`
			Max float64 `json:"max_mm"`
		}
	}
	Rules     []string
	NotRules  []string `json:"not_rules"`
	Verdict   *string
	NameLoose bool
	Tol       float64
}

// TestStrangeDrafts compares what `check` says of a hundred odd drafts with answers that were
// computed by general-purpose geometry libraries: ezdxf 0.18.1 wrote the DXF files, shapely 1.8.5
// measured the shapes. See testdata/strange/make.py.
func TestStrangeDrafts(t *testing.T) {
	const dir = "../../testdata/strange"
	list, err := filepath.Glob(filepath.Join(dir, "*.answers.json"))
	if err != nil || len(list) < 100 {
		t.Fatalf("%d answers in %s: %v", len(list), dir, err)
	}
	maker := New(Sample())
	for _, file := range list {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var want strangeAnswers
		if err := json.Unmarshal(text, &want); err != nil {
			t.Fatal(err)
		}
		t.Run(want.File, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(dir, want.File))
			if err != nil {
				t.Fatal(err)
			}
			w := maker.Look(Request{Source: data, Name: want.File})
			want.findings(t, w)
			want.pieces(t, w.Checked().PiecesOrNone())
		})
	}
}

func (a *strangeAnswers) findings(t *testing.T, w *Looked) {
	said := map[string]bool{}
	for _, f := range w.Findings {
		said[f.Rule] = true
	}
	for _, r := range a.Rules {
		if !said[r] {
			t.Errorf("nothing under %s", r)
		}
	}
	for _, r := range a.NotRules {
		if said[r] {
			t.Errorf("something under %s", r)
		}
	}
	refused := pattern.Worst(w.Findings) == pattern.Error
	if a.Verdict != nil && refused != (*a.Verdict == "refuse") {
		t.Errorf("refused is %v, wanted %s: %v", refused, *a.Verdict, w.Findings)
	}
}

func (a *strangeAnswers) pieces(t *testing.T, got []checked.Piece) {
	if a.Pieces == nil {
		return
	}
	if len(got) != len(a.Pieces) {
		t.Fatalf("%d pieces, wanted %d", len(got), len(a.Pieces))
	}
	got = slices.Clone(got)
	rel, box := 2e-4, 0.05 // the tolerances of the answers beside the shown drafts
	if a.Tol > 0 {
		rel, box = a.Tol, 0.5 // an outline with gaps has no exact size
	}
	for _, p := range a.Pieces {
		best := -1
		for i, g := range got {
			if p.Name != nil && !a.NameLoose && (g.Name != *p.Name && !strings.HasPrefix(g.Name, *p.Name+" (") || g.Size != p.Size) {
				continue
			}
			if best < 0 || math.Abs(g.Area-p.M["area_mm2"]) < math.Abs(got[best].Area-p.M["area_mm2"]) {
				best = i
			}
		}
		if best < 0 {
			t.Errorf("no piece %q of size %q", *p.Name, p.Size)
			continue
		}
		g := got[best]
		got = slices.Delete(got, best, best+1)
		near := func(what string, have, want, tol float64) {
			if !(math.Abs(have-want) <= tol) {
				t.Errorf("%s: %s is %.4f, wanted %.4f", g.Name, what, have, want)
			}
		}
		near("area", g.Area, p.M["area_mm2"], rel*p.M["area_mm2"])
		near("perimeter", g.Perimeter, p.M["perimeter_mm"], rel*p.M["perimeter_mm"])
		near("width", g.Width, p.M["width_mm"], box)
		near("height", g.Height, p.M["height_mm"], box)
		if g.Quantity != max(p.Quantity, 1) || g.Notches != p.Notches {
			t.Errorf("%s: cut %d with %d notches, wanted %d with %d", g.Name, g.Quantity, g.Notches, p.Quantity, p.Notches)
		}
		switch {
		case (p.Allowance == nil) != (g.AllowanceMin == nil):
			t.Errorf("%s: allowance %v, wanted %v", g.Name, g.AllowanceMin, p.Allowance)
		case p.Allowance != nil:
			near("least allowance", *g.AllowanceMin, p.Allowance.Min, 0.05)
			near("greatest allowance", *g.AllowanceMax, p.Allowance.Max, 0.05)
		}
	}
}
