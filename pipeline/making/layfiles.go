package making

import (
	"context"
	"fmt"
	"math"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/prepare"

	"tracewheel/pipeline/pattern"
)

// Unreadable is the Work of a file that could not even be opened.
func Unreadable(file string, err error) *Work {
	w := &Work{Request: Request{Name: file}}
	w.add(refused(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), "")))
	return w
}

// Minutes tells a time in seconds in words.
func Minutes(s float64) string {
	switch {
	case s < 90:
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	case s < 5400:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60))
	default:
		return fmt.Sprintf("%.1f h", s/3600)
	}
}

// LayFiles reads, checks and prepares drafts and lays their pieces, those of each cloth on its own. It is
// ErrRefused where a draft or a lay has an error, and there is no lay then.
func (m *Maker) LayFiles(ctx context.Context, rs []Request, wish cloths.Wish) (*cloths.Layout, error) {
	l := cloths.New(m.Room.Materials, m.Room.Units)
	for i, r := range rs {
		w := m.Look(r)
		l.Drafts = append(l.Drafts, w.Pattern)
		if w.Pattern != nil && w.Pattern.ReadIn("") == "in" && len(wish.Bare) > 0 {
			return l, fmt.Errorf("%s: a bare number is mm, and %s is drawn in inches: say %sin or %smm", wish.Bare[0], r.Name, wish.Bare[0], wish.Bare[0])
		}
		l.Findings = append(l.Findings, w.Findings...)
		if w.Refused || pattern.Worst(w.Findings) == pattern.Error {
			continue
		}
		opt := m.preparing(nil, 0)
		opt.Once = wish.Once
		res, err := prepare.RunAll(w.Parts, opt)
		if err != nil {
			l.Findings = append(l.Findings, pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), ""))
			continue
		}
		l.Findings = append(l.Findings, res.Findings...)
		l.Deal(i, res.Ready)
	}
	if pattern.Worst(l.Findings) == pattern.Error {
		return l, ErrRefused
	}
	l.Unit = pattern.Together(l.Drafts).ReadIn(l.Unit)
	if l.Lay(ctx, wish); len(l.Cloths) == 0 {
		return l, ErrRefused
	}
	return l, nil
}

// clothFor says how much of each cloth a draft takes, by the first lay that lay finds; nothing where it refuses. Of one
// of several, whose it is stands first, and other widths are left out.
func (m *Maker) clothFor(ctx context.Context, r Request, whose string) []string {
	l, err := m.LayFiles(ctx, []Request{r}, cloths.Wish{Unsaid: cloths.UsualWidth})
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
