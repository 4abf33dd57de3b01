package making

import (
	"bytes"
	"context"
	"io"
	"strings"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// Figuring gives how a draft is read for its figures, as its ticket says: the body, the toile. A ticket that cannot be read
// counts for nothing here; a check tells it.
func (m *Maker) Figuring(r Request) draft.Options {
	t, err := readTicket(r)
	if err != nil {
		t = pattern.Ticket{Body: r.Answers["body"]}
	}
	return m.reading(r, t, &Read{})
}

// Figures writes a measured draft's derived numbers, lengths, girths, seam pairs and marking-out list:
// as "text", "json", "html" or "pdf".
func (m *Maker) Figures(ctx context.Context, w io.Writer, r Request, wish cloths.Wish, form string) (*figures.Figures, error) {
	if form == "pdf" {
		var text bytes.Buffer
		f, err := m.Figures(ctx, &text, r, wish, "text")
		if err != nil {
			return nil, err
		}
		title, _, _ := strings.Cut(text.String(), ";")
		pages, err := pdf.Pages(title+": figures", text.Bytes(), nil)
		if err == nil {
			_, err = w.Write(pages)
		}
		return f, err
	}
	f, err := m.Chalking(ctx, r, wish)
	if err != nil {
		return nil, draft.InLines(err)
	}
	return f, draft.WriteFigures(w, f, form)
}

// Chalking gives a measured draft's figures, each piece with its place in the lay by which the printed sheets say what to
// buy. Where there is no lay, the figures say why. Errors are those of draft.FiguresOf.
func (m *Maker) Chalking(ctx context.Context, r Request, wish cloths.Wish) (*figures.Figures, error) {
	f, err := draft.FiguresOf(r.Source, r.Name, m.Figuring(r))
	if err != nil {
		return nil, err
	}
	wish.Unsaid, wish.Alone = cloths.UsualWidth, true
	r.Alone = true
	l, err := m.layOf(ctx, r, wish)
	if err != nil {
		f.Unlaid = "Where the pieces lie on the cloth is not told: " + why(err, l.Findings)
		return f, nil
	}
	for _, c := range l.Cloths {
		f.Lay(figures.Cloth{Name: c.Name, Usual: c.Usual, Buy: lay.Bought(c.ToBuy(), l.Unit), First: m.Kept == nil}, &c.Lay, c.Drawn)
	}
	return f, nil
}

// why gives the first error among the findings, otherwise the error's text.
func why(err error, found []pattern.Finding) string {
	for _, f := range found {
		if f.Severity == pattern.Error {
			return f.Message
		}
	}
	return err.Error()
}
