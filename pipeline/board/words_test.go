package board

import (
	"slices"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// TestWordsOnAPage: where a message names a command that has a button on the job's page, the page names the button;
// other commands stay.
func TestWordsOnAPage(t *testing.T) {
	for said, want := range map[string]string{
		"ready to cut. Check bed and cloth, then: tracewheel release 1":                                                                      `ready to cut. Check bed and cloth, then: press "Release"`,
		"all was sent, then: tracewheel whole 12, or: tracewheel spoilt 12":                                                                  `all was sent, then: press "The sheet is whole", or: press "The sheet is spoilt"`,
		"see to the machine, then: tracewheel resume or cancel":                                                                              `see to the machine, then: press "Go on" or "Cancel"`,
		"job 3 stands stopped on it, and the others wait: tracewheel show 3":                                                                 "job 3 stands stopped on it, and the others wait: look at the page of job 3",
		"tracewheel show 3, then: tracewheel release 3 --lay 0c63cc":                                                                         `look at the page of job 3, then: press "Release"`,
		"on the roll: tracewheel release 3 --remnant roll":                                                                                   `on the roll: press "Lay it on the roll"`,
		"it fits remnant 2: tracewheel release 3 --remnant 2":                                                                                `it fits remnant 2: press "Lay it on remnant 2"`,
		"wait for job 2 to end, or: tracewheel cancel 2":                                                                                     `wait for job 2 to end, or: press "Cancel 2"`,
		"`tracewheel release 4` lets it go":                                                                                                  `press "Release" lets it go`,
		"knife-table was never calibrated: tracewheel square plot knife-table":                                                               "knife-table was never calibrated: send for a test square on the page of knife-table",
		"measured, tell: tracewheel square record roll-plotter":                                                                              "measured, record it on the page of roll-plotter",
		"release it with --body and the wearer's measure card, or with --body A if that is right; for the next time say body: in the ticket": "answer with the wearer's measure card, or A if that is right; for the next time say body: in the ticket",
		"release it with --body A or --body B":                                                                                               "answer with A or B",
		"the answer --body chorus 4 cannot be taken: none":                                                                                   "the answer chorus 4 cannot be taken: none",
		"if they are all wanted, release the job with --as-many, else cancel it":                                                             "if they are all wanted, tick \"So many copies are wanted\" and press \"Answer\", else cancel it",
		"write allowance: included in the ticket, or release the job with --allowance included":                                              "write allowance: included in the ticket, or answer with included",
		"the outline does not close":                                                                                                         "the outline does not close",
	} {
		if got := onPage(said); got != want {
			t.Errorf("%q becomes %q, not %q", said, got, want)
		}
	}
}

// TestBodiesOffered: a question's form offers each body that the question names, before the measure cards.
func TestBodiesOffered(t *testing.T) {
	room := making.Sample()
	room.Dir = t.TempDir()
	b := &Board{o: Options{Room: func() *config.Workroom { return room }}}
	asked := b.asked("the ticket is for the wearer; release it with --body and the wearer's measure card, or with --body A or --body B if that is right; for the next time say body: in the ticket")
	if len(asked) != 1 || !slices.Equal(asked[0].Choices, []string{"A", "B"}) {
		t.Errorf("%+v", asked)
	}
}

// TestWordsElsewhere: a page that must not move a cutter names no button that it does not show; buttons that stop
// stay.
func TestWordsElsewhere(t *testing.T) {
	for said, want := range map[string]string{
		"ready to cut. Check bed and cloth, then: tracewheel release 1": "ready to cut. Check bed and cloth, then: release it at the machine",
		"see to the machine, then: tracewheel resume or cancel":         `see to the machine, then: continue it at the machine, or press "Cancel"`,
		"tracewheel resume 2, or: tracewheel cancel 2":                  `continue it at the machine, or: press "Cancel 2"`,
	} {
		if got := elsewhere.Replace(onPage(said)); got != want {
			t.Errorf("%q becomes %q, not %q", said, got, want)
		}
	}
}

// TestFindingsAreGathered: findings with the same words of several pieces are listed once, with the others' pieces and
// numbers; none is lost.
func TestFindingsAreGathered(t *testing.T) {
	of := func(piece, message string, number int) numbered {
		f := pattern.NewFinding(pattern.RuleNotDrawn, message, "lay the card on the piece")
		f.Piece = piece
		return numbered{Finding: f, Number: number, Word: "note"}
	}
	all := []numbered{of("front", "no pen", 1), of("front", "too long", 2), of("back", "no pen", 3), of("back", "no pen", 0), of("sleeve", "no pen", 4), of("", "no pen", 0)}
	got := gathered(all)
	if len(got) != 2 || got[0].Number != 1 || got[1].Number != 2 || len(got[1].Also) != 0 {
		t.Fatalf("%+v", got)
	}
	if want := []alike{{3, "back", ""}, {0, "back", ""}, {4, "sleeve", ""}, {0, "", ""}}; !slices.Equal(got[0].Also, want) {
		t.Errorf("also of %+v", got[0].Also)
	}
	// A draft whose pieces have neither name nor quantity gets one sentence for both.
	label, quantity := pattern.NewFinding(pattern.RuleLabelMissing, "no name", "name it"), pattern.NewFinding(pattern.RuleQuantityMissing, "no number", "say it")
	label.Piece, quantity.Piece = "A", "A"
	if got := gathered([]numbered{{Finding: label}, {Finding: quantity}}); len(got) != 1 || len(got[0].Also) != 0 || !strings.Contains(got[0].Message, "no name; no number") {
		t.Errorf("%+v", got)
	}
}
