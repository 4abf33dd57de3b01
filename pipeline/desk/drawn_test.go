package desk

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/config/samples"
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/folder"
)

// TestLight: each edge, dart and lettered point of the picture that has a line number is described in that line, also
// in a drawing that traces another.
func TestLight(t *testing.T) {
	v := visit(t)
	text := string(samples.Read("princess-tunic.yaml"))
	lines := strings.Split(text, "\n")
	svg := v.desk.draw(t.Context(), wish{Name: "x", Text: text}).SVG
	seen := map[string]int{}
	for _, m := range regexp.MustCompile(`<path data-piece="([^"]*)" data-name="([^"]*)" data-line="(\d+)" class="handle (\w+)"`).FindAllStringSubmatch(svg, -1) {
		no, err := strconv.Atoi(m[3])
		if err != nil {
			t.Fatal(err)
		}
		if no == 0 {
			continue
		}
		seen[m[1]+" "+m[4]]++
		seen[m[1]+" "+m[2]]++
		said := strings.TrimSpace(lines[no-1])
		if name := strings.Fields(m[2])[0]; !strings.HasPrefix(said, m[2]+":") && !strings.Contains(said, name) {
			t.Errorf("%s of %s leads to line %d: %s", m[2], m[1], no, said)
		}
		if m[1] == "back" && m[2] == "U" && said != "U: from O out quarter, down underarm" {
			t.Errorf("the traced U leads to %q", said)
		}
	}
	for _, of := range []string{"back point", "back edge", "back dart", "centre front point", "side front edge", "side front princess", "centre front princess"} {
		if seen[of] == 0 {
			t.Errorf("nothing is to be pointed at for a %s: %v", of, seen)
		}
	}
}

// TestChecks: each promise of a draft is kept, differs or is not known, with its line.
func TestChecks(t *testing.T) {
	v := visit(t)
	text := string(samples.Read("princess-tunic.yaml"))
	states := func(text string) map[string]string {
		out := map[string]string{}
		for _, c := range v.desk.draw(t.Context(), wish{Name: "x", Text: text}).Checks {
			word, _, _ := strings.Cut(c.Text, ":")
			out[word] = c.State
			lines := strings.Split(text, "\n")
			if word == "notches" { // the first one in the draft
				if c.Line < 2 || !strings.HasPrefix(lines[c.Line-2], "notches:") {
					t.Errorf("%q leads to line %d", c.Text, c.Line)
				}
				continue
			}
			if c.Line > 0 && !strings.Contains(lines[c.Line-1], strings.Fields(word)[len(strings.Fields(word))-1]) {
				t.Errorf("%q leads to line %d", c.Text, c.Line)
			}
		}
		return out
	}
	for _, c := range []struct{ was, is, word, state string }{
		{"", "", "bust", checks.Kept},
		{"", "", "side front side = back side", checks.Kept},
		{"", "", "notches", checks.Kept},
		{"bust: at least 6", "bust: at least 26", "bust", checks.Differs},
		{"side front side = back side, within 0.3", "side front side = back side, 3 longer", "side front side = back side", checks.Differs},
		{"O: start", "O: strat", "ease at the bust", checks.NotKnown},
		{"O: start", "O: strat", "seam side front side = back side, within 0.3", checks.NotKnown},
		{"O: start", "O: strat", "notches", checks.NotKnown},
	} {
		if got := states(strings.Replace(text, c.was, c.is, 1)); got[c.word] != c.state {
			t.Errorf("%s for %s: %q is %q, want %s; all: %v", c.is, c.was, c.word, got[c.word], c.state, got)
		}
	}
	// Half the bust and the ease by hand: the smock is 4*(92/4 + 4) = 108 round, 16 more than 92.
	if c := v.desk.draw(t.Context(), wish{Name: "x", Text: string(samples.Read("ferry-smock.yaml"))}).Checks; c[0].Text != "bust: 108.0 round, ease 16.0; asked 16" {
		t.Errorf("the first check says %q", c[0].Text)
	}
	found := false
	for _, c := range v.desk.draw(t.Context(), wish{Name: "x", Text: string(samples.Read("ferry-smock.yaml"))}).Checks {
		found = found || c.State == checks.Kept && strings.HasPrefix(c.Text, "goes over the head: ")
	}
	if !found {
		t.Error("nothing is told of the smock's way over the head")
	}
}

// TestClearOnlyWhereAllIsKnown: the page does not just say that no fault was found where a promise of the draft is not
// known or not kept.
func TestClearOnlyWhereAllIsKnown(t *testing.T) {
	v := visit(t)
	text := string(samples.Read("princess-tunic.yaml"))
	v.files(map[string]string{"drafts/whole.yaml": text,
		"drafts/sash.yaml": "style: Sash\nunit: cm\npieces:\n  sash: strip 5 wide, 90 long; cut 1\nallow: 1\n",
		"drafts/two.yaml":  "style: Sash\nunit: cm\npieces:\n  sash: strip 5 wide, 90 long; cut 1\n  tie: strip 3 wide, 20 long; cut 1\nallow: 1\n"})
	if d := v.desk.draw(t.Context(), wish{Name: "whole", Text: text}); len(d.Faults) > 0 || d.Clear != "No faults found." {
		t.Errorf("all is kept, and it says %q, %+v", d.Clear, d.Faults)
	}
	const want = "No faults found, but 1 of the checks below is not known."
	if _, page := v.get("/desk/draft/two"); !strings.Contains(page, "<li>"+want+"</li>") {
		t.Errorf("the page does not say: %s", want)
	}
	if _, page := v.get("/desk/draft/sash"); !strings.Contains(page, "<li>No faults found.</li>") || !strings.Contains(page, "<li>The draft names none.</li>") {
		t.Error("of a strip alone something is not known")
	}
	for states, want := range map[[3]string]string{
		{checks.Kept, checks.Kept, checks.Kept}:            "No faults found.",
		{checks.NotKnown, checks.Kept, checks.NotKnown}:    "No faults found, but 2 of the checks below are not known.",
		{checks.NotKnown, checks.Differs, checks.NotKnown}: "No faults found, but 1 of the checks below differs, and 2 of the checks below are not known.",
	} {
		var all []checks.Check
		for _, s := range states {
			all = append(all, checks.Check{State: s})
		}
		if got := checks.Clear(all); got != want {
			t.Errorf("%v: %q, want %q", states, got, want)
		}
	}
}

// TestOffer: a fault offers the right word for a wrong one, and with it the draft is drawn.
func TestOffer(t *testing.T) {
	v := visit(t)
	smock := string(samples.Read("ferry-smock.yaml"))
	for was, wrong := range map[string]string{"P: from O down 4": "P: from O dwon 4", "\ncloth:": "\ncloht:", "bust/4": "bsut/4"} {
		text := strings.Replace(smock, was, wrong, 1)
		if text == smock {
			t.Fatalf("the smock has no %q", was)
		}
		d := v.desk.draw(t.Context(), wish{Name: "x", Text: text})
		i := slices.IndexFunc(d.Faults, func(f fault) bool { return f.Offer != nil })
		if i < 0 {
			t.Errorf("%q: nothing is offered: %+v", wrong, d.Faults)
			continue
		}
		f := d.Faults[i]
		lines := strings.Split(text, "\n")
		lines[f.Line-1] = strings.Replace(lines[f.Line-1], f.Offer.Was, f.Offer.Word, 1)
		if strings.Join(lines, "\n") != smock {
			t.Errorf("%q: %+v offers %+v", wrong, f, *f.Offer)
		}
	}
}

// TestOfferWhereTheSlipIs: a name that is misspelt at its definition is corrected there by one click, not in the lines
// that use it; one that is misspelt at a use is corrected there.
func TestOfferWhereTheSlipIs(t *testing.T) {
	v := visit(t)
	skirt := string(samples.Read("gathered-skirt.yaml"))
	for _, c := range []struct{ was, is string }{
		{"  fullness: 2", "  fulness: 2"},
		{"  band: waist", "  bnad: waist"},
		{"A: {waist: 74", "A: {wiast: 74"},
		{"  O: start", "  OO: start"},
		{"  top: line", "  topp: line"},
		{"draft panel:", "draft pannel:"},
		{"  front: panel", "  frnt: panel"},
		{"  waistband: strip", "  waitsband: strip"},
		{"(fullness*band)", "(fulness*band)"}, // misspelt at the use
		{"= waistband long", "= waitsband long"},
		{"from O out cloth round/4", "from O out cloth ruond/4"},
		{"long edge, gathered", "long edge, gathred"},
	} {
		text := strings.Replace(skirt, c.was, c.is, 1)
		if text == skirt {
			t.Fatalf("the skirt has no %q", c.was)
		}
		offered := false
		for _, f := range v.desk.draw(t.Context(), wish{Name: "x", Text: text}).Faults {
			if f.Offer == nil {
				continue
			}
			offered = true
			lines := strings.Split(text, "\n")
			lines[f.Offer.Line-1] = strings.Replace(lines[f.Offer.Line-1], f.Offer.Was, f.Offer.Word, 1)
			if strings.Join(lines, "\n") != skirt {
				t.Errorf("%q: %q offers %+v", c.is, f.Text+"; "+f.Mend, *f.Offer)
			}
		}
		if !offered {
			t.Errorf("%q: nothing is offered", c.is)
		}
	}
	// A card has a misspelt measure: the draft is not to be changed.
	v.files(map[string]string{"cards/hale.yaml": "unit: cm\nmeasures: {wiast: 74, hip: 98}\n"})
	for _, f := range v.desk.draw(t.Context(), wish{Name: "x", Text: skirt, Body: "hale"}).Faults {
		if f.Offer != nil {
			t.Errorf("the card's slip is offered to the draft: %+v", *f.Offer)
		}
	}
	// The person's own name, defined and used consistently, is right.
	if f := v.desk.draw(t.Context(), wish{Name: "x", Text: strings.ReplaceAll(strings.ReplaceAll(skirt, "fullness", "fulness"), "(fulness*", "(fullness*")}).Faults; len(f) == 0 || f[0].Offer == nil {
		t.Errorf("nothing is offered: %+v", f)
	}
}

// TestBefore: the earlier pieces are drawn behind, aligned at the requested point, and the changed numbers are listed.
func TestBefore(t *testing.T) {
	v := visit(t)
	text := string(samples.Read("princess-tunic.yaml"))
	in := wish{Name: "x", Text: text, Body: "A", Before: &wish{Body: "A"}}
	if d := v.desk.draw(t.Context(), in); len(d.Changed) != 0 {
		t.Errorf("the same moved: %v", d.Changed)
	}
	in.Body = "B"
	d := v.desk.draw(t.Context(), in)
	// front quarter = bust/2 + 5 - back quarter: 97/2 + 5 - 26.5 and 112/2 + 5 - (105/4 + 2.5 + 1), by hand.
	if !slices.Contains(d.Changed, "front quarter 31.25, body A has 27") || !strings.Contains(d.SVG, `class="before"`) {
		t.Errorf("told as moved: %v", d.Changed)
	}
	nested := func(upon string) string {
		in.Upon = upon
		return v.desk.draw(t.Context(), in).SVG
	}
	if nested("U") == d.SVG || nested("no such point") != d.SVG {
		t.Error("the pieces do not lie upon the point that is asked for")
	}
	in.Beside = true
	if b := v.desk.draw(t.Context(), in); strings.Count(b.SVG, `data-name="U"`) != 2*strings.Count(d.SVG, `data-name="U"`) || strings.Contains(b.SVG, `class="before"`) {
		t.Error("not side by side")
	}
	// A fitting on a card: the changes are listed against the card without it.
	if err := folder.Create(v.room.Path("cards")+"/wren.yaml", fmt.Append(nil, "unit: cm\nmeasures: {bust: 97, high bust: 92, waist: 79, hip: 103, hip depth: 20, neck: 37, shoulder: 13, across front: 34, across back: 36.5, nape to waist: 41, front waist: 45, apex depth: 27.5, apex separation: 19, armhole depth: 19}\nchanges: {2026-10-31: {underarm: 1 more}}\n")); err != nil {
		t.Fatal(err)
	}
	d = v.desk.draw(t.Context(), wish{Name: "x", Text: text, Body: "wren", Before: &wish{Body: "A"}})
	if !slices.Contains(d.Changed, "underarm 24.56, body A has 23.56") {
		t.Errorf("a fitting moved %v", d.Changed)
	}
}

// TestDrawingIsBounded: a drawing that takes too long is given up and reported as slow, without faults, also when a
// page is loaded; a page that learns this at a keystroke does not ask again with more time.
func TestDrawingIsBounded(t *testing.T) {
	v := visit(t)
	in := wish{Name: "tunic", Text: string(samples.Read("princess-tunic.yaml"))}
	if d := v.desk.drawWithin(t.Context(), in, time.Nanosecond); !d.Slow || d.SVG != "" || len(d.Faults) > 0 || !strings.Contains(d.Clear, "given up") {
		t.Errorf("given up: slow %v, %d faults, %q", d.Slow, len(d.Faults), d.Clear)
	}
	if d := v.desk.drawWithin(t.Context(), in, time.Hour); d.Slow || d.SVG == "" {
		t.Errorf("within its time: slow %v, %v", d.Slow, d.Faults)
	}
	if d := v.desk.draw(t.Context(), in); d.Slow || d.SVG == "" {
		t.Errorf("as a page is opened: slow %v, %v", d.Slow, d.Faults)
	}
	var page strings.Builder
	p := deskPage{Name: "tunic", Drawing: drawing{Slow: true, Clear: "c"}}
	if err := v.desk.pages.ExecuteTemplate(&page, "draft.html", p); err != nil || !strings.Contains(page.String(), "Not drawn: it took longer than 20 seconds and was given up") || strings.Contains(page.String(), "mend first what is marked") {
		t.Errorf("the page does not say that it was given up: %v", err)
	}
}

// TestNoSuchPoint: a point that no piece has is reported where two drawings were to be aligned at it; a point of some
// pieces is not.
func TestNoSuchPoint(t *testing.T) {
	v := visit(t)
	text := string(samples.Read("princess-tunic.yaml"))
	for upon, told := range map[string]bool{"QQ": true, "U": false, "": false} {
		d := v.desk.draw(t.Context(), wish{Name: "tunic", Text: text, Body: "A", Before: &wish{Body: "B"}, Upon: upon})
		if got := strings.Contains(strings.Join(d.Changed, "; "), "no piece has a point"); got != told || len(d.Changed) < 5 {
			t.Errorf("upon %q: %q", upon, d.Changed)
		}
	}
}
