package board

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/stock"
	"tracewheel/pipeline/web"
)

// stockForm is the stock of materials, and the forms that add and correct, as filled in.
type stockForm struct {
	Rows      []stockRow
	Materials []string
	Unit      string
	Said      stock.Said
	// Seen is a hash of the stock as it was shown, Last the newest entry.
	Seen, Last string
	// Fault is why nothing was recorded.
	Fault string
}

// stockRow is a roll or remnant, in words; Key identifies it in the form.
type stockRow struct {
	Key, Material, Is, Length, Width, Checked string
	History                                   []string
}

// rowsOfHistory is the number of entries of a history on the page.
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
	sum, newest := fnv.New64a(), time.Time{}
	for _, k := range all {
		fmt.Fprintf(sum, "%s %d %g %v\n", k.Material, k.No, k.Length, k.History[:min(1, len(k.History))]) // never fails
		row := stockRow{Key: fmt.Sprintf("%d %s", k.No, k.Material), Material: k.Material, Is: k.Is(), Length: say(k.Length), Width: say(k.Width), Checked: k.Checked()}
		if under, _ := b.o.Jobs.ToBook(ctx, k.Material, k.No); under != "" {
			row.Checked = strings.TrimPrefix(row.Checked+"; "+under, "; ")
		}
		for _, e := range k.History {
			row.History = append(row.History, b.clock(e.At)+" "+stock.Line(e, room.Units))
			if e.At.After(newest) {
				newest, f.Last = e.At, k.Is()+" of "+k.Material+": "+row.History[len(row.History)-1]
			}
		}
		f.Rows = append(f.Rows, row)
	}
	f.Seen = strconv.FormatUint(sum.Sum64(), 16)
	return f, err
}

// toStock records a person's entry about a material, by the same rules as the command.
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
	b.seen.Lock()
	defer b.seen.Unlock()
	if err == nil {
		err = b.stockSeen(r)
	}
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
	b.showAs(http.StatusConflict, w, r, name, "device.html", p, nil)
}

// stockSeen refuses a form whose page showed another stock: a form sent twice would count twice.
func (b *Board) stockSeen(r *http.Request) error {
	now, err := b.stockOf(r.Context(), "")
	switch seen := r.PostFormValue("seen"); {
	case err != nil:
		return err
	case seen == "":
		return errors.New("the page did not say what it showed: look at it again")
	case seen != now.Seen:
		return fmt.Errorf("the stock has changed since this page was shown, %s. Look at it here; if it is still wanted, send it again", now.Last)
	}
	return nil
}
