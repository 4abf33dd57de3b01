package making

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"tracewheel/pipeline/labels"
	"tracewheel/pipeline/pattern"
)

// Labels are the labels of drafts, or of one job, and the card: the files that were asked for. It is ErrRefused, with the
// findings, where a draft has an error or asks a question.
func (m *Maker) Labels(ctx context.Context, rs []Request, f labels.Flags) ([]File, []pattern.Finding, error) {
	stock, paper, err := f.Read()
	if err != nil {
		return nil, nil, err
	}
	set, findings, err := m.labelSet(ctx, rs)
	if err != nil {
		return nil, findings, err
	}
	var out []File
	if f.Out != "" {
		data, err := labels.Stickers(set, stock, f.First)
		if err != nil {
			return nil, findings, err
		}
		out = append(out, File{f.Out, data})
	}
	if f.Card != "" {
		data, err := labels.Card(set, paper[0], paper[1])
		if err != nil {
			return nil, findings, err
		}
		out = append(out, File{f.Card, data})
	}
	return out, findings, nil
}

// labelSet are the pieces that are cut: by a cutter in the order of its program, by hand in the order in which they lie on
// the cloth, from its beginning.
func (m *Maker) labelSet(ctx context.Context, rs []Request) (set labels.Set, findings []pattern.Finding, err error) {
	if d, ok := m.Room.Devices[rs[0].Device]; ok && d.Kind.Cuts() && len(rs) == 1 {
		return m.labelsAsCut(ctx, rs[0])
	}
	for i := range rs {
		rs[i].Device = ""
	}
	l, err := m.LayFiles(ctx, rs, LayWish{Unsaid: usualWidth})
	if err != nil {
		return set, l.Findings, err
	}
	set.Job, set.Order = rs[0].Job, "from the beginning of each cloth, as they are laid on it"
	for _, c := range l.Cloths {
		begins := func(p pattern.Placement) float64 { return c.drawn[p.Ready].Outline.Apply(p.Map).Bound().Min[0] }
		laid := slices.Clone(c.Lay.Placements)
		slices.SortStableFunc(laid, func(a, b pattern.Placement) int { return cmp.Compare(begins(a), begins(b)) })
		for _, p := range laid {
			r := &c.drawn[p.Ready]
			addLabel(&set, l.drafts[r.Draft], r, c.Name, rs[r.Draft].Name)
		}
	}
	return set, l.Findings, nil
}

// labelsAsCut are those of a job on a cutter.
func (m *Maker) labelsAsCut(ctx context.Context, r Request) (set labels.Set, findings []pattern.Finding, err error) {
	w, err := m.Make(ctx, r)
	if err != nil {
		return set, nil, err
	}
	if w.Refused || w.Hold != "" {
		return set, w.Findings, ErrRefused
	}
	set.Job, set.Order = r.Job, "in the order in which "+r.Device+" cuts them"
	last := map[int]int{}
	for i := range w.Strokes {
		last[w.Strokes[i].Piece] = i
	}
	delete(last, -1)
	order := slices.Collect(maps.Keys(last))
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(last[a], last[b]) })
	for _, i := range order {
		addLabel(&set, w.Pattern, &w.Ready[i], cmp.Or(w.Ready[i].Material, w.Lay.Material.Name), r.Name)
	}
	return set, w.Findings, nil
}

func addLabel(set *labels.Set, p *pattern.Pattern, r *pattern.Ready, cloth, file string) {
	set.Pieces = append(set.Pieces, labels.Piece{Style: styleOf(p, file), Name: r.Name, Whose: p.Whose(r.Size),
		Words: listed(p, r).Words, Cloth: cloth, Copy: r.Copy, Copies: r.Copies})
}
