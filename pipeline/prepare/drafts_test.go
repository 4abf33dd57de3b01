package prepare_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// answers are the true measures of a draft, computed apart from this project: see
// testdata/README.md for their source.
type answers struct {
	Pieces []struct {
		Name     *string
		Quantity int
		Cut      struct {
			Area float64 `json:"area_mm2"`
		}
		Fold  *struct{ From, To orb.Point }
		Whole float64 `json:"whole_piece_area_mm2"`
		Width float64 `json:"whole_piece_width_mm"`
		Sew   *struct {
			Area float64 `json:"area_mm2"`
		}
		Notches []json.RawMessage
		Drills  []json.RawMessage
	}
	Tolerance struct {
		Area float64 `json:"area_rel"`
	}
}

// Each shown draft gives as many copies as its answers say, with their area, opened out where they
// lie on the fold, on a pen and under a knife; and the sew line alone, with the drawn allowance
// stated, gives a cut line that holds it.
func TestShownDraftsArePrepared(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "drafts", "*.answers.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no drafts in testdata: %v", err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(f, ".answers.json")
		t.Run(filepath.Base(name), func(t *testing.T) {
			var a answers
			raw, err := os.ReadFile(f)
			if err == nil {
				err = json.Unmarshal(raw, &a)
			}
			if err != nil {
				t.Fatal(err)
			}
			data, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			p, err := draft.Read(data, filepath.Base(name), draft.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, opt := range []prepare.Options{{}, {Cuts: true}, {Cuts: true, HasPen: true}} {
				res, err := prepare.Run(p, pattern.Ticket{}, opt)
				if err != nil {
					t.Fatal(err)
				}
				a.compare(t, p, res, opt)
			}
		})
	}
}

func (a answers) compare(t *testing.T, p *pattern.Pattern, res prepare.Result, opt prepare.Options) {
	t.Helper()
	want := 0
	for _, w := range a.Pieces {
		want += w.Quantity
	}
	if len(res.Ready) != want {
		t.Errorf("%d copies, want %d", len(res.Ready), want)
	}
	for _, r := range res.Ready {
		w, ok := a.find(p, r)
		if !ok {
			t.Errorf("no answer for %q", r.Name)
			continue
		}
		wp := a.Pieces[w]
		area := wp.Cut.Area
		if wp.Fold != nil {
			area = wp.Whole
			if b := r.Outline.Bound(); math.Abs(b.Max[0]-b.Min[0]-wp.Width) > 0.05 {
				t.Errorf("%s: %v wide, want %v", r.Name, b.Max[0]-b.Min[0], wp.Width)
			}
		}
		if math.Abs(r.Outline.Area()-area) > a.Tolerance.Area*area {
			t.Errorf("%s: area %v, want %v", r.Name, r.Outline.Area(), area)
		}
		a.compareLines(t, r, w, opt)
	}
}

func (a answers) compareLines(t *testing.T, r pattern.Ready, w int, opt prepare.Options) {
	t.Helper()
	times := 1
	if a.Pieces[w].Fold != nil {
		times = 2 // no shown draft has a notch or a drill on its fold
	}
	notches, pens := 0, 0
	for _, l := range r.Lines {
		switch {
		case l.Role == pattern.RoleNotch && l.Cut:
			notches++
			if d := l.Path.Nearest(r.Outline.Nearest(l.Path.Points[0]).Point).Dist; d > 1e-6 {
				t.Errorf("%s: a notch begins %v off the cut line", r.Name, d)
			}
			mid, _ := l.Path.At(l.Path.Length() / 2)
			if !r.Outline.Contains(mid) {
				t.Errorf("%s: a notch points out at %v", r.Name, l.Path.Points[0])
			}
		case !l.Cut:
			pens++
		}
		if !inside(r.Outline, l.Path) {
			t.Errorf("%s: a line of role %s leaves the piece", r.Name, l.Role)
		}
	}
	if notches != times*len(a.Pieces[w].Notches) {
		t.Errorf("%s: %d notches are cut, want %d", r.Name, notches, times*len(a.Pieces[w].Notches))
	}
	if blind := opt.Cuts && !opt.HasPen; blind != (pens == 0) || blind != (len(r.Card) > 0) {
		t.Errorf("%s: %d lines for a pen, card %q", r.Name, pens, r.Card)
	}
}

func inside(outline, line geom.Path) bool {
	for _, p := range line.Points {
		if !outline.Contains(p) && outline.Nearest(p).Dist > 0.01 {
			return false
		}
	}
	return true
}

// find is the answer's piece of the same name, or the one of the same area where it has none.
func (a answers) find(p *pattern.Pattern, r pattern.Ready) (int, bool) {
	for i, w := range a.Pieces {
		if w.Name != nil && *w.Name == r.Name {
			return i, true
		}
	}
	for i, w := range a.Pieces {
		if w.Name == nil && math.Abs(p.Pieces[r.Index].Cut.Area()-w.Cut.Area) < 1e-3*w.Cut.Area {
			return i, true
		}
	}
	return 0, false
}
