package prepare

import (
	"errors"
	"fmt"

	"tracewheel/pipeline/pattern"
)

// WithCutLines is the pattern with a cut line for each piece with a sew line and an allowance stated by the draft or
// the ticket; the workroom's default is not part of the draft. A piece drawn as a quarter is opened out, since no file
// format can say it. The pattern is not changed.
func WithCutLines(p *pattern.Pattern, t pattern.Ticket, opt Options) (*pattern.Pattern, error) {
	included, width, err := t.AllowanceSaid()
	if err != nil {
		return nil, err
	}
	opt.WorkroomAllowance = nil
	out := *p
	out.Pieces = append([]pattern.Piece(nil), p.Pieces...)
	for i := range out.Pieces {
		m := maker{p: p, piece: p.Pieces[i], index: i, opt: opt, included: included, ticket: width}
		f, err := m.cutLine()
		var none unstated
		switch {
		case errors.As(err, &none):
			continue
		case err != nil:
			return nil, fmt.Errorf("piece %q: %w", p.Pieces[i].Name, err)
		}
		pc := &out.Pieces[i]
		if pc.Second != nil {
			w, err := m.unfold(f)
			if err != nil {
				return nil, fmt.Errorf("piece %q: %w", pc.Name, err)
			}
			w.into(pc, opt)
			continue
		}
		pc.Sew, pc.CutSaid = m.piece.Sew, true
		if f.built {
			pc.Cut = &f.outline
		}
	}
	return &out, nil
}

// into makes a whole piece of one that was drawn as a part. Formats have one outline with sew line and notches for a
// piece; those of an opening become plain lines that are drawn or cut.
func (w whole) into(pc *pattern.Piece, opt Options) {
	pc.Cut, pc.CutSaid, pc.Sew = &w.outline, true, nil
	pc.Fold, pc.Second, pc.Edges = nil, nil, nil
	pc.Marks, pc.Drills, pc.Labels = w.marks, w.drills, w.labels
	pc.Cutouts = append(w.cutouts[:len(w.cutouts):len(w.cutouts)], w.openings...)
	greatest := within(w.outline, w.sew).Area()
	for _, s := range w.sew {
		if s.Closed && len(w.openings) > 0 && s.Area() < greatest {
			pc.Marks = append(pc.Marks, pattern.Mark{Role: pattern.RoleMark, Label: "sew line", Path: s})
			continue
		}
		pc.Sew = append(pc.Sew, s)
	}
	pc.Notches = nil
	b := newBench(w, opt)
	for _, n := range w.notches {
		st, ok := b.seat(n)
		if !ok || st.ring == 0 {
			pc.Notches = append(pc.Notches, n)
			continue
		}
		strokes, cut := b.notchLines(n, st)
		for _, s := range strokes {
			if cut {
				pc.Cutouts = append(pc.Cutouts, s)
			} else {
				pc.Marks = append(pc.Marks, pattern.Mark{Role: pattern.RoleMark, Label: "notch", Path: s})
			}
		}
	}
}
