package making

import (
	"errors"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices/knife"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// notMade turns what an encoder or the knife refuses into findings, one for each fault.
func (pl Planned) notMade(err error, ready []pattern.Ready) Judged {
	var all []pattern.Finding
	for _, e := range parts(err) {
		f := pattern.NewFinding(pattern.RuleNotDrawn, e.Error(), "look at the device's keys in the workroom file, or take another device")
		var stroke *knife.StrokeError
		if errors.As(e, &stroke) {
			f.Message = stroke.Err.Error()
			pl.place(&f, ready, stroke.Stroke, nil)
			if stroke.Fine != nil {
				f.Rule, f.Mend = pattern.RuleTooFine, "leave the piece out and cut it by hand"
				pl.place(&f, ready, stroke.Stroke, &stroke.Fine.At)
			}
		}
		all = append(all, f)
	}
	return refused(all...)
}

// parts gives the errors of which a joined error consists.
func parts(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range many.Unwrap() {
			out = append(out, parts(e)...)
		}
		return out
	}
	return []error{err}
}

// tooFine gives findings, by piece and place, for what the blade can only stab, or cuts with little to spare. A piece that
// the checks named for this already is not named again, unless it is stabbed.
func (m *Maker) tooFine(fine []knife.FineStroke, pl Planned, ready []pattern.Ready, before []pattern.Finding) Judged {
	level, set := m.Room.Checks[pattern.RuleTooFine]
	if pattern.Severity(level) == pattern.Off {
		return Judged{}
	}
	said := map[string]bool{}
	for _, f := range before {
		if f.Rule == pattern.RuleTooFine {
			said[f.Piece] = true
		}
	}
	type kind struct {
		piece   string
		stabbed bool
	}
	places := map[kind][]knife.FineStroke{}
	var order []kind
	for _, f := range fine {
		k := kind{pl.Strokes[f.Stroke].Name, f.Stabbed}
		if said[k.piece] && !f.Stabbed {
			continue
		}
		if places[k] == nil {
			order = append(order, k)
		}
		places[k] = append(places[k], f)
	}
	var found []pattern.Finding
	for _, k := range order {
		first := places[k][0]
		message := first.Why + ": it is cut, but the blade does little but turn there, which frays cloth"
		f := pattern.NewFinding(pattern.RuleTooFine, message, "round the shape, draw it larger, or cut it by hand")
		f.Severity = pattern.Note
		if k.stabbed {
			f.Severity, f.Message = pattern.Warning, first.Why+": it is stabbed in a row of plunges"
		}
		if n := len(places[k]) - 1; n > 0 {
			f.Message += fmt.Sprintf("; so are %d more places", n)
		}
		if set {
			f.Severity = pattern.Severity(level)
		}
		pl.place(&f, ready, first.Stroke, &first.At)
		found = append(found, f)
	}
	return Judged{Findings: found, Refused: pattern.Worst(found) == pattern.Error}
}

// place sets the piece of a finding from a stroke, and turns a place on the device into one in the draft.
func (pl Planned) place(f *pattern.Finding, ready []pattern.Ready, stroke int, at *orb.Point) {
	if stroke < 0 || stroke >= len(pl.Strokes) {
		return
	}
	s := pl.Strokes[stroke]
	f.Piece = s.Name
	i := slices.IndexFunc(pl.Lay.Placements, func(p pattern.Placement) bool { return p.Ready == s.Piece })
	if i < 0 {
		return
	}
	p := pl.Lay.Placements[i]
	r := ready[p.Ready]
	f.Index = r.Index
	if at == nil {
		return
	}
	m := p.Map
	if r.Place != (geom.Affine{}) {
		m = m.After(r.Place)
	}
	if back, ok := m.Inverse(); ok {
		q := back.Apply(*at)
		f.At = &q
	}
}
