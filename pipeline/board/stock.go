package board

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/stock"
	"tracewheel/pipeline/web"
)

// stockForm is what is kept of materials, and what was written into the forms that add and correct.
type stockForm struct {
	Rows      []stockRow
	Materials []string
	Unit      string
	Said      stock.Said
	// Fault is why nothing was taken down.
	Fault string
}

// stockRow is a roll or remnant, in words; Key names it in the form.
type stockRow struct {
	Key, Material, Is, Length, Width, Checked string
	History                                   []string
}

// rowsOfHistory is how much of a history the page shows.
const rowsOfHistory = 5

func (b *Board) stockOf(ctx context.Context, usual string) (f stockForm, err error) {
	room := b.o.Room()
	f.Unit, f.Said.Material = room.Units, usual
	for name := range room.Materials {
		f.Materials = append(f.Materials, name)
	}
	slices.Sort(f.Materials)
	all, err := stock.Of(ctx, b.o.Jobs, rowsOfHistory)
	say := ledger.Rolls{Unit: room.Units}.Say
	for _, k := range all {
		row := stockRow{Key: fmt.Sprintf("%d %s", k.No, k.Material), Material: k.Material, Is: k.Is(), Length: say(k.Length), Width: say(k.Width), Checked: k.Checked()}
		if under, _ := b.o.Jobs.ToBook(ctx, k.Material, k.No); under != "" {
			row.Checked = strings.TrimPrefix(row.Checked+"; "+under, "; ")
		}
		for _, e := range k.History {
			row.History = append(row.History, b.clock(e.At)+" "+stock.Line(e, room.Units))
		}
		f.Rows = append(f.Rows, row)
	}
	return f, err
}

// toStock takes down what a person says of a material's stock, by the same rules as the command.
func (b *Board) toStock(w http.ResponseWriter, r *http.Request, name string) {
	said := stock.Said{Material: r.PostFormValue("material"), Length: r.PostFormValue("length"), Width: strings.TrimSpace(r.PostFormValue("width")),
		New: r.PostFormValue("new") != "", Correct: r.PostFormValue("do") == "correct"}
	if said.Correct {
		no, material, _ := strings.Cut(r.PostFormValue("which"), " ")
		if said.Material, said.Remnant = material, no; no == "0" {
			said.Remnant = "" // the roll
		}
	}
	ctx := asker.ByPage(r.Context(), web.SessionOf(r).Who)
	wish, err := said.Read(b.o.Room())
	if err == nil {
		if _, err = b.o.Jobs.ToStock(ctx, wish); err == nil {
			http.Redirect(w, r, "/device/"+url.PathEscape(name)+"#stock", http.StatusSeeOther)
			return
		}
	}
	p, wrong := b.deviceOf(r, name)
	if wrong != nil {
		b.problem(w, r, wrong)
		return
	}
	p.Stock.Said, p.Stock.Fault = said, "nothing is taken down: "+err.Error()
	b.showAs(http.StatusConflict, w, r, name, "device.html", p, "")
}
