package check_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
)

// answers are the true measures of a draft, computed apart from this project: see
// testdata/README.md for their source.
type answers struct {
	PageMM [2]float64 `json:"page_mm"`
	Pieces []struct {
		Name      *string
		Allowance *struct {
			Min   float64   `json:"min_mm"`
			Max   float64   `json:"max_mm"`
			MinAt orb.Point `json:"min_at"`
			MaxAt orb.Point `json:"max_at"`
		}
		Cut struct {
			Area      float64    `json:"area_mm2"`
			Perimeter float64    `json:"perimeter_mm"`
			Width     float64    `json:"width_mm"`
			Height    float64    `json:"height_mm"`
			Box       [4]float64 `json:"bbox_mm"`
		}
		Notches []json.RawMessage
	}
	Tolerance struct {
		Area      float64 `json:"area_rel"`
		Length    float64 `json:"length_rel"`
		Perimeter float64 `json:"perimeter_mm"`
		Box       float64 `json:"bbox_mm"`
		Allowance float64 `json:"allowance_mm"`
	}
	Expected []struct {
		Kind, Severity string
		Piece          string
		At             *orb.Point
	} `json:"expected_findings"`
}

// kinds are the names of the answer files that differ from those of the rules.
var kinds = map[string]string{
	"element-without-role": pattern.RuleLeftOut, "layer-without-role": pattern.RuleLeftOut, "px-taken-as-96": pattern.RuleUnitsAssumed,
}

func eachDraft(t *testing.T, run func(t *testing.T, p *pattern.Pattern, a answers)) {
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
			run(t, p, a)
		})
	}
}

// inFrame brings a place of the answers, which for SVG are those of the page with y down, to the
// draft's frame.
func (a answers) inFrame(p orb.Point) orb.Point {
	if a.PageMM[1] > 0 {
		return orb.Point{p[0], a.PageMM[1] - p[1]}
	}
	return p
}

func (a answers) middle(i int) orb.Point {
	b := a.Pieces[i].Cut.Box
	return a.inFrame(orb.Point{(b[0] + b[2]) / 2, (b[1] + b[3]) / 2})
}

// pieceAt finds the draft's piece whose cut line has its middle there.
func pieceAt(p *pattern.Pattern, a answers, i int) *pattern.Piece {
	for k := range p.Pieces {
		pc := &p.Pieces[k]
		named := a.Pieces[i].Name == nil || *a.Pieces[i].Name == pc.Name
		if named && pc.Cut != nil && geom.Dist(pc.Cut.Bound().Center(), a.middle(i)) < 0.1 {
			return pc
		}
	}
	return nil
}

// The figures of `check --format json` on the shown drafts, in the answers' own tolerances.
func TestFiguresOfTheShownDrafts(t *testing.T) {
	eachDraft(t, func(t *testing.T, p *pattern.Pattern, a answers) {
		if len(p.Pieces) != len(a.Pieces) {
			t.Fatalf("%d pieces, want %d", len(p.Pieces), len(a.Pieces))
		}
		for i, want := range a.Pieces {
			pc := pieceAt(p, a, i)
			if pc == nil {
				t.Errorf("piece %d at %v is not there", i, a.middle(i))
				continue
			}
			f := check.Measure(pc)
			tol := a.Tolerance
			if math.Abs(f.Area-want.Cut.Area) > tol.Area*want.Cut.Area {
				t.Errorf("%s: area %v, want %v", pc.Name, f.Area, want.Cut.Area)
			}
			if math.Abs(f.Perimeter-want.Cut.Perimeter) > math.Max(tol.Length*want.Cut.Perimeter, tol.Perimeter) {
				t.Errorf("%s: perimeter %v, want %v", pc.Name, f.Perimeter, want.Cut.Perimeter)
			}
			if math.Abs(f.Width-want.Cut.Width) > tol.Box || math.Abs(f.Height-want.Cut.Height) > tol.Box {
				t.Errorf("%s: %v by %v, want %v by %v", pc.Name, f.Width, f.Height, want.Cut.Width, want.Cut.Height)
			}
			if f.Notches != len(want.Notches) {
				t.Errorf("%s: %d notches, want %d", pc.Name, f.Notches, len(want.Notches))
			}
			al := want.Allowance
			if (al == nil) != (f.AllowanceMin == nil) || (al == nil) != (f.AllowanceMax == nil) {
				t.Errorf("%s: allowance %v to %v, want %+v", pc.Name, f.AllowanceMin, f.AllowanceMax, al)
				continue
			}
			if al != nil {
				samePlace(t, pc, "least", *f.AllowanceMin, al.Min, f.MinAt, a.inFrame(al.MinAt), tol.Allowance)
				samePlace(t, pc, "greatest", *f.AllowanceMax, al.Max, f.MaxAt, a.inFrame(al.MaxAt), tol.Allowance)
			}
		}
	})
}

// samePlace compares a width and where it is. Where many places share the width, the answer's must
// have it too.
func samePlace(t *testing.T, pc *pattern.Piece, which string, got, want float64, at, wantAt orb.Point, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol {
		t.Errorf("%s: %s allowance %v, want %v", pc.Name, which, got, want)
	}
	if geom.Dist(at, wantAt) <= 2 {
		return
	}
	_, there := geom.NewIndex(pattern.OffFold(*pc.Cut, pc.FoldLine())...).Nearest(wantAt)
	if math.Abs(there.Dist-got) > 0.01 {
		t.Errorf("%s: %s allowance at %v, want %v", pc.Name, which, at, wantAt)
	}
}

// No shown draft is refused, and what its answers expect is said.
func TestFindingsOfTheShownDrafts(t *testing.T) {
	limits := map[string]check.Limits{
		"none": {}, "plotter": {Width: 914},
		"cutter": {Width: 1000, Length: 1600, Cuts: true, BladeOffset: 0.5},
	}
	eachDraft(t, func(t *testing.T, p *pattern.Pattern, a answers) {
		for name, lim := range limits {
			found := check.Run(p, lim, nil)
			for _, f := range found {
				if f.Severity == pattern.Warning && f.Rule == pattern.RuleNotchDeep && p.Style == "SCHOOL PINAFORE" {
					continue // its V notches take 3/16 in of an armhole's 1/4 in: more than half
				}
				if f.Severity == pattern.Error || f.Severity == pattern.Warning {
					t.Errorf("%s: %s %s on %s: %s", name, f.Severity, f.Rule, f.Piece, f.Message)
				}
			}
			for _, want := range a.Expected {
				rule := want.Kind
				if r, ok := kinds[rule]; ok {
					rule = r
				}
				if !has(found, rule, want.Piece, want.At, a) {
					t.Errorf("%s: no %s on %q at %v", name, rule, want.Piece, want.At)
				}
			}
		}
	})
}

func has(found []pattern.Finding, rule, piece string, at *orb.Point, a answers) bool {
	for _, f := range found {
		if f.Rule == rule && (piece == "" || f.Piece == piece) &&
			(at == nil || f.At != nil && geom.Dist(*f.At, a.inFrame(*at)) < 1) {
			return true
		}
	}
	return false
}
