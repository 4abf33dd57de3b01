package svg

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// answers are the true measures beside a draft: see testdata/README.md for their source.
type answers struct {
	PageMM    [2]float64 `json:"page_mm"`
	Tolerance struct {
		AreaRel     float64 `json:"area_rel"`
		LengthRel   float64 `json:"length_rel"`
		BoxMM       float64 `json:"bbox_mm"`
		PointMM     float64 `json:"point_mm"`
		AllowanceMM float64 `json:"allowance_mm"`
	}
	Totals struct {
		Pieces, Notches, Drills, Cutouts int
		Internal                         int `json:"internal_lines"`
	}
	Pieces []answerPiece
}

type answerLine struct {
	Area      float64    `json:"area_mm2"`
	Perimeter float64    `json:"perimeter_mm"`
	Box       [4]float64 `json:"bbox_mm"`
}

type answerPiece struct {
	Name      *string
	Quantity  int
	Cut, Sew  *answerLine
	Allowance *struct {
		Min float64 `json:"min_mm"`
		Max float64 `json:"max_mm"`
	}
	Notches []struct {
		At    orb.Point
		Depth float64  `json:"depth_mm"`
		Angle *float64 `json:"angle_deg"`
	}
	Drills []struct {
		At       orb.Point
		Diameter *float64 `json:"diameter_mm"`
	}
	InternalLines  int     `json:"internal_lines"`
	InternalLength float64 `json:"internal_length_mm"`
	Cutouts        int
	Grain          *struct{ From, To orb.Point }
}

func drafts(t testing.TB) string { return filepath.Join("..", "..", "..", "testdata", "drafts") }

func readDraft(t testing.TB, name string) (*pattern.Pattern, answers) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(drafts(t), name))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Read(data, name, Options{})
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(filepath.Join(drafts(t), name+".answers.json"))
	if err != nil {
		t.Fatal(err)
	}
	var a answers
	if err := json.Unmarshal(raw, &a); err != nil {
		t.Fatal(err)
	}
	return p, a
}

// Every figure of the answer files, in their tolerances. Their frame is the page with y down.
func TestDraftsAgainstTheirAnswers(t *testing.T) {
	for _, name := range []string{"apron-mm.svg", "yoke-px.svg"} {
		t.Run(name, func(t *testing.T) {
			p, a := readDraft(t, name)
			if len(p.Pieces) != a.Totals.Pieces {
				t.Fatalf("%d pieces, want %d: %+v", len(p.Pieces), a.Totals.Pieces, p.Findings)
			}
			for i := range a.Pieces {
				comparePiece(t, &a, &a.Pieces[i], &p.Pieces[i])
			}
		})
	}
}

func comparePiece(t *testing.T, a *answers, want *answerPiece, got *pattern.Piece) {
	t.Helper()
	if want.Name != nil && (got.Name != *want.Name || !got.Named) {
		t.Errorf("name %q, want %q", got.Name, *want.Name)
	}
	if got.Quantity != 0 && got.Quantity != want.Quantity {
		t.Errorf("%s: quantity %d, want %d", got.Name, got.Quantity, want.Quantity)
	}
	if got.Cut == nil || !got.CutSaid {
		t.Fatalf("%s: no cut line", got.Name)
	}
	compareLine(t, a, want.Cut, *got.Cut, got.Name+" cut")
	if want.Sew == nil {
		if len(got.Sew) != 0 {
			t.Errorf("%s: a sew line too many", got.Name)
		}
	} else if len(got.Sew) != 1 {
		t.Errorf("%s: %d sew lines", got.Name, len(got.Sew))
	} else {
		compareLine(t, a, want.Sew, got.Sew[0], got.Name+" sew")
		compareAllowance(t, a, want, got)
	}
	compareMarks(t, a, want, got)
}

// flipped brings a place of the answers into the pattern's frame.
func (a *answers) flipped(p orb.Point) orb.Point { return orb.Point{p[0], a.PageMM[1] - p[1]} }

func compareLine(t *testing.T, a *answers, want *answerLine, got geom.Path, what string) {
	t.Helper()
	if !got.Closed {
		t.Errorf("%s is open", what)
	}
	if d := math.Abs(got.Area()/want.Area - 1); d > a.Tolerance.AreaRel {
		t.Errorf("%s: area %.3f, want %.3f", what, got.Area(), want.Area)
	}
	if d := math.Abs(got.Length()/want.Perimeter - 1); d > a.Tolerance.LengthRel {
		t.Errorf("%s: perimeter %.4f, want %.4f", what, got.Length(), want.Perimeter)
	}
	lo, hi := a.flipped(orb.Point{want.Box[0], want.Box[3]}), a.flipped(orb.Point{want.Box[2], want.Box[1]})
	if b := got.Bound(); geom.Dist(b.Min, lo) > a.Tolerance.BoxMM || geom.Dist(b.Max, hi) > a.Tolerance.BoxMM {
		t.Errorf("%s: box %v, want %v %v", what, b, lo, hi)
	}
}

// The allowance is measured from the sew line to the cut line, at every millimetre.
func compareAllowance(t *testing.T, a *answers, want *answerPiece, got *pattern.Piece) {
	t.Helper()
	ix := geom.NewIndex(*got.Cut)
	r := got.Sew[0].Ruler()
	least, most := math.Inf(1), 0.0
	for s := 0.0; s < r.Length(); s++ {
		at, _ := r.At(s)
		_, n := ix.Nearest(at)
		least, most = math.Min(least, n.Dist), math.Max(most, n.Dist)
	}
	if math.Abs(least-want.Allowance.Min) > a.Tolerance.AllowanceMM || math.Abs(most-want.Allowance.Max) > a.Tolerance.AllowanceMM {
		t.Errorf("%s: allowance %.3f to %.3f, want %.3f to %.3f", got.Name, least, most, want.Allowance.Min, want.Allowance.Max)
	}
}

func compareMarks(t *testing.T, a *answers, want *answerPiece, got *pattern.Piece) {
	t.Helper()
	tol := a.Tolerance.PointMM
	if len(got.Notches) != len(want.Notches) || len(got.Drills) != len(want.Drills) || len(got.Marks) != want.InternalLines ||
		len(got.Cutouts) != want.Cutouts || (got.Grain == nil) != (want.Grain == nil) {
		t.Errorf("%s: %d notches, %d drills, %d marks, %d cutouts, grain %v", got.Name, len(got.Notches), len(got.Drills), len(got.Marks), len(got.Cutouts), got.Grain)
		return
	}
	for _, w := range want.Notches {
		found := false
		for _, n := range got.Notches {
			angle := w.Angle == nil || n.AngleSaid && math.Abs(math.Remainder(n.AngleDeg+*w.Angle, 360)) < 0.01 // y turned over
			found = found || geom.Dist(n.At, a.flipped(w.At)) <= tol && math.Abs(n.Depth-w.Depth) <= tol && angle && !n.OnSew
		}
		if !found {
			t.Errorf("%s: no notch at %v in %+v", got.Name, w.At, got.Notches)
		}
	}
	for _, w := range want.Drills {
		found := false
		for _, d := range got.Drills {
			found = found || geom.Dist(d.At, a.flipped(w.At)) <= tol && (w.Diameter == nil || math.Abs(d.Diameter-*w.Diameter) <= tol)
		}
		if !found {
			t.Errorf("%s: no drill at %v in %+v", got.Name, w.At, got.Drills)
		}
	}
	if want.InternalLines > 0 && want.InternalLength > 0 {
		var sum float64
		for _, m := range got.Marks {
			sum += m.Path.Length()
		}
		if math.Abs(sum/want.InternalLength-1) > a.Tolerance.LengthRel {
			t.Errorf("%s: inner lines %.3f mm, want %.3f", got.Name, sum, want.InternalLength)
		}
	}
	if want.Grain != nil && (geom.Dist(got.Grain.A, a.flipped(want.Grain.From)) > tol || geom.Dist(got.Grain.B, a.flipped(want.Grain.To)) > tol) {
		t.Errorf("%s: grain %v, want %v", got.Name, got.Grain, want.Grain)
	}
}

// The findings that the answer files expect of a reader; those about sew lines are the checks'.
func TestDraftsFindings(t *testing.T) {
	p, _ := readDraft(t, "apron-mm.svg")
	if len(p.Findings) != 1 || p.Findings[0].Rule != pattern.RuleLeftOut || p.Findings[0].Severity != pattern.Note {
		t.Errorf("apron: want one note about the frame, got %+v", p.Findings)
	}
	p, _ = readDraft(t, "yoke-px.svg")
	if len(p.Findings) != 1 || p.Findings[0].Rule != pattern.RuleUnitsAssumed || p.Findings[0].Severity != pattern.Note {
		t.Errorf("yoke: want one note about px, got %+v", p.Findings)
	}
	if p.Pieces[0].Name != "SMOCK YOKE" {
		t.Errorf("the only text inside names the piece; got %q", p.Pieces[0].Name)
	}
}
