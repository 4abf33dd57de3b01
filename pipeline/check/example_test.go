package check

import (
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// example is a draft and what one rule must say of it: nothing, or a finding of the severity with
// all the words in its message.
type example struct {
	name     string
	draft    *pattern.Pattern
	lim      Limits
	severity pattern.Severity // "" for a good example
	count    int              // of findings; 0 counts as 1 for a bad example
	words    []string
	near     *orb.Point // the finding's place, within 1.5 mm
}

// examples of good and bad drafts for each rule; every file of tests adds its own.
var examples = map[string][]example{}

func TestEveryRuleOnItsExamples(t *testing.T) {
	known := map[string]bool{}
	for _, r := range registry {
		known[r.name] = true
	}
	for name := range examples {
		if !known[name] {
			t.Errorf("the rule %s has examples and is not in the registry, so that nobody looks for it", name)
		}
	}
	for _, r := range registry {
		good, bad := 0, 0
		for _, e := range examples[r.name] {
			t.Run(r.name+"/"+e.name, func(t *testing.T) { e.run(t, r.name) })
			if e.severity == "" {
				good++
			} else {
				bad++
			}
		}
		if good == 0 || bad == 0 {
			t.Errorf("rule %s has %d good and %d bad examples", r.name, good, bad)
		}
	}
}

func (e example) run(t *testing.T, rule string) {
	var found []pattern.Finding
	for _, f := range Run(e.draft, e.lim, nil) {
		if f.Rule == rule {
			found = append(found, f)
		}
	}
	if e.severity == "" {
		if len(found) > 0 {
			t.Fatalf("a good draft is found fault with: %s", said(found))
		}
		return
	}
	if len(found) != max(e.count, 1) {
		t.Fatalf("%d findings, want %d: %s", len(found), max(e.count, 1), said(found))
	}
	f := found[0]
	if f.Severity != e.severity {
		t.Errorf("severity %s, want %s", f.Severity, e.severity)
	}
	for _, w := range e.words {
		if !strings.Contains(f.Message, w) {
			t.Errorf("message %q lacks %q", f.Message, w)
		}
	}
	if f.Message == "" || f.Mend == "" || strings.HasSuffix(f.Message, ".") {
		t.Errorf("message %q, mend %q", f.Message, f.Mend)
	}
	if e.near != nil && (f.At == nil || geom.Dist(*f.At, *e.near) > 1.5) {
		t.Errorf("at %v, want %v", f.At, *e.near)
	}
}

// said is what findings say, without their lines.
func said(found []pattern.Finding) string {
	text := ""
	for _, f := range found {
		text += "\n" + f.Rule + " " + string(f.Severity) + ": " + f.Message
	}
	return text
}

// points reads "0,0 100,0 100,50".
func points(text string) []orb.Point {
	var out []orb.Point
	for _, f := range strings.Fields(text) {
		x, y, ok := strings.Cut(f, ",")
		px, errX := strconv.ParseFloat(x, 64)
		py, errY := strconv.ParseFloat(y, 64)
		if !ok || errX != nil || errY != nil {
			panic("no point: " + f)
		}
		out = append(out, orb.Point{px, py})
	}
	return out
}

func closed(text string) *geom.Path { return &geom.Path{Closed: true, Points: points(text)} }
func open(text string) *geom.Path   { return &geom.Path{Points: points(text)} }

// one-piece draft with all that no rule minds missing.
func draftOf(pieces ...pattern.Piece) *pattern.Pattern {
	p := &pattern.Pattern{Style: "HARBOUR PLAY", Source: "test", Pieces: pieces}
	return p
}

// panel is a sound piece: 300 by 200 sewn, 10 mm of allowance all round, a grain line.
func panel(change ...func(*pattern.Piece)) pattern.Piece {
	p := pattern.Piece{
		Name: "PANEL", Named: true, Quantity: 1, CutSaid: true,
		Cut:   closed("-10,-10 310,-10 310,210 -10,210"),
		Sew:   []geom.Path{*closed("0,0 300,0 300,200 0,200")},
		Grain: &pattern.Segment{A: orb.Point{150, 20}, B: orb.Point{150, 180}},
	}
	for _, c := range change {
		c(&p)
	}
	return p
}

func place(x, y float64) *orb.Point { return &orb.Point{x, y} }
func mm(v float64) *float64         { return &v }

// The registry names each rule of the list that checks raise, once.
func TestRegistryAgreesWithTheList(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range registry {
		if _, _, ok := pattern.RuleNamed(r.name); !ok || seen[r.name] || (r.piece == nil) == (r.draft == nil) {
			t.Errorf("rule %q: known %v, twice %v", r.name, ok, seen[r.name])
		}
		seen[r.name] = true
	}
}

func TestASoundPieceIsPassed(t *testing.T) {
	if found := Run(draftOf(panel()), Limits{Width: 900, Length: 900, Cuts: true, BladeOffset: 0.5}, nil); len(found) > 0 {
		t.Errorf("found %s", said(found))
	}
}

func TestLevelsAndOrder(t *testing.T) {
	open := panel(func(p *pattern.Piece) { p.Cut = &geom.Path{Points: p.Cut.Points}; p.Grain = nil; p.Quantity = 0 })
	d := draftOf(panel(func(p *pattern.Piece) { p.Quantity = 0 }), open)
	d.Findings = []pattern.Finding{
		{Rule: pattern.RuleGapBridged, Severity: pattern.Note, Piece: "PANEL", Index: 1},
		pattern.NewFinding(pattern.RuleLeftOut, "m", "e"),
	}
	var got []string
	for _, f := range Run(d, Limits{}, map[string]pattern.Severity{"grain-missing": "off", "gap-bridged": "error"}) {
		got = append(got, strconv.Itoa(f.Index)+" "+f.Rule+" "+string(f.Severity))
	}
	want := "-1 left-out note, 0 quantity-missing note, 1 outline-open error, 1 gap-bridged error, 1 quantity-missing note"
	if s := strings.Join(got, ", "); s != want {
		t.Errorf("got  %s\nwant %s", s, want)
	}
	if len(d.Findings) != 2 || d.Findings[0].Severity != pattern.Note {
		t.Error("the draft's own findings were changed")
	}
}

func TestInches(t *testing.T) {
	w := newWords(&pattern.Pattern{}, "in")
	// Trade values: 5/8, 1/2, 3/8, 1/4, 1/8 in (exact by 1 in = 25.4 mm); 25 3/8 in = 644.525 mm.
	for mm, want := range map[float64]string{
		15.875: "5/8", 12.7: "1/2", 9.525: "3/8", 6.35: "1/4", 3.175: "1/8", 644.525: "25 3/8",
		25.4: "1", 0: "0", 10.4: "13/32", -3.175: "-1/8",
	} {
		if got := w.number(mm); got != want {
			t.Errorf("%v mm: %q, want %q", mm, got, want)
		}
	}
	if got := w.length(10); got != "25/64 in" {
		t.Error(got)
	}
	if got := w.places.Say(orb.Point{25.4, -0.01}); got != "(1.00, 0.00) in" {
		t.Error(got)
	}
	if got := (words{}).places.Say(orb.Point{1.25, -0.01}); got != "(1.3, 0)" {
		t.Error(got)
	}
	if got := newWords(&pattern.Pattern{PageHeight: 297}, "mm").places.Say(orb.Point{10, 296}); got != "(10, 1)" {
		t.Errorf("a place one mm below the upper edge of a page is told as %s", got)
	}
}
