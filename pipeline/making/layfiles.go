package making

import (
	"context"
	"fmt"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/prepare"

	"tracewheel/pipeline/pattern"
)

// Unreadable stands for a file that cannot be opened.
func Unreadable(file string, err error) *Looked {
	w := &Looked{Request: Request{Name: file}}
	w.add(refused(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), "")))
	return w
}

// LayFiles reads, checks and prepares drafts and lays their pieces, those of each cloth on its own. Where a draft or a lay
// has an error, the error is ErrRefused and there is no lay.
func (m *Maker) LayFiles(ctx context.Context, rs []Request, wish cloths.Wish) (*cloths.Layout, error) {
	l := cloths.New(m.Room.Materials, m.Room.Units)
	if _, is := m.Room.Materials[wish.Material]; wish.Material != "" && !is {
		return l, m.Room.NoMaterial(wish.Material)
	}
	for _, r := range rs {
		wish.Remnants = append(wish.Remnants, remnantsOf(r)...)
		w := m.deal(l, r, wish)
		if w.Pattern != nil && w.Pattern.ReadIn("") == "in" && len(wish.Bare) > 0 {
			return l, fmt.Errorf("%s: a bare number is mm, and %s is drawn in inches: say %sin or %smm", wish.Bare[0], r.Name, wish.Bare[0], wish.Bare[0])
		}
	}
	return l, lays(ctx, l, wish)
}

// LayJob lays the pieces of a job, as LayFiles does; of is its draft.
func (m *Maker) LayJob(ctx context.Context, in Request, wish cloths.Wish) (l *cloths.Layout, of *Looked, err error) {
	l, in.Device = cloths.New(m.Room.Materials, m.Room.Units), ""
	of, wish.Remnants = m.deal(l, in, wish), remnantsOf(in)
	return l, of, lays(ctx, l, wish)
}

// deal reads, checks and prepares a draft and adds its pieces to their cloths in l, as far as it comes.
func (m *Maker) deal(l *cloths.Layout, r Request, wish cloths.Wish) *Looked {
	w := m.Look(r)
	l.Drafts, l.Findings = append(l.Drafts, w.Pattern), append(l.Findings, w.Findings...)
	if w.Refused || pattern.Worst(w.Findings) == pattern.Error {
		return w
	}
	opt := m.preparing(nil, 0)
	opt.Once = wish.Once
	res, err := prepare.RunAll(w.Parts, opt)
	if err != nil {
		l.Findings = append(l.Findings, pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), ""))
		return w
	}
	l.Findings = append(l.Findings, res.Findings...)
	l.Deal(len(l.Drafts)-1, res.Ready)
	return w
}

func lays(ctx context.Context, l *cloths.Layout, wish cloths.Wish) error {
	if pattern.Worst(l.Findings) == pattern.Error {
		return ErrRefused
	}
	l.Unit = pattern.Together(l.Drafts).ReadIn(l.Unit)
	if l.Lay(ctx, wish); len(l.Cloths) == 0 {
		return ErrRefused
	}
	return nil
}

// layOf gives the lay by which all lists of a draft are written: the one that is kept, otherwise the first that is found.
func (m *Maker) layOf(ctx context.Context, r Request, wish cloths.Wish) (*cloths.Layout, error) {
	if m.Kept != nil {
		return m.Kept(ctx, r)
	}
	return m.LayFiles(ctx, []Request{r}, wish)
}

// clothFor says in words how much of each cloth a draft takes, by layOf; nothing where there is no lay. Among several
// drafts its lines begin with whose it is and leave other widths out.
func (m *Maker) clothFor(ctx context.Context, r Request, whose string) []string {
	l, err := m.layOf(ctx, r, cloths.Wish{Unsaid: cloths.UsualWidth})
	if err != nil {
		return nil
	}
	var out []string
	for _, c := range l.Cloths {
		words := fmt.Sprintf("%s, %s wide: %s (%s)", c.Name, lay.Across(c.Lay.Material.Width, l.Unit), lay.Bought(c.ToBuy(), l.Unit), l.Terms(c))
		if whose != "" {
			words = whose + ": " + words
		}
		if out = append(out, words); len(c.Others) > 0 && whose == "" {
			out = append(out, "or "+l.AtOtherWidths(c))
		}
	}
	return out
}
