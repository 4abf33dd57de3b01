package making

import (
	"cmp"
	"strings"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/prepare"
)

// order is what a job can be found by: what its ticket says; the body that it is drawn for where the ticket names no
// wearer; the usual material of the device where it names none.
func (m *Maker) order(w *Looked) ledger.Order {
	t := w.Ticket
	return ledger.Order{Production: t.Production, Wearer: cmp.Or(t.Wearer, t.Body, strings.Join(t.Bodies, ", ")), Due: t.Due,
		Material: cmp.Or(t.Material, m.Room.Devices[w.Request.Device].Material)}
}

// names are a job's pieces as they are cut, or those of a draft that is not prepared; nil where the draft was not read.
func (w *Work) names() []ledger.Piece {
	out := []ledger.Piece{}
	p, _ := w.Prepared()
	called := prepare.Called(w.Parts, p.Ready)
	for i, r := range p.Ready {
		n := 1
		if p.Once { // its pattern stands for all its copies
			n = max(r.Copies, 1)
		}
		out = append(out, ledger.Piece{Name: called[i], Size: r.Size, Quantity: n})
	}
	switch {
	case len(out) > 0:
		return out
	case w.Pattern == nil:
		return nil
	}
	for _, p := range w.Pattern.Pieces {
		out = append(out, ledger.Piece{Name: p.Name, Size: p.Size, Quantity: max(p.Quantity, 1)})
	}
	return out
}
