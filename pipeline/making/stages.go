package making

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/plan"
	"tracewheel/pipeline/prepare"
)

// Prepared are a draft's pieces, ready to be cut.
type Prepared struct {
	Ready []pattern.Ready
	// Once tells that a piece of several copies is drawn once for all of them.
	Once bool
	// Cloth is the one of several whose pieces these are, "" where the draft is cut from one.
	Cloth string
}

// Planned is where the pieces lie, and what is drawn or cut in which order.
type Planned struct {
	Lay pattern.Lay
	// Beds are the pieces of each bed where they take more than one and a person has them cut bed by bed.
	Beds []string
	// Kept is the lay in the form in which it is kept with its job.
	Kept    []byte
	Strokes []devices.Stroke
	Plan    plan.Report
	// around are all strokes of a job of which only the rest is made; numbers says for each of Strokes which of them it
	// is, or is a part of.
	around  []devices.Stroke
	numbers []int
}

// read reads the ticket and the draft. Where it fails by an answer, such as a mistyped body, and would ask without that
// answer, the question is asked again: a slip does not end a job.
func (m *Maker) read(r Request) (Read, Judged) {
	out, j := m.readAs(r)
	given, said, body := maps.Clone(r.Answers), "", r.Answers[answers.Body]
	for _, a := range []string{answers.Allowance, answers.Unit, answers.Body} {
		if v := given[a]; v != "" {
			said += " --" + a + " " + v
			delete(given, a)
		}
	}
	if !j.Refused || said == "" || r.Job == 0 {
		return out, j
	}
	var failed Judged
	failed.add(j)
	r.Answers = given
	if asked, again := m.readAs(r); !again.Refused {
		if q := m.judge(asked, nil, given); q.Hold != "" {
			why := failed.Reason
			if i := slices.IndexFunc(failed.Findings, func(f pattern.Finding) bool { return f.Message == why && f.Mend != "" }); i >= 0 {
				why += "; " + failed.Findings[i].Mend
			}
			if lacks := lacking(failed.Findings); body != "" && len(lacks) > 0 { // with another body there is no such fault
				why = fmt.Sprintf("the measures of %s lack %s: add what is missing to the card, then answer again", body, strings.Join(lacks, ", "))
			}
			return asked, Judged{Hold: fmt.Sprintf("the answer %s cannot be taken: %s; %s", strings.TrimPrefix(said, " "), why, q.Hold)}
		}
	}
	return out, j
}

var unknownName = regexp.MustCompile(`^("[^"]+") is no measure or number known here`)

// lacking are the names that a draft does not know, in quotes, each once.
func lacking(found []pattern.Finding) (names []string) {
	for _, f := range found {
		if m := unknownName.FindStringSubmatch(f.Message); m != nil && !slices.Contains(names, m[1]) {
			names = append(names, m[1])
		}
	}
	return names
}

// readAs reads with the answers given.
func (m *Maker) readAs(r Request) (Read, Judged) {
	ticket, err := readTicket(r)
	if err != nil {
		const mend = "mend the ticket and drop both files again"
		var faults *config.Faults
		if !errors.As(err, &faults) {
			return Read{}, refused(pattern.NewFinding(pattern.RuleTicket, err.Error(), mend))
		}
		var all []pattern.Finding
		for _, ft := range faults.List {
			said := strings.TrimPrefix(ft.Key+": ", ": ") + ft.Text
			f := pattern.NewFinding(pattern.RuleTicket, "the ticket: "+said, mend)
			f.Line, f.Column = ft.Line, ft.Column
			all = append(all, f)
		}
		return Read{}, refused(all...)
	}
	if cloth := m.materialNamed(r.Answers[answers.Cloth]); cloth != "" { // then that lies on the bed: a ticket speaks of the first cloth
		ticket.Material = cloth
	}
	out := Read{Ticket: ticket, asks: r.Job != 0}
	j := m.readParts(r, &out)
	m.inPersonsUnit(out.Pattern)
	for _, part := range out.Parts {
		m.inPersonsUnit(part.Pattern)
	}
	return out, j
}

// inPersonsUnit writes a measured draft's lengths in the unit of the person for whom it is read.
func (m *Maker) inPersonsUnit(p *pattern.Pattern) {
	if m.Unit != "" && p != nil && p.Format == "measured" {
		p.Unit = m.Unit
	}
}

func readTicket(r Request) (pattern.Ticket, error) {
	t, err := pattern.ReadTicket(r.Ticket)
	if err != nil {
		return t, err
	}
	t.Allowance, t.Unit = cmp.Or(r.Answers[answers.Allowance], t.Allowance), cmp.Or(r.Answers[answers.Unit], t.Unit)
	if err := t.Answer(r.Answers[answers.Sizes], r.Answers[answers.Copies]); err != nil {
		return t, err
	}
	t.Toile = t.Toile || r.Answers[AnswerToile] != ""
	if r.Alone {
		t.With, t.Bodies = nil, nil
	}
	if b, ok := r.Answers[answers.Body]; ok && (len(t.With) == 0 || r.Job == 0) { // a release answers for the drafts that ask
		t.Body, t.Bodies = b, nil
	}
	_, _, err = t.AllowanceSaid()
	return t, err
}

// tooMany is the question for a job whose ticket wants more copies than are made unasked, "" for none: a slip would cost a
// roll of paper.
func (m *Maker) tooMany(r Read, job int64, given map[string]string) string {
	copies, draft := r.Ticket.Copies, ""
	for _, p := range r.Parts {
		if p.Ticket.Copies > copies {
			copies, draft = p.Ticket.Copies, " of "+p.Name()
		}
	}
	if most := m.Room.CopiesUnasked; job == 0 || most == 0 || int(copies) <= most || given[answers.AsMany]+given[answers.Copies] != "" {
		return ""
	}
	return fmt.Sprintf("the ticket wants %d copies%s, and up to %d are made unasked; if they are all wanted, release the job with --as-many, or with --copies the number that is wanted",
		copies, draft, m.Room.CopiesUnasked)
}

// AnswerPatterns overrules how often a pen draws a piece (a devices.Patterns); AnswerToile asks for the toile.
const AnswerPatterns, AnswerToile = "patterns", "toile"

// look checks a draft for a device, nil for none; it refuses only what the workroom does not have.
func (m *Maker) look(r Read, on *Setup) Judged {
	var j Judged
	for i, p := range r.Parts {
		found := check.Run(p.Pattern, m.limits(p.Ticket, on), m.levels())
		j.Findings = append(j.Findings, r.findingsOf(i, append(found, p.Ticket.WhoseBody(p.Pattern, found)...))...)
	}
	if t := r.Ticket.Material; t != "" {
		if _, ok := m.Room.Materials[t]; !ok {
			j.add(refused(pattern.NewFinding(pattern.RuleTicket, "the ticket: "+m.Room.NoMaterial(t).Error(),
				"name one of the materials in the workroom file")))
		}
	}
	return j
}

// judge decides by the checks whether a draft is refused, or what a person must answer first.
func (m *Maker) judge(r Read, on *Setup, given map[string]string) Judged {
	j := m.look(r, on)
	if q := asksUnit(j.Findings); r.asks && len(q) > 0 { // what else is found follows from a size that nobody said
		return Judged{Findings: q, Hold: q[0].Message + "; " + q[0].Mend}
	}
	for _, f := range j.Findings {
		if f.Rule == pattern.RuleMeasureUnlikely && given[answers.AsMeasured] != "" {
			continue
		}
		if f.Hold && j.Hold == "" {
			j.Hold = f.Message
			if f.Mend != "" {
				j.Hold += "; " + f.Mend
			}
		}
	}
	if pattern.Worst(j.Findings) == pattern.Error {
		j.Hold, j.Refused = "", true
	}
	return j
}

// asksUnit turns the faults of drafts that do not say their unit into questions.
func asksUnit(found []pattern.Finding) (asked []pattern.Finding) {
	for _, f := range found {
		if f.Rule == pattern.RuleUnitsUnknown {
			f.Severity, f.Hold = pattern.Warning, true
			f.Mend = "release it with --unit mm or --unit cm or --unit in, whichever one unit of the draft is; for the next time " + f.Mend
			asked = append(asked, f)
		}
	}
	return asked
}

// prepare makes a draft's pieces ready for a device.
func (m *Maker) prepare(r Read, on Setup, of Request) (Prepared, Judged) {
	opt := m.preparing(&on, of.Job)
	cloth, j := m.clothCut(r, on, of)
	if j.Hold != "" {
		return Prepared{}, j
	}
	opt.Only, opt.Cloth = of.Answers[answers.Pieces], cloth
	res, err := prepare.RunAll(r.Parts, opt)
	if sizes := of.Answers[answers.Sizes]; err != nil && sizes != "" && of.Job != 0 {
		return Prepared{}, Judged{Hold: fmt.Sprintf("the answer --%s %s cannot be taken: %v; release it with --%[1]s and sizes of the draft", answers.Sizes, sizes, err)}
	}
	if err != nil {
		return Prepared{}, refused(pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), "mend the draft or its ticket, then drop it again"))
	}
	j.Findings = slices.Concat(res.Findings, j.Findings, m.otherCloth(r, res.Ready, on, of.Device))
	return Prepared{Ready: res.Ready, Once: opt.Once, Cloth: cloth}, j
}

// clothCut finds the one cloth whose pieces a cutter's job is for where the draft is cut from several, "" for any, and says
// which pieces are left out. Where neither a person nor the ticket nor the cloth on the device says which, it asks.
func (m *Maker) clothCut(r Read, on Setup, of Request) (string, Judged) {
	if !on.Profile.Kind.Cuts() || !on.Material.Cloth || m.levels()[pattern.RuleOtherCloth] == pattern.Off || !r.Pattern.SeveralCloths() {
		return "", Judged{}
	}
	res, err := prepare.RunAll(r.Parts, m.preparing(&on, of.Job))
	all := pattern.ClothsOf(res.Ready, r.Pattern)
	if err != nil || len(all) < 2 { // the preparing tells the error
		return "", Judged{}
	}
	said := of.Answers[answers.Cloth]
	cut := pattern.ClothCut(all, said, cmp.Or(r.Ticket.Material, m.Room.Devices[of.Device].Material), r.Ticket.Material != "")
	if cut == "" {
		return "", Judged{Hold: pattern.AskCloth(all, said)}
	}
	return cut, Judged{Findings: []pattern.Finding{pattern.LeftOutCloths(all, cut, of.Job, m.hasMaterial)}}
}

// otherCloth gives findings for the pieces that name another cloth than the one under the blade.
func (m *Maker) otherCloth(r Read, ready []pattern.Ready, on Setup, device string) []pattern.Finding {
	level, said := m.levels()[pattern.RuleOtherCloth]
	if !on.Profile.Kind.Cuts() || !on.Material.Cloth || level == pattern.Off {
		return nil
	}
	found := pattern.OtherClothIn(ready, r.Pattern, cmp.Or(r.Ticket.Material, m.Room.Devices[device].Material), r.Ticket.Material != "", m.hasMaterial)
	for i := range found {
		if said {
			found[i].Severity = level
		}
	}
	return found
}

func (m *Maker) hasMaterial(name string) bool { return m.Room.Materials[name].Width > 0 }

// materialNamed is the workroom's material that a draft means by a cloth, also where one is written with capitals; "" for none.
func (m *Maker) materialNamed(cloth string) string {
	if m.hasMaterial(cloth) {
		return cloth
	}
	for _, name := range slices.Sorted(maps.Keys(m.Room.Materials)) {
		if strings.EqualFold(name, cloth) && m.hasMaterial(name) {
			return name
		}
	}
	return ""
}

// layOf gives the lay that is kept with a job, where it was made for these pieces on this material; otherwise it searches
// one, with a note where the kept one could not be used.
func layOf(ctx context.Context, ready []pattern.Ready, lies pattern.Material, r Request, set Setup, unit string) (l pattern.Lay, found []pattern.Finding, note string) {
	opt, on := layOptions, set.Profile
	opt.Unit, opt.Grid, opt.Bed = unit, on.Plot.Unit, set.bedEnds()
	if r.Lay != nil {
		l, err := lay.Kept(r.Lay, ready, lies)
		if err == nil {
			return l, nil, ""
		}
		note = "laid anew: " + err.Error()
	}
	if r.Waits && r.Remnant.No == 0 { // a search by steps, not by the clock, has seen whether a remnant is large enough
		opt.Time, opt.Best, opt.Busy = time.Duration(on.LayWait*float64(time.Second)), true, r.Busy
		if r.LaySought != nil && opt.Time >= time.Second {
			r.LaySought(opt.Time)
		}
	}
	l, found = lay.OnMachine(ctx, ready, lies, opt)
	return l, found, note
}

// layOptions limit the search for a shorter lay by steps, so that the same draft gives the same bytes.
var layOptions = lay.Options{Steps: 2000, Seed: 1}

// plan lays the pieces and orders their strokes; for a job that goes on, those of its rest.
func (m *Maker) plan(ctx context.Context, of Read, p Prepared, r Request, on Setup, rest job.Rest) (Planned, Judged) {
	var out Planned
	var j Judged
	lies, note, err := on.lies(of.Ticket), "", error(nil)
	out.Lay, j.Findings, note = layOf(ctx, p.Ready, lies, r, on, of.Pattern.ReadIn(m.Room.Units))
	if pattern.Worst(j.Findings) == pattern.Error {
		j.Refused = true
		out.Beds, j = bedByBed(ctx, p.Ready, lies, r, on, layOptions, j)
		return out, j
	}
	if note != "" {
		j.Notes = append(j.Notes, note)
	}
	if out.Kept, err = lay.Keep(out.Lay, p.Ready, lies); err != nil {
		return out, refused(pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), "this is a fault of the program; keep the file and report it"))
	}
	out.Strokes, out.Plan = plan.Strokes(p.Ready, out.Lay, on.Profile, plan.Options{})
	out.leaveOut(rest, on.Profile)
	j.Notes = append(j.Notes, on.setting.Notes...)
	return out, j
}
