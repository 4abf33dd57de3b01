package desk

import (
	"context"
	"fmt"
	"net/http"
	"strings"

	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/making"
)

// clothPage is the page of what to buy for a draft.
type clothPage struct {
	Name, For string
	Lines     string
	Notions   []string
}

// cloth works out what to buy: cloth at the draft's width and at other common ones, and the notions.
func (d *Desk) cloth(ctx context.Context, in wish, m *making.Maker) (p clothPage, err error) {
	err = inPlace(ctx, func() error {
		p, err = d.clothOf(ctx, in, m)
		return err
	})
	return p, err
}

func (d *Desk) clothOf(ctx context.Context, in wish, m *making.Maker) (p clothPage, err error) {
	r, own := d.request(in)
	l, err := d.lays.Compared(ctx, m, r)
	if err != nil {
		if l != nil {
			for _, f := range l.Findings {
				err = fmt.Errorf("%w; %s", err, f.Message)
			}
		}
		text, _, _ := own.plainly(err.Error(), "")
		return p, fmt.Errorf("no cloth is told: %s", text)
	}
	var b strings.Builder
	l.WriteText(&b)
	p = clothPage{Name: in.Name, Lines: b.String()}
	if f, err := draft.BriefOf(r.Source, r.Name, m.Figuring(r)); err == nil {
		p.For = f.Body
		for _, n := range f.Notions {
			p.Notions = append(p.Notions, n.Name+": "+f.Words(n))
		}
	}
	return p, nil
}

func (d *Desk) showCloth(w http.ResponseWriter, r *http.Request, p clothPage) {
	d.show(w, r, http.StatusOK, "Cloth for "+p.Name, "cloth.html", p)
}
