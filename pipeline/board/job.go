package board

import (
	"context"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/control/leftout"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/jobpicture"
	"tracewheel/pipeline/laid"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/namedfiles"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/sending"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/testsquare"
	"tracewheel/pipeline/web"
)

// choice is a button of a job's page.
type choice struct {
	Verb, Text string
	// Said is the confirmation that it sends, empty for none.
	Said control.Confirmation
	// Question is what the person confirms.
	Question string
	// From is where a stopped job continues, and About what is made twice then.
	From, About string
	// Pieces are those of which some may be chosen, Piece those of which one must be.
	Pieces, Piece []jobpicture.Box
	// Remnant is the remnant on which the job is laid then, or control.OnRoll.
	Remnant string
	// Cloth is that of which the draft's other pieces are made.
	Cloth string
}

// jobPage is a job's page.
type jobPage struct {
	card
	Findings []numbered
	// OfCloths are the jobs for the cloths whose pieces this one leaves out.
	OfCloths []leftout.Cloth
	Events   []ledger.Event
	// History are the events and the job's runs with the tool up, Tried is the last of these runs.
	History []happening
	Tried   *ledger.Job
	// Last is the number of the newest event: a button of an older page is refused.
	Last  int64
	Files []ledger.File
	// Numbers are those of its measured drafts; Lays is the address of the page of its lays.
	Numbers []*figures.Figures
	Lays    bool
	Ticked  *ticked // nil where the pieces' names are not known
	Choices []choice
	Asked   []answers.Answer // those that the question asks for
	// Reordered are those that a person may give without a question.
	Reordered []answers.Answer
	cautions
	// Elsewhere is true where this page must not release the cutter.
	Elsewhere bool
	// Large is the picture, nil for none. Far is how far the pieces are made while the job is sent, or where it ended
	// early.
	Large *jobpicture.Large
	Drawn bool
	Far   [][2]string
}

// happening is a line of a job's history: an event, or a run with the tool up, which is a job of its own.
type happening struct {
	ledger.Event
	Trial int64
}

// tried adds a job's runs with the tool up to its history, the newest first, each where it ended or, if it still runs,
// began.
func (p *jobPage) tried(trials []ledger.Job) {
	for _, e := range p.Events {
		p.History = append(p.History, happening{Event: e})
	}
	for _, t := range trials {
		at := t.Ended
		if at.IsZero() {
			at = t.Received
		}
		i := slices.IndexFunc(p.History, func(h happening) bool { return !h.At.After(at) })
		if i < 0 {
			i = len(p.History)
		}
		p.History = slices.Insert(p.History, i, happening{ledger.Event{At: at, Kind: t.TriedSaid()}, t.ID})
		p.Tried = &t
	}
}

// numbered is a finding with its number in the picture, 0 for none.
type numbered struct {
	pattern.Finding
	Number int
	Word   string
	// Place is its place in the picture of the draft, "" where it is not known.
	Place string
	// Also are the other pieces with the same finding.
	Also []alike
}

// Ringed tells whether a finding has its number in the picture of the draft.
func (p *jobPage) Ringed() bool {
	return slices.ContainsFunc(p.Findings, func(f numbered) bool {
		return f.Number > 0 || slices.ContainsFunc(f.Also, func(a alike) bool { return a.Number > 0 })
	})
}

func (b *Board) job(w http.ResponseWriter, r *http.Request, j ledger.Job) {
	data, err := b.pageOf(r, j)
	if err != nil {
		b.problem(w, r, err)
		return
	}
	b.show(w, r, "Job "+r.PathValue("id"), "job.html", data, &data.card)
}

func (b *Board) pageOf(r *http.Request, j ledger.Job) (*jobPage, error) {
	ctx := r.Context()
	p := &jobPage{card: b.cardOf(ctx, j, b.sentNow())}
	var err error
	if p.Events, err = b.o.Jobs.Events(ctx, j.ID); err != nil {
		return nil, err
	}
	if len(p.Events) > 0 {
		p.Last = p.Events[len(p.Events)-1].Seq
	}
	slices.Reverse(p.Events)
	trials, err := b.o.Jobs.Jobs(ctx, ledger.Filter{TrialsOf: j.ID, Faulty: true})
	if err != nil {
		return nil, err
	}
	p.tried(trials)
	if p.Files, err = b.o.Jobs.Files(ctx, j.ID); err != nil {
		return nil, err
	}
	if p.Ticked, err = b.ticksOf(r, j); err != nil {
		return nil, err
	}
	for _, f := range p.Files {
		if f.Name == store.Findings {
			p.Findings = b.findings(ctx, j.ID, p.Files)
		}
	}
	far, told := b.pics.Far(ctx, j)
	if p.Drawn = told; told {
		p.Far = b.pics.Rows(ctx, j.ID, far)
	}
	p.Large = b.pics.Large(r, j, p.Files, p.Drawn)
	p.Picture = p.Large != nil
	if p.Lays = j.Pieces > 0 && !testsquare.IsOrder(j.File); p.Lays && j.State != ledger.Aborted && j.Stripped == ledger.Whole {
		// Nil where they cannot be read: the error is reported where the files are used.
		p.Numbers, _ = b.lays.Numbers(ctx, laid.KeyOf(j), b.reads(r, j))
	}
	if err := b.choices(ctx, p); err != nil {
		return nil, err
	}
	if !j.State.Ended() {
		p.cautions = b.cautionsOf(ctx, j.Device)
		p.Elsewhere = b.kind(j.Device).Cuts() && !b.web.Door.Paired(web.SessionOf(r).ID)
	}
	return p, nil
}

// cautions are shown in full before a device's first release of a day; later Caution is the link to them.
type cautions struct {
	Cautions []string
	Caution  string
}

func (b *Board) cautionsOf(ctx context.Context, device string) (c cautions) {
	kind := b.kind(device)
	if c.Cautions = sending.CautionsOf(kind); len(c.Cautions) == 0 {
		return c
	}
	already, err := b.o.Jobs.Happened(ctx, device, "release", control.ReleaseSaid(kind.Cuts()), midnight(b.o.Now()))
	if err == nil && already {
		c.Caution = c.Cautions[0]
	}
	return c
}

// kind is a device's kind, a cutter's where the workroom does not say it.
func (b *Board) kind(device string) devices.Kind {
	if d, ok := b.o.Room().Devices[device]; ok {
		return d.Kind
	}
	return devices.DragKnife
}

// findings are a job's findings, worst first; none where they cannot be read. A finding has a number only in a picture
// of the draft: in a lay the numbers are those of pieces, and small pieces have no rings.
func (b *Board) findings(ctx context.Context, id int64, files []ledger.File) (out []numbered) {
	all := leftout.Findings(ctx, b.o.Jobs, id)
	words := map[pattern.Severity]string{pattern.Error: "error", pattern.Warning: "warning", pattern.Note: "note"}
	at, told := b.pics.Places(ctx, files)
	for i, n := range picture.Numbered(all) {
		one := numbered{Finding: all[i], Word: words[all[i].Severity]}
		if !told {
			one.Number = n
		}
		if place, is := at[n]; is {
			one.Number = n
			one.Place = fmt.Sprintf("%g %g", place[0], place[1])
		}
		out = append(out, one)
	}
	return gathered(out)
}

// choices are the buttons of a job in its state.
func (b *Board) choices(ctx context.Context, p *jobPage) error {
	cuts := b.kind(p.Device).Cuts()
	add := func(c choice) {
		if c.Said != "" {
			c.Question = c.Said.Asks(b.o.Jobs.Lies(ctx, p.Job))
		}
		p.Choices = append(p.Choices, c)
	}
	switch {
	case p.Fault != "" || p.Pruning:
	case p.State == ledger.Held && p.Asks != "":
		p.Asked = b.asked(p.Asks)
	case p.RemnantShort(): // it must be laid on something else first
		b.remnants(p, add)
	case p.State == ledger.Held:
		if p.Answers[answers.ToolUp] == "" && !testsquare.IsOrder(p.File) {
			p.Reordered = answers.Reordered()
		}
		c := choice{Verb: "release", Text: "Release"}
		if cuts && p.Ready {
			c.Said = control.BedClear
		}
		add(c)
		b.remnants(p, add)
	case p.State == ledger.Pending:
		add(choice{Verb: "hold", Text: "Hold"})
	case p.State == ledger.Stopped && p.Send.AllSent(), p.State == ledger.Processing && p.Progress != nil && b.ending(p.ID):
		add(choice{Verb: "whole", Text: "The sheet is whole"})
		add(choice{Verb: "spoilt", Text: "The sheet is spoilt"})
	case p.State == ledger.Stopped:
		return b.resumes(ctx, p, cuts, add)
	case p.State.Ended():
		if p.State == ledger.Aborted && !slices.ContainsFunc(p.Events, func(e ledger.Event) bool { return e.Kind == ledger.EventSeen }) {
			add(choice{Verb: "seen", Text: "Seen", About: "It then leaves the list of what needs you."})
		}
		if p.Stripped != ledger.Forgotten && p.Trial() == "" {
			c := choice{Verb: "again", Text: "Make it again", About: b.again(&p.Job)}
			if p.Job.Pieces > 1 {
				c.Pieces = b.pics.Boxes(ctx, p.Job, p.Files)
			}
			add(c)
		}
	}
	if p.Fault == "" && !p.Pruning && p.Stripped != ledger.Forgotten && p.Trial() == "" && (p.Ready || p.State.Ended()) {
		if err := b.otherCloths(ctx, p, add); err != nil {
			return err
		}
	}
	can, err := b.o.Jobs.CanBeNext(ctx, p.Job)
	if can && p.Fault == "" && !p.Pruning {
		add(choice{Verb: "next", Text: "Next, before the others"})
	}
	return err
}

// offered finds the bodies and cloths that a question offers.
var offered = regexp.MustCompile(`--(body|cloth) ("[^"]+"|[^ ;,]+)`)

// otherCloths offers jobs for the cloths whose pieces a cutter's job leaves out, and tells of those that are made already.
func (b *Board) otherCloths(ctx context.Context, p *jobPage, add func(choice)) error {
	about := "This job leaves out the pieces of another cloth. A job of its own makes them, with the same draft and ticket."
	left, err := leftout.Of(ctx, b.o.Jobs, p.Job)
	for _, l := range left {
		if l.Job != 0 {
			p.OfCloths = append(p.OfCloths, l)
			continue
		}
		add(choice{Verb: "again", Text: "Make the pieces of " + l.Name, Cloth: l.Name, About: about})
		about = "" // once, before the first of them
	}
	return err
}

// offeredAs are the values that a text offers for an answer.
func offeredAs(name, text string) (values []string) {
	for _, m := range offered.FindAllStringSubmatch(text, -1) {
		if m[1] == name && m[2] != "and" {
			values = append(values, strings.Trim(m[2], `"`))
		}
	}
	return values
}

// asked are the answers that a question asks for. For a body or a cloth the choice is those that it offers, for a body
// also the workroom's measure cards.
func (b *Board) asked(question string) []answers.Answer {
	asked := slices.Clone(answers.AskedBy(question))
	for i := range asked {
		if asked[i].Name != answers.Body && asked[i].Name != answers.Cloth {
			continue
		}
		_, offers, _ := strings.Cut(question, "release it with ") // before these words is an answer that was not accepted
		known := offeredAs(asked[i].Name, offers)
		if asked[i].Name == answers.Cloth {
			asked[i].Choices = known
			continue
		}
		for _, card := range namedfiles.Names(b.o.Room().Path("cards")) {
			if !slices.Contains(known, card) {
				known = append(known, card)
			}
		}
		asked[i].Choices = known
	}
	return asked
}

// remnants adds the other places on which a held job can be laid.
func (b *Board) remnants(p *jobPage, add func(choice)) {
	about := "It can be laid on something else. It is made anew then, and waits for its release again on a machine that waits for one."
	if p.Fixed || p.Trial() != "" {
		return
	}
	if p.Supply != nil {
		say := ledger.Rolls{Unit: b.o.Room().Units}.Say
		for _, f := range p.Supply.Fits {
			add(choice{Verb: "release", Remnant: strconv.FormatInt(f.No, 10), Text: fmt.Sprintf("Lay it on remnant %d, %s long and %s wide", f.No, say(f.Length), say(f.Width)), About: about})
			about = "" // once, before the first of them
		}
	}
	if p.Remnant.No != 0 {
		add(choice{Verb: "release", Remnant: control.OnRoll, Text: fmt.Sprintf("Lay it on the roll, not on remnant %d", p.Remnant.No), About: about})
	}
}

// again is the text above the button that makes a job again.
func (b *Board) again(j *ledger.Job) string {
	return strings.Replace(j.AgainSaid(), "tracewheel release JOB --remnant N lays it on a remnant", "its page shows the remnants that hold it", 1)
}

// ending reports whether a job is sent completely and a person must say whether it is drawn.
func (b *Board) ending(id int64) bool {
	return slices.ContainsFunc(b.o.Jobs.Now(), func(p control.Progress) bool { return p.Job == id && p.Ending })
}

// resumes adds the places from which a stopped job can continue.
func (b *Board) resumes(ctx context.Context, p *jobPage, cuts bool, add func(choice)) error {
	live := slices.ContainsFunc(b.o.Jobs.Now(), func(q control.Progress) bool { return q.Job == p.ID })
	said := func(from string) control.Confirmation {
		switch {
		case !cuts:
			return ""
		case from == "start":
			return control.BedClear
		}
		return control.NotShifted
	}
	if live {
		add(choice{Verb: "resume", Text: "Go on", Said: said("")})
		return nil
	}
	points, err := b.o.Jobs.Points(ctx, p.ID)
	if control.IsRefusal(err) {
		p.Why += "; " + err.Error()
		return nil
	}
	if err != nil {
		return err
	}
	for _, at := range points {
		add(choice{Verb: "resume", Text: "Go on from the " + at.From, From: at.From, About: at.Text, Said: said(at.From)})
	}
	if len(points) > 0 && p.Job.Pieces > 1 && p.Trial() == "" {
		boxes, err := b.pics.ToGoOn(ctx, p.Job, p.Files)
		if err != nil || len(boxes) == 0 {
			return err
		}
		add(choice{Verb: "resume", Text: "Go on with that piece", Piece: boxes, Said: said("piece"), About: "Where you see on the material which pieces are made, say the first that is not."})
	}
	return nil
}
