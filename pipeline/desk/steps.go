package desk

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/web"
)

// step is one thing to do with chalk and tape.
type step struct {
	N           int
	Piece, Head string
	Lies        string            // where the tape lies
	Spots       []figures.Spot    // chalked along it
	Rows        []figures.MarkOut // what is joined or marked, in order
	Note        string
	Picture     template.HTML // the piece, as the list on paper has it; "" but in a piece's first step
}

// Next is the number of the step behind it.
func (s step) Next() int { return s.N + 1 }

// Before is the number of the step before it.
func (s step) Before() int { return s.N - 1 }

// stepsOf are the steps by which all pieces are chalked: for each piece where to measure from, its lettered points, those
// on one line in one step, its edges, and what is marked on it.
func stepsOf(f *figures.Figures) (out []step) {
	put := func(s step) {
		s.N = len(out) + 1
		out = append(out, s)
	}
	for _, c := range f.Cloths {
		put(step{Piece: c.Name, Head: "Lay the cloth", Note: f.ClothWords(c) + "."})
	}
	if f.Unlaid != "" {
		put(step{Piece: "cloth", Head: "Lay the cloth", Note: f.Unlaid})
	}
	for _, p := range f.Pieces {
		m := p.Marking
		put(step{Piece: p.Name, Head: p.Name + ": " + p.Words(), Note: "Measure across from " + m.Across + ", and down from " + m.Down + ". Lay the cloth or the paper so, and chalk both lines.", Picture: p.SmallDrawing()})
		for _, q := range p.Places {
			put(step{Piece: p.Name, Head: p.Name + " on the cloth " + q.Cloth, Note: q.Words(p.Copies()) + "."})
		}
		for _, l := range m.Lines {
			put(step{Piece: p.Name, Head: "Chalk " + l.Letters(), Spots: l.Places, Lies: l.Along})
		}
		var edge *step
		for _, q := range m.Outline {
			if q.First || edge == nil {
				if edge != nil {
					edge.Rows = append(edge.Rows, q.Reached())
					put(*edge)
				}
				edge = &step{Piece: p.Name, Head: "Join the " + q.Edge, Note: "From place to place, in this order: straight, or as it is said behind the place."}
			}
			edge.Rows = append(edge.Rows, q)
		}
		if edge != nil {
			edge.Rows = append(edge.Rows, m.Outline[0].Reached())
			put(*edge)
		}
		if len(m.Inside) > 0 {
			put(step{Piece: p.Name, Head: "Mark on " + p.Name, Rows: m.Inside})
		}
		for _, ed := range p.Edges {
			if ed.Allowance != "" {
				edge := step{Piece: p.Name, Head: "Add the allowance", Note: allowances(p)}
				put(edge)
				break
			}
		}
	}
	return out
}

func allowances(p figures.PieceFigures) string {
	var words []string
	for _, ed := range p.Edges {
		if ed.Allowance != "" {
			words = append(words, ed.Name+" "+ed.Allowance)
		}
	}
	return strings.Join(words, "; ") + "."
}

// stepsPage is the list step by step; it serves as a page of the desk and, with its own style, as a file.
type stepsPage struct {
	Name, Style, For, Unit string
	Sheet                  template.CSS // of the file that stands alone; "" in the desk
	Steps                  []step
}

// stepsFor works the steps of a draft out.
func (d *Desk) stepsFor(ctx context.Context, in wish, m *making.Maker) (p stepsPage, err error) {
	r, own := d.request(in)
	err = inPlace(ctx, func() error {
		f, err := m.Chalking(ctx, r, cloths.Wish{})
		if err != nil {
			text, _, _ := own.plainly(err.Error(), "")
			return fmt.Errorf("the draft cannot be drawn, so there is nothing to chalk yet: %s", text)
		}
		p = stepsPage{Name: in.Name, Style: f.Style, For: f.Body, Unit: f.UnitWord(), Steps: stepsOf(f)}
		return nil
	})
	return p, err
}

// showSteps shows the list one step at a time; scripts keep the place, and without them links lead on.
func (d *Desk) showSteps(w http.ResponseWriter, r *http.Request, p stepsPage) {
	d.show(w, r, http.StatusOK, "Chalking "+p.Name, "steps.html", p)
}

// keepSteps gives the same as one file without scripts.
func (d *Desk) keepSteps(w http.ResponseWriter, p stepsPage) error {
	sheet, err := files.ReadFile("steps.css")
	if err != nil {
		return err
	}
	p.Sheet = template.CSS(string(look.Style()) + string(sheet)) //nolint:gosec // the program's own
	var text strings.Builder
	if err := d.pages.ExecuteTemplate(&text, "steps-file.html", p); err != nil {
		return err
	}
	web.Download(w, p.Name+"-steps.html", []byte(text.String()))
	return nil
}
