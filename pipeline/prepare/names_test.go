package prepare

import (
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	drawing "tracewheel/pipeline/draft/measured"
	"tracewheel/pipeline/pattern"
)

// lettered are the lines of letters on a piece.
func lettered(r pattern.Ready) []string {
	var out []string
	var last *pattern.Word
	for _, l := range r.Lines {
		if l.Word != nil && l.Word != last {
			out, last = append(out, l.Word.Text), l.Word
		}
	}
	return out
}

// starter prepares a measured starter draft for a pen, as job 12.
func starter(t *testing.T, file string) Result {
	t.Helper()
	p, err := drawing.Read(samples.Read(file), file, drawing.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return mustRun(t, p, pattern.Ticket{}, Options{Job: 12})
}

// TestPiecesBearWhatACutterAsks: style, name, whose body, how often it is cut, which piece of how many, the
// allowance by edge and the job, in the draft's unit (common practice). The smock is drawn in cm, the jacket
// in inches; 5/8 in and 3 cm stand in the drafts themselves.
func TestPiecesBearWhatACutterAsks(t *testing.T) {
	for file, want := range map[string]map[string][]string{
		"ferry-smock.yaml": {
			"front": {"front", "Ferry-hand's smock, for A", "cut 1 on the fold, drawn whole", "allowance 1.5 cm, hem 3 cm, neck and armhole none", "piece 1 of 9, job 12", "outer fold", "inner fold", "fold", "grain"},
			"back":  {"slit", "fold", "cut 1 on the fold, drawn whole", "piece 2 of 9, job 12"},
		},
		"lamplighter-jacket.yaml": {
			"back":        {"Lamplighter's page jacket, for C", "cut 2, a pair", "slit", "grain"},
			"peplum back": {"allowance 5/8 in, hem 3/8 in, waist 1/2 in"},
		},
	} {
		for _, r := range starter(t, file).Ready {
			for _, words := range want[r.Name] {
				if got := lettered(r); !slices.Contains(got, words) {
					t.Errorf("%s %s bears no %q: %q", file, r.Name, words, got)
				}
			}
		}
	}
	sized := sewn(func(p *pattern.Piece) { p.Size, p.Quantity, p.Alike, p.Material = "12", 2, true, "calico" })
	if got := lettered(mustRun(t, draftOf(sized), pattern.Ticket{}, Options{}).Ready[1]); !slices.Contains(got, "HARBOUR PLAY, size 12") ||
		!slices.Contains(got, "cut 2, alike, calico") || !slices.Contains(got, "piece 2 of 2") {
		t.Errorf("%q", got)
	}
}

// TestOneNameOnce: a draft that is called as its only piece does not letter that twice.
func TestOneNameOnce(t *testing.T) {
	p := draftOf(sewn(func(p *pattern.Piece) { p.Size = "12" }))
	p.Style = strings.ToUpper(p.Pieces[0].Name)
	got := lettered(mustRun(t, p, pattern.Ticket{}, Options{}).Ready[0])
	if !slices.Contains(got, p.Pieces[0].Name) || !slices.Contains(got, "size 12") || slices.Contains(got, p.Style+", size 12") {
		t.Errorf("%q", got)
	}
}

// TestLettersKeepOffTheGrain: no letter touches a grain line, on no piece of the starter drafts.
func TestLettersKeepOffTheGrain(t *testing.T) {
	pieces := 0
	for _, file := range []string{"ferry-smock.yaml", "lamplighter-jacket.yaml", "tool-roll.yaml"} {
		for _, r := range starter(t, file).Ready {
			for _, g := range with(r, pattern.RoleGrain) {
				pieces++
				for _, l := range with(r, pattern.RoleText) {
					if len(geom.Crossings(l.Path, g.Path)) > 0 {
						t.Errorf("%s %s: the letters %q stand on the grain line", file, r.Name, l.Word.Text)
						break
					}
				}
			}
		}
	}
	if pieces < 30 {
		t.Fatalf("only %d lines were looked at", pieces)
	}
	// A strap so narrow that letters beside the grain line find no room has them beside it.
	strap := sewn(func(p *pattern.Piece) {
		p.Sew, p.Allowance = []geom.Path{*closed("0,0 90,0 90,12 0,12")}, mm(0)
		p.Grain = &pattern.Segment{A: orb.Point{2, 6}, B: orb.Point{88, 6}}
	})
	r := mustRun(t, draftOf(strap), pattern.Ticket{}, Options{}).Ready[0]
	for _, l := range with(r, pattern.RoleText) {
		if b := l.Path.Bound(); l.Word.Text != "grain" && b.Intersects(r.Outline.Bound()) {
			t.Fatalf("%q stands on the strap, at %v", l.Word.Text, b)
		}
	}
}

// TestTooSmallBearsItBeside: what is too small for its letters has them beside its outline, clear of it.
func TestTooSmallBearsItBeside(t *testing.T) {
	loops := 0
	for _, r := range starter(t, "ferry-smock.yaml").Ready {
		if r.Name != "loop" {
			continue
		}
		loops++
		if got := strings.Join(lettered(r), "|"); !strings.Contains(got, "loop|Ferry-hand's smock, for A|cut 2") {
			t.Errorf("the loop bears %q", got)
		}
		for _, l := range with(r, pattern.RoleText) {
			if b := l.Path.Bound(); l.Word.Text != "grain" && b.Intersects(r.Outline.Bound().Pad(clear)) {
				t.Fatalf("%q touches the loop at %v", l.Word.Text, b)
			}
		}
	}
	if loops != 2 {
		t.Fatalf("%d loops", loops)
	}
}

// TestDartPoint: the point of a dart is ringed, on both copies of a pair, where its legs end.
func TestDartPoint(t *testing.T) {
	seen := 0
	for _, r := range starter(t, "lamplighter-jacket.yaml").Ready {
		var rings, ends []orb.Point
		for _, l := range r.Lines {
			switch l.Label {
			case ringLabel:
				rings = append(rings, l.Path.Bound().Center())
			case "dart leg":
				ends = append(ends, l.Path.Points[len(l.Path.Points)-1])
			}
		}
		if len(ends) == 0 {
			continue
		}
		seen++
		if len(rings) != 1 || len(ends) != 2 || !near(rings[0], ends[0], 0.01) || !near(ends[0], ends[1], 0.01) {
			t.Errorf("%s: rings %v, legs end at %v", r.Name, rings, ends)
		}
	}
	if seen != 2 {
		t.Fatalf("%d pieces with a dart", seen)
	}
}

// A heading that is broken or turned otherwise keeps off an inner line, rather than being written across it:
// the piece is 127 by 152 mm with a line down its middle, and half of it is too narrow for the letters level.
func TestLettersKeepOffAnInnerLine(t *testing.T) {
	line := geom.Path{Points: []orb.Point{{63.5, 20}, {63.5, 132}}}
	pc := pattern.Piece{Name: "Shoe bag", Named: true, Quantity: 1, CutSaid: true, Marks: []pattern.Mark{{Role: pattern.RoleMark, Path: line}},
		Cut: &geom.Path{Points: []orb.Point{{0, 0}, {127, 0}, {127, 151.7}, {0, 151.7}}, Corners: []bool{true, true, true, true}, Closed: true}}
	res := mustRun(t, &pattern.Pattern{Style: "bag", Pieces: []pattern.Piece{pc}}, pattern.Ticket{}, Options{})
	for _, l := range res.Ready[0].Lines {
		if l.Word != nil && len(geom.Crossings(l.Path, line)) > 0 {
			t.Fatalf("%q is written across the inner line", l.Word.Text)
		}
	}
}
