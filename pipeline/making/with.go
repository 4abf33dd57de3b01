package making

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/namedfiles"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
)

// withOf gives a function that fetches a draft that a ticket names, by its whole name: the one that is kept with the job,
// else one of the workroom's folder drafts; for a file that is no job's, the one that lies beside it. Those dropped beside
// a job's draft are kept with the job from the beginning.
func (m *Maker) withOf(r Request, into *Read) func(name string) ([]byte, error) {
	dirs := []string{m.Room.Path("drafts")}
	if r.Job == 0 {
		dirs = []string{filepath.Dir(r.Name), dirs[0]}
	}
	return keeping(r.With, &into.With, namedfiles.Whole("draft", "drafts", dirs...))
}

// readParts reads the draft and those that its ticket names, each once for each of its bodies. A fault of one of several
// is told with its name.
func (m *Maker) readParts(r Request, out *Read) (j Judged) {
	wanted, with := out.Ticket.Each(r.Name), m.withOf(r, out)
	ticketFault := func(format string, args ...any) {
		j.add(refused(pattern.NewFinding(pattern.RuleTicket, fmt.Sprintf(format, args...), "mend the ticket and drop all files again")))
	}
	drawn := map[int]bool{} // a drawing has no bodies: it is made once
	bytes, counted := 0, map[int]bool{}
	var own []pattern.With // of each of out.Parts
	for _, w := range wanted {
		source, name := r.Source, w.File
		if w.Entry > 0 {
			if w.File == filepath.Base(r.Name) {
				ticketFault("the ticket names %s under with:, and that is the draft it belongs to: say bodies: or copies: instead", w.File)
				continue
			}
			var err error
			if source, err = with(w.File); err != nil {
				ticketFault("the ticket names %s under with:, and %v", w.File, err)
				continue
			}
			name = filepath.Join(filepath.Dir(r.Name), w.File) // its own cards and blocks are found from there
		}
		if drawn[w.Entry] {
			continue
		}
		if !counted[w.Entry] {
			counted[w.Entry] = true
			bytes += len(source)
		}
		if bytes > pattern.MostTogether && len(out.Ticket.With) > 0 {
			ticketFault("the drafts of the ticket have more than %d MB together; name fewer, in several tickets", pattern.MostTogether>>20)
			break
		}
		p, err := draft.Read(source, name, m.reading(r, w.Ticket, out))
		if b := r.Answers[answers.Body]; b != "" && err == nil && len(out.Ticket.With) > 0 && len(asksBody(w.Ticket, p)) > 0 {
			w.Ticket.Body = b
			p, err = draft.Read(source, name, m.reading(r, w.Ticket, out))
		}
		part := prepare.Part{Ticket: w.Ticket}
		if err != nil {
			found := unreadable(err, source)
			if len(wanted) > 1 {
				part.Pattern = &pattern.Pattern{Source: name}
				found = part.Told(found, 0)
			}
			j.add(refused(found...))
			continue
		}
		if part.Pattern = p; p.Format != "measured" {
			if w.Own.Body != "" || len(w.Own.Bodies) > 0 {
				ticketFault("%s is no measured draft, and the ticket names a body for it", w.File)
				continue
			}
			if len(wanted) > 1 {
				drawn[w.Entry], part.Ticket.Body = true, ""
			}
		}
		out.Parts, own = append(out.Parts, part), append(own, w.Own)
	}
	if len(wanted) > 1 && !j.Refused {
		j.add(out.narrow(own))
		out.askOnce()
	}
	if j.Refused {
		out.Parts = nil
		return j
	}
	out.Pattern = together(out.Parts)
	return j
}

// asksBody gives the bodies of which a draft asks for one, none where it does not ask.
func asksBody(t pattern.Ticket, p *pattern.Pattern) []string {
	for _, f := range append(slices.Clone(p.Findings), t.WhoseBody(p, p.Findings)...) {
		if f.Hold && len(f.Bodies) > 0 {
			return f.Bodies
		}
	}
	return nil
}

// askOnce limits the bodies that several drafts ask for to those that all of them have: one answer is for all.
func (out *Read) askOnce() {
	var common, asking []string
	for _, p := range out.Parts {
		bodies := asksBody(p.Ticket, p.Pattern)
		if len(bodies) == 0 {
			continue
		}
		if asking == nil {
			common = slices.Clone(bodies)
		}
		common = slices.DeleteFunc(common, func(b string) bool { return !slices.Contains(bodies, b) })
		asking = append(asking, p.Name())
	}
	if len(asking) < 2 {
		return
	}
	mend := "release it with --body and a measure card that fits all of them, as they have no body in common"
	if len(common) > 0 {
		mend = "release it with --body " + strings.Join(common, " or --body ")
	}
	mend += fmt.Sprintf("; the answer is for %s: for another one each, cancel it and say body: for each draft in the ticket", strings.Join(asking, ", "))
	for _, p := range out.Parts {
		for k := range p.Pattern.Findings {
			if f := &p.Pattern.Findings[k]; f.Hold && len(f.Bodies) > 0 {
				f.Mend = mend
			}
		}
	}
}

func together(parts []prepare.Part) *pattern.Pattern {
	drafts := make([]*pattern.Pattern, len(parts))
	for i := range parts {
		drafts[i] = parts[i].Pattern
	}
	return pattern.Together(drafts)
}

// only keeps the pieces with some names; none keeps all.
func (out *Read) only(names []string) (j Judged) {
	switch {
	case len(names) == 0:
	case len(out.Parts) == 1:
		out.Parts[0].Ticket.Pieces = names
	default:
		out.Ticket.Pieces = names
		if j = out.narrow(make([]pattern.With, len(out.Parts))); !j.Refused {
			out.Pattern = together(out.Parts)
		}
	}
	return j
}

// narrow limits the sizes and pieces of the ticket to those that each of several drafts has: they are for all drafts, and
// a draft for a body, or without sizes, has none of the sizes. A draft that has none of the pieces is left out; a piece
// that no draft has is refused. What the ticket says of one draft alone, in own, stays as it is.
func (out *Read) narrow(own []pattern.With) (j Judged) {
	var parts []prepare.Part
	var found []string
	for i, p := range out.Parts {
		size := func(p *pattern.Piece) string { return p.Size }
		sized := p.Pattern.Format != "measured" && slices.ContainsFunc(p.Pattern.Pieces, func(p pattern.Piece) bool { return p.Size != "" })
		if len(own[i].Sizes) == 0 && !sized && len(of(p.Pattern, out.Ticket.Sizes, size)) == 0 {
			p.Ticket.Sizes = nil
		}
		if len(own[i].Pieces) == 0 && len(out.Ticket.Pieces) > 0 {
			if p.Ticket.Pieces = of(p.Pattern, out.Ticket.Pieces, called); len(p.Ticket.Pieces) == 0 {
				continue
			}
			found = append(found, p.Ticket.Pieces...)
		}
		parts = append(parts, p)
	}
	out.Parts = parts
	for _, name := range out.Ticket.Pieces {
		if !slices.Contains(found, name) {
			j.add(refused(pattern.NewFinding(pattern.RuleTicket, fmt.Sprintf("piece %q is wanted, and none of the drafts has it", name), "mend the name and try again")))
		}
	}
	return j
}

func called(p *pattern.Piece) string { return p.Name }

// of gives the wanted words that a piece of a draft has, in small or capital letters.
func of(p *pattern.Pattern, wanted []string, word func(*pattern.Piece) string) (some []string) {
	for _, w := range wanted {
		for i := range p.Pieces {
			if strings.EqualFold(strings.TrimSpace(word(&p.Pieces[i])), strings.TrimSpace(w)) {
				some = append(some, w)
				break
			}
		}
	}
	return some
}

// findingsOf are the findings of one part: among several with the part's name, and each piece by its number among all.
func (r *Read) findingsOf(part int, found []pattern.Finding) []pattern.Finding {
	if len(r.Parts) == 1 {
		return found
	}
	return r.Parts[part].Told(found, r.Pattern.First(part))
}

// named is what a job is called: its draft, with the drafts that its ticket names beside it.
func (w *Looked) named() string {
	own, with := filepath.Base(w.Request.Name), []string(nil)
	for _, o := range w.Ticket.With {
		if !slices.Contains(with, o.File) {
			with = append(with, o.File)
		}
	}
	if with == nil {
		return own
	}
	return own + " with " + strings.Join(with, ", ")
}

// unreadable gives a finding for each fault that a reader's error names; source is what was read.
func unreadable(err error, source []byte) []pattern.Finding {
	var out []pattern.Finding
	for _, ft := range draft.Faults(err) {
		f := pattern.NewFinding(cmp.Or(ft.Rule, pattern.RuleUnreadable), ft.Message, ft.Mend)
		f.Line, f.Column = ft.Line, ft.Column
		if draft.RefusedInSentences(err) {
			f.Said = pattern.LineOf(source, ft.Line)
		}
		out = append(out, f)
	}
	return out
}
