package making

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/labels"
	"tracewheel/pipeline/pattern"
)

// Labels gives the files of labels that were asked for, of drafts or of one job, and the card. The error is ErrRefused,
// with the findings, where a draft has an error or asks a question.
func (m *Maker) Labels(ctx context.Context, rs []Request, f labels.Flags) ([]cloths.File, []pattern.Finding, error) {
	stock, paper, err := f.Read()
	if err != nil {
		return nil, nil, err
	}
	set, findings, err := m.labelSet(ctx, rs)
	if err != nil {
		return nil, findings, err
	}
	var out []cloths.File
	if f.Out != "" {
		data, err := labels.Stickers(set, stock, f.First)
		if err != nil {
			return nil, findings, err
		}
		out = append(out, cloths.File{File: f.Out, Data: data})
	}
	if f.Card != "" {
		data, err := labels.Card(set, paper[0], paper[1])
		if err != nil {
			return nil, findings, err
		}
		out = append(out, cloths.File{File: f.Card, Data: data})
	}
	return out, findings, nil
}

// labelSet gives the pieces that are cut: by a cutter in the order of its program, by hand in their order along the cloth.
// A job's pieces have the numbers of its lay's picture.
func (m *Maker) labelSet(ctx context.Context, rs []Request) (set labels.Set, findings []pattern.Finding, err error) {
	job, indices := rs[0], []int(nil)
	set.Job, set.Order = job.Job, "as in the lay's picture"
	if d, ok := m.Room.Devices[job.Device]; ok && d.Kind.Cuts() && len(rs) == 1 {
		findings, err = m.labelsAsCut(ctx, job, &set)
		return set, findings, err
	}
	rs = slices.Clone(rs)
	said := make([]string, len(rs))
	for i := range rs {
		said[i], rs[i].Device = m.clothSaid(rs[i]), ""
	}
	l, err := m.LayFiles(ctx, rs, cloths.Wish{Unsaid: cloths.UsualWidth})
	if err != nil {
		return set, l.Findings, err
	}
	for _, c := range l.Cloths {
		begins := func(p pattern.Placement) float64 { return c.Drawn[p.Ready].Outline.Apply(p.Map).Bound().Min[0] }
		laid := slices.Clone(c.Lay.Placements)
		slices.SortStableFunc(laid, func(a, b pattern.Placement) int { return cmp.Compare(begins(a), begins(b)) })
		for _, p := range laid {
			r := &c.Drawn[p.Ready]
			addLabel(&set, l.Drafts[r.Draft], r, said[r.Draft], len(set.Pieces)+1)
			indices = append(indices, r.Index)
		}
	}
	if set.All = len(set.Pieces); job.Job == 0 {
		set.Order = "from the beginning of each cloth, as they are laid on it"
		return set, l.Findings, nil
	}
	return set, l.Findings, m.asDrawn(job, &set, indices)
}

// clothSaid is the cloth that a draft's ticket or its device names, "" where it is no cloth, such as paper.
func (m *Maker) clothSaid(r Request) string {
	ticket, _ := readTicket(r) // a fault of the ticket is told when the draft is read
	if said := cmp.Or(ticket.Material, m.Room.Devices[r.Device].Material); m.Room.Materials[said].Cloth {
		return said
	}
	return ""
}

// asDrawn keeps in the set the pieces of a job that draws, by indices, with their numbers: a piece that is drawn once for
// all its copies has one. Pieces that the job does not make get no label.
func (m *Maker) asDrawn(r Request, set *labels.Set, indices []int) error {
	if _, ok := m.Room.Devices[r.Device]; !ok {
		return m.Room.NoDevice(r.Device) // it says that there is no such device
	}
	read, j := m.read(r)
	if j.Refused {
		return ErrRefused
	}
	on := m.setup(r.Device, read.Ticket.Material, m.measured(r.Device))
	made, j := m.prepare(read, on, r)
	if j.Refused {
		return ErrRefused
	}
	all := set.Pieces
	set.Pieces, set.All = nil, len(made.Ready)
	for i, one := range all {
		k := slices.IndexFunc(made.Ready, func(r pattern.Ready) bool {
			return r.Index == indices[i] && (r.Copy == one.Copy || made.Once)
		})
		if k >= 0 {
			one.Number = k + 1
			set.Pieces = append(set.Pieces, one)
		}
	}
	return nil
}

// labelsAsCut adds the pieces of a draft in the order in which a cutter cuts them.
func (m *Maker) labelsAsCut(ctx context.Context, r Request, set *labels.Set) ([]pattern.Finding, error) {
	w, err := m.Make(ctx, r)
	if err != nil {
		return nil, err
	}
	made, ok := w.Made()
	if !ok || w.Hold != "" {
		return w.Findings, ErrRefused
	}
	last := map[int]int{}
	for i := range made.Strokes {
		last[made.Strokes[i].Piece] = i
	}
	delete(last, -1)
	order := slices.SortedFunc(maps.Keys(last), func(a, b int) int { return cmp.Compare(last[a], last[b]) })
	for _, i := range order {
		addLabel(set, w.Pattern, &made.Ready[i], m.order(&w.Looked).Material, i+1)
	}
	set.All = len(made.Ready)
	return w.Findings, nil
}

// addLabel adds a piece; on is the cloth that the ticket or the workroom names, "" where neither does. It stands for what
// the draft calls only its main cloth.
func addLabel(set *labels.Set, p *pattern.Pattern, r *pattern.Ready, on string, number int) {
	words := listed(p, r).Words
	p = p.DraftOf(r.Index)
	cloth := r.Material
	if said, ok := p.ClothOf(r.Material); ok {
		cloth = said.Name
	}
	if cloth = pattern.ClothName(cloth); on != "" && strings.EqualFold(cloth, pattern.ClothName("")) {
		cloth = on
	}
	set.Pieces = append(set.Pieces, labels.Piece{Style: p.Called(), Name: r.Name, Whose: p.Whose(r.Size),
		Words: words, Cloth: cloth, Copy: r.Copy, Copies: r.Copies, Number: number})
}
