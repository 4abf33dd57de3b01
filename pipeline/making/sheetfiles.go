package making

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/sheets"
	"tracewheel/pipeline/testsquare"
)

// SheetWish is what a person asks for of sheets.
type SheetWish struct {
	Paper   sheets.Paper
	Overlap float64  // mm
	Pieces  []string // only these; none means all
	Net     bool     // no allowance
	// EveryCopy draws each copy of a piece; else a piece is drawn once, with its count on it.
	EveryCopy bool
	// Projector draws one page of light as wide as the paper.
	Projector bool
	// Printer is the device by whose calibration the sheets are corrected, "" for no correction.
	Printer string
}

// SheetFlags are a SheetWish as a person writes it.
type SheetFlags struct {
	Paper, Margin, Overlap, Patterns, Printer string
	Pieces                                    []string
	Net, Projector                            bool
}

// Read reads the flags; the error names the flag that is wrong.
func (f SheetFlags) Read() (SheetWish, error) {
	out := SheetWish{Net: f.Net, Pieces: f.Pieces, Printer: f.Printer, EveryCopy: f.Patterns == "every-copy", Projector: f.Projector}
	margin := -1.0
	var err error
	if f.Margin != "" {
		if margin, err = pattern.ParseLength(f.Margin); err != nil {
			return out, fmt.Errorf("--margin: %w", err)
		}
	}
	out.Overlap = sheets.Overlap
	if f.Overlap != "" {
		if out.Overlap, err = pattern.ParseLength(f.Overlap); err != nil {
			return out, fmt.Errorf("--overlap: %w", err)
		}
	}
	if f.Paper == "" {
		f.Paper = "a4"
		if f.Projector {
			f.Paper = fmt.Sprintf("%.0fmm roll", sheets.ProjectorWidth)
		}
	}
	if out.Paper, err = sheets.ParsePaper(f.Paper, margin); err != nil {
		return out, fmt.Errorf("--paper: %w", err)
	}
	return out, devices.PatternsKnown(f.Patterns)
}

// Sheets reads, checks and prepares drafts and draws their pieces on sheets of paper. The error is ErrRefused, with the
// findings, where a draft has an error or asks a question.
func (m *Maker) Sheets(ctx context.Context, rs []Request, wish SheetWish) (*sheets.Book, []pattern.Finding, error) {
	measured := m.measuredOn(wish.Printer, wish.Paper)
	if measured.Err != nil {
		return nil, nil, measured.Err
	}
	set, looked, err := m.sheetSet(ctx, rs, wish)
	var findings []pattern.Finding
	for _, w := range looked {
		findings = append(findings, w.Findings...)
	}
	if err != nil {
		return nil, findings, err
	}
	if wish.Projector {
		book, err := sheets.Project(set, wish.Paper.Width, lay.Rows)
		return book, findings, err
	}
	book, err := sheets.Make(set, wish.options(measured, wish.Printer))
	if book != nil {
		book.Notes = measured.Notes
	}
	return book, findings, err
}

// options are the options of the sheets: corrected by what was measured of a printer, otherwise uncorrected.
func (w SheetWish) options(s testsquare.Setting, printer string) sheets.Options {
	opt := sheets.Options{Paper: w.Paper, Overlap: w.Overlap, Lay: lay.Rows}
	if printer != "" && !s.Correction.IsZero() {
		opt.Printer, opt.Measured, opt.Calibration = testsquare.Prints(s.Correction), s.Measured, s.Carried
	}
	return opt
}

// measuredOn gives what was measured of a printer on a paper, nothing where printer is "".
func (m *Maker) measuredOn(printer string, on sheets.Paper) testsquare.Setting {
	if m.setting == nil || printer == "" {
		return testsquare.Setting{}
	}
	return m.setting(printer, on.Name)
}

// sheetSet gives what is drawn on the sheets, and each draft.
func (m *Maker) sheetSet(ctx context.Context, rs []Request, wish SheetWish) (set sheets.Set, looked []*Looked, err error) {
	set.Net = wish.Net
	of := map[string]string{}
	set.Of = func(size string) string { return of[size] }
	var titles, whose, each []string // each: whose a draft is, for its cloth
	for _, r := range rs {
		w, ready, err := m.cutReady(r, wish)
		looked = append(looked, w)
		if err != nil {
			return set, looked, err
		}
		each = append(each, w.Pattern.Called())
		for i := range ready {
			p := &ready[i]
			of[p.Size] = w.Pattern.DraftOf(p.Index).Whose(p.Size)
			if s := of[p.Size]; s != "" && !slices.Contains(whose, s) {
				whose = append(whose, s)
			}
			if s := of[p.Size]; i == 0 && s != "" {
				each[len(each)-1] += " " + s
			}
			if title := w.Pattern.DraftOf(p.Index).Called(); !slices.Contains(titles, title) {
				titles = append(titles, title)
			}
			if l := listed(w.Pattern, p); !slices.Contains(set.Pieces, l) {
				set.Pieces = append(set.Pieces, l)
			}
		}
		set.Ready = append(set.Ready, ready...)
	}
	if len(titles) == 1 {
		for i := range set.Pieces {
			set.Pieces[i].Of = ""
		}
	}
	for i, r := range rs {
		if len(wish.Pieces) > 0 || r.Answers[answers.Pieces] != "" {
			continue // the lay is of the whole garment
		}
		if len(rs) == 1 {
			each[0] = ""
		}
		set.Cloth = append(set.Cloth, m.clothFor(ctx, r, each[i])...)
	}
	set.Title, set.Whose = strings.Join(titles, " and "), strings.Join(whose, ", ")
	return set, looked, nil
}

// listed says how often a piece is cut, in the words of its letters.
func listed(p *pattern.Pattern, r *pattern.Ready) sheets.Listed {
	piece := &p.Pieces[r.Index]
	return sheets.Listed{Name: r.Name, Cloth: r.Material, Of: p.DraftOf(r.Index).Called(), Words: piece.CutWords(r.Copies, piece.Hands(r.Outline))}
}

// cutReady takes a draft as far as cut-ready pieces on paper.
func (m *Maker) cutReady(r Request, wish SheetWish) (*Looked, []pattern.Ready, error) {
	w := &Looked{Request: r}
	var j Judged
	if w.Read, j = m.read(r); !j.Refused && j.Hold == "" {
		j = w.only(wish.Pieces)
	}
	if !j.Refused && j.Hold == "" {
		j = m.judge(w.Read, nil, r.Answers)
		if wish.EveryCopy && !j.Refused && j.Hold == "" {
			j.Hold = m.tooMany(w.Read, r.Job, r.Answers)
		}
	}
	if w.add(j); !w.Passes() {
		return w, nil, ErrRefused
	}
	var parts []prepare.Part
	for _, p := range w.Parts {
		if wish.Net {
			var without []string
			if p.Pattern, without = pattern.WithoutAllowance(p.Pattern); len(without) > 0 {
				f := pattern.NewFinding(pattern.RuleNoSewLine,
					fmt.Sprintf("there is no whole sew line, which --net cuts by, on %s", strings.Join(without, ", ")), "leave --net out, or draw the sew lines")
				f.Severity = pattern.Error
				w.add(refused(f))
				return w, nil, ErrRefused
			}
		}
		parts = append(parts, p)
	}
	opt := m.preparing(nil, r.Job)
	opt.Once, opt.Net, opt.Only = !wish.EveryCopy, wish.Net, r.Answers[answers.Pieces]
	res, err := prepare.RunAll(parts, opt)
	if err != nil {
		w.add(refused(pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), "mend the draft or its ticket")))
		return w, nil, ErrRefused
	}
	w.add(Judged{Findings: res.Findings})
	w.dropLeftOut(Prepared{Ready: res.Ready})
	return w, res.Ready, nil
}
