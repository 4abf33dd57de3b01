package measured

import (
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/pattern"
)

// A toile has the main pieces alone, 25 mm beside every edge but the fold, and the lines of the body to see on it.
func TestToile(t *testing.T) {
	for file, want := range map[string]struct{ pieces, lines []string }{
		"bodice-block.yaml":   {[]string{"front", "back", "sleeve"}, []string{"bust line", "waist line", "centre line"}},
		"straight-skirt.yaml": {[]string{"front", "back"}, []string{"hip line", "centre line"}}, // without its band
	} {
		p, err := Read(samples.Read(file), file, Options{Toile: true})
		if err != nil {
			t.Fatal(err)
		}
		var names, lines []string
		for _, pc := range p.Pieces {
			names = append(names, pc.Name)
			for _, m := range pc.Marks {
				lines = append(lines, m.Label)
			}
			for _, e := range pc.Edges {
				if !e.Fold && (e.Allowance == nil || *e.Allowance != (pattern.Width{From: 25, To: 25})) {
					t.Errorf("%s: the %s of %s has %v", file, e.Name, pc.Name, e.Allowance)
				}
			}
			if !slices.Contains(pc.Card, "toile") {
				t.Errorf("%s: %s does not say that it is a toile", file, pc.Name)
			}
		}
		for _, c := range p.Corners {
			if c.Index >= len(p.Pieces) {
				t.Errorf("%s: %s is a corner of no piece", file, c.What)
			}
		}
		if !slices.Equal(names, want.pieces) {
			t.Errorf("%s: pieces %v", file, names)
		}
		for _, l := range want.lines {
			if !slices.Contains(lines, l) {
				t.Errorf("%s bears no %s: %v", file, l, lines)
			}
		}
		for _, s := range p.Seams {
			for _, r := range append(slices.Clone(s.A), s.B...) {
				if !slices.Contains(names, r.Piece) {
					t.Errorf("%s: a seam names %s, which is left out", file, r.Piece)
				}
			}
		}
	}
}

// Each line of the body on a toile is where its measure leads: on no hem, collar, bag or cloak. The rows are read off the sentences
// of the starters by hand: a bust line where a point is laid down by the apex depth, a hip line by the hip depth.
func TestToileLinesAreTrue(t *testing.T) {
	lines := map[string]string{
		"bodice-block.yaml": "front bust, front waist, back waist", "flat-block.yaml": "front bust, front waist, back waist",
		"peplum-top.yaml": "front bust, front waist, back waist", "straight-skirt.yaml": "front hip, back hip", "six-gore-skirt.yaml": "gore waist, gore hip",
		"flat-collar.yaml": "", "stand-collar.yaml": "", "box-bag.yaml": "", "gore-cloak.yaml": "", "gathered-skirt.yaml": "", "section-cap.yaml": "", "hood.yaml": "",
		"bib-apron.yaml": "apron waist", "half-circle-skirt.yaml": "", "set-in-sleeve.yaml": "",
	}
	for _, file := range starterFiles(t) {
		p, err := Read(samples.Read(file), file, Options{Toile: true})
		if file == "tool-roll.yaml" {
			if err == nil || !strings.Contains(err.Error(), "this draft has none") {
				t.Errorf("%s has a toile: %v", file, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		var got []string
		for _, pc := range p.Pieces {
			for _, kind := range []string{"facing", "pocket", "binding", "band"} {
				if strings.HasSuffix(pc.Name, kind) {
					t.Errorf("%s: the toile has a %s", file, pc.Name)
				}
			}
			for _, m := range pc.Marks {
				if name, is := strings.CutSuffix(m.Label, " line"); is && slices.Contains([]string{"bust", "waist", "hip"}, name) {
					got = append(got, pc.Name+" "+name)
				}
			}
		}
		if want, known := lines[file]; known && strings.Join(got, ", ") != want {
			t.Errorf("%s bears %q, want %q", file, strings.Join(got, ", "), want)
		} else if !known {
			t.Logf("%s bears %q", file, got)
		}
	}
}

// The figures of a toile are those of what is cut: no band, and the allowance of a toile.
func TestFiguresOfToile(t *testing.T) {
	f, err := FiguresOf(samples.Read("straight-skirt.yaml"), "straight-skirt.yaml", Options{Toile: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, pc := range f.Pieces {
		if pc.Name != "front" && pc.Name != "back" {
			t.Errorf("the figures list the %s", pc.Name)
		}
		for _, e := range pc.Edges {
			if !e.Fold && e.Allowance != "2.5" {
				t.Errorf("the %s of %s has %q", e.Name, pc.Name, e.Allowance)
			}
		}
	}
	if !strings.HasSuffix(f.Style, ", toile") {
		t.Errorf("the figures do not say that it is a toile: %q", f.Style)
	}
}
