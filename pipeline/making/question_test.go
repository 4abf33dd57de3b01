package making

import (
	"os"
	"slices"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
)

// TestQuestionNamesItsRelease: the file of a job that waits is taken already, so its question names the release
// that answers it, and that answer lets it be made.
func TestQuestionNamesItsRelease(t *testing.T) {
	r := Request{Source: []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400"><g data-piece="hand" data-quantity="1"><path d="M10 310H210L60 10Z"/></g></svg>`), Name: "hand.svg", Device: "roll-plotter"}
	h := New(Sample())
	w, err := h.Make(t.Context(), r)
	if err != nil || !strings.Contains(w.Hold, "release the job with --allowance included") {
		t.Errorf("%v: it asks %q", err, w.Hold)
	}
	r.Answers = map[string]string{"allowance": "included"}
	if w, err = h.Make(t.Context(), r); err != nil || w.Hold != "" || w.Refused {
		t.Errorf("%v: %q, %q", err, w.Hold, w.Reason)
	}
}

// TestManyCopiesAreAsked: a ticket's slip of the pen, 500 for 5, is asked about before paper is spent on it;
// below the workroom's number, with the answer, and for a single file nobody is asked.
func TestManyCopiesAreAsked(t *testing.T) {
	source, err := os.ReadFile("../../testdata/drafts/apron-mm.svg")
	if err != nil {
		t.Fatal(err)
	}
	room := Sample()
	room.CopiesUnasked = 2
	for _, c := range []struct {
		ticket  string
		job     int64
		answers map[string]string
		asks    bool
	}{
		{"copies: 3", 7, nil, true},
		{"copies: 2", 7, nil, false},
		{"copies: 3", 7, map[string]string{answers.AsMany: "yes"}, false},
		{"copies: 3", 0, nil, false},
	} {
		w, err := New(room).Make(t.Context(), Request{Job: c.job, Name: "apron.svg", Device: "roll-plotter", Source: source,
			Ticket: []byte(c.ticket + "\n"), Answers: c.answers})
		if err != nil {
			t.Fatal(err)
		}
		if asks := strings.Contains(w.Hold, "--as-many"); asks != c.asks || !asks && len(w.Program.Blocks) == 0 {
			t.Errorf("%s, job %d, %v: asks %q, %d blocks, %v", c.ticket, c.job, c.answers, w.Hold, len(w.Program.Blocks), w.Findings)
		}
	}
}

// TestWearerWithoutBody: a ticket that names a wearer and no body would have the draft's own body cut for another person,
// so it is asked whose measures count; the answer, a body in the ticket, or a wearer who is that body lets it be made.
func TestWearerWithoutBody(t *testing.T) {
	for _, c := range []struct {
		draft, ticket string
		answers       map[string]string
		asks          bool
	}{
		{"ferry-smock.yaml", "wearer: the boatswain\n", nil, true},
		{"ferry-smock.yaml", "wearer: the boatswain\n", map[string]string{answers.Body: "A"}, false},
		{"ferry-smock.yaml", "wearer: the boatswain\nbody: A\n", nil, false},
		{"ferry-smock.yaml", "wearer: a\n", nil, false},
		{"lay-figure.yaml", "wearer: Lay Figure\n", nil, false},
		{"ferry-smock.yaml", "production: Harbour Lights\n", nil, false},
		{"stagehand-apron.svg", "wearer: the boatswain\n", nil, false},
	} {
		source := []byte(strings.NewReplacer("\n  A: {", "\n  lay-figure: {", "body: A ", "body: lay-figure ").Replace(string(samples.Read("ferry-smock.yaml"))))
		if c.draft != "lay-figure.yaml" {
			source = samples.Read(c.draft)
		}
		w, err := New(Sample()).Make(t.Context(), Request{Job: 7, Name: c.draft, Device: "roll-plotter", Source: source,
			Ticket: []byte(c.ticket), Answers: c.answers})
		if err != nil {
			t.Fatal(err)
		}
		said := strings.Contains(w.Hold, `the wearer "the boatswain" and names no body`) && strings.Contains(w.Hold, "--body A")
		if said != c.asks || !c.asks && len(w.Program.Blocks) == 0 {
			t.Errorf("%s, ticket %q, %v: asks %q, %d blocks, %s", c.draft, c.ticket, c.answers, w.Hold, len(w.Program.Blocks), w.Reason)
		}
		if c.asks && c.draft == "ferry-smock.yaml" && !strings.Contains(w.Hold, "or with --body A or --body B if that is right") {
			t.Errorf("not each body of the draft is offered: %q", w.Hold)
		}
	}
}

// TestMistypedAnswer: an answer that cannot be taken, as a body that the draft does not have, holds the job with what is wrong
// and the question, and the right one lets it be made; of a file that is no job's it is refused.
func TestMistypedAnswer(t *testing.T) {
	smock := strings.Replace(string(samples.Read("ferry-smock.yaml")), "\nbody: A", "\n# body: A", 1)
	hand := `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400"><g data-piece="hand" data-quantity="1"><path d="M10 310H210L60 10Z"/></g></svg>`
	for _, device := range []string{"roll-plotter", "office-printer"} {
		for _, c := range []struct{ draft, source, name, wrong, right, says, means string }{
			{"smock.yaml", smock, answers.Body, "AA", "B", `--body AA cannot be taken: "AA" is no body of this draft`, `; did you mean "A"?; `},
			{"hand.svg", hand, answers.Allowance, "wide", "included", "--allowance wide cannot be taken: ", ""},
		} {
			ask := func(job int64, answer string) *Work {
				r := Request{Job: job, Name: c.draft, Device: device, Source: []byte(c.source)}
				if answer != "" {
					r.Answers = map[string]string{c.name: answer}
				}
				w, err := New(wideRoom()).Make(t.Context(), r)
				if err != nil {
					t.Fatal(err)
				}
				return w
			}
			asked := ask(7, "")
			if w := ask(7, c.wrong); w.Refused || !strings.Contains(w.Hold, c.says) || !strings.Contains(w.Hold, c.means) || !strings.HasSuffix(w.Hold, asked.Hold) || asked.Hold == "" {
				t.Errorf("%s, %s: held %q, refused %v %q; without an answer held %q", device, c.draft, w.Hold, w.Refused, w.Reason, asked.Hold)
			}
			if w := ask(7, c.right); w.Hold != "" || w.Refused || len(w.Program.Blocks) == 0 {
				t.Errorf("%s, %s: %q %q", device, c.draft, w.Hold, w.Reason)
			}
			if w := ask(0, c.wrong); device == "roll-plotter" && !w.Refused {
				t.Errorf("%s of no job: held %q", c.draft, w.Hold)
			}
		}
	}
}

// TestBodyOfSeveralDrafts: of several drafts those that ask offer the bodies that all of them have, and the answer is for them
// alone: a draft that says its body keeps it.
func TestBodyOfSeveralDrafts(t *testing.T) {
	smock := string(samples.Read("ferry-smock.yaml"))
	asks := strings.Replace(smock, "\nbody: A", "\n# body: A", 1)
	other := strings.NewReplacer("\n  A: {", "\n  C: {").Replace(asks) // has C and B
	none := strings.NewReplacer("\n  A: {", "\n  C: {", "\n  B: {", "\n  D: {").Replace(asks)
	for _, c := range []struct {
		name, second, answer string
		hold, notHold        string
		sizes                string
	}{
		{"both ask", other, "", "release it with --body B; the answer is for smock.yaml, other.yaml", "--body A", ""},
		{"both answered", other, "B", "", "", "B"},
		{"both, one lacks it", other, "C", "--body C cannot be taken", "--body A", ""},
		{"no body in common", none, "", "they have no body in common", "--body A", ""},
		{"one asks", smock, "", "release it with --body A or --body B", "the answer is for", ""},
		{"one answered", smock, "B", "", "", "A B"},
	} {
		r := withDrafts(t, "with: [other.yaml]\n", "smock.yaml", asks, "other.yaml", c.second)
		r.Job, r.Device, r.With = 7, "roll-plotter", map[string][]byte{"other.yaml": []byte(c.second)}
		if c.answer != "" {
			r.Answers[answers.Body] = c.answer
		}
		w, err := New(wideRoom()).Make(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if w.Refused || (c.hold == "") != (w.Hold == "") || !strings.Contains(w.Hold, c.hold) || c.notHold != "" && strings.Contains(w.Hold, c.notHold) {
			t.Errorf("%s: held %q, refused %q", c.name, w.Hold, w.Reason)
		}
		var sizes []string
		made, _ := w.Prepared()
		for _, p := range made.Ready {
			sizes = append(sizes, p.Size)
		}
		slices.Sort(sizes)
		if got := strings.Join(slices.Compact(sizes), " "); got != c.sizes {
			t.Errorf("%s: made for %q", c.name, got)
		}
	}
}

// TestLargeDraftsOfATicket: drafts of more than 128 MB together are refused before all of them are read.
func TestLargeDraftsOfATicket(t *testing.T) {
	r := withDrafts(t, "with: [a.svg, b.svg, c.svg]\n", "own.svg", square200, "a.svg", square200, "b.svg", square200, "c.svg", square200)
	large := make([]byte, pattern.MostTogether/3) // no draft, which is told soon
	r.Device, r.With = "roll-plotter", map[string][]byte{"a.svg": large, "b.svg": large, "c.svg": large}
	w, err := New(wideRoom()).Make(t.Context(), r)
	if err != nil || !w.Refused || !slices.ContainsFunc(w.Findings, func(f pattern.Finding) bool {
		return strings.Contains(f.Message, "more than 128 MB together; name fewer")
	}) {
		t.Errorf("%v: refused %v, %v", err, w.Refused, w.Findings)
	}
}
