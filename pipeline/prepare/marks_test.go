package prepare

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func marked() pattern.Piece {
	return sewn(func(p *pattern.Piece) {
		p.Size, p.Material, p.Quantity, p.Pair = "8", "DRILL", 2, true
		p.Card = []string{"for the harbour master"}
		p.Drills = []pattern.Drill{{At: orb.Point{40, 50}, Diameter: 6}, {At: orb.Point{250, 300}}}
		p.Marks = []pattern.Mark{{Role: pattern.RoleMark, Path: geom.Path{Points: points("150,10 250,10")}},
			{Role: pattern.RoleQuality, Path: *closed("0,0 9,0 9,9")}}
		p.Notches = []pattern.Notch{{At: orb.Point{0, 100}, Kind: pattern.NotchPen, Depth: 5}, {At: orb.Point{0, 200}, Kind: pattern.NotchNick, Depth: 4, OnSew: true}}
		p.Labels = []pattern.Label{{At: orb.Point{20, 20}, Text: "PANEL"}, {At: orb.Point{200, 20}, Text: "pocket", Height: 6}}
	})
}

func TestPenDrawsEverything(t *testing.T) {
	res := mustRun(t, draftOf(marked()), pattern.Ticket{}, Options{})
	for _, r := range res.Ready {
		for role, want := range map[pattern.Role]int{pattern.RoleSew: 1, pattern.RoleMark: 1, pattern.RoleDrill: 5, pattern.RoleGrain: 3,
			pattern.RoleNotch: 2, pattern.RoleQuality: 0} {
			if got := len(with(r, role)); got != want {
				t.Errorf("%d lines of role %s, want %d", got, role, want)
			}
		}
		if len(with(r, pattern.RoleText)) == 0 || r.Card != nil {
			t.Error("no letters, or a card for a plotter")
		}
		cut := 0
		for _, l := range r.Lines {
			if l.Cut {
				cut++
			}
		}
		if cut != 1 { // the nick; the pen notch and all else are only drawn
			t.Errorf("%d lines are for a knife, want 1", cut)
		}
	}
	c := with(res.Ready[0], pattern.RoleDrill)[2]
	if !c.Path.Closed || c.Diameter != 6 || math.Abs(c.Path.Area()-9*math.Pi) > 0.1 {
		t.Errorf("drill circle %+v", c)
	}
	if g := with(mustRun(t, draftOf(marked()), pattern.Ticket{}, Options{OneWay: true}).Ready[0], pattern.RoleGrain); len(g) != 2 {
		t.Errorf("a nap wants one head: %d strokes", len(g))
	}
}

func TestKnifeWithoutPenGetsACard(t *testing.T) {
	res := mustRun(t, draftOf(marked()), pattern.Ticket{}, Options{Cuts: true})
	r := res.Ready[1]
	if len(r.Lines) != 1 || r.Lines[0].Role != pattern.RoleNotch || !r.Lines[0].Cut {
		t.Errorf("lines %+v", r.Lines)
	}
	card := strings.Join(r.Card, "|")
	for _, want := range []string{"PANEL|HARBOUR PLAY, size 8|cut 2, a pair, DRILL|", "piece 2 of 2|", "allowance 10 mm", "for the harbour master",
		"mark by hand: 1 pen notch, 1 sew line, 1 inner line, 2 drill marks, 1 grain line"} {
		if !strings.Contains(card, want) {
			t.Errorf("card %q lacks %q", card, want)
		}
	}
	count := 0
	for _, f := range res.Findings {
		if f.Rule == pattern.RuleMarksNotMade {
			count++
		}
	}
	if count != 1 {
		t.Errorf("%d words about marks that are not made", count)
	}
	both := mustRun(t, draftOf(marked()), pattern.Ticket{}, Options{Cuts: true, HasPen: true}).Ready[0]
	if both.Card != nil || len(with(both, pattern.RoleText)) == 0 {
		t.Error("a knife with a pen does not letter")
	}
}

// Letters 5 to 8 mm high, inside the seam line, along the grain (common practice); not mirrored on
// a mirrored copy.
func TestLetters(t *testing.T) {
	for _, grain := range []*pattern.Segment{nil, {A: orb.Point{100, 50}, B: orb.Point{100, 350}}, {A: orb.Point{50, 50}, B: orb.Point{250, 250}}} {
		p := marked()
		p.Grain = grain
		for _, r := range mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready {
			sew := with(r, pattern.RoleSew)[0].Path
			box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
			for _, l := range with(r, pattern.RoleText) {
				for _, q := range l.Path.Points {
					if !sew.Contains(q) {
						t.Fatalf("letters outside the sew line at %v", q)
					}
					box = box.Extend(q)
				}
			}
			if w, h := span(box); w < 30 || h < 20 {
				t.Errorf("letters take %v by %v", w, h)
			}
		}
	}
}

func TestSmallPiecesGetSmallerLettersOrNone(t *testing.T) {
	strip := func(w, h float64) pattern.Piece {
		return sewn(func(p *pattern.Piece) {
			p.Sew, p.Grain = []geom.Path{{Closed: true, Points: []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}}}}, nil
		})
	}
	strap := mustRun(t, draftOf(strip(900, 25)), pattern.Ticket{}, Options{})
	if n := len(with(strap.Ready[0], pattern.RoleText)); n == 0 || len(strap.Findings) != 0 {
		t.Errorf("a strap takes its letters in one line: %d, %+v", n, strap.Findings)
	}
	small := mustRun(t, draftOf(strip(72, 27)), pattern.Ticket{}, Options{})
	if n := len(with(small.Ready[0], pattern.RoleText)); n == 0 || len(small.Findings) != 1 || !strings.Contains(small.Findings[0].Message, "mm high") {
		t.Errorf("%d letters, %+v", n, small.Findings)
	}
	tiny := mustRun(t, draftOf(strip(20, 10)), pattern.Ticket{}, Options{Cuts: true, HasPen: true})
	if n := len(with(tiny.Ready[0], pattern.RoleText)); n != 0 || len(tiny.Findings) != 1 || tiny.Findings[0].Rule != pattern.RuleLettersShrunk {
		t.Errorf("%d letters, %+v", n, tiny.Findings)
	}
}

// A name is drawn as lines, whatever it holds.
func TestOddNames(t *testing.T) {
	p := sewn(func(p *pattern.Piece) { p.Name = "\x1b%0A\x03;PU;\n(?!~) Ärmel 袖" })
	r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	if len(with(r, pattern.RoleText)) == 0 {
		t.Error("no letters")
	}
	for _, l := range r.Lines {
		for _, q := range l.Path.Points {
			if math.IsNaN(q[0]) || math.IsInf(q[0], 0) || math.IsNaN(q[1]) || math.IsInf(q[1], 0) {
				t.Fatal("a letter is nowhere")
			}
		}
	}
}

// What the style and the wearer's line say already, that it is a toile and fitted, the card does not say again.
func TestCardSaysToileAndFittingOnce(t *testing.T) {
	p := draftOf(marked())
	p.Style, p.Format, p.Fitted = "HARBOUR PLAY, toile", "measured", "fitted 2026-11-20"
	for i := range p.Pieces {
		p.Pieces[i].Card = []string{"the harbour master", "fitted 2026-11-20", "toile"}
	}
	card := strings.Join(mustRun(t, p, pattern.Ticket{}, Options{Cuts: true}).Ready[0].Card, "|")
	for _, once := range []string{"toile", "fitted 2026-11-20", "the harbour master"} {
		if strings.Count(card, once) != 1 {
			t.Errorf("%q does not say %q once", card, once)
		}
	}
}

// The wearer's name is told on the card also where a longer name in the heading ends with it, and once where it is the
// heading's.
func TestCardTellsAShorterName(t *testing.T) {
	for style, want := range map[string]string{"Mary Ann, toile": "Ann", "toile, Mary Ann": "Ann", "Ann, toile": ""} {
		p := draftOf(marked())
		p.Style = style
		for i := range p.Pieces {
			p.Pieces[i].Card = []string{"Ann"}
		}
		card := mustRun(t, p, pattern.Ticket{}, Options{Cuts: true}).Ready[0].Card
		if slices.Contains(card, "Ann") != (want != "") {
			t.Errorf("%s: the card says %q", style, card)
		}
	}
}
