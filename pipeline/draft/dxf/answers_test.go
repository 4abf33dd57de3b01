package dxf

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// answers are the measurements that stand beside a draft: computed by ezdxf and shapely, apart from
// the code under test.
type answers struct {
	Tolerance struct {
		AreaRel   float64 `json:"area_rel"`
		LengthRel float64 `json:"length_rel"`
		Box       float64 `json:"bbox_mm"`
		Point     float64 `json:"point_mm"`
		Perimeter float64 `json:"perimeter_mm"`
		Allowance float64 `json:"allowance_mm"`
	}
	Totals struct{ Pieces, Notches, Drills int }
	Pieces []answer
	// Style and Expected are what texts and findings should say.
	Style    string `json:"style_name"`
	Expected []struct {
		Kind string
		At   *orb.Point
		Gap  float64 `json:"gap_mm"`
		Over float64 `json:"overlap_mm"`
	} `json:"expected_findings"`
}

type figures struct {
	Area      float64     `json:"area_mm2"`
	Perimeter float64     `json:"perimeter_mm"`
	Length    float64     `json:"length_mm"`
	Box       *[4]float64 `json:"bbox_mm"`
}

type answer struct {
	Name      *string
	Size      string
	Quantity  int
	Material  string
	Cut, Sew  *figures
	Quality   *figures `json:"quality_curve_84"`
	Allowance *struct {
		Min float64 `json:"min_mm"`
		Max float64 `json:"max_mm"`
	}
	Notches []struct {
		At    orb.Point
		Kind  string
		Depth float64  `json:"depth_mm"`
		Width float64  `json:"width_mm"`
		Angle *float64 `json:"angle_deg"`
	}
	Drills []struct {
		At       orb.Point
		Diameter float64 `json:"diameter_mm"`
	}
	Internal       int      `json:"internal_lines"`
	InternalLength *float64 `json:"internal_length_mm"`
	Cutouts        int
	Grain, Fold    *struct{ From, To orb.Point }
}

func readAnswers(t *testing.T, path string) (a answers) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &a); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return a
}

func readDraft(t *testing.T, path string) *pattern.Pattern {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Read(data, filepath.Base(path), Options{})
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return p
}

// TestDraftsGiveTheFiguresOfTheirAnswers reads every draft and compares every figure.
func TestDraftsGiveTheFiguresOfTheirAnswers(t *testing.T) {
	var paths []string
	for _, dir := range []string{"drafts", "dxf"} {
		found, err := filepath.Glob(filepath.Join("../../../testdata", dir, "*.dxf.answers.json"))
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, found...)
	}
	if len(paths) < 4 {
		t.Fatalf("only %d drafts with answers found", len(paths))
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			want := readAnswers(t, path)
			p := readDraft(t, path[:len(path)-len(".answers.json")])
			c := comparison{t: t, want: want}
			c.pattern(p)
		})
	}
}
