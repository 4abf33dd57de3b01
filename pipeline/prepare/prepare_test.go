package prepare

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// points reads "0,0 100,0 100,50".
func points(text string) []orb.Point {
	var out []orb.Point
	for _, f := range strings.Fields(text) {
		x, y, _ := strings.Cut(f, ",")
		px, errX := strconv.ParseFloat(x, 64)
		py, errY := strconv.ParseFloat(y, 64)
		if errX != nil || errY != nil {
			panic("no point: " + f)
		}
		out = append(out, orb.Point{px, py})
	}
	return out
}

func closed(text string) *geom.Path { return &geom.Path{Closed: true, Points: points(text)} }
func mm(v float64) *float64         { return &v }

// sewn is a piece of 289 by 400 with a sew line alone.
func sewn(change ...func(*pattern.Piece)) pattern.Piece {
	p := pattern.Piece{Name: "PANEL", Named: true, Quantity: 1, Sew: []geom.Path{*closed("0,0 289,0 289,400 0,400")}, Allowance: mm(10),
		Grain: &pattern.Segment{A: orb.Point{100, 50}, B: orb.Point{100, 350}}}
	for _, c := range change {
		c(&p)
	}
	return p
}

func draftOf(pieces ...pattern.Piece) *pattern.Pattern {
	return &pattern.Pattern{Style: "HARBOUR PLAY", Pieces: pieces}
}

func mustRun(t *testing.T, p *pattern.Pattern, tk pattern.Ticket, opt Options) Result {
	t.Helper()
	res, err := Run(p, tk, opt)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range res.Ready {
		if len(r.EdgeOf) != r.Outline.Segments() {
			t.Errorf("ready %d: %d edge names for %d stretches", i, len(r.EdgeOf), r.Outline.Segments())
		}
		if r.Outline.SignedArea() <= 0 || len(r.Outline.Corners) != len(r.Outline.Points) {
			t.Errorf("ready %d: outline runs clockwise or has no corners marked", i)
		}
	}
	return res
}

func with(r pattern.Ready, role pattern.Role) []pattern.Line {
	var out []pattern.Line
	for _, l := range r.Lines {
		if l.Role == role {
			out = append(out, l)
		}
	}
	return out
}

func near(a, b orb.Point, tol float64) bool { return geom.Dist(a, b) <= tol }

// Rectangle 289 by 400 mm, allowance 10 all round: 309 by 420 mm, +14 180 mm2 (trade check value
// 30, computed).
func TestAllowanceRoundARectangle(t *testing.T) {
	r := mustRun(t, draftOf(sewn()), pattern.Ticket{}, Options{}).Ready[0]
	w, h := span(r.Outline.Bound())
	if math.Abs(w-309) > 1e-9 || math.Abs(h-420) > 1e-9 || math.Abs(r.Outline.Area()-289*400-14180) > 1e-6 {
		t.Errorf("%v by %v, %v mm2", w, h, r.Outline.Area())
	}
}

// Mitre of 6 and 15 mm at 90 degrees: the tip lies 16.155 mm off; 15 and 30 mm at 80 degrees: 36.347
// (trade check value 29, computed).
func TestMitreOfTwoWidths(t *testing.T) {
	for _, c := range []struct{ a, b, deg, tip float64 }{{6, 15, 90, 16.155}, {15, 30, 80, 36.347}} {
		s, co := math.Sincos(c.deg * math.Pi / 180)
		sew := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {200, 0}, {200 + 200*co, 200 * s}, {200 * co, 200 * s}}}
		p := sewn(func(p *pattern.Piece) {
			p.Sew = []geom.Path{sew}
			p.Edges = []pattern.Edge{{Name: "hem", First: 0, Allowance: &pattern.Width{From: c.a, To: c.a}}, {Name: "b", First: 1},
				{Name: "c", First: 2}, {Name: "side", First: 3, Allowance: &pattern.Width{From: c.b, To: c.b}}}
		})
		r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
		best := math.Inf(1)
		for i, q := range r.Outline.Points {
			if q[0] < 0 && q[1] < 0 {
				best = math.Min(best, math.Abs(geom.Norm(q)-c.tip))
				if name := r.EdgeOf[i]; name != "hem" {
					t.Errorf("the stretch after the tip is of edge %q", name)
				}
			}
		}
		if best > 0.001 {
			t.Errorf("no tip %v mm from the corner; it is off by %v", c.tip, best)
		}
	}
}

func TestWidthsComeInTheirOrder(t *testing.T) {
	plain := func(p *pattern.Piece) { p.Allowance = nil }
	width := func(p pattern.Piece, tk pattern.Ticket, opt Options) float64 {
		w, _ := span(mustRun(t, draftOf(p), tk, opt).Ready[0].Outline.Bound())
		return (w - 289) / 2
	}
	if got := width(sewn(), pattern.Ticket{Allowance: "20mm"}, Options{WorkroomAllowance: mm(30)}); math.Abs(got-10) > 1e-9 {
		t.Errorf("the draft's own 10 became %v", got)
	}
	if got := width(sewn(plain), pattern.Ticket{Allowance: "20mm"}, Options{Cuts: true, WorkroomAllowance: mm(30)}); math.Abs(got-20) > 1e-9 {
		t.Errorf("the ticket's 20 became %v", got)
	}
	if got := width(sewn(plain), pattern.Ticket{}, Options{WorkroomAllowance: mm(15)}); math.Abs(got-15) > 1e-9 {
		t.Errorf("the workroom's 15 became %v", got)
	}
	res := mustRun(t, draftOf(sewn(plain)), pattern.Ticket{}, Options{WorkroomAllowance: mm(15)})
	if len(res.Findings) != 1 || res.Findings[0].Rule != pattern.RuleAllowanceAssumed {
		t.Errorf("the workroom's width is not told: %+v", res.Findings)
	}
	for name, opt := range map[string]Options{"a cutter": {Cuts: true, WorkroomAllowance: mm(15)}, "nobody": {}} {
		if _, err := Run(draftOf(sewn(plain)), pattern.Ticket{}, opt); err == nil || !strings.Contains(err.Error(), "allowance: 10mm") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestLoneOutlineAsksForTheAllowance(t *testing.T) {
	lone := draftOf(sewn(func(p *pattern.Piece) { p.Cut, p.Sew, p.Allowance = closed("0,0 289,0 289,400 0,400"), nil, nil }))
	if _, err := Run(lone, pattern.Ticket{}, Options{}); err == nil || !strings.Contains(err.Error(), "included") {
		t.Errorf("taken as it is: %v", err)
	}
	for said, area := range map[string]float64{"included": 289 * 400, "10mm": 309 * 420} {
		if got := mustRun(t, lone, pattern.Ticket{Allowance: said}, Options{Cuts: true}).Ready[0].Outline.Area(); math.Abs(got-area) > 1e-6 {
			t.Errorf("%s: area %v, want %v", said, got, area)
		}
	}
	if lone.Pieces[0].Cut == nil || lone.Pieces[0].Sew != nil {
		t.Error("the draft was changed")
	}
	if _, err := Run(lone, pattern.Ticket{Allowance: "some"}, Options{}); err == nil {
		t.Error("an allowance that says nothing was taken")
	}
}

func TestFaultsAreToldAllAtOnce(t *testing.T) {
	open := sewn(func(p *pattern.Piece) { p.Name, p.Cut = "OPEN", &geom.Path{Points: points("0,0 9,0 9,9")} })
	eight := sewn(func(p *pattern.Piece) { p.Name, p.Cut = "EIGHT", closed("0,0 100,100 100,0 0,100") })
	_, err := Run(draftOf(open, sewn(), eight), pattern.Ticket{}, Options{})
	if err == nil || !strings.Contains(err.Error(), `"OPEN"`) || !strings.Contains(err.Error(), `"EIGHT"`) || !strings.Contains(err.Error(), "(50, 50)") {
		t.Errorf("got %v", err)
	}
	many := draftOf(sewn(func(p *pattern.Piece) { p.Quantity = 1 << 40 }))
	if _, err := Run(many, pattern.Ticket{Copies: 1 << 40}, Options{}); err == nil || !strings.Contains(err.Error(), "2000") {
		t.Errorf("no end of pieces: %v", err)
	}
	if _, err := Run(&pattern.Pattern{}, pattern.Ticket{}, Options{}); err == nil {
		t.Error("a draft without pieces was prepared")
	}
}

func TestTicketChooses(t *testing.T) {
	sized := func(name, size string) pattern.Piece {
		return sewn(func(p *pattern.Piece) { p.Name, p.Size = name, size })
	}
	d := draftOf(sized("FRONT", "8"), sized("BACK", "8"), sized("FRONT", "10"), sized("BACK", "10"), sized("LOOP", ""))
	names := func(tk pattern.Ticket) string {
		var out []string
		for _, r := range mustRun(t, d, tk, Options{}).Ready {
			out = append(out, r.Name+r.Size)
		}
		return strings.Join(out, " ")
	}
	for want, tk := range map[string]pattern.Ticket{
		"FRONT8 BACK8 LOOP FRONT10 BACK10": {},
		"FRONT10 BACK10 LOOP":              {Sizes: []string{"10"}},
		"FRONT10 LOOP FRONT8":              {Sizes: []string{"10", "8"}, Pieces: []string{"front", "LOOP"}},
		"BACK8 BACK8":                      {Sizes: []string{"8"}, Pieces: []string{"BACK"}, Copies: 2},
	} {
		if got := names(tk); sortedWords(got) != sortedWords(want) {
			t.Errorf("%+v: %s, want %s", tk, got, want)
		}
	}
	if f := mustRun(t, d, pattern.Ticket{}, Options{}).Findings; len(f) != 1 || f[0].Rule != pattern.RuleEverySize {
		t.Errorf("every size is made without a word: %+v", f)
	}
	for want, tk := range map[string]pattern.Ticket{
		`"12", "14"`: {Sizes: []string{"12", "8", "14"}}, `it has "FRONT", "BACK", "LOOP"`: {Pieces: []string{"SLEEVE"}}, "copies": {Copies: -1},
	} {
		if _, err := Run(d, tk, Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %s", tk, err, want)
		}
	}
}

func sortedWords(s string) string {
	w := strings.Fields(s)
	for i := range w {
		for k := i + 1; k < len(w); k++ {
			if w[k] < w[i] {
				w[i], w[k] = w[k], w[i]
			}
		}
	}
	return strings.Join(w, " ")
}

// A pair is two pieces, one mirrored; on one-sided cloth a missing mirror is a ruined cut (trade,
// trap 9). A mirrored shape has the same area and box, so the hand is proved by a corner.
func TestPairs(t *testing.T) {
	lefty := func(p *pattern.Piece) {
		p.Sew, p.Cut, p.CutSaid = nil, closed("0,0 300,0 300,100 0,400"), true
		p.Quantity, p.Pair = 4, true
	}
	res := mustRun(t, draftOf(sewn(lefty)), pattern.Ticket{}, Options{})
	if len(res.Ready) != 4 {
		t.Fatalf("%d copies", len(res.Ready))
	}
	for i, r := range res.Ready {
		tall := orb.Point{0, 400}
		if i%2 == 1 {
			tall = orb.Point{300, 400}
		}
		found := false
		for _, q := range r.Outline.Points {
			found = found || near(q, tall, 1e-9)
		}
		if !found || r.Mirrored != (i%2 == 1) || r.Copy != i+1 || r.Copies != 4 || math.Abs(r.Outline.Area()-75000) > 1e-6 {
			t.Errorf("copy %d: mirrored %v, %v", r.Copy, r.Mirrored, r.Outline.Points)
		}
		if g := r.Grain; g.B[1]-g.A[1] != 300 {
			t.Errorf("copy %d: the grain was turned: %v", r.Copy, g)
		}
	}
	assumed := mustRun(t, draftOf(sewn(lefty, func(p *pattern.Piece) { p.Pair, p.Quantity = false, 2 })), pattern.Ticket{}, Options{})
	if !assumed.Ready[1].Mirrored || len(assumed.Findings) != 1 || assumed.Findings[0].Rule != pattern.RulePairAssumed {
		t.Errorf("cut 2 of a one-sided piece: %v, %+v", assumed.Ready[1].Mirrored, assumed.Findings)
	}
	alike := mustRun(t, draftOf(sewn(func(p *pattern.Piece) { p.Quantity = 2 })), pattern.Ticket{}, Options{})
	if len(alike.Findings) != 0 || alike.Ready[1].Mirrored {
		t.Errorf("a plain rectangle is its own mirror image: %v, %+v", alike.Ready[1].Mirrored, alike.Findings)
	}
	drilled := mustRun(t, draftOf(sewn(func(p *pattern.Piece) { p.Quantity, p.Drills = 2, []pattern.Drill{{At: orb.Point{50, 50}}} })), pattern.Ticket{}, Options{})
	if len(drilled.Findings) != 0 || !drilled.Ready[1].Mirrored {
		t.Error("a rectangle with a mark on one side has a right and a left")
	}
	biased := func(p *pattern.Piece) {
		p.Pair, p.Quantity, p.Grain = false, 2, &pattern.Segment{A: orb.Point{10, 10}, B: orb.Point{60, 60}}
	}
	strips := mustRun(t, draftOf(sewn(biased)), pattern.Ticket{}, Options{})
	if strips.Ready[1].Mirrored || len(strips.Findings) != 0 {
		t.Errorf("two strips on the bias were taken as a pair: %+v", strips.Findings)
	}
	if shaped := mustRun(t, draftOf(sewn(lefty, biased)), pattern.Ticket{}, Options{}); !shaped.Ready[1].Mirrored {
		t.Error("a shaped piece on the bias has a right and a left")
	}
	three := mustRun(t, draftOf(sewn(lefty, func(p *pattern.Piece) { p.Pair, p.Quantity = false, 3 })), pattern.Ticket{}, Options{})
	if len(three.Ready) != 3 || three.Ready[1].Mirrored {
		t.Error("three of a kind were mirrored")
	}
}

func TestCutoutsAndEdgeNames(t *testing.T) {
	p := sewn(func(p *pattern.Piece) {
		p.Cut, p.CutSaid = closed("-10,-10 -10,410 299,410 299,-10"), true // clockwise
		p.Cutouts = []geom.Path{*closed("50,50 60,50 60,60")}
		p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 1}, {Name: "waist", First: 2}, {Name: "centre", First: 3}}
	})
	r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{Cuts: true}).Ready[0]
	for i, name := range r.EdgeOf {
		a, b := r.Outline.Segment(i)
		mid := geom.Lerp(a, b, 0.5)
		want := map[bool]string{true: "hem"}[mid[1] == -10]
		switch {
		case mid[0] == 299:
			want = "side"
		case mid[1] == 410:
			want = "waist"
		case mid[0] == -10:
			want = "centre"
		}
		if name != want {
			t.Errorf("stretch %d at %v is of %q, want %q", i, mid, name, want)
		}
	}
	if c := with(r, pattern.RoleCutout); len(c) != 1 || !c[0].Cut || !c[0].Path.Closed {
		t.Errorf("cut-outs %+v", c)
	}
}

func TestSameInputSameOutput(t *testing.T) {
	d := benchDraft(3, 200)
	a, b := mustRun(t, d, pattern.Ticket{}, Options{}), mustRun(t, d, pattern.Ticket{}, Options{})
	if len(a.Ready) != len(b.Ready) {
		t.Fatal("different counts")
	}
	for i := range a.Ready {
		for k, l := range a.Ready[i].Lines {
			for j, p := range l.Path.Points {
				if p != b.Ready[i].Lines[k].Path.Points[j] {
					t.Fatal("different lines")
				}
			}
		}
	}
}

func TestTalliesInWords(t *testing.T) {
	if got := tallies([]tally{{what: "pen notch", count: 3}, {what: "fold line", count: 2}, {what: "drill mark", count: 1}}); got != "3 pen notches, 2 fold lines, 1 drill mark" {
		t.Error(got)
	}
}
